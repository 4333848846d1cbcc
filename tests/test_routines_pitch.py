"""Spelling by letter arithmetic, and the names of MIDI numbers."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from routines.errors import BadRoutine
from routines.pitch import LETTERS, Tone, note_name, usual_tone
from tests.in_turn import in_turn

tones = st.builds(Tone, st.sampled_from(LETTERS), st.integers(-2, 2))


@in_turn(
    ("text", "letter", "alter", "pitch_class"),
    [
        ("C", "C", 0, 0),
        ("F#", "F", 1, 6),
        ("F♯", "F", 1, 6),
        ("Bb", "B", -1, 10),
        ("B♭", "B", -1, 10),
        ("Cb", "C", -1, 11),
        ("B#", "B", 1, 0),
        ("Ebb", "E", -2, 2),
        ("G##", "G", 2, 9),
    ],
)
def test_a_name_is_read(text: str, letter: str, alter: int, pitch_class: int) -> None:
    tone = Tone.parse(text)
    assert (tone.letter, tone.alter, tone.pitch_class) == (letter, alter, pitch_class)


@in_turn("text", ["", "H", "c", "F#b", "Fb#", "F###", "#F", "F #", " F", "FF", "F-"])
def test_what_is_no_name_is_told_in_one_line_with_what_is_accepted(text: str) -> None:
    with pytest.raises(BadRoutine, match="A to G") as caught:
        Tone.parse(text)
    assert repr(text) in str(caught.value)
    assert "\n" not in str(caught.value)


def test_the_number_of_accidentals_can_be_held_to_one() -> None:
    assert Tone.parse("Bb", most=1) == Tone("B", -1)
    with pytest.raises(BadRoutine, match="at most one"):
        Tone.parse("Bbb", most=1)


def test_a_tone_has_one_of_seven_letters() -> None:
    with pytest.raises(BadRoutine, match="'H'"):
        Tone("H")


@given(tones)
def test_a_name_reads_back_as_itself(tone: Tone) -> None:
    assert Tone.parse(str(tone)) == tone


@in_turn(
    ("root", "steps", "half_steps", "reached"),
    [
        ("C", 6, 10, "Bb"),
        ("C#", 2, 4, "E#"),
        ("Cb", 6, 10, "Bbb"),
        ("B", 1, 1, "C"),
        ("B", 1, 2, "C#"),
        ("C", -1, -1, "B"),
        ("C", -2, -3, "A"),
        ("D", 7, 12, "D"),
        ("E#", 2, 4, "G##"),
        ("F", 0, 0, "F"),
    ],
)
def test_letters_decide_and_accidentals_follow(root: str, steps: int, half_steps: int, reached: str) -> None:
    assert str(Tone.parse(root).up(steps, half_steps)) == reached


@given(tones, st.integers(-20, 20), st.integers(-36, 36))
def test_up_moves_the_letter_by_steps_and_the_pitch_by_half_steps(
    tone: Tone, steps: int, half_steps: int
) -> None:
    reached = tone.up(steps, half_steps)
    assert LETTERS.index(reached.letter) == (LETTERS.index(tone.letter) + steps) % 7
    assert reached.pitch_class == (tone.pitch_class + half_steps) % 12
    assert reached.up(-steps, -half_steps) == tone


@in_turn(
    ("midi", "hint", "name"),
    [
        (60, None, "C4"),
        (67, None, "G4"),
        (50, None, "D3"),
        (66, None, "F#4"),
        (70, None, "Bb4"),
        (84, None, "C6"),
        (72, "B#", "B#4"),
        (71, "Cb", "Cb5"),
        (70, "A#", "A#4"),
        (69, "Bbb", "Bbb4"),
        (69, "G##", "G##4"),
        (59, "Cb", "Cb4"),
    ],
)
def test_the_octave_number_belongs_to_the_letter(midi: int, hint: str | None, name: str) -> None:
    assert note_name(midi, None if hint is None else Tone.parse(hint)) == name


def test_a_hint_must_spell_the_pitch() -> None:
    with pytest.raises(BadRoutine, match="MIDI 60 is not D"):
        note_name(60, Tone("D"))


@given(tones, st.integers(1, 9))
def test_a_named_pitch_is_the_natural_of_its_letter_and_octave_with_the_accidentals_added(
    tone: Tone, octave: int
) -> None:
    natural_midi = 12 * (octave + 1) + Tone(tone.letter).pitch_class
    assert note_name(natural_midi + tone.alter, tone) == f"{tone}{octave}"


@given(st.integers(0, 127))
def test_the_usual_name_is_of_that_pitch_and_has_at_most_one_accidental(midi: int) -> None:
    tone = usual_tone(midi)
    assert tone.pitch_class == midi % 12
    assert abs(tone.alter) <= 1


def test_the_usual_names_are_those_of_the_banjo_keys() -> None:
    assert " ".join(str(usual_tone(pc)) for pc in range(12)) == "C C# D Eb E F F# G G# A Bb B"
