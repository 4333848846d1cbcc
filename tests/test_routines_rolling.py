"""Bars of plain roll: what is struck, how it is held, when the drone is left out."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from routines.chords import Chord
from routines.lick import TargetNote
from routines.neck import OPEN_TUNINGS, Neck
from routines.rolling import ROLLS, drone_fits, plain, roll_bar, shapes, strings_of

FORWARD = ROLLS[4.0]["forward"]
NECK = Neck()


def _places(notes: tuple[TargetNote, ...]) -> list[tuple[int, int]]:
    return [(note.string, note.fret) for note in notes]


def test_over_g_the_forward_roll_is_all_open_strings() -> None:
    bar = roll_bar(FORWARD, Chord.parse("G"), NECK)
    assert _places(bar) == [(string, 0) for string in (3, 2, 1, 5, 2, 1, 5, 1)]
    assert "".join(note.finger for note in bar) == "TIMTIMTM"
    assert [note.onset_quarters for note in bar] == [0.5 * eighth for eighth in range(8)]
    assert [note.role for note in bar[:4]] == ["root", "third", "fifth", "drone"]
    assert [note.core for note in bar] == [True] + 7 * [False]


@pytest.mark.parametrize(
    ("symbol", "frets"),
    [
        ("C", {3: 0, 2: 1, 1: 2}),
        ("F", {3: 2, 2: 1, 1: 3}),
        ("D", {4: 0, 3: 2, 2: 3, 1: 4}),
        ("A", {4: 2, 3: 2, 2: 2, 1: 2}),
        ("E", {4: 2, 3: 1, 2: 0, 1: 2}),
        ("Em", {3: 0, 2: 0, 1: 2}),
    ],
)
def test_shapes_are_those_that_a_hand_knows(symbol: str, frets: dict[int, int]) -> None:
    assert shapes(NECK, Chord.parse(symbol), fourth=4 in frets)[0].frets == frets


def test_no_shape_is_wider_than_four_fingers_side_by_side() -> None:
    for symbol in ("C", "Eb", "F#m", "Bb"):
        for shape in shapes(NECK, Chord.parse(symbol), fourth=True):
            assert not shape.stopped or shape.stopped[-1] - shape.stopped[0] <= 3


def test_a_shape_is_taken_up_the_neck_where_it_is_wanted_there() -> None:
    assert shapes(NECK, Chord.parse("F"), near=10.0)[0].frets == {3: 10, 2: 10, 1: 10}


@pytest.mark.parametrize(
    ("symbol", "fits"), [("G", True), ("C", True), ("F", True), ("Em", True), ("D", False), ("E", False)]
)
def test_the_drone_is_struck_where_it_rubs_with_nothing(symbol: str, fits: bool) -> None:
    assert drone_fits(NECK, Chord.parse(symbol)) is fits
    bar = roll_bar(FORWARD, Chord.parse(symbol), NECK)
    assert (5 in {note.string for note in bar}) is fits


def test_over_a_the_drone_would_be_the_seven_and_is_left_out() -> None:
    assert not drone_fits(NECK, Chord.parse("A"))
    assert drone_fits(Neck(capo=2), Chord.parse("A"))


def test_without_a_drone_the_thumb_goes_between_the_third_and_the_fourth_string() -> None:
    assert strings_of(FORWARD, drone=False) == (3, 2, 1, 4, 2, 1, 3, 1)


@pytest.mark.parametrize(
    ("symbol", "triad"),
    [("D7", "D"), ("Em7", "Em"), ("Cmaj7", "C"), ("G9", "G"), ("Gsus4", "G"), ("F#m7b5", "F#dim")],
)
def test_roll_is_plain(symbol: str, triad: str) -> None:
    assert plain(Chord.parse(symbol)) == Chord.parse(triad)


ROOTS = st.sampled_from(["C", "C#", "Db", "D", "Eb", "E", "F", "F#", "Gb", "G", "Ab", "A", "Bb", "B"])


@given(
    root=ROOTS,
    kind=st.sampled_from(["", "m"]),
    tuning=st.sampled_from(sorted(OPEN_TUNINGS)),
    capo=st.integers(0, 5),
    bar=st.sampled_from([4.0, 3.0]),
    number=st.integers(0, 3),
)
def test_a_bar_of_roll_is_the_chord_and_can_be_held(
    root: str, kind: str, tuning: str, capo: int, bar: float, number: int
) -> None:
    neck, chord = Neck(tuning, capo), Chord.parse(root + kind)
    name = sorted(ROLLS[bar])[number]
    notes = roll_bar(ROLLS[bar][name], chord, neck)
    assert len(notes) == 2 * bar
    for note in notes:
        assert note.midi == neck.midi(note.string, note.fret)
        assert chord.function_of(note.midi) is not None or (note.string, note.fret) == (5, 0)
        assert note.role != "seven"
    frets = [note.fret for note in notes if note.fret]
    assert max(frets, default=0) - min(frets, default=0) <= 3


def test_a_roll_has_a_finger_for_each_eighth_and_none_twice_within_a_quarter() -> None:
    for bar, rolls in ROLLS.items():
        for roll in rolls.values():
            assert len(roll.strings) == len(roll.fingers) == 2 * bar
            assert all(a != b for a, b in zip(roll.fingers, roll.fingers[1:], strict=False))
