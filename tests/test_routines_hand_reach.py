"""Where frets lie, and what four fingers can stop together."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from routines.hand import costs
from routines.hand.reach import (
    EMPTY,
    FINGERS,
    Stop,
    anchor_of,
    fits,
    holder,
    leaning_of_any,
    least_shift_mm,
    nut_to_fret_mm,
    strain,
)


def one(string: int, fret: int) -> Stop:
    return Stop(fret, string, string)


def test_the_twelfth_fret_is_half_way_and_the_first_36_mm_wide() -> None:
    assert nut_to_fret_mm(0) == 0
    assert nut_to_fret_mm(12) == pytest.approx(667 / 2)
    assert nut_to_fret_mm(1) == pytest.approx(37.4, abs=0.1)


def test_four_low_frets_are_comfort_and_five_the_limit() -> None:
    assert nut_to_fret_mm(4) - nut_to_fret_mm(1) == pytest.approx(100, abs=0.5)
    assert strain((one(4, 1), None, None, one(1, 4), None)) == 0
    assert fits(1, one(4, 1), 4, one(1, 5))
    assert not fits(1, one(4, 1), 4, one(1, 6))
    assert strain((one(4, 1), None, None, one(1, 5), None)) == pytest.approx(costs.STRETCH, abs=0.05)


def test_up_the_neck_the_hand_spans_more_frets() -> None:
    def most(fret: int) -> int:
        return max(n for n in range(9) if fits(1, one(4, fret), 4, one(1, fret + n)))

    assert [most(fret) for fret in (1, 3, 7, 12)] == [4, 4, 5, 8]


def test_neighbouring_fingers_reach_less_far_than_the_whole_hand() -> None:
    assert fits(1, one(4, 1), 2, one(1, 3))
    assert not fits(1, one(4, 1), 2, one(1, 4))
    assert not fits(3, one(4, 1), 4, one(1, 3))


def test_fingers_do_not_cross() -> None:
    assert not fits(1, one(4, 3), 2, one(1, 2))
    assert not fits(2, one(1, 2), 1, one(4, 3))


def test_two_fingers_do_not_lie_on_one_fret_of_one_string() -> None:
    assert not fits(1, one(3, 2), 2, one(3, 2))
    assert not fits(1, Stop(2, 4, 1), 2, one(3, 2))
    assert fits(1, Stop(2, 4, 1), 2, one(3, 3))


def test_at_one_fret_the_higher_finger_belongs_on_the_higher_string() -> None:
    straight = strain((one(4, 2), one(1, 2), None, None, None))
    turned = strain((one(1, 2), one(4, 2), None, None, None))
    assert turned == pytest.approx(straight + costs.TWISTED)


def test_a_finger_that_is_held_is_found_under_its_strings() -> None:
    grip = (Stop(2, 4, 2), None, one(1, 4), None, None)
    assert holder(grip, 3, 2) == 1
    assert holder(grip, 1, 4) == 3
    assert holder(grip, 1, 2) is None


def test_the_hand_stands_where_the_index_finger_would_lie_and_moves_no_farther_than_it_must() -> None:
    ring_on_five = (None, None, one(1, 5), None, None)
    assert anchor_of(ring_on_five, None) == 3
    assert anchor_of(ring_on_five, 2) == 2
    assert anchor_of(ring_on_five, 9) == 4
    assert anchor_of(EMPTY, 7) == 7


@given(st.integers(-3, 20), st.integers(1, 20))
def test_no_finger_gets_to_a_fret_by_less_than_the_least_shift(anchor: int, fret: int) -> None:
    for finger in FINGERS:
        grip = tuple(one(1, fret) if f == finger else None for f in (1, 2, 3, 4, 5))
        to = anchor_of(grip, anchor)  # type: ignore[arg-type]
        assert to is not None
        assert abs(nut_to_fret_mm(to) - nut_to_fret_mm(anchor)) >= least_shift_mm(anchor, fret)
    assert leaning_of_any(fret)[0] <= fret <= leaning_of_any(fret)[1]
