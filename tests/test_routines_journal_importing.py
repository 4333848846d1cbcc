"""Passes merged into the journal from an export: nothing of a faulty file, nothing twice, nothing changed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from routines.journal import importing
from routines.journal.errors import JournalTrouble
from routines.journal.exporting import write_export
from routines.journal.exports import ENDINGS, passes_of
from routines.journal.importing import check, take_in
from routines.journal.journal import Journal
from routines.journal.records import PassRecord
from routines.journal.texts import BadJournalFile
from tests.passes import AT, a_pass, odd_passes, told

OLD = [a_pass(number) for number in (1, 2)]
NEW = [a_pass(number, player="Ben", days=7) for number in (2, 5, 6)]


def _now() -> datetime:
    return AT


def _opened(home: Path) -> Journal:
    return Journal.open(home, now=_now)


def _held(home: Path) -> list[PassRecord]:
    with _opened(home) as journal:
        return list(journal.passes())


@pytest.fixture(scope="module")
def sources(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("sources")
    for ending in ENDINGS:
        write_export(NEW, folder / f"new{ending}", ending)
    return folder


@pytest.fixture
def home(tmp_path: Path) -> Path:
    with _opened(tmp_path / "home") as journal:
        journal.add_all(OLD)
    return tmp_path / "home"


def test_importing_merges(sources: Path, home: Path) -> None:
    for ending, added in ((".json", 2), (".csv", 0)):
        path = sources / f"new{ending}"
        assert check(path).passes == 3
        with _opened(home) as journal:
            assert take_in(journal, path) == added
    assert told(_held(home)) == told([*OLD, *NEW[1:]])  # the pass that was there already is still Ann's


def test_importing_into_a_player(sources: Path, tmp_path: Path) -> None:
    assert check(sources / "new.json", "Cy").players == {"Cy"}
    with _opened(tmp_path / "home") as journal:
        assert take_in(journal, sources / "new.json", "Cy") == 3
        assert journal.players() == ["Cy"]
    assert told(_held(tmp_path / "home")) == told([replace(record, player="Cy") for record in NEW])


def test_a_long_import_lets_others_write_between_and_goes_on_where_it_was_stopped(
    sources: Path, home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(importing, "AT_ONCE", 2)
    stored = Journal.add_all
    sizes = []

    def full(self: Journal, records: Sequence[PassRecord]) -> int:
        sizes.append(len(records))
        if sizes == [2, 1]:
            raise JournalTrouble(self.file, "the disk is full")
        return stored(self, records)

    monkeypatch.setattr(Journal, "add_all", full)
    with _opened(home) as journal:
        with pytest.raises(JournalTrouble, match="the disk is full; 1 taken in before: import again"):
            take_in(journal, sources / "new.json")
        assert journal.count() == 3
        assert take_in(journal, sources / "new.json") == 1
    assert sizes == [2, 1, 2, 1]
    assert told(_held(home)) == told([*OLD, *NEW[1:]])


def test_an_import_never_keeps_others_waiting_for_many_passes(
    home: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    write_export((a_pass(number) for number in range(250)), tmp_path / "many.json", ".json")
    sizes: list[int] = []
    monkeypatch.setattr(Journal, "add_all", lambda self, records: sizes.append(len(records)) or 0)
    with _opened(home) as journal:
        take_in(journal, tmp_path / "many.json")
    assert sum(sizes) == 250
    assert max(sizes) <= 100


def test_a_file_that_turns_bad_is_not_taken_in_by_halves(sources: Path, home: Path, tmp_path: Path) -> None:
    text = (sources / "new.json").read_text(encoding="utf-8")
    bad = tmp_path / "bad.json"
    at = text.rindex('"sim"')
    bad.write_text(text[:at] + '"phone"' + text[at + 5 :], encoding="utf-8")
    with _opened(home) as journal:
        for act in (lambda: check(bad), lambda: take_in(journal, bad)):
            with pytest.raises(BadJournalFile, match=r"bad\.json:4: pass 3, source: 'phone'"):
                act()
        assert told(list(journal.passes())) == told(OLD)
        assert journal.tempo_days("Ben") == []


@settings(max_examples=12, deadline=None)
@given(st.lists(odd_passes(), min_size=1, max_size=3, unique_by=lambda record: record.id))
def test_any_journal_comes_back_equal_from_its_export(
    tmp_path_factory: pytest.TempPathFactory, records: list[PassRecord]
) -> None:
    folder = tmp_path_factory.mktemp("any")
    with _opened(folder / "one") as journal:
        journal.add_all(records)
        for ending in ENDINGS:
            path = folder / f"all{ending}"
            write_export(journal.passes(), path, ending)
            with _opened(folder / ending[1:]) as other:
                take_in(other, path)
                assert told(list(other.passes())) == told(list(journal.passes()))
                for player in journal.players():
                    assert other.item_sums(player) == journal.item_sums(player)
                    assert other.guide_days(player) == journal.guide_days(player)
                    assert other.levels_days(player) == journal.levels_days(player)
            assert told(list(passes_of(path))) == told(list(journal.passes()))
