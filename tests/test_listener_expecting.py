"""What is expected when: bells around times, the greatest of each pitch, and what is refused."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from listener.expecting import REACH, Expectation, Expected
from listener.network import HIGH_PITCH, LOW_PITCH, PITCHES
from tests.in_turn import in_turn

AT_SEC = 2.0


def _one(
    midi: int = 62, *, onset_sec: float = AT_SEC, spread_sec: float = 0.02, weight: float = 0.9
) -> Expectation:
    return Expectation(onset_sec=onset_sec, spread_sec=spread_sec, midi=midi, weight=weight)


def _of(expected: Expected, sec: float, midi: int = 62) -> float:
    return float(expected.at(sec)[midi - LOW_PITCH])


def _bell(spreads: float) -> float:
    return math.exp(-0.5 * spreads * spreads)


@pytest.mark.parametrize("spread_sec", [0.018, 0.035, 0.25])
@pytest.mark.parametrize("side", [-1, 1])
def test_an_expectation_is_a_bell_of_its_own_spread(spread_sec: float, side: int) -> None:
    expected = Expected([_one(spread_sec=spread_sec)])
    assert _of(expected, AT_SEC) == pytest.approx(0.9)
    for spreads in (0.5, 1.0, 2.0):
        found = _of(expected, AT_SEC + side * spreads * spread_sec)
        assert found == pytest.approx(0.9 * _bell(spreads), rel=1e-4)


@pytest.mark.parametrize("side", [-1, 1])
def test_it_reaches_three_spreads_and_no_farther(side: int) -> None:
    assert REACH == 3.0
    expected = Expected([_one()])
    assert _of(expected, AT_SEC + side * 2.99 * 0.02) == pytest.approx(0.9 * _bell(2.99), rel=1e-3)
    assert _of(expected, AT_SEC + side * 3.01 * 0.02) == 0.0
    assert not expected.at(AT_SEC + side * 100.0).any()


def test_a_wide_one_does_not_stretch_a_narrow_one_beside_it() -> None:
    expected = Expected([_one(62, spread_sec=0.02), _one(64, spread_sec=0.5)])
    assert _of(expected, AT_SEC + 0.07, 62) == 0.0
    assert _of(expected, AT_SEC + 0.07, 64) == pytest.approx(0.9 * _bell(0.14), rel=1e-4)


def test_of_one_pitch_the_greatest_counts_and_not_the_sum() -> None:
    both = Expected([_one(weight=0.9), _one(onset_sec=AT_SEC + 0.02, weight=0.9), _one(weight=0.1)])
    assert _of(both, AT_SEC) == pytest.approx(0.9)
    assert _of(both, AT_SEC + 0.01) == pytest.approx(0.9 * _bell(0.5), rel=1e-4)
    assert _of(both, AT_SEC + 0.02) == pytest.approx(0.9)


def test_pitches_are_apart() -> None:
    expected = Expected([_one(50, weight=0.9), _one(67, weight=0.03)])
    there = expected.at(AT_SEC)
    assert there.shape == (PITCHES,)
    assert there.dtype == np.float32
    assert {int(k) + LOW_PITCH: round(float(there[k]), 6) for k in np.flatnonzero(there)} == {
        50: 0.9,
        67: 0.03,
    }


def test_pitches_that_no_ear_scores_are_left_out() -> None:
    ends = Expected([_one(midi) for midi in (LOW_PITCH - 1, LOW_PITCH, HIGH_PITCH, HIGH_PITCH + 1)])
    assert len(ends) == 2
    assert np.flatnonzero(ends.at(AT_SEC)).tolist() == [0, PITCHES - 1]
    beyond = Expected([_one(HIGH_PITCH + 1), _one(-3)])
    assert len(beyond) == 0
    assert not beyond.at(AT_SEC).any()


def test_of_nothing_nothing_is_expected() -> None:
    assert len(Expected([])) == 0
    assert Expected([]).at(0.0).tolist() == [0.0] * PITCHES


@in_turn("midi", [62, HIGH_PITCH + 40])
@in_turn(
    "wrong",
    [
        {"spread_sec": 0.0},
        {"spread_sec": -0.02},
        {"spread_sec": math.nan},
        {"spread_sec": math.inf},
        {"weight": 0.0},
        {"weight": -0.1},
        {"weight": 1.001},
        {"weight": math.nan},
    ],
    ids=str,
)
def test_a_spread_or_a_weight_out_of_range_is_refused(wrong: dict[str, float], midi: int) -> None:
    with pytest.raises(ValueError, match=r"spread above 0 and a weight above 0, up to 1") as caught:
        Expected([_one(), _one(midi, **wrong)])
    assert f"midi={midi}" in str(caught.value)  # which one it is


@pytest.mark.parametrize("wrong", [{"onset_sec": math.nan}, {"onset_sec": math.inf}, {"midi": 62.5}], ids=str)
def test_a_time_or_a_pitch_that_is_none_is_refused(wrong: dict[str, Any]) -> None:
    with pytest.raises(ValueError, match="seconds and whole half steps are accepted"):
        Expected([_one(), replace(_one(), **wrong)])


def test_a_weight_of_one_and_a_time_before_the_take_are_taken() -> None:
    expected = Expected([_one(onset_sec=-0.01, weight=1.0)])
    assert _of(expected, -0.01) == 1.0
    assert _of(expected, 0.0) == pytest.approx(_bell(0.5), rel=1e-4)


def _slowly(expectations: list[Expectation], sec: float) -> list[float]:
    """What the docstrings say, one expectation after the other."""
    found = [0.0] * PITCHES
    for one in expectations:
        spreads = abs(sec - one.onset_sec) / one.spread_sec
        assume(abs(spreads - REACH) > 1e-6)
        if LOW_PITCH <= one.midi <= HIGH_PITCH and spreads < REACH:
            pitch = one.midi - LOW_PITCH
            found[pitch] = max(found[pitch], one.weight * _bell(spreads))
    return found


@settings(max_examples=60, deadline=None)
@given(
    st.lists(
        st.builds(
            Expectation,
            onset_sec=st.floats(0.0, 3.0),
            spread_sec=st.floats(0.005, 0.6),
            midi=st.integers(LOW_PITCH - 2, LOW_PITCH + 4),
            weight=st.floats(0.01, 1.0),
        ),
        max_size=12,
    ),
    st.floats(0.0, 3.0),
    st.randoms(use_true_random=False),
)
def test_any_expectations_in_any_order_are_as_their_definition(
    expectations: list[Expectation], sec: float, random: object
) -> None:
    wanted = pytest.approx(_slowly(expectations, sec), abs=1e-6)
    assert Expected(expectations).at(sec).tolist() == wanted
    random.shuffle(expectations)  # type: ignore[attr-defined]
    assert Expected(expectations).at(sec).tolist() == wanted
