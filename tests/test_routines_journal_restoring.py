"""The journal replaced as a whole: all of it or nothing, whatever goes wrong, and the old one kept."""

from __future__ import annotations

import os
import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest

from routines.journal import restoring
from routines.journal.errors import JournalTrouble
from routines.journal.exporting import write_export
from routines.journal.exports import ENDINGS
from routines.journal.journal import Journal
from routines.journal.records import PassRecord
from routines.journal.restoring import Restored, restore
from routines.journal.texts import BadJournalFile
from tests.passes import AT, a_pass, told

OLD = [a_pass(number) for number in (1, 2)]
NEW = [a_pass(number, player="Ben", days=7) for number in (2, 5, 6)]


def _opened(home: Path, **how: bool) -> Journal:
    return Journal.open(home, now=lambda: AT, **how)


def _held(home: Path) -> list[PassRecord]:
    with _opened(home, writes=False) as journal:
        return list(journal.passes())


def _restored(home: Path, source: Path) -> Restored:
    return restore(home, source, now=lambda: AT)


def _files(folder: Path) -> list[str]:
    return sorted(file.name for file in folder.iterdir() if file.name != "journal.lock" and file.is_file())


@pytest.fixture(scope="module")
def sources(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """NEW as an export of either kind and as a backup."""
    folder = tmp_path_factory.mktemp("sources")
    for ending in ENDINGS:
        write_export(NEW, folder / f"new{ending}", ending)
    with _opened(folder / "made") as journal:
        journal.add_all(NEW)
    shutil.copy(folder / "made" / "journal.sqlite", folder / "new.sqlite")
    return folder


@pytest.fixture(scope="module")
def old_home(tmp_path_factory: pytest.TempPathFactory) -> Path:
    home = tmp_path_factory.mktemp("old") / "home"
    with _opened(home) as journal:
        journal.add_all(OLD)
    return home


@pytest.fixture
def home(old_home: Path, tmp_path: Path) -> Path:
    return Path(shutil.copytree(old_home, tmp_path / "home"))


KEPT = "journal-before-restore-2026-11-29-193015.sqlite"


@pytest.mark.parametrize("ending", [*ENDINGS, ".sqlite"])
def test_the_journal_holds_what_the_file_holds_and_the_old_one_is_kept(
    sources: Path, home: Path, ending: str
) -> None:
    done = _restored(home, sources / f"new{ending}")
    assert told(_held(home)) == told(NEW)
    assert (done.held.passes, done.held.players, done.kept) == (3, {"Ben"}, home / KEPT)
    assert _files(home) == [KEPT, "journal.sqlite"]
    again = _restored(home, home / KEPT)  # and back: what was kept is a backup
    assert told(_held(home)) == told(OLD)
    assert again.kept == home / KEPT.replace(".sqlite", "-2.sqlite")
    with _opened(home) as journal, _opened(sources / "made") as other:
        assert journal.add_all(NEW) == 2
        assert journal.item_sums("Ben")[0].passes == 2
        assert other.tempo_days("Ben")[0].passes == 3


def test_there_need_be_no_journal_before(sources: Path, tmp_path: Path) -> None:
    assert _restored(tmp_path / "fresh", sources / "new.csv").kept is None
    assert _held(tmp_path / "fresh") == NEW
    assert _files(tmp_path / "fresh") == ["journal.sqlite"]


@pytest.fixture
def killed(tmp_path: Path) -> Path:
    """A home in which the program was killed: the last pass stands in the log alone."""
    with _opened(tmp_path / "live") as journal:
        journal.add(OLD[0])
        with closing(sqlite3.connect(journal.file)) as other:
            other.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        journal.add(OLD[1])
        shutil.copytree(tmp_path / "live", tmp_path / "killed")
    assert (tmp_path / "killed" / "journal.sqlite-wal").stat().st_size > 0
    return tmp_path / "killed"


def test_the_log_of_the_old_journal_is_kept_with_it_and_not_mixed_with_the_new(
    sources: Path, killed: Path
) -> None:
    kept = _restored(killed, sources / "new.sqlite").kept
    assert _files(killed) == [KEPT, "journal.sqlite"]
    assert told(_held(killed)) == told(NEW)
    assert kept is not None
    _restored(killed, kept)
    assert told(_held(killed)) == told(OLD)


def test_a_log_that_is_left_without_its_journal_is_not_taken_for_the_new_ones(
    sources: Path, killed: Path
) -> None:
    (killed / "journal.sqlite").unlink()
    assert _restored(killed, sources / "new.sqlite").kept is None
    assert _files(killed) == ["journal.sqlite"]
    assert told(_held(killed)) == told(NEW)


def test_a_backup_with_a_log_beside_is_taken_with_it(killed: Path, tmp_path: Path) -> None:
    _restored(tmp_path / "home", killed / "journal.sqlite")
    assert told(_held(tmp_path / "home")) == told(OLD)


def test_a_damaged_journal_is_kept_as_it_is_and_its_log_with_it(sources: Path, home: Path) -> None:
    damage = b"spoilt" * 2000
    (home / "journal.sqlite").write_bytes(damage)
    (home / "journal.sqlite-wal").write_bytes(damage)
    (home / "journal.sqlite-shm").write_bytes(damage)
    done = _restored(home, sources / "new.json")
    assert told(_held(home)) == told(NEW)
    assert _files(home) == [KEPT, f"{KEPT}-wal", "journal.sqlite"]
    assert done.kept is not None
    assert done.kept.read_bytes() == (home / f"{KEPT}-wal").read_bytes() == damage


def test_a_journal_that_is_open_elsewhere_is_not_replaced(sources: Path, home: Path) -> None:
    with _opened(home) as journal:
        with pytest.raises(JournalTrouble, match=r"journal\.sqlite: is open in another window: close that"):
            _restored(home, sources / "new.json")
        assert journal.add(NEW[1])
    assert told(_held(home)) == told([*OLD, NEW[1]])
    assert not list(home.glob("*restor*"))


def test_who_opens_it_while_the_new_one_is_made_is_not_robbed(
    sources: Path, home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    visits: list[Journal] = []
    made = restoring._made

    def meanwhile(*args: object) -> object:
        visits.append(_opened(home))
        return made(*args)  # type: ignore[arg-type]

    monkeypatch.setattr(restoring, "_made", meanwhile)
    with pytest.raises(JournalTrouble, match="open in another window"):
        _restored(home, sources / "new.json")
    visits[0].close()
    assert told(_held(home)) == told(OLD)


def test_who_reads_the_old_one_does_not_delete_the_new_ones_log(
    sources: Path, home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(restoring, "_READING_SEC", 0.01)
    with _opened(home, writes=False) as reading:
        assert reading.count() == 2
        with pytest.raises(JournalTrouble, match="is being read by another"):
            _restored(home, sources / "new.sqlite")
        assert told(list(reading.passes())) == told(OLD)
    assert told(_held(home)) == told(OLD)
    assert _files(home) == ["journal.sqlite"]
    _restored(home, sources / "new.sqlite")
    assert told(_held(home)) == told(NEW)


def test_killed_at_any_step_there_is_the_old_journal_or_the_new_one(
    sources: Path, old_home: Path, killed: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    real = {name: getattr(os, name) for name in ("link", "replace")}
    unlink = Path.unlink

    def cut(steps: int) -> bool:
        """Restore, be killed before that step, or before none."""
        left = iter(range(steps))

        def step() -> None:
            if next(left, None) is None:
                raise KeyboardInterrupt

        with monkeypatch.context() as patch:
            for name, call in real.items():
                patch.setattr(os, name, lambda *args, call=call: (step(), call(*args)))
            patch.setattr(Path, "unlink", lambda self, **how: (step(), unlink(self, **how)))
            try:
                _restored(home, sources / "new.sqlite")
            except KeyboardInterrupt:
                return True
        return False

    for source in (old_home, killed):
        steps = 0
        while True:
            home = Path(shutil.copytree(source, tmp_path / f"{source.name}-{steps}"))
            was_cut = cut(steps)
            held = told(_held(home))
            assert held in (told(OLD), told(NEW))
            if not was_cut:
                break
            steps += 1
        assert steps >= 4
        assert held == told(NEW)


def _without_page(path: Path, table: str) -> bytes:
    """A journal with damage where no pass stands."""
    with closing(sqlite3.connect(path)) as connection:
        found = connection.execute("SELECT rootpage FROM sqlite_master WHERE name = ?", (table,)).fetchone()
        size = connection.execute("PRAGMA page_size").fetchone()[0]
    whole = bytearray(path.read_bytes())
    whole[(found[0] - 1) * size : found[0] * size] = b"\xff" * size
    return bytes(whole)


def _spoilt(sources: Path, tmp_path: Path) -> Iterator[tuple[str, Path]]:
    whole = (sources / "new.sqlite").read_bytes()
    for said, name, data in (
        ("the file is empty", "a.sqlite", b""),
        ("is no journal", "b.sqlite", b"dear diary, " * 100),
        ("is damaged|is no journal", "c.sqlite", whole[: len(whole) // 2]),
        ("is damaged|is no journal", "d.sqlite", whole[:8192] + b"\xff" * 12288 + whole[20480:]),
        ("the file ends in the middle", "e.json", (sources / "new.json").read_bytes()[:-5]),
        ("is none of mic, sim, file", "f.csv", (sources / "new.csv").read_bytes().replace(b"sim", b"SIM", 1)),
        ("a journal is restored from .json, .csv or .sqlite", "g.txt", b"x"),
    ):
        (tmp_path / name).write_bytes(data)
        yield said, tmp_path / name
    (tmp_path / "k.sqlite").write_bytes(_without_page(sources / "new.sqlite", "titles"))
    yield "is damaged", tmp_path / "k.sqlite"
    for said, name, words in (
        ("is of version 99, made by a newer program", "h.sqlite", "PRAGMA user_version = 99"),
        ("is no journal", "i.sqlite", "PRAGMA application_id = 7"),
        ("no verdicts", "j.sqlite", "UPDATE passes SET verdicts = x'00' WHERE id = 3"),
    ):
        (tmp_path / name).write_bytes(whole)
        with closing(sqlite3.connect(tmp_path / name)) as connection:
            connection.execute(words)
            connection.commit()
        yield said, tmp_path / name


def test_a_broken_file_changes_nothing(sources: Path, home: Path, tmp_path: Path) -> None:
    before = {file.name: file.read_bytes() for file in home.iterdir() if file.is_file()}
    for said, path in _spoilt(sources, tmp_path):
        with pytest.raises(BadJournalFile, match=said) as caught:
            _restored(home, path)
        assert str(caught.value).startswith(str(path))
        assert "\n" not in str(caught.value)
        assert {file.name: file.read_bytes() for file in home.iterdir() if file.is_file()} == before
        assert not list(home.glob(".restoring*"))
    with pytest.raises(BadJournalFile, match="that is the journal itself"):
        _restored(home, home / "journal.sqlite")
    with pytest.raises(FileNotFoundError):
        _restored(home, tmp_path / "nowhere.sqlite")


def test_totals_that_do_not_add_up_are_counted_anew(sources: Path, home: Path, tmp_path: Path) -> None:
    shutil.copy(sources / "new.sqlite", tmp_path / "off.sqlite")
    with closing(sqlite3.connect(tmp_path / "off.sqlite")) as connection:
        connection.execute("UPDATE tempo_days SET passes = 70, clean = 70")
        connection.commit()
    _restored(home, tmp_path / "off.sqlite")
    with _opened(home, writes=False) as journal, _opened(sources / "made", writes=False) as right:
        for question in ("tempo_days", "guide_days", "levels_days", "item_sums", "guide_sums"):
            assert getattr(journal, question)("Ben") == getattr(right, question)("Ben")


def test_a_full_disk_is_no_fault_of_the_file(
    sources: Path, home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    full = sqlite3.OperationalError("database or disk is full")
    full.sqlite_errorcode = sqlite3.SQLITE_FULL

    def raised(*args: object) -> None:
        raise full

    monkeypatch.setattr(restoring, "version_of", raised)
    with pytest.raises(JournalTrouble, match="the disk is full"):
        _restored(home, sources / "new.sqlite")
    assert told(_held(home)) == told(OLD)
