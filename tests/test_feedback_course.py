"""How a player's time goes: lines, bends, and what is no bend."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from feedback.course import FEWEST_FOR_BEND, bend_of, course_of, slope_of

SEC = np.arange(16) * 0.15
EVEN = np.arange(16) % 2 == 1
UNEVEN = 1e-3 * np.array([3, -4, 2, 5, -6, 1, -2, 4, -3, 2, 6, -5, 1, -1, 4, -4])
"""Unevenness of a good hand, seconds."""

BENT = -0.025 * (SEC - np.median(SEC)) ** 2
"""Speeding up by 12 % in 2.25 s: 32 ms between the middle and the ends."""


def test_a_slope_is_the_median_of_those_between_notes_far_enough_apart() -> None:
    assert slope_of([0, 1, 2, 3], [0, 2, 4, 60], 1.0) == pytest.approx(2 + 0.5 * (58 / 3 - 2), abs=9)
    assert slope_of([0, 1, 2, 3, 4], [0, 2, 4, 6, 60], 1.0) == pytest.approx(2)
    assert slope_of([0.0, 0.4], [0, 1], 0.5) == 0.0
    assert slope_of([], [], 0.5) == 0.0


def test_a_smooth_change_of_tempo_is_a_bend() -> None:
    assert bend_of(SEC, BENT + UNEVEN, EVEN) == pytest.approx(-0.025, rel=0.1)
    assert bend_of(SEC, -BENT + UNEVEN, EVEN) == pytest.approx(0.025, rel=0.1)


@pytest.mark.parametrize(
    ("name", "more"),
    [
        ("steady", 0 * SEC),
        ("drift", 0.04 * SEC),
        ("one late", np.where(np.arange(16) == 7, 0.09, 0.0)),
        ("late at the end", np.where(np.arange(16) >= 14, 0.06, 0.0)),
        ("hurry", np.where((np.arange(16) >= 6) & (np.arange(16) <= 8), -0.025, 0.0)),
        ("bounce", np.where(EVEN, 0.03, 0.0)),
        ("uneven", np.where(np.arange(16) % 4 < 2, 0.025, -0.025)),
    ],
)
def test_what_is_no_bend(name: str, more: np.ndarray) -> None:
    assert bend_of(SEC, more + UNEVEN, EVEN) == 0.0, name


@pytest.mark.parametrize("late", [0.06, -0.06, 0.2])
def test_a_bend_is_seen_though_one_note_is_far_off(late: float) -> None:
    values = BENT + UNEVEN + np.where(np.arange(16) == 11, late, 0.0)
    assert bend_of(SEC, values, EVEN) == pytest.approx(-0.025, rel=0.2)


def test_a_bend_and_a_bounce_are_told_apart() -> None:
    values = BENT + UNEVEN + np.where(EVEN, 0.03, 0.0)
    assert bend_of(SEC, values, EVEN) == pytest.approx(-0.025, rel=0.1)
    assert course_of(SEC, values, EVEN, 0.08).even == pytest.approx(0.03, abs=0.004)


def test_few_notes_do_not_bend() -> None:
    few = slice(0, FEWEST_FOR_BEND - 1)
    assert bend_of(SEC[few], 10 * BENT[few], EVEN[few]) == 0.0
    assert course_of(SEC[few], 10 * BENT[few], EVEN[few], 0.08).bend == 0.0
    enough = slice(0, FEWEST_FOR_BEND)
    assert bend_of(SEC[enough], 10 * BENT[enough], EVEN[enough]) == pytest.approx(-0.25, rel=1e-3)


def test_less_than_any_hand_s_unevenness_is_straight() -> None:
    assert bend_of(SEC, 0.15 * BENT, EVEN) == 0.0


def test_a_course_believes_a_bend_the_less_the_more_uneven_the_notes_are() -> None:
    bends = [course_of(SEC, BENT + size * UNEVEN, EVEN, 0.08).bend for size in (0, 1, 3, 10)]
    assert bends[0] == pytest.approx(-0.025, rel=1e-3)
    assert bends == sorted(bends)
    assert abs(bends[-1]) < 0.5 * abs(bends[0])


@pytest.mark.parametrize("places", [[1.0], [1.0, 1.0], [0.0, 0.5, 0.5], [2.0] * 9])
def test_a_course_of_few_places_stands_still_or_is_a_line(places: list[float]) -> None:
    course = course_of(places, [0.02] * len(places), [False] * len(places), 0.08)
    assert course.level == pytest.approx(0.02)
    assert course.bend == 0.0
    assert course.slope == pytest.approx(0.0, abs=1e-9)


@settings(max_examples=30, deadline=None)
@given(st.floats(-0.1, 0.1), st.floats(-0.1, 0.1), st.floats(-100.0, 100.0))
def test_level_slope_and_when_it_was_change_no_bend(level: float, slope: float, after_sec: float) -> None:
    moved = BENT + UNEVEN + level + slope * SEC
    assert bend_of(SEC + after_sec, moved, EVEN) == pytest.approx(bend_of(SEC, BENT + UNEVEN, EVEN), rel=1e-2)
    plain = course_of(SEC, BENT + UNEVEN, EVEN, 0.08)
    course = course_of(SEC + after_sec, moved, EVEN, 0.08)
    assert course.bend == pytest.approx(plain.bend, rel=1e-2)
    assert course.slope == pytest.approx(plain.slope + slope, abs=1e-3)
    assert course.about == pytest.approx(plain.about + after_sec)
