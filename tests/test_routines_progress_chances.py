"""Whether two stretches of days differ by more than chance: against known tables."""

from __future__ import annotations

import math
import random

import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from scipy import special

from routines.progress.chances import Cell, difference, normal_tail, t_tail


def days(rates: list[tuple[float, float]], *, later: bool, stratum: str = "a", begins: int = 0) -> list[Cell]:
    """One cell a day, of (number, total)."""
    return [
        Cell(stratum=stratum, day=f"{begins + at:03}", later=later, number=number, total=total)
        for at, (number, total) in enumerate(rates)
    ]


@given(st.floats(-9, 9).filter(lambda t: abs(t) > 1e-4), st.integers(1, 60))  # nearer to 0 scipy is coarse
def test_tails_are_those_of_the_tables(t: float, freedom: int) -> None:
    assert t_tail(t, freedom) == pytest.approx(special.stdtr(freedom, -t), rel=1e-9, abs=1e-14)
    assert normal_tail(t) == pytest.approx(special.ndtr(-t), rel=1e-9, abs=1e-14)


@given(st.floats(-1, 1) | st.floats(-1e-6, 1e-6))
@example(3.1565563397787195e-08)
@example(0.0)
def test_tails_of_one_and_two_degrees_are_those_of_their_formulas(t: float) -> None:
    assert t_tail(t, 1) == pytest.approx(0.5 - math.atan(t) / math.pi, rel=1e-12)
    assert t_tail(t, 2) == pytest.approx(0.5 - t / (2.0 * math.sqrt(2.0 + t * t)), rel=1e-12)


def test_counts_without_days_of_their_own_are_told_as_mantel_and_haenszel_do() -> None:
    # Each day has the very share of its stretch, so the days add nothing: 40 of 50 against 60 of 100.
    cells = days([(10, 8)] * 5, later=True, begins=50) + days([(10, 6)] * 10, later=False)
    found = difference(cells, counts=True)
    assert found is not None
    assert (found.later_total, found.later_number, found.earlier_total, found.earlier_number) == (
        40,
        50,
        60,
        100,
    )
    assert (found.later_days, found.earlier_days) == (5, 10)
    assert found.rise == pytest.approx(0.2)
    off = 40 - 100 * 50 / 150
    variance = 50 * 100 * 100 * 50 / (150**2 * 149)
    assert found.chance_rise == pytest.approx(special.stdtr(13, -(off - 0.5) / math.sqrt(variance)))
    assert found.chance_fall == 1.0


def test_measures_are_told_as_students_t_does_where_days_are_alike() -> None:
    from scipy import stats  # slow to load, for nobody but this

    rng = random.Random(3)
    later, earlier = ([rng.gauss(mean, 2.0) for _ in range(6)] for mean in (15.0, 20.0))
    cells = days([(1, x) for x in later], later=True, begins=50) + days(
        [(1, x) for x in earlier], later=False
    )
    found = difference(cells, counts=False)
    assert found is not None
    wanted = stats.ttest_ind(later, earlier, alternative="less")
    assert found.chance_fall == pytest.approx(wanted.pvalue, rel=1e-6)
    assert found.chance_rise == 1.0


def test_like_is_compared_with_like() -> None:
    # The easy lick went 9 in 10, the hard one 1 in 10, in both stretches; this week is mostly easy.
    cells = [
        *days([(40, 36)] * 4, later=True, stratum="easy", begins=50),
        *days([(10, 1)] * 4, later=True, stratum="hard", begins=50),
        *days([(10, 9)] * 8, later=False, stratum="easy"),
        *days([(40, 4)] * 8, later=False, stratum="hard"),
        *days([(99, 99)] * 4, later=True, stratum="new", begins=50),
    ]
    found = difference(cells, counts=True)
    assert found is not None
    assert found.later_number == 200  # what is new is not compared
    assert found.rise == pytest.approx(0.0)
    assert found.later_total / found.later_number > found.earlier_total / found.earlier_number + 0.4
    assert found.chance_rise == 1.0


def test_days_that_scatter_make_less_sure() -> None:
    steady = days([(10, 8)] * 6, later=True, begins=50) + days([(10, 5)] * 6, later=False)
    wild = days([(10, 10), (10, 6)] * 3, later=True, begins=50) + days([(10, 10), (10, 0)] * 3, later=False)
    sure, unsure = difference(steady, counts=True), difference(wild, counts=True)
    assert sure is not None
    assert unsure is not None
    assert sure.rise == pytest.approx(unsure.rise)
    assert sure.chance_rise < 0.005 < 0.02 < unsure.chance_rise


@pytest.mark.parametrize(
    "cells",
    [
        [],
        days([(10, 5)] * 9, later=True),
        days([(10, 5)] * 3, later=True, stratum="a") + days([(10, 5)] * 3, later=False, stratum="b"),
        days([(10, 5)], later=True, begins=50) + days([(10, 5)] * 2, later=False),
    ],
)
def test_where_nothing_can_be_compared_nothing_is(cells: list[Cell]) -> None:
    assert difference(cells, counts=True) is None


def test_a_share_of_all_or_none_is_no_trouble() -> None:
    cells = days([(10, 10)] * 5, later=True, begins=50) + days([(10, 10)] * 5, later=False)
    found = difference(cells, counts=True)
    assert found is not None
    assert (found.rise, found.chance_rise, found.chance_fall) == (0.0, 1.0, 1.0)
