"""Totals that are wrong: found with no verdict read or by counting anew, and put right a day at a time."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from datetime import date
from pathlib import Path

import pytest

from routines.journal import recounting, storing
from routines.journal.comparing import wrong_totals
from routines.journal.connecting import to_write, transaction
from routines.journal.journal import Journal
from routines.journal.recounting import SHARES, ItemDay, rebuild_days, rebuild_totals, wrong_in_share
from routines.journal.schema import GUIDE_SUMS, TEMPO_SUMS
from tests.journal_child import plain_pass
from tests.journals import clean, empty, totals
from tests.passes import AT


def test_totals_that_do_not_add_up_are_found_and_counted_anew() -> None:
    for spoil in (
        "UPDATE tempo_days SET passes = passes + 1 WHERE player = 1 AND item = 2 AND day = '2026-11-29'",
        "DELETE FROM item_months WHERE item = 2",
        "UPDATE guide_days SET resolved = resolved + 1 WHERE item = 2",
        "DELETE FROM tempo_days WHERE item = 2",
        "DELETE FROM guide_days WHERE item = 2",
        "DELETE FROM level_days WHERE item = 2",
        "INSERT INTO level_days VALUES (1, 2, '2026-11-01', NULL, NULL, NULL)",
        "UPDATE guide_days SET day = '2026-11-01' WHERE item = 2",
        "UPDATE tempo_days SET clean = clean + 1 WHERE item = 2",
        "UPDATE item_months SET first_day = '2026-11-01' WHERE item = 2",
        "UPDATE guide_months SET last_day = '2026-11-30' WHERE item = 2",
        "INSERT INTO item_months SELECT player, item, '2026-01', '', '', "
        f"{', '.join('0' * len(TEMPO_SUMS))} FROM item_months WHERE item = 2",
        *(f"UPDATE tempo_days SET {name} = {name} + 1 WHERE item = 2" for name in TEMPO_SUMS),
        *(f"UPDATE guide_months SET {name} = {name} + 1 WHERE item = 2" for name in GUIDE_SUMS),
    ):
        with closing(empty()) as connection:
            storing.store_all(connection, (plain_pass("s", n) for n in range(12)))
            before = totals(connection)
            assert wrong_totals(connection) == []
            connection.execute(spoil)
            assert wrong_totals(connection) == [(1, 2)]
            rebuild_totals(connection, wrong_totals(connection), lambda: False)
            assert wrong_totals(connection) == [(1, 2)]
            rebuild_totals(connection, wrong_totals(connection))
            assert totals(connection) == before


def test_a_month_of_which_nothing_is_left_is_summed_again(days: sqlite3.Connection) -> None:
    before = totals(days)
    days.execute("DELETE FROM item_months WHERE month = '2026-11'")
    days.execute("DELETE FROM guide_months WHERE month = '2026-11'")
    assert wrong_totals(days) == [(1, 1), (1, 2)]
    rebuild_totals(days)
    assert totals(days) == before


WRONG_TO_THE_VERDICTS = (
    *(f"UPDATE tempo_days SET {name} = {name} + 1" for name in TEMPO_SUMS),
    *(f"UPDATE guide_days SET {name} = {name} + 1" for name in GUIDE_SUMS),
    "UPDATE tempo_days SET tempo_half_bpm = tempo_half_bpm + 1",
    "UPDATE guide_days SET voice = 'third'",
    "UPDATE level_days SET home_half_bpm = 1",
    "UPDATE level_days SET edge_half_bpm = 1",
    "UPDATE level_days SET reach_half_bpm = 1",
    "DELETE FROM level_days",
)


@pytest.fixture
def days() -> Iterator[sqlite3.Connection]:
    """Three days of two items, on the last two with levels."""
    with closing(empty()) as connection:
        records = (clean(plain_pass("s", n), n % 10 > 1, 80.0 + 4.0 * (n % 4)) for n in range(0, 400, 3))
        storing.store_all(connection, records)
        found = connection.execute("SELECT count(*), count(reach_half_bpm) FROM level_days").fetchone()
        assert found == (6, 4)
        yield connection


def test_a_day_that_is_not_what_its_verdicts_say_is_found_in_its_turn_and_put_right(
    days: sqlite3.Connection,
) -> None:
    before = totals(days)
    of = ItemDay(1, 2, "2026-11-30")
    mine = date(2026, 11, 30).toordinal()
    assert [wrong_in_share(days, turn) for turn in range(SHARES)] == [[]] * SHARES
    for spoil in WRONG_TO_THE_VERDICTS:
        days.execute(f"{spoil} WHERE player = ? AND item = ? AND day = ?", of)
        assert wrong_in_share(days, mine + SHARES) == [of], spoil
        rebuild_days(days, [of])
        assert totals(days) == before, spoil
    days.execute(f"{WRONG_TO_THE_VERDICTS[0]} WHERE player = ? AND item = ? AND day = ?", of)
    assert [turn for turn in range(SHARES) if wrong_in_share(days, turn)] == [mine % SHARES]
    assert wrong_in_share(days, mine, lambda: False) == []
    rebuild_days(days, [of], lambda: False)
    assert wrong_in_share(days, mine) == [of]


def test_levels_that_rest_on_a_day_that_was_wrong_are_put_right_with_it(days: sqlite3.Connection) -> None:
    before = totals(days)
    of = ItemDay(1, 1, "2026-11-29")
    days.execute("UPDATE tempo_days SET clean = 0, unclean = passes WHERE item = 1 AND day = ?", of[2:])
    storing.tell_levels(days, {(1, 1, of.day)})
    now = totals(days)["level_days"]
    assert sum(row != was for row, was in zip(now, before["level_days"], strict=True)) >= 2
    rebuild_days(days, [of])
    assert totals(days) == before


def test_levels_that_another_machine_reckoned_are_right(days: sqlite3.Connection) -> None:
    days.execute("UPDATE level_days SET home_half_bpm = home_half_bpm * (1 + 1e-12)")
    assert not any(wrong_in_share(days, turn) for turn in range(SHARES))


def test_whoever_stores_a_pass_meanwhile_waits_for_one_day_at_most_and_it_is_counted(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Nothing is counted while the file is kept from others, and between two days they may store."""
    with Journal.open(tmp_path, now=lambda: AT, patience_sec=0.0) as journal:
        journal.add_all(plain_pass("s", n) for n in range(400))
        days: list[int] = []
        numbers = iter(range(400, 500))

        @contextmanager
        def watched(connection: sqlite3.Connection) -> Iterator[None]:
            if connection is mine:
                assert journal.add(plain_pass("s", next(numbers)))  # it was counted, and not written yet
                with transaction(connection):
                    changes = connection.total_changes
                    monkeypatch.setattr(recounting, "passes_of", pytest.fail)
                    yield
                    monkeypatch.undo()
                    monkeypatch.setattr(recounting, "transaction", watched)
                    days.append(connection.total_changes - changes)
            else:
                with transaction(connection):
                    yield

        monkeypatch.setattr(recounting, "transaction", watched)
        with closing(to_write(journal.file)) as mine:
            mine.execute("UPDATE tempo_days SET notes = notes + 1")
            rebuild_totals(mine)
            assert len(days) >= 8
            assert max(days) < 40
            assert journal.add(plain_pass("s", 600))
            assert wrong_totals(mine) == []
            assert not any(wrong_in_share(mine, turn) for turn in range(SHARES))
            assert sum(day.passes for day in journal.tempo_days("Ann")) == journal.count() > 405
