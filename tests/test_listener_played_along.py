"""Strokes along with a click: which offset they say, and when they say none."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from listener.played_along import BEAT_SEC, HABIT_SEC, PATTERN_SEC, REACH_SEC, offset_of
from tests.in_turn import in_turn

CLICKS = np.array(PATTERN_SEC)


def strokes(offset_sec: float, scatter_sec: float, seed: int) -> np.ndarray:
    return CLICKS + offset_sec + scatter_sec * np.random.default_rng(seed).standard_normal(len(CLICKS))


def test_the_pattern_is_one_two_rest():
    assert PATTERN_SEC[:5] == (0.0, 0.6, 1.8, 2.4, 3.6)
    assert len(PATTERN_SEC) == 16
    assert min(np.diff(PATTERN_SEC)) == pytest.approx(BEAT_SEC)


@given(offset_sec=st.floats(-REACH_SEC, REACH_SEC), begin_sec=st.floats(0.0, 1000.0))
def test_strokes_that_are_all_late_alike_say_how_much(offset_sec: float, begin_sec: float):
    found = offset_of(CLICKS + begin_sec + offset_sec, CLICKS + begin_sec)
    assert found is not None
    assert found.offset_sec == pytest.approx(offset_sec, abs=1e-9)
    assert (found.notes, found.clicks) == (16, 16)
    assert found.unsure_sec == pytest.approx(HABIT_SEC)


def test_it_is_the_median_and_unsure_by_the_scatter():
    rests = np.array([-0.03] * 5 + [0.01] * 6 + [0.05] * 5)
    found = offset_of(CLICKS + 0.2 + rests, CLICKS)
    assert found is not None
    assert found.offset_sec == pytest.approx(0.21)
    assert found.spread_sec == pytest.approx(0.04 * np.sqrt(10 / 16))
    assert found.unsure_sec == pytest.approx(np.hypot(0.02, 3 * 1.253 * found.spread_sec / 4))


@in_turn("offset_sec", [-0.39, -0.3, 0.0, 0.17, 0.3, 0.39])
@in_turn("seed", range(5))
def test_missed_doubled_and_stray_strokes_do_not_matter(offset_sec: float, seed: int):
    played = strokes(offset_sec, 0.02, seed)
    rng = np.random.default_rng(seed)
    kept = np.delete(played, rng.choice(16, 3, replace=False))
    doubled = kept[rng.choice(len(kept), 3, replace=False)] + rng.uniform(0.03, 0.2, 3)
    stray = rng.uniform(-1.0, CLICKS[-1] + 1.0, 2)
    found = offset_of(rng.permutation(np.concatenate([kept, doubled, stray])), CLICKS)
    assert found is not None
    assert abs(found.offset_sec - offset_sec) < found.unsure_sec
    assert found.notes >= 12


@pytest.mark.parametrize("offset_sec", [0.5, -0.5, 0.6, -0.6, 0.9])
def test_what_is_out_of_reach_is_not_taken_for_another_offset(offset_sec: float):
    assert offset_of(strokes(offset_sec, 0.01, 1), CLICKS) is None


def test_beats_that_are_all_alike_say_nothing():
    even = BEAT_SEC * np.arange(16)
    assert offset_of(even + 0.3, even) is None


def test_playing_that_heeds_no_click_says_nothing():
    for seed, a_second in enumerate((2.0, 3.3, 5.0, 8.0)):
        rng = np.random.default_rng(seed)
        heedless = np.arange(0.1, 14.0, 1.0 / a_second)
        assert offset_of(heedless + 0.01 * rng.standard_normal(len(heedless)), CLICKS) is None
    said = [offset_of(np.random.default_rng(seed).uniform(-1, 14, 20), CLICKS) for seed in range(40)]
    assert sum(one is not None for one in said) <= 1


def test_strokes_that_lie_all_over_the_place_say_nothing():
    order = np.random.default_rng(3).permutation(16)
    assert offset_of(CLICKS + 0.1 + np.linspace(-0.08, 0.08, 16)[order], CLICKS) is not None
    assert offset_of(CLICKS + 0.1 + np.linspace(-0.11, 0.11, 16)[order], CLICKS) is None


def test_too_few_strokes_say_nothing():
    played = strokes(0.1, 0.005, 2)
    assert offset_of(played[:10], CLICKS) is not None
    assert offset_of(played[:9], CLICKS) is None
    assert offset_of([], CLICKS) is None
    assert offset_of(played, []) is None
    assert offset_of(CLICKS[:5], CLICKS[:5]) is None


def test_values_that_are_none_are_refused():
    with pytest.raises(ValueError, match="reach is 0"):
        offset_of([1.0], [1.0], reach_sec=0.0)
    with pytest.raises(ValueError, match="no finite time"):
        offset_of([float("nan")], [1.0])
