"""Totals are those of the passes, in whatever order those came; sums over a period are those of its days."""

from __future__ import annotations

import random
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from dataclasses import fields, replace
from datetime import date, timedelta
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from routines.journal import asking, storing, sums
from routines.journal.journal import Journal
from routines.journal.periods import Period, asked_for
from routines.journal.records import GuideDay, Item, LevelsDay, TempoDay
from routines.journal.recounting import rebuild_totals
from routines.journal.schema import GUIDE_SUMS
from routines.journal.totals import guide_days_of, tempo_day_of
from routines.ladder.levels import Tried, levels_of
from tests.journal_child import plain_pass
from tests.journals import all_rows, clean, empty, totals
from tests.passes import AT, a_pass

ROPE = a_pass().item


@pytest.fixture
def journal(tmp_path: Path) -> Iterator[Journal]:
    with Journal.open(tmp_path / "journal", now=lambda: AT) as opened:
        yield opened


# Totals


def test_what_one_pass_adds_to_its_day() -> None:
    record = a_pass()
    late = replace(record.outcome.notes[0], verdict="late")
    unclear = replace(late, verdict="unclear")
    record = replace(record, outcome=replace(record.outcome, notes=(*record.outcome.notes, late, unclear)))
    day = tempo_day_of(record)
    assert day == TempoDay(
        day="2026-11-29", item=ROPE, tempo_half_bpm=96.0, passes=1, clean=1, unclean=0, unclear=0,
        seconds=8.5, notes=3, landed=2, lean_ms=-2.5, lean_passes=1, bounce=None, bounce_passes=0,
        spread_ms=9.0, spread_passes=1,
    )  # fmt: skip
    for value, counts in ((False, (0, 1, 0)), (None, (0, 0, 1))):
        day = tempo_day_of(clean(record, value))
        assert (day.clean, day.unclean, day.unclear) == counts


def test_what_the_guide_tones_of_one_pass_add() -> None:
    record = a_pass()
    (seven,), (third,) = record.outcome.sevenths, record.outcome.thirds
    sevens = (
        seven,
        replace(seven, landed=False, swallowed=True, resolution="late", as_asked=False),
        replace(
            seven, sounded=None, landed=None, swallowed=None, due=None, resolution="unclear", as_asked=None
        ),
        replace(seven, sounded=False, landed=False, due=False, resolution="none", as_asked=None),
        replace(seven, resolution="unclear", as_asked=None),
        replace(seven, resolution="ahead", next_chord="", as_asked=None),
    )
    record = replace(record, outcome=replace(record.outcome, sevenths=sevens))
    counts = {(row.chord, row.next_chord, row.voice): row for row in guide_days_of(record)}
    none = dict.fromkeys(GUIDE_SUMS, 0)
    about = {"day": "2026-11-29", "item": ROPE, "chord": "A7"}
    to_d = {"asked": 5, "unclear": 1, "sounded": 3, "landed": 2, "swallowed": 1, "due": 3}
    falls = {"resolved": 1, "late": 1, "unclear_falls": 1, "as_asked": 1}
    assert counts == {
        ("A7", "D", "seven"): GuideDay(**about, next_chord="D", voice="seven", **(none | to_d | falls)),
        ("A7", "", "seven"): GuideDay(
            **about,
            next_chord="",
            voice="seven",
            **(none | dict.fromkeys(("asked", "sounded", "landed", "due", "ahead"), 1)),
        ),
        ("A7", "D", "third"): GuideDay(
            **about,
            next_chord="D",
            voice="third",
            **(none | dict.fromkeys(("asked", "sounded", "landed", "due"), 1)),
        ),
    }
    assert third.midi == 61


