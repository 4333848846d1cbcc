"""The softer rules of the checker: each is said of a lick that breaks it alone, and not of its neighbour."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from routines.checker.lick import ADVICE, advice, faults
from routines.checker.places import onsets_after_the_fall
from routines.lick import Lick
from tests.lick_texts import GOOD, HOME, typed


def lick(first_bar: str, tail: str = HOME, **more: Any) -> Lick:
    """Bars of D7 before a bar of G, or what is said."""
    return typed(f"{first_bar} {tail}", **more)


ADVISED = {
    "named": (
        lick("2/1 . 3/2 . 4/4 . 2/1 5/0"),
        lick("2/1 . 4/4 . 3/2 . 2/1 5/0"),
    ),
    "after the fall": (
        lick(GOOD, tail="| 2/0 . 1/0 . 3/0 . . ."),
        lick(GOOD),
    ),
    "drones": (
        lick("4/4 . 2/1 5/0 3/2 5/0 2/1 5/0"),
        lick("4/4 . 2/1 5/0 3/2 1/0 2/1 5/0"),
    ),
    "slurs on the beat": (
        lick("4/4 4/0h 4/4 . 2/1 . 1/0 5/0"),
        lick("4/4 . 4/0h 4/4 2/1 . 1/0 5/0"),
    ),
    "climb": (
        lick("4/0 4/4 3/2 2/1 . 1/0 . 5/0"),
        lick("4/0 4/4 3/2 1/0 . 2/1 . 5/0"),
    ),
    "rings on": (
        lick("3/1 . 2/0 . 1/0 . 3/1 .", chords={0: "E7", 8: "A"}, tail="| 2/2 . 1/2 . 3/2 . 2/2 ."),
        lick("3/1 . 2/0 . 1/0 . 1/2 .", chords={0: "E7", 8: "A"}, tail="| 2/2 . 1/2 . 3/2 . 2/2 ."),
    ),
    "thumb alone": (
        lick("4/4 . 3/2 . 2/1 . 3/2 .", fingers={0: "T", 2: "T", 4: "T", 6: "T"}),
        lick("4/4 . 3/2 . 2/1 . 3/2 .", fingers={0: "T", 2: "T", 4: "I", 6: "T"}),
    ),
}


class TestAdvice:
    @pytest.mark.parametrize("name", ADVISED)
    def test_each_is_given_alone_and_is_no_fault(self, name: str) -> None:
        asked, neighbour = ADVISED[name]
        assert {fault.check for fault in advice(asked)} == {name}
        assert advice(neighbour) == ()
        assert faults(asked) == ()

    def test_every_advice_is_shown_here(self) -> None:
        assert set(ADVISED) == {check.name for check in ADVICE}

    def test_a_slur_into_the_bar_may_begin_on_its_last_eighth(self) -> None:
        assert advice(lick("4/4 . 1/0 . 3/2 5/0 1/0 2/1p")) == ()

    def test_the_tones_of_a_climb_in_another_order_of_height_are_no_climb(self) -> None:
        assert advice(lick("1/0 4/4 3/2 2/1 . 1/0 . 5/0")) == ()

    def test_a_kick_off_may_stop_where_it_arrives(self) -> None:
        short = ADVISED["after the fall"][0]
        assert advice(replace(short, use="kick-off")) == ()
        assert [fault.check for fault in advice(replace(short, use="fill"))] == ["after the fall"]

    def test_onsets_after_the_fall_count_a_pinch_once(self) -> None:
        assert onsets_after_the_fall(lick(GOOD)) == 4
        assert onsets_after_the_fall(lick(GOOD, tail="| 2/0 . 1/0+5/0 . 3/0 . . .")) == 2
        assert onsets_after_the_fall(replace(lick(GOOD), sevenths=())) is None
