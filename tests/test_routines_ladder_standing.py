"""Where an item stood before a sitting."""

from __future__ import annotations

import pytest

from routines.errors import BadRoutine
from routines.journal.records import TempoDay
from routines.ladder.levels import Tried, levels_of
from routines.ladder.standing import Standing, standing
from tests.ladders import day

TODAY = "2026-11-29"


def a_day(when: str, edge: float) -> list[TempoDay]:
    shares = ((0.8, 19, 1), (0.9, 18, 2), (1.0, 16, 4), (1.1, 3, 17))
    return [day(when, round(share * edge), clean, unclean, 10.0 * share) for share, clean, unclean in shares]


def test_nothing_known() -> None:
    assert standing([], TODAY) == Standing()


def test_levels_are_those_at_the_end_of_the_last_day_before_today() -> None:
    before, today = a_day("2026-11-27", 80.0), a_day(TODAY, 100.0)
    stands = standing([*today, *before], TODAY)
    as_then = [
        Tried(tempo_half_bpm=row.tempo_half_bpm, clean=row.clean, unclean=row.unclean) for row in before
    ]
    assert stands.levels == levels_of(as_then)
    assert stands.levels is not None
    assert 76.0 < stands.levels.edge_half_bpm < 84.0
    assert {row.days_ago for row in stands.tried} == {0, 2}


def test_where_there_is_only_today_levels_are_of_today() -> None:
    stands = standing(a_day(TODAY, 100.0), TODAY)
    assert stands.levels is not None
    assert 95.0 < stands.levels.edge_half_bpm < 105.0
    assert stands.week_best_half_bpm is None


def test_the_weeks_best_is_clean_three_times_on_one_of_seven_days_before_today() -> None:
    rows = [
        *a_day("2026-11-27", 80.0),
        day("2026-11-21", 120.0, 9, 0),
        day("2026-11-22", 91.0, 3, 9),
        day("2026-11-28", 99.0, 2, 0),
        day("2026-11-27", 99.0, 2, 9),
        day(TODAY, 130.0, 9, 0),
    ]
    assert standing(rows, TODAY).week_best_half_bpm == 91.0


def test_the_weeks_best_is_told_where_the_edge_was_never_found_too() -> None:
    stands = standing([day("2026-11-28", 60.0, 30, 0, 9.0)], TODAY)
    assert (stands.levels, stands.home_spread_ms) == (None, None)
    assert stands.week_best_half_bpm == 60.0
    assert stands.tried == (Tried(tempo_half_bpm=60.0, clean=30, unclean=0, days_ago=1),)


def test_spread_at_home_is_a_mean_over_passes_about_home() -> None:
    rows = [
        day("2026-11-28", 76.0, 29, 1, 12.0),
        day("2026-11-28", 80.0, 8, 2, 20.0),
        day("2026-11-28", 88.0, 0, 10, 90.0),
        day("2026-11-28", 60.0, 10, 0, 90.0),
    ]
    stands = standing(rows, TODAY)
    assert stands.levels is not None
    assert 73.0 < stands.levels.home_half_bpm < 80.0
    assert stands.home_spread_ms == pytest.approx((30 * 12.0 + 10 * 20.0) / 40)


def test_days_out_of_memory_and_of_the_future_are_passed_over() -> None:
    assert standing([*a_day("2026-10-31", 80.0), *a_day("2026-11-30", 80.0)], TODAY) == Standing()
    assert standing(a_day("2026-11-01", 80.0), TODAY).levels is not None


def test_a_day_that_is_no_date() -> None:
    with pytest.raises(BadRoutine, match=r"'yesterday'.*2026-11-29"):
        standing([day("yesterday", 80.0, 3, 0)], TODAY)
