"""Chords under a capo: names by letters, and back."""

from __future__ import annotations

import itertools

from hypothesis import given
from hypothesis import strategies as st

from routines.chords import KINDS, Chord
from routines.pitch import Tone
from routines.shapes import shaped, sounding
from tests.in_turn import in_turn


@in_turn(
    ("shape", "capo", "sounds"),
    [
        ("G", 0, "G"), ("G", 1, "Ab"), ("G", 2, "A"), ("G", 3, "Bb"), ("G", 4, "B"), ("G", 5, "C"),
        ("D7", 2, "E7"), ("D7", 3, "F7"), ("D7", 4, "F#7"), ("F", 3, "Ab"), ("Bm", 4, "D#m"), ("C", 12, "C"),
    ],
)  # fmt: skip
def test_a_shape_under_a_capo(shape: str, capo: int, sounds: str) -> None:
    assert sounding(Chord.parse(shape), capo).symbol == sounds
    assert shaped(Chord.parse(sounds), capo).symbol == shape


def test_two_accidentals_take_the_usual_name() -> None:
    assert sounding(Chord.parse("D#7"), 4).symbol == "G7"  # F double sharp


@given(
    st.sampled_from("ABCDEFG"),
    st.sampled_from([-1, 0, 1]),
    st.sampled_from(sorted(KINDS)),
    st.integers(0, 12),
)
def test_what_sounds_is_shaped_and_sounds_again_the_same(
    letter: str, alter: int, kind: str, capo: int
) -> None:
    chord = Chord(Tone(letter, alter), kind)
    sounds = sounding(chord, capo)
    assert (sounds.root.pitch_class - chord.root.pitch_class - capo) % 12 == 0
    assert abs(sounds.root.alter) <= 1
    assert sounding(shaped(sounds, capo), capo) == sounds


def test_the_keys_of_the_jam_are_spelled_as_they_are_called() -> None:
    called = [sounding(Chord.parse("G"), capo).symbol for capo in range(6)]
    assert called == ["G", "Ab", "A", "Bb", "B", "C"]
    assert all(a != b for a, b in itertools.pairwise(called))