def test_totals_of_a_day_are_sums_and_means(journal: Journal) -> None:
    first, second, third = a_pass(1), clean(a_pass(2), False), clean(a_pass(3), None, 100.0)
    lean = replace(second.outcome.timing, lean_ms=1.5, bounce=0.55, spread_ms=None)
    second = replace(second, outcome=replace(second.outcome, timing=lean))
    silent = replace(a_pass(4), heard=False)
    for record in (first, second, third, silent, a_pass(5, player="Ben"), a_pass(6, days=1)):
        assert journal.add(record)
    at_96, at_100 = journal.tempo_days("Ann", until="2026-11-29")
    assert (at_96.passes, at_96.clean, at_96.unclean, at_96.unclear, at_96.seconds) == (2, 1, 1, 0, 17.0)
    assert (at_96.lean_ms, at_96.lean_passes, at_96.bounce, at_96.bounce_passes) == (-0.5, 2, 0.55, 1)
    assert (at_96.spread_ms, at_96.spread_passes, at_96.notes, at_96.landed) == (9.0, 1, 4, 4)
    assert (at_100.tempo_half_bpm, at_100.passes, at_100.unclear) == (100.0, 1, 1)
    of_both = (at_96.item, at_96.day, 3, at_96.seconds + at_100.seconds)
    assert journal.day_sums("Ann", until="2026-11-29") == [of_both]
    assert len(journal.day_sums("Ann")) == 2
    seven, *_ = journal.guide_days("Ann", until="2026-11-29")
    assert (seven.voice, seven.asked, seven.resolved) == ("seven", 3, 3)
    (item,) = journal.item_sums("Ann")
    assert (item.passes, item.first_day, item.last_day) == (4, "2026-11-29", "2026-11-30")
    assert item.lean_ms == pytest.approx((-2.5 + 1.5 - 2.5 - 2.5) / 4)
    assert journal.count("Ann") == 5
    assert [one.heard for one in journal.passes(player="Ann", until="2026-11-29")] == [True] * 3 + [False]


def test_tempo_days_of_licks_that_begin_alike(journal: Journal) -> None:
    names = ("warm-up/rolls/1", "warm-up/rolls/2", "warm-up/roll", "warm-up", "Warm-up/rolls/1", "%")
    journal.add_all(replace(a_pass(n), item=Item(name, "G")) for n, name in enumerate(names))
    found = journal.tempo_days("Ann", lick_begins="warm-up/rolls/")
    assert [day.item.lick for day in found] == ["warm-up/rolls/1", "warm-up/rolls/2"]
    assert [day.item.lick for day in journal.tempo_days("Ann", lick_begins="%")] == ["%"]
    assert len(journal.tempo_days("Ann")) == len(names)


def test_levels_rest_on_the_last_four_weeks(journal: Journal) -> None:
    days = (0, 1, 27, 28, 29, 60)
    records = [
        clean(a_pass(20 * d + n, days=d), n < 10, (80.0 if n < 10 else 100.0) + d)
        for d in days
        for n in range(20)
    ]
    random.Random(1).shuffle(records)
    journal.add_all(records[:60])
    for record in records[60:]:  # also what is older than what is there
        journal.add(record)
    wanted = [_levels(at, [d for d in days if 0 <= at - d < 28]) for at in days]
    assert len({(day.home_half_bpm, day.edge_half_bpm, day.reach_half_bpm) for day in wanted}) == len(days)
    assert journal.levels_days("Ann") == wanted
    assert journal.levels_days("Ann", most=2) == [wanted[0], wanted[-1]]
    begin, end = wanted[0].day, wanted[-2].day
    assert journal.last_levels("Ann", 28, since=begin, until=end) == wanted[1:5]  # not the first: 29 days
    assert journal.last_levels("Ann", 28, since=wanted[3].day, until=end) == wanted[3:5]
    assert journal.last_levels("Ann", 28, since=begin, until=wanted[-1].day) == wanted[5:]
    assert journal.last_levels("Ben", 28, since=begin, until=end) == []


def test_levels_rest_on_no_older_day(journal: Journal, monkeypatch: pytest.MonkeyPatch) -> None:
    seen: list[list[int]] = []
    monkeypatch.setattr(storing, "levels_of", lambda tried: seen.append([one.days_ago for one in tried]))
    for days in (0, 27, 28, 0):
        journal.add(a_pass(100 + len(seen), days=days))
    assert seen[:4] == [[0], [27, 0], [1, 0], [0]]  # the fourth pass is of the first day again
    assert sorted(seen[3:], key=str) == [[0], [27, 0]]


def _levels(at: int, days: list[int]) -> LevelsDay:
    tried = [
        Tried(tempo_half_bpm=slow + d, clean=clean, unclean=10 - clean, days_ago=at - d)
        for d in days
        for slow, clean in ((80.0, 10), (100.0, 0))
    ]
    levels = levels_of(tried)
    assert levels is not None
    return LevelsDay(
        day=(AT.date() + timedelta(days=at)).isoformat(),
        item=ROPE,
        home_half_bpm=levels.home_half_bpm,
        edge_half_bpm=levels.edge_half_bpm,
        reach_half_bpm=levels.reach_half_bpm,
    )


def test_levels_that_cannot_be_told_are_none(journal: Journal) -> None:
    journal.add(a_pass())
    assert journal.levels_days("Ann") == [
        LevelsDay(day="2026-11-29", item=ROPE, home_half_bpm=None, edge_half_bpm=None, reach_half_bpm=None)
    ]


