"""The journal: what is stored comes back, totals are those of the passes, and a failure leaves nothing."""

from __future__ import annotations

import math
import random
from collections.abc import Iterator
from contextlib import closing
from dataclasses import replace
from datetime import datetime
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from routines.errors import BadRoutine
from routines.journal import asking, storing
from routines.journal.errors import JournalTrouble
from routines.journal.finite import finite
from routines.journal.journal import Journal
from routines.journal.packing import pack, unpack
from routines.journal.periods import Period, asked_for
from routines.journal.players import player_name
from routines.journal.records import Item, PassRecord
from routines.journal.visits import others
from routines.outcome import Timing
from tests.journal_child import plain_pass
from tests.journals import all_rows, empty
from tests.passes import AT, a_pass, odd_passes, told

ROPE = a_pass().item
EVER = Period()


def now() -> datetime:
    return AT


@pytest.fixture
def journal(tmp_path: Path) -> Iterator[Journal]:
    with Journal.open(tmp_path / "journal", now=now) as opened:
        yield opened


# What is stored comes back


@settings(max_examples=20, deadline=None)
@given(st.lists(odd_passes(), max_size=2, unique_by=lambda one: one.id))
def test_any_passes_come_back_equal(records: list[PassRecord]) -> None:
    with closing(empty()) as connection:
        assert [storing.store(connection, one) for one in records] == [True] * len(records)
        numbers = asking.numbers_of_passes(connection, asked_for(connection, None, None, EVER))
        found = list(asking.passes_of(connection, numbers))
        assert told(found) == told(sorted(records, key=lambda one: (one.day, one.ended_at)))
        before = all_rows(connection)
        assert not any(storing.store(connection, replace(one, title="other")) for one in records)
        assert all_rows(connection) == before
        for one in records:
            asked = asked_for(connection, one.player, one.item, Period(one.day, one.day))
            assert one in asking.passes_of(connection, asking.numbers_of_passes(connection, asked))


def test_what_is_no_number_is_stored_as_what_could_not_be_told(journal: Journal) -> None:
    record = a_pass()
    assert finite(record) is record
    none = dict.fromkeys(("lean_ms", "drift_percent", "hurry_at_change_ms"), math.nan)
    course = ((0.0, math.nan), (1.25, 97.5))
    timing = replace(record.outcome.timing, **none, bounce=-math.inf, spread_ms=-0.0, tempo_course=course)
    note = replace(record.outcome.notes[0], deviation_ms=np.float32(math.nan))
    outcome = replace(
        record.outcome, timing=timing, notes=(note, record.outcome.notes[1]), tempo_half_bpm=math.inf
    )
    journal.add(replace(record, moved_ms=math.nan, lasted_sec=math.inf, outcome=outcome))
    (found,) = journal.passes()
    assert (found.moved_ms, found.lasted_sec, found.outcome.tempo_half_bpm) == (0.0, 0.0, 1.0)
    assert found.outcome.notes == (replace(note, deviation_ms=None), record.outcome.notes[1])
    assert found.outcome.timing == Timing(
        lean_ms=None,
        bounce=None,
        spread_ms=0.0,
        drift_percent=None,
        hurry_at_change_ms=None,
        tempo_course=((0.0, 0.0), (1.25, 97.5)),
    )
    (day,) = journal.tempo_days("Ann")
    assert (day.lean_ms, day.lean_passes, day.bounce, day.seconds) == (None, 0, None, 0.0)
    assert (day.spread_ms, day.spread_passes) == (0.0, 1)


def test_numbers_of_numpy_are_stored_as_numbers() -> None:
    outcome = a_pass().outcome
    note = replace(outcome.notes[0], midi=np.int64(67), core=np.bool_(True), rest_ms=np.float32(0.5))
    odd = replace(outcome, tempo_half_bpm=np.float64(96.0), notes=(note,))
    (found,) = unpack(pack(odd)).notes
    assert (found.midi, found.core, found.rest_ms) == (67, True, 0.5)
    assert [type(v) for v in (found.midi, found.core, found.rest_ms)] == [int, bool, float]
    with pytest.raises(TypeError, match="set is no verdict's value"):
        pack(replace(outcome, lick={1}))


