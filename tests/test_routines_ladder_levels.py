"""Home, edge and reach from passes: hand-worked cases, what cannot be told, players whose edge is known."""

from __future__ import annotations

import math
import random
from collections.abc import Sequence
from statistics import median

import pytest
from hypothesis import given
from hypothesis import strategies as st

from routines.errors import BadRoutine
from routines.ladder.levels import EDGE_CLEAN, Levels, Tried, chance_clean, levels_of

COUNTS = st.integers(0, 12)
ROWS = st.lists(
    st.builds(
        Tried,
        tempo_half_bpm=st.integers(20, 240).map(float),
        clean=COUNTS,
        unclean=COUNTS,
        days_ago=st.integers(0, 28),
    ),
    max_size=12,
)


def tried(*rows: tuple[float, int, int], days_ago: int = 0) -> list[Tried]:
    return [
        Tried(tempo_half_bpm=tempo, clean=clean, unclean=unclean, days_ago=days_ago)
        for tempo, clean, unclean in rows
    ]


def known(rows: Sequence[Tried]) -> Levels:
    levels = levels_of(rows)
    assert levels is not None
    return levels


def test_an_edge_between_clean_and_unclean_tempos() -> None:
    levels = known(tried((70, 20, 0), (80, 19, 1), (90, 16, 4), (100, 4, 16), (110, 0, 20)))
    assert 86.0 < levels.edge_half_bpm < 93.0
    assert 80.0 < levels.home_half_bpm < 89.0
    assert levels.reach_half_bpm == pytest.approx(1.04 * levels.edge_half_bpm, abs=0.1)
    assert levels.passes == 100


def test_reach_is_two_half_notes_over_a_slow_edge() -> None:
    levels = known(tried((24, 20, 0), (28, 20, 2), (30, 16, 4), (33, 2, 18)))
    assert levels.reach_half_bpm == pytest.approx(levels.edge_half_bpm + 2.0, abs=0.1)


def test_what_cannot_be_told() -> None:
    assert levels_of([]) is None
    assert levels_of(tried((80, 0, 0))) is None
    assert levels_of(tried((80, 3, 2))) is None
    assert levels_of(tried((80, 40, 0))) is None, "all clean: the edge lies anywhere above"
    assert levels_of(tried((60, 20, 0), (80, 20, 0))) is None
    assert levels_of(tried((80, 0, 40))) is None, "nothing clean: anywhere below"


def test_old_days_say_less() -> None:
    slow_then, fast_now = tried((70, 16, 4), (80, 2, 18)), tried((90, 19, 1), (100, 16, 4), (110, 2, 18))
    then = [
        Tried(tempo_half_bpm=one.tempo_half_bpm, clean=one.clean, unclean=one.unclean, days_ago=7)
        for one in slow_then
    ]
    assert known(slow_then + fast_now).edge_half_bpm + 4.0 < known(then + fast_now).edge_half_bpm
    assert 97.0 < known(then + fast_now).edge_half_bpm < 104.0
    assert levels_of([*then[:1]]) is None, "a week later twenty passes are too few"


@given(ROWS)
def test_levels_stand_in_order_and_nothing_depends_on_the_order_of_rows(rows: list[Tried]) -> None:
    levels = levels_of(rows)
    assert levels == levels_of(rows[::-1])
    if levels is not None:
        assert levels.home_half_bpm <= levels.edge_half_bpm <= levels.reach_half_bpm
        assert levels.low_half_bpm <= levels.edge_half_bpm <= levels.high_half_bpm
        assert levels.edge_half_bpm == round(levels.edge_half_bpm, 1)


def test_clean_passes_about_the_edge_make_it_faster_and_others_slower() -> None:
    rows = tried((80, 19, 1), (90, 16, 4), (100, 4, 16))
    edge = known(rows).edge_half_bpm
    assert known([*rows, *tried((94, 8, 0))]).edge_half_bpm > edge
    assert known([*rows, *tried((86, 0, 4))]).edge_half_bpm < edge


def test_split_rows_are_the_same_as_their_sum() -> None:
    whole = tried((80, 12, 1), (90, 8, 3), (96, 2, 6))
    split = tried((80, 10, 0), (90, 8, 0), (80, 2, 1), (96, 2, 6), (90, 0, 3))
    assert known(whole).edge_half_bpm == known(split).edge_half_bpm


@pytest.mark.parametrize("slope", [0.05, 0.08, 0.12])
def test_bias_and_spread_against_a_known_edge(slope: float) -> None:
    rng, off = random.Random(5), []
    for _ in range(60):
        edge = rng.uniform(40.0, 140.0)
        rows = []
        for share in (0.8, 0.85, 0.9, 0.95, 1.0, 1.05, 1.12):
            tempo = float(round(share * edge))
            clean = sum(rng.random() < chance_clean(math.log(tempo / edge), slope) for _ in range(12))
            rows.append(Tried(tempo_half_bpm=tempo, clean=clean, unclean=12 - clean))
        off.append(math.log(known(rows).edge_half_bpm / edge))
    assert abs(median(off)) < 0.025
    assert sum(abs(one) < 0.08 for one in off) >= 54


@pytest.mark.parametrize("slope", [0.03, 0.2])
def test_four_in_five_are_clean_at_the_edge(slope: float) -> None:
    assert chance_clean(0.0, slope) == pytest.approx(EDGE_CLEAN)
    assert chance_clean(-3.0, slope) == pytest.approx(0.97)
    assert chance_clean(500.0, slope) < 1e-9


@pytest.mark.parametrize(
    "row",
    [
        Tried(tempo_half_bpm=0.0, clean=1, unclean=0),
        Tried(tempo_half_bpm=math.nan, clean=1, unclean=0),
        Tried(tempo_half_bpm=80.0, clean=-1, unclean=0),
        Tried(tempo_half_bpm=80.0, clean=1, unclean=0, days_ago=-1),
    ],
)
def test_impossible_rows(row: Tried) -> None:
    with pytest.raises(BadRoutine, match="a tempo above 0"):
        levels_of([row])
