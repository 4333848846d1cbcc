"""Passes without their verdicts: the last one, those of a sitting; and passes that cannot be read."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from routines.journal import asking, marks, storing
from routines.journal.errors import JournalTrouble, UnreadPass
from routines.journal.journal import Journal
from routines.journal.marks import PassMark
from routines.journal.packing import unpack
from routines.journal.periods import Period, asked_for
from routines.journal.records import Item, PassRecord
from tests.journals import empty
from tests.passes import AT, a_pass, odd_passes, told

YEARS = timedelta(days=800)


@pytest.fixture
def journal(tmp_path: Path) -> Iterator[Journal]:
    with Journal.open(tmp_path, now=lambda: AT) as opened:
        yield opened


def _mark(record: PassRecord) -> PassMark:
    return PassMark(
        id=record.id,
        sitting=record.sitting,
        item=record.item,
        ended_at=record.ended_at,
        lasted_sec=record.lasted_sec,
        heard=record.heard,
    )


def _spoil(journal: Journal, column: str, *ids: str, by: object = b"xx") -> None:
    for name in ids:
        journal._connection.execute(f"UPDATE passes SET {column} = ? WHERE name = ?", (by, name))


def test_the_last_pass_is_the_one_that_ended_last(journal: Journal) -> None:
    assert journal.last_pass("Ann") is None
    first, second = a_pass(1), replace(a_pass(2, days=3), heard=False)
    ahead = replace(a_pass(3), ended_at=AT + YEARS)
    journal.add_all([second, ahead, first, a_pass(4, player="Ben", days=5)])
    assert journal.last_pass("Ann") == _mark(ahead)
    assert journal.last_pass("Ann", AT + timedelta(days=9)) == _mark(second)
    assert journal.last_pass("Ann", second.ended_at) == _mark(second)
    assert journal.last_pass("Ann", second.ended_at - timedelta(microseconds=1)) == _mark(first)
    assert journal.last_pass("Ann", AT) is None
    assert journal.last_pass("Cid") is None
    with pytest.raises(ValueError, match="says no offset from world time"):
        journal.last_pass("Ann", datetime(2026, 11, 29))


def test_the_last_pass_is_the_one_that_ended_last_also_on_a_journey(journal: Journal) -> None:
    west = replace(a_pass(1), ended_at=datetime.fromisoformat("2026-11-29T12:30:00-10:00"))
    east = replace(a_pass(2), ended_at=datetime.fromisoformat("2026-11-30T12:00:00+14:00"))
    journal.add_all([west, east])  # of an earlier day, and half an hour later
    assert journal.last_pass("Ann") == _mark(west)
    assert journal.last_pass("Ann", datetime.fromisoformat("2026-11-29T22:10:00+00:00")) == _mark(east)
    assert journal.last_pass("Ann", datetime.fromisoformat("2026-11-29T12:10:00-10:00")) == _mark(east)
    assert journal.marks("Ann", since="2026-11-30") == [_mark(east)]


def test_marks_are_those_of_the_passes_that_are_asked_for(journal: Journal) -> None:
    mine = [a_pass(n, days=n // 2) for n in range(6)]
    other = replace(a_pass(7, days=1), item=Item("spoons", "G"))
    journal.add_all([*reversed(mine), other, a_pass(8, player="Ben")])
    assert journal.marks("Ann", since="2026-11-29") == [_mark(one) for one in (*mine[:4], other, *mine[4:])]
    assert journal.marks("Ann", since="2026-11-30", until="2026-11-30", item=mine[0].item) == [
        _mark(one) for one in mine[2:4]
    ]
    assert journal.marks("Ann", since="2026-12-02") == journal.marks("Cid", since="2026-01-01") == []


@settings(max_examples=20, deadline=None)
@given(st.lists(odd_passes(), min_size=1, max_size=4, unique_by=lambda one: one.id), st.integers(0, 3))
def test_marks_of_any_passes(records: list[PassRecord], which: int) -> None:
    records = [replace(one, player="Ann") for one in records]
    until = records[which % len(records)].ended_at
    connection = empty()
    storing.store_all(connection, records)
    asked = asked_for(connection, "Ann", None, Period())
    found = marks.marks(connection, asked)
    assert found == [_mark(one) for one in sorted(records, key=lambda one: (one.day, one.ended_at))]
    last = marks.last_pass(connection, asked, until)
    assert last is not None
    assert last.ended_at == until
    latest = marks.last_pass(connection, asked)
    assert latest is not None
    assert latest.ended_at == max(one.ended_at for one in records)
    connection.close()


def test_marks_are_found_by_the_index_and_read_no_verdicts(journal: Journal) -> None:
    journal.add_all(a_pass(n, days=n) for n in range(150))
    asked = asked_for(journal._connection, "Ann", None, Period("2027-04-25"))
    steps: list[int] = []
    journal._connection.set_progress_handler(lambda: steps.append(1), 10)
    journal.last_pass("Ann", AT + timedelta(days=100))
    marks.marks(journal._connection, asked)
    assert len(steps) < 45, len(steps)  # ten instructions each: to go through all passes takes more
    journal._connection.set_progress_handler(None, 0)
    _spoil(journal, "verdicts", *(one.id for one in map(a_pass, range(150))))
    assert journal.last_pass("Ann") == _mark(a_pass(149, days=149))
    assert len(journal.marks("Ann", since="2026-11-29")) == 150


def test_a_pass_that_cannot_be_read_is_one_line_that_names_it(journal: Journal) -> None:
    three = [a_pass(n) for n in (1, 2, 3)]
    journal.add_all(three)
    for column, by in (("verdicts", b"xx"), ("verdicts", "text"), ("ended_at", "soon")):
        journal._connection.execute("SAVEPOINT spoilt")
        _spoil(journal, column, three[1].id, by=by)
        seen = []
        with pytest.raises(JournalTrouble) as caught:
            seen.extend(iter(journal.passes()))
        said = str(caught.value)
        assert said.startswith(f"{journal.file}: pass sitting/1/1/2 cannot be read (")
        assert said.endswith("; sevenfall journal export writes all others")
        assert "\n" not in said
        unread: list[UnreadPass] = []
        assert told(list(journal.passes(unread=unread.append))) == told([three[0], three[2]])
        assert [error.name for error in unread] == [three[1].id]
        journal._connection.execute("ROLLBACK TO spoilt")
    _spoil(journal, "ended_at", three[2].id, by="soon")
    with pytest.raises(JournalTrouble, match="pass sitting/1/1/3 cannot be read"):
        journal.marks("Ann", since="2026-11-29")


def test_what_was_spoilt_in_any_way_is_told_as_such() -> None:
    connection = empty()
    storing.store(connection, a_pass())
    (packed,) = connection.execute("SELECT verdicts FROM passes").fetchone()
    for at in range(0, len(packed), 3):
        spoilt = bytes([*packed[:at], packed[at] ^ 0x55, *packed[at + 1 :]])
        connection.execute("UPDATE passes SET verdicts = ?", (spoilt,))
        with pytest.raises(UnreadPass, match="pass sitting/1/1/1 cannot be read"):
            list(asking.passes_of(connection, [1]))
        with pytest.raises(ValueError, match="verdicts"):
            unpack(spoilt)
    connection.close()


def test_a_name_that_cannot_be_printed_is_told_on_one_line() -> None:
    assert str(UnreadPass("a\nb", "no\n verdicts")) == "pass 'a\\nb' cannot be read (no verdicts)"
    assert len(str(UnreadPass("x" * 100_000, "y" * 100_000))) < 300