def test_verdicts_that_were_packed_long_ago_can_be_read() -> None:
    packed = bytes.fromhex(PACKED)
    assert unpack(packed) == a_pass().outcome
    assert unpack(pack(a_pass().outcome)) == a_pass().outcome
    for wrong in (b"", packed[:-9], pack(a_pass().outcome)[1:]):
        with pytest.raises(ValueError, match="no verdicts"):
            unpack(wrong)


def test_verdicts_of_a_format_that_is_not_known_are_told(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("routines.journal.packing.FORMAT", 2)
    newer = pack(a_pass().outcome)
    monkeypatch.undo()
    with pytest.raises(ValueError, match="a format that is not known here"):
        unpack(newer)


def test_a_pass_takes_about_a_kilobyte() -> None:
    outcome = a_pass().outcome
    rng = random.Random(1)
    notes = tuple(
        replace(
            outcome.notes[0], index=k, onset_sec=rng.random(), deviation_ms=rng.random(), rest_ms=rng.random()
        )
        for k in range(16)
    )
    assert len(pack(replace(outcome, notes=notes))) < 1000


def test_half_a_sign_in_a_name_loses_no_pass(journal: Journal) -> None:
    broken = Item("a\udcff", "G")
    assert journal.add(replace(a_pass(), item=broken, title="\ud800"))
    assert [one.item.lick for one in journal.passes(item=broken)] == ["a?"]


def test_a_moment_without_offset_is_refused(journal: Journal) -> None:
    with pytest.raises(ValueError, match="says no offset from world time"):
        journal.add(replace(a_pass(), ended_at=datetime(2026, 11, 29)))
    assert journal.count() == 0


# Questions


def test_passes_are_told_as_they_are_asked_for(journal: Journal) -> None:
    mine = [a_pass(n, days=n // 2) for n in range(6)]
    other = replace(a_pass(7, player="Ben", days=1), item=Item("spoons", "G"))
    assert journal.add_all([*reversed(mine), other]) == 7
    assert list(journal.passes(player="Ann")) == mine
    assert list(journal.passes(newest_first=True)) == sorted([*mine, other], key=lambda r: r.ended_at)[::-1]
    assert list(journal.passes(since="2026-11-30", until="2026-11-30")) == [mine[2], mine[3], other]
    assert list(journal.passes(item=other.item)) == [other]
    assert list(journal.passes(player="Ann", limit=2, newest_first=True)) == [mine[5], mine[4]]
    for nobody in ({"player": "Cid"}, {"item": Item("spoons", "A")}, {"since": "2027-01-01"}, {"limit": 0}):
        assert list(journal.passes(**nobody)) == []
    assert (journal.players(), journal.count(), journal.count("Ben"), journal.count("Cid")) == (
        ["Ann", "Ben"],
        7,
        1,
        0,
    )
    assert journal.days("Ann") == ["2026-11-29", "2026-11-30", "2026-12-01"]
    assert journal.days("Cid") == journal.tempo_days("Cid") == journal.item_sums("Cid") == []


def test_a_day_is_the_players_own(journal: Journal) -> None:
    late = replace(a_pass(), ended_at=datetime.fromisoformat("2026-11-29T23:30:00-08:00"))
    journal.add(late)  # in world time it is the next day
    assert journal.days("Ann") == ["2026-11-29"]
    early = replace(a_pass(2), ended_at=datetime.fromisoformat("2026-11-30T06:00:00+01:00"))
    journal.add(early)  # earlier in world time, and of a later day
    assert list(journal.passes()) == [late, early]


def test_a_day_on_which_nothing_was_heard_is_none(journal: Journal) -> None:
    journal.add_all([a_pass(), replace(a_pass(2, days=1), heard=False)])
    assert journal.days("Ann") == ["2026-11-29"]
    assert journal.count("Ann") == 2


def test_a_title_is_the_one_that_was_stored_last(journal: Journal) -> None:
    journal.add_all([a_pass(1), replace(a_pass(2), title="Wetter Rope"), a_pass(3, player="Ben")])
    assert journal.titles("Ann") == {"wet-rope": "Wetter Rope"}
    assert journal.titles("Ben") == {"wet-rope": "Wet Rope"}


def test_many_passes_are_gone_through_while_others_are_stored(journal: Journal) -> None:
    many = asking.AT_ONCE + 3
    journal.add_all(plain_pass("s", n) for n in range(many))
    with Journal.open(journal.file.parent, now=now) as other:
        seen = []
        for record in journal.passes():
            seen.append(record)
            if len(seen) in (1, asking.AT_ONCE + 1):
                assert other.add(a_pass(len(seen)))
                assert journal.add(a_pass(1000 + len(seen)))
    assert [one.id for one in seen] == [f"s/{n}" for n in range(many)]


def test_so_many_rows_are_kept_evenly_with_the_last() -> None:
    rows = list(range(10))
    assert [asking.thinned(rows, most) for most in (None, 10, 11)] == [rows] * 3
    assert asking.thinned(rows, 4) == [0, 3, 6, 9]
    assert [asking.thinned(rows, most) for most in (0, 1, 2)] == [[], [9], [0, 9]]
    for most in range(2, 10):
        kept = asking.thinned(rows, most)
        assert (len(set(kept)), kept[-1]) == (most, 9)


# A failure leaves nothing


def test_a_pass_that_cannot_be_stored_leaves_nothing_and_can_be_tried_again(
    journal: Journal, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(tried: object) -> None:
        raise RuntimeError("a fault of the program")

    monkeypatch.setattr(storing, "levels_of", broken)
    with pytest.raises(RuntimeError):
        journal.add(a_pass())
    with pytest.raises(RuntimeError):
        journal.add_all(plain_pass("s", n) for n in range(3))
    monkeypatch.undo()
    with pytest.raises(ZeroDivisionError):
        journal.add_all(a_pass(1 // n) for n in (1, 0))
    assert not any(all_rows(journal._connection).values())
    assert journal.add(a_pass())


def test_a_full_disk_is_one_line_and_loses_nothing(journal: Journal) -> None:
    assert journal.add(a_pass())
    before = all_rows(journal._connection)
    connection = journal._connection
    connection.execute(f"PRAGMA max_page_count = {connection.execute('PRAGMA page_count').fetchone()[0]}")
    many = [plain_pass("s", n) for n in range(200)]
    with pytest.raises(JournalTrouble, match="the disk is full, nothing was changed") as raised:
        journal.add_all(many)
    assert str(raised.value).startswith(f"{journal.file}: ")
    assert "\n" not in str(raised.value)
    assert all_rows(connection) == before
    connection.execute("PRAGMA max_page_count = 100000")
    assert journal.add_all(many) == 200


def test_a_file_that_may_not_be_written_is_one_line(journal: Journal) -> None:
    journal._connection.execute("PRAGMA query_only = ON")
    with pytest.raises(JournalTrouble, match="may not be written to"):
        journal.add(a_pass())
    assert journal.count() == 0


def test_a_journal_that_is_damaged_under_way_is_one_line(journal: Journal) -> None:
    journal.add_all(plain_pass("s", n) for n in range(200))
    journal._connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    journal._connection.execute("PRAGMA shrink_memory")
    size = journal.file.stat().st_size
    with journal.file.open("r+b") as file:
        file.seek(8192)
        file.write(b"\xff" * (size - 8192))
    with pytest.raises(JournalTrouble, match="is damaged"):
        list(journal.passes())
    assert len(others(journal.file.parent).left) == 1  # whoever opens it next looks at it first


# Names of players


def test_names_of_players() -> None:
    assert player_name("  Ann of the Glen ") == "Ann of the Glen"
    assert player_name("Zoe\u0308") == player_name("Zo\u00eb") == "Zo\u00eb"
    assert player_name("🪕" * 60) == "🪕" * 60
    for wrong in ("", "  ", "x" * 61, "a\nb", "a\tb", "a\x00", "\ud800", "a\u2028b"):
        with pytest.raises(BadRoutine, match="1 to 60 characters that can be printed are accepted"):
            player_name(wrong)


PACKED = (
    "789c75903d0ec3200c85efe2f905415440192bf5162843a4b81322557edaebd7388ddaa161b0b0cdf7fc7072a017afcd"
    "3c3d98403742178c45d972c67dc80b639d37464a1656ea21c2c183167e72a1bd477928238f549b4d34ad57ba47728238"
    "1fa410826097332cfc627d9d650469f5d99e83ae7177273394d6a02ef5261a34f332e5e7a1e844e3af803b152853e12f"
    "7cb869da4f82ee588c866ad3eab6ea57abff2e1adfcb79033c5b61f7"
)
