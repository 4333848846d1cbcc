"""The bench of the journal: years are made as they would be played, and stored as passes are stored."""

from __future__ import annotations

import argparse
from collections import Counter
from contextlib import closing
from datetime import timedelta
from itertools import islice, pairwise
from pathlib import Path

import pytest

from feedback.errors import Usage
from routines.journal import storing
from routines.journal.journal import Journal
from tests.bench import journal
from tests.bench.journal_years import ITEMS_A_DAY, LAST_DAY, PLAYER, practised
from tests.journals import all_rows, empty


def ran(*words: str) -> int:
    parser = argparse.ArgumentParser()
    journal.add_arguments(parser)
    return journal.run(parser.parse_args(words))


def test_the_years_are_those_asked_for() -> None:
    records = list(practised(4 / 365, 50))
    assert records == list(practised(4 / 365, 50))
    assert records != list(practised(4 / 365, 50, seed=1))
    days = [(LAST_DAY.date() - timedelta(days=ago)).isoformat() for ago in range(3, -1, -1)]
    assert Counter(one.day for one in records) == dict.fromkeys(days, 50)
    assert len({one.id for one in records}) == len(records)
    assert all(one.ended_at < after.ended_at for one, after in pairwise(records))
    for day in days:
        items = Counter(one.item for one in records if one.day == day)
        assert len(items) == ITEMS_A_DAY
        assert set(items.values()) == {4, 5}
    assert {one.outcome.clean for one in records} >= {True, False}
    assert len({len(one.outcome.notes) for one in records}) > 3
    assert len({note.deviation_ms for one in records for note in one.outcome.notes}) > 1000


def test_years_stored_together_are_those_stored_pass_by_pass() -> None:
    records = list(practised(6 / 365, 50))
    with closing(empty()) as one_by_one, closing(empty()) as together:
        for record in records:
            storing.store(one_by_one, record)
        for begin in range(0, len(records), 120):  # not at the end of a day
            storing.store_all(together, records[begin : begin + 120])
        assert all_rows(one_by_one) == all_rows(together)
        assert len(all_rows(together)["level_days"]) == 6 * ITEMS_A_DAY


def test_the_bench_prints_its_tables(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(journal, "TRIED", 1)
    monkeypatch.setattr(journal, "ADDED", 3)
    assert ran("--years", "0.02", "--a-day", "13", "--folder", str(tmp_path), "--kills", "1") == 0
    told = capsys.readouterr().out.splitlines()
    assert told[0].startswith("0.02 years at 13 passes a day: 91 passes, made and stored in ")
    for row in (
        "add one pass",
        "open after an unclean end",
        "weekly check with its copy",
        "progress, 520 weeks",
    ):
        assert sum(line.startswith(row) for line in told) == 1, row
    rows = {line[:44].strip(): line.split()[-1] for line in told if line}
    assert (rows["days"], rows["players"], rows["passes of a week"]) == ("7", "2", "91")
    assert told[-1].startswith("windows killed while they stored passes: 1, in ")
    assert told[-1].endswith("0 lost, 0 totals wrong, 0 files damaged")
    with Journal.open(tmp_path, now=lambda: LAST_DAY, writes=False) as kept:
        assert kept.count(PLAYER) == 91
        assert kept.count("Ben") == 3
        assert list(islice(kept.passes(player=PLAYER), 91)) == list(practised(0.02, 13))


def test_a_journal_that_is_there_is_taken_as_it_is(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    for part in ("_size", "_doing", "_asking"):
        monkeypatch.setattr(journal, part, lambda of: ["..."])
    with Journal.open(tmp_path, now=lambda: LAST_DAY):
        pass
    assert ran("--folder", str(tmp_path)) == 0
    assert capsys.readouterr().out.startswith(f"{tmp_path / 'journal.sqlite'} as it is\n...")


def test_what_cannot_be_made_is_refused() -> None:
    for words in (
        ("--years", "0"),
        ("--years", "nan"),
        ("--a-day", "0"),
        ("--seed", "-1"),
        ("--kills", "-1"),
    ):
        with pytest.raises(Usage, match="are accepted"):
            ran(*words)
