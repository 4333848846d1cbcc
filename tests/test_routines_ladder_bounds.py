"""An edge that was found is not lost: very good days, very bad ones, days too short to tell."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given

from routines.ladder.bounds import bounded
from routines.ladder.levels import Levels, Tried, levels_of
from routines.ladder.standing import standing
from tests.ladders import FOURS, KNOWN, begun, day
from tests.test_routines_ladder_levels import ROWS

TODAY = "2026-11-29"
FOUND = [
    day(date, tempo, clean, unclean, 9.0)
    for date in ("2026-11-20", "2026-11-26")
    for tempo, clean, unclean in ((60.0, 20, 0), (66.0, 18, 2), (72.0, 14, 6), (78.0, 2, 18))
]


def levels() -> Levels:
    assert KNOWN.levels is not None
    return KNOWN.levels


def test_what_was_clean_since_raises_the_edge_and_leaves_home() -> None:
    rows = [Tried(tempo_half_bpm=tempo, clean=4, unclean=1) for tempo in (104.0, 110.0)]
    raised = bounded(levels(), rows)
    assert (raised.home_half_bpm, raised.edge_half_bpm, raised.reach_half_bpm) == (93.0, 110.0, 114.4)
    assert (raised.low_half_bpm, raised.high_half_bpm, raised.bound) == (110.0, 110.0, "at least")


@pytest.mark.parametrize(("tempo", "clean", "unclean"), [(110.0, 2, 0), (110.0, 7, 2), (99.0, 9, 0)])
def test_what_was_clean_too_seldom_or_under_the_edge_raises_nothing(
    tempo: float, clean: int, unclean: int
) -> None:
    assert bounded(levels(), [Tried(tempo_half_bpm=tempo, clean=clean, unclean=unclean)]) == levels()
    assert bounded(levels(), []) == levels()


def test_where_nothing_was_clean_since_the_edge_lies_no_higher() -> None:
    rows = [Tried(tempo_half_bpm=tempo, clean=1, unclean=3) for tempo in (85.0, 50.0)]
    lowered = bounded(levels(), rows)
    assert (lowered.home_half_bpm, lowered.edge_half_bpm, lowered.reach_half_bpm) == (46.5, 50.0, 52.0)
    assert (lowered.low_half_bpm, lowered.high_half_bpm, lowered.bound) == (50.0, 50.0, "at most")
    assert bounded(levels(), rows[:1]) == levels(), "three passes not clean are a slip"
    assert bounded(levels(), [*rows, Tried(tempo_half_bpm=40.0, clean=3, unclean=2)]) == levels()


@given(ROWS)
def test_levels_stay_in_order(rows: list[Tried]) -> None:
    kept = bounded(levels(), rows)
    assert kept.home_half_bpm <= kept.edge_half_bpm <= kept.reach_half_bpm
    assert kept.low_half_bpm <= kept.edge_half_bpm <= kept.high_half_bpm
    assert bounded(kept, rows).edge_half_bpm == kept.edge_half_bpm


def test_after_a_very_bad_day_it_begins_under_what_failed() -> None:
    bad = [day("2026-11-28", tempo, 0, 8, 9.0) for tempo in (40.0, 36.0, 33.0)]
    long_ago = [replace(row, day="2026-11-04") for row in FOUND]
    stands = standing([*long_ago, *bad], TODAY)
    assert stands.levels is not None
    assert (stands.levels.edge_half_bpm, stands.levels.bound) == (33.0, "at most")
    ladder = begun(60.0, stands).ladder
    assert (ladder.tempo_half_bpm, ladder.said) == (28.0, "85 % of the edge, which was at most 33")


def test_a_short_day_after_a_long_pause_keeps_the_edge() -> None:
    long_ago = [replace(row, day="2026-11-10") for row in FOUND]
    stands = standing([*long_ago, day("2026-11-28", 60.0, 1, 0)], TODAY)
    assert stands.levels == standing(long_ago, TODAY).levels is not None
    today = [day(TODAY, row.tempo_half_bpm, row.clean, row.unclean) for row in FOUND]
    only_today = standing([day("2026-11-28", 60.0, 1, 0), *today], TODAY)
    assert only_today.levels is not None, "told today only"


def test_a_very_good_day_loses_no_limit() -> None:
    found = [replace(row, day="2026-11-20") for row in FOUND[:4]]
    good = [day("2026-11-28", tempo, 12, 0, 9.0) for tempo in (74.0, 80.0, 86.0, 92.0)]
    stands = standing([*found, *good], TODAY)
    assert levels_of(stands.tried) is None, "the passes by themselves tell no edge any more"
    assert (stands.week_best_half_bpm, stands.home_spread_ms) == (92.0, 9.0)
    sitting = begun(60.0, stands, rules=replace(FOURS, item_sec=1e6))
    assert sitting.ladder.said == "85 % of the edge, which was at least 92"
    sitting.spread_ms = 25.0
    assert {sitting.plays("CCCC").tempo_half_bpm for _ in range(8)} == {78.0}
    assert sitting.ladder.said == "spread 25 ms, at home 9: no rise yet"
    sitting.spread_ms = 9.0
    assert max(sitting.plays("CCCC").tempo_half_bpm for _ in range(20)) == 96.0, "5 % over 92"


def test_no_edge_is_shown_under_what_was_just_clean() -> None:
    sitting = begun(60.0, KNOWN)
    sitting.ladder = sitting.ladder.at(110.0)
    assert sitting.plays("CC").edge_half_bpm == 100.0
    clean = sitting.plays("C")
    assert (clean.home_half_bpm, clean.edge_half_bpm, clean.reach_half_bpm) == (93.0, 110.0, 114.4)


def test_an_edge_that_was_found_in_a_sitting_is_not_lost_in_it() -> None:
    sitting = begun(80.0, rules=replace(FOURS, item_sec=1e6))
    sitting.plays("CCCC CUCC UUCC CCCC UCUU")
    assert sitting.ladder.edge_half_bpm is not None
    sitting.ladder = sitting.ladder.at(160.0)
    sitting.plays("CCCC " * 20)
    assert sitting.ladder._now.told is None
    assert sitting.ladder.edge_half_bpm is not None
    assert sitting.ladder.edge_half_bpm >= sitting.ladder.tempo_half_bpm / 1.05


def test_passes_of_an_earlier_sitting_today_leave_it_too() -> None:
    earlier = Tried(tempo_half_bpm=112.0, clean=3, unclean=0)
    assert begun(60.0, replace(KNOWN, tried=(earlier,))).ladder.edge_half_bpm == 112.0
    assert begun(60.0, replace(KNOWN, tried=(replace(earlier, days_ago=1),))).ladder.edge_half_bpm == 100.0


def test_rungs_are_small_near_the_edge_that_was_found_and_not_near_one_that_lies_somewhere_above() -> None:
    sitting = begun(60.0, KNOWN)
    sitting.ladder = sitting.ladder.at(108.0)
    risen = sitting.plays("CCC")
    assert (risen.edge_half_bpm, risen.tempo_half_bpm) == (108.0, 112.0)