# Sums over a period


DAYS = st.dates(date(2026, 1, 25), date(2026, 4, 5)).map(date.isoformat)


@pytest.fixture(scope="module")
def spring() -> Iterator[sqlite3.Connection]:
    """Three items on every third day from the end of January to the beginning of April."""
    begin = (date(2026, 1, 28) - AT.date()).days
    with closing(empty()) as connection:
        storing.store_all(
            connection,
            (
                replace(
                    clean(a_pass(n, days=begin + 3 * d), (n + d) % 2 == 0, 80.0 + n),
                    id=f"{d} {n}",
                    item=Item(f"lick-{n}", "G"),
                )
                for d in range(23)
                for n in range(3)
                if (n + d) % 4
            ),
        )
        yield connection


@settings(max_examples=60, deadline=None)
@given(st.none() | DAYS, st.none() | DAYS, st.sampled_from([None, Item("lick-1", "G"), Item("lick-9", "G")]))
def test_sums_are_those_of_the_days(
    spring: sqlite3.Connection, since: str | None, until: str | None, item: Item | None
) -> None:
    asked = asked_for(spring, "Ann", item, Period(since, until))
    days = asking.tempo_days(spring, asked)
    found = sums.item_sums(spring, asked)
    assert [one.item for one in found] == sorted({day.item for day in days})
    for one in found:
        mine = [day for day in days if day.item == one.item]
        assert (one.first_day, one.last_day) == (min(d.day for d in mine), max(d.day for d in mine))
        for name in ("passes", "clean", "unclean", "unclear", "notes", "landed", "lean_passes", "seconds"):
            assert getattr(one, name) == sum(getattr(day, name) for day in mine)
    if item is None:
        by_day: dict[tuple[Item, str], tuple[int, float]] = {}
        for day in days:
            passes, seconds = by_day.get((day.item, day.day), (0, 0.0))
            by_day[day.item, day.day] = passes + day.passes, seconds + day.seconds
        assert {(of, day): (n, sec) for of, day, n, sec in sums.day_sums(spring, asked)} == by_day
    guides = asking.guide_days(spring, asked)
    summed = sums.guide_sums(spring, asked)
    tones = [(g.item, g.chord, g.next_chord, g.voice) for g in summed]
    assert tones == sorted({(g.item, g.chord, g.next_chord, g.voice) for g in guides})
    for guide, tone in zip(summed, tones, strict=True):
        mine = [g for g in guides if (g.item, g.chord, g.next_chord, g.voice) == tone]
        assert guide.day == max(g.day for g in mine)
        assert all(getattr(guide, name) == sum(getattr(g, name) for g in mine) for name in GUIDE_SUMS)


def test_a_period_is_its_whole_months_and_the_days_left() -> None:
    middle = Period("2026-01-31", "2026-03-30")
    assert middle.months == ("2026-02", "2026-03")
    assert middle.days_left == (("2026-01-31", "2026-02"), ("2026-03", "2026-03-30~"))
    whole = Period("2026-02-01", "2026-02-28")
    assert whole.months == ("2026-02", "2026-03")
    assert all(begin >= end for begin, end in whole.days_left)
    assert Period("2026-02-02", "2026-02-28").months == ("", "")
    assert Period().months == ("", "~")


# One or all at once, in any order, and counted anew


def test_passes_in_any_order_one_by_one_or_together_give_the_same_totals() -> None:
    records = [plain_pass("s", n) for n in range(60)]
    shuffled = random.Random(2).sample(records, len(records))
    with closing(empty()) as one, closing(empty()) as together, closing(empty()) as other:
        for record in records:
            storing.store(one, record)
        assert storing.store_all(together, [*records, *records[:9]]) == len(records)
        assert all_rows(one) == all_rows(together)
        storing.store_all(other, shuffled)
        assert totals(other) == totals(one)
        rebuild_totals(other)
        assert totals(other) == totals(one)


def test_an_open_journal_counts_its_totals_anew(journal: Journal) -> None:
    journal.add(a_pass())
    before = journal.tempo_days("Ann"), journal.levels_days("Ann")
    journal.rebuild_totals()
    assert (journal.tempo_days("Ann"), journal.levels_days("Ann")) == before


def test_every_sum_that_is_stored_is_one_that_is_told() -> None:
    assert {f.name for f in fields(GuideDay)} == {"day", "item", "chord", "next_chord", "voice", *GUIDE_SUMS}
