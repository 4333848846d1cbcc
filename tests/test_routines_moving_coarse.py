"""The first look for places: what a hand position alone decides."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from routines.chords import Chord
from routines.hand.wanted import Given, Wanted
from routines.library import all_licks
from routines.lick import Lick
from routines.moving.coarse import roughly
from routines.moving.drones import drones_moved
from routines.moving.sketch import sketched
from routines.moving.source import source_of
from routines.neck import Neck, Place

OPEN_G = Given(neck=Neck(), tempo_half_bpm=100.0, quarters_a_bar=4.0)


def note(at: float, *choices: str, **more: object) -> Wanted:
    places = tuple(Place(*map(int, choice.split("/"))) for choice in choices)
    return Wanted(onset_quarters=at, choices=places, **more)  # type: ignore[arg-type]


def places(*wanted: Wanted, given_: Given = OPEN_G) -> list[str]:
    found = roughly(wanted, given_)
    assert found is not None
    return [str(place) for place in found.places]


def test_an_open_string_is_taken_before_a_stopped_one() -> None:
    assert places(note(0.0, "3/4", "2/0", "4/9")) == ["2/0"]


def test_a_note_in_reach_is_taken_before_one_that_wants_a_shift() -> None:
    # A hand at fret 7 finds D at the seventh fret of the third string.
    assert places(note(0.0, "1/9"), note(0.5, "2/8"), note(1.0, "3/7", "2/3")) == ["1/9", "2/8", "3/7"]


def test_strings_change_rather_than_a_finger_picks_twice() -> None:
    # Three eighths: the middle string of three free ones, not the same string again and again.
    found = places(note(0.0, "3/0"), note(0.5, "4/5", "3/0"), note(1.0, "3/0"))
    assert found[1] == "3/0"  # thumb and index alternate on one string without a shift
    again = places(note(0.0, "4/0"), note(0.5, "4/2", "5/12"), note(1.0, "4/0"))
    assert again == ["4/0", "4/2", "4/0"]


def test_a_pinch_has_a_string_for_each_note() -> None:
    assert places(note(0.0, "2/3", "1/0"), note(0.0, "2/0", "3/4")) in (["1/0", "2/0"], ["2/3", "3/4"])
    assert roughly([note(0.0, "2/3"), note(0.0, "2/0")], OPEN_G) is None


def test_a_slur_stays_on_its_string() -> None:
    hammer = note(0.5, "2/1", "3/5", technique="hammer", picked=False, slurred_from=0)
    assert places(note(0.0, "3/4"), hammer) == ["3/4", "3/5"]
    pull = note(1.0, "2/0", "3/4", technique="pull", picked=False, slurred_from=0)
    assert places(note(0.0, "3/5"), note(0.5, "1/0"), pull) == ["3/5", "1/0", "3/4"]
    lost = replace(hammer, choices=(Place(2, 1),))
    assert roughly([note(0.0, "3/4"), lost], OPEN_G) is None


def test_a_held_note_costs_nothing_again() -> None:
    once = roughly([note(0.0, "2/1"), note(1.0, "1/0")], OPEN_G)
    again = roughly([note(0.0, "2/1"), note(1.0, "1/0"), note(2.0, "2/1")], OPEN_G)
    assert once is not None
    assert again is not None
    assert again.cost == pytest.approx(once.cost)


def test_a_far_shift_in_no_time_is_out_of_reach() -> None:
    quick = roughly([note(0.0, "1/2"), note(0.5, "2/12")], OPEN_G)
    slow = roughly([note(0.0, "1/2"), note(4.0, "2/12")], OPEN_G)
    assert quick is not None
    assert slow is not None
    assert quick.cost > slow.cost + 30


def test_a_slide_leads_the_hand() -> None:
    slide = note(0.5, "3/9", technique="slide", picked=False, slurred_from=0)
    slid = roughly([note(0.0, "3/4"), slide], OPEN_G)
    shifted = roughly([note(0.0, "3/4"), replace(slide, technique="hammer")], OPEN_G)
    assert slid is not None
    assert shifted is not None
    assert slid.cost < shifted.cost


def test_one_finger_over_two_strings_is_told_from_two_at_one_fret() -> None:
    low = roughly([note(0.0, "1/5"), note(0.0, "2/5"), note(0.0, "3/5")], OPEN_G)
    split = roughly([note(0.0, "1/5"), note(0.0, "2/6"), note(0.0, "3/7")], OPEN_G)
    assert low is not None
    assert split is not None
    assert low.cost != split.cost
    held = roughly([note(0.0, "1/5"), note(1.0, "2/5")], OPEN_G)
    apart = roughly([note(0.0, "1/5"), note(1.0, "2/6")], OPEN_G)
    assert held is not None
    assert apart is not None
    assert held.cost > apart.cost


def test_under_a_capo_frets_are_nearer() -> None:
    wide = [note(0.0, "1/1"), note(0.0, "2/1"), note(4.0, "1/9")]
    high = roughly(wide, replace(OPEN_G, neck=Neck(capo=7)))
    low = roughly(wide, OPEN_G)
    assert high is not None
    assert low is not None
    assert high.cost < low.cost


@given(st.sampled_from(all_licks()), st.integers(-6, 6))
def test_every_note_has_one_of_its_places(lick: Lick, half_steps: int) -> None:
    source = source_of(lick)
    sketch = sketched(source, drones_moved(source, Neck(), half_steps, Chord.parse("G")), half_steps)
    if sketch.homeless:
        return
    wanted, asked = sketch.asked()
    found = roughly(wanted, asked)
    if found is None:
        return
    assert all(place in w.choices for w, place in zip(wanted, found.places, strict=True))
    _apart(wanted, found.places)


def _apart(wanted: Sequence[Wanted], found: Sequence[Place]) -> None:
    strings = [(w.onset_quarters, place.string) for w, place in zip(wanted, found, strict=True)]
    assert len(set(strings)) == len(strings)
    for w, place in zip(wanted, found, strict=True):
        assert w.slurred_from is None or found[w.slurred_from].string == place.string
