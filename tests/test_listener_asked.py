"""Asked notes among strikes: order tells which strike answers which note, whatever a player slips."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from listener.asked import APART_SEC, Answer, Asked, answered
from listener.network import HIGH_PITCH, LOW_PITCH, PITCHES

SCALE = [Asked(midi, 4) for midi in (50, 50, 50, 52, 54, 55, 57)]


def _odds(*strikes: dict[int, float]) -> np.ndarray:
    """Log odds of strikes: -8 for every pitch but those that are named."""
    odds = np.full((len(strikes), PITCHES), -8.0)
    for row, pitches in zip(odds, strikes, strict=True):
        for midi, value in pitches.items():
            row[midi - LOW_PITCH] = value
    return odds


def _played(*midi: int) -> tuple[np.ndarray, np.ndarray]:
    return 0.7 * np.arange(len(midi)), _odds(*({m: 5.0} for m in midi))


def test_a_list_that_is_played_as_asked_is_answered_note_for_note() -> None:
    found = answered(SCALE, *_played(50, 50, 50, 52, 54, 55, 57))
    assert found == [Answer(i, i) for i in range(7)]


@pytest.mark.parametrize(
    ("played", "pairs"),
    [
        ((50, 50, 50, 52, 55, 57), [(0, 0), (1, 1), (2, 2), (3, 3), (5, 4), (6, 5)]),  # 54 left out
        ((50, 50, 50, 52, 53, 55, 57), [(0, 0), (1, 1), (2, 2), (3, 3), (5, 5), (6, 6)]),  # 53 for 54
        ((50, 50, 50, 52, 52, 54, 55, 57), [(0, 0), (1, 1), (2, 2), (3, 3), (4, 5), (5, 6), (6, 7)]),
        ((62, 50, 50, 50, 52, 54, 55, 57), [(i, i + 1) for i in range(7)]),  # another string first
    ],
)
def test_slips_cost_the_notes_that_slipped_and_no_other(
    played: tuple[int, ...], pairs: list[tuple[int, int]]
) -> None:
    assert [(a.asked, a.strike) for a in answered(SCALE, *_played(*played))] == pairs


def test_a_note_too_unsure_to_be_said_is_found_between_its_neighbours() -> None:
    odds = _odds({50: 5.0}, {52: -2.5, 64: -3.0}, {54: 5.0})
    found = answered([Asked(50, 4), Asked(52, 4), Asked(54, 4)], np.array([0.0, 0.7, 1.4]), odds)
    assert [a.strike for a in found] == [0, 1, 2]


def test_a_strike_at_which_another_pitch_is_clearly_surer_is_left_alone() -> None:
    odds = _odds({50: 5.0}, {52: -2.5, 53: 4.0}, {54: 5.0})
    found = answered([Asked(50, 4), Asked(52, 4), Asked(54, 4)], np.array([0.0, 0.7, 1.4]), odds)
    assert [(a.asked, a.strike) for a in found] == [(0, 0), (2, 2)]


def test_of_strikes_close_together_the_first_one_answers_and_only_one() -> None:
    sec = np.array([0.0, 0.01, 0.02, APART_SEC])
    found = answered([Asked(50, 4)] * 3, sec, _odds(*[{50: 9.0}] * 4))
    assert [(a.asked, a.strike) for a in found] == [(0, 0), (1, 3)]


def test_nothing_asked_or_nothing_struck_is_nothing_answered() -> None:
    assert answered([], *_played(50)) == []
    assert answered(SCALE, np.zeros(0), np.zeros((0, PITCHES))) == []
    assert answered([Asked(HIGH_PITCH + 1, 1), Asked(LOW_PITCH - 1, 4)], *_played(50, 51)) == []


@given(
    st.lists(st.sampled_from((50, 52, 53, 54)), max_size=9),
    st.lists(st.sampled_from((50, 52, 54)), max_size=9),
)
def test_answers_rise_in_both_lists_and_are_of_the_asked_pitch(asked: list[int], played: list[int]) -> None:
    found = answered([Asked(midi, 4) for midi in asked], *_played(*played))
    assert all(asked[a.asked] == played[a.strike] for a in found)
    for one, after in pairwise(found):
        assert one.asked < after.asked
        assert one.strike < after.strike
