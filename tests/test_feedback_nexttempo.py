"""The tempos to ease and to push to."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from feedback.nexttempo import eased, pushed
from routines.tempo import FASTEST_HALF_BPM, SLOWEST_HALF_BPM


@pytest.mark.parametrize(
    ("tempo", "slower", "faster"),
    [(96.0, 88.0, 100.0), (88.0, 81.0, 92.0), (40.0, 37.0, 42.0), (20.0, 20.0, 22.0), (240.0, 221.0, 240.0)],
)
def test_steps(tempo: float, slower: float, faster: float) -> None:
    assert (eased(tempo), pushed(tempo)) == (slower, faster)


@given(st.floats(SLOWEST_HALF_BPM, FASTEST_HALF_BPM))
def test_steps_are_whole_within_bounds_and_to_their_side(tempo: float) -> None:
    slower, faster = eased(tempo), pushed(tempo)
    assert slower == round(slower)
    assert faster == round(faster)
    assert SLOWEST_HALF_BPM <= slower <= tempo <= faster <= FASTEST_HALF_BPM
    assert slower <= tempo - 1.5 or slower == SLOWEST_HALF_BPM
    assert faster >= tempo + 1.5 or faster == FASTEST_HALF_BPM
