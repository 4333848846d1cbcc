"""Names moved from key to key, and moves in words."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from routines.chords import Chord, ChordSpan
from routines.errors import BadRoutine
from routines.moving.names import (
    id_part,
    in_words,
    key_moved_to,
    key_under,
    name_move,
    spans_moved,
    string_name,
)
from routines.neck import FifthString, Neck
from routines.shapes import shaped, sounding
from routines.tab_systems import string_labels
from tests.in_turn import in_turn

KEYS = ["C", "Db", "D", "Eb", "E", "F", "F#", "Gb", "G", "Ab", "A", "Bb", "B", "C#", "Cb"]


@in_turn(
    ("key", "to", "symbol", "there"),
    [
        ("G", "A", "D7", "E7"),
        ("G", "Bb", "D7", "F7"),
        ("G", "Bb", "A7", "C7"),
        ("G", "B", "D7", "F#7"),
        ("G", "Eb", "C7", "Ab7"),
        ("G", "F#", "B7", "A#7"),  # the third step of F# is A#
        ("G", "Gb", "B7", "Bb7"),
        ("C", "F", "G7", "C7"),
        ("D", "Db", "A7", "Ab7"),
        ("Em", "Am", "B7", "E7"),
        ("D", "Cb", "Bb7", "G7"),  # Abb would be its letter
    ],
)
def test_chords_move_by_letters(key: str, to: str, symbol: str, there: str) -> None:
    moved = name_move(Chord.parse(key), Chord.parse(to)).chord(Chord.parse(symbol))
    assert moved is not None
    assert moved.symbol == there


@given(st.sampled_from(KEYS), st.sampled_from(KEYS), st.sampled_from(["G", "D7", "A7", "Em", "C6"]))
def test_a_move_is_right_in_half_steps_and_home_again(key: str, to: str, symbol: str) -> None:
    there = name_move(Chord.parse(key), Chord.parse(to))
    chord = Chord.parse(symbol)
    moved = there.chord(chord)
    assert moved is not None
    assert (moved.root.pitch_class - chord.root.pitch_class) % 12 == there.half_steps % 12
    assert moved.kind == chord.kind
    assert abs(moved.root.alter) <= 1
    back = name_move(Chord.parse(to), Chord.parse(key)).chord(moved)
    assert back is not None
    assert back.root.pitch_class == chord.root.pitch_class


def test_no_chord_stays_no_chord() -> None:
    assert name_move(Chord.parse("G"), Chord.parse("A")).chord(None) is None


@in_turn(
    ("typed", "named"),
    [("A#", "Bb"), ("D#", "Eb"), ("G#", "Ab"), ("E#", "F"), ("Fb", "E"), ("F#", "F#"), ("Gb", "Gb"),
     ("Db", "Db"), ("C#", "C#"), ("B♭", "Bb"), ("a", "A"), ("b", "B"), ("bb", "Bb"), ("f#", "F#"),
     ("e♭", "Eb"), ("A major", "A"), ("bb major", "Bb"), (" d ", "D")],
)  # fmt: skip
def test_a_key_of_too_many_signs_takes_its_usual_name(typed: str, named: str) -> None:
    assert key_moved_to("G", typed).symbol == named


def test_a_lick_in_minor_moves_to_minor() -> None:
    assert key_moved_to("Em", "A").symbol == "Am"
    assert key_moved_to("Em", "G#m").symbol == "G#m"  # five sharps
    assert key_moved_to("Em", "Dbm").symbol == "C#m"  # eight flats
    for typed in ("a", "am", "Am", "a minor", "A minor", "A Minor"):
        assert key_moved_to("Em", typed).symbol == "Am"
    assert [key_moved_to("Em", typed).symbol for typed in ("b", "bm", "bb", "bbm")] == [
        "Bm", "Bm", "Bbm", "Bbm",
    ]  # fmt: skip


@in_turn("wrong", ["H", "", "h", "A7", "a7", "Am", "Abb", "a minor", "AM inor", "a flat"])
def test_what_is_no_key_is_refused_in_one_line(wrong: str) -> None:
    with pytest.raises(BadRoutine, match="accepted is a major key") as refused:
        key_moved_to("G", wrong)
    assert repr(wrong) in str(refused.value)
    assert "\n" not in str(refused.value)


@given(st.sampled_from(KEYS), st.integers(0, 12), st.sampled_from(["", "7", "m"]))
def test_under_a_capo_names_are_those_that_its_shapes_are_read_as(root: str, capo: int, kind: str) -> None:
    chord = Chord(Chord.parse(root).root, kind)
    (span,) = spans_moved([ChordSpan(0.0, 4.0, chord)], name_move(chord, chord), capo)
    assert span.chord is not None
    assert span.chord.root.pitch_class == chord.root.pitch_class
    assert sounding(shaped(span.chord, capo), capo) == span.chord
    assert key_under(chord, capo) == span.chord.symbol


@pytest.mark.parametrize(
    ("half_steps", "words"),
    [
        (0, "at the same pitch"),
        (2, "up a whole step"),
        (-5, "down a fourth"),
        (6, "up a tritone"),
        (-12, "down an octave, not at the same pitch"),
        (10, "up a minor seventh, not down a whole step"),
        (-7, "down a fifth, not up a fourth"),
    ],
)
def test_moves_in_words(half_steps: int, words: str) -> None:
    assert in_words(half_steps) == words


@in_turn("midi", range(62, 73))
def test_a_string_is_named_as_its_line_of_a_tab(midi: int) -> None:
    assert string_labels(Neck(fifth=FifthString(midi, "peg")), 5)[0] == string_name(midi)
    assert [string_name(midi) for midi in (67, 68, 70)] == ["g", "g#", "bb"]


def test_ids_are_named_by_the_key() -> None:
    assert [id_part(key) for key in ("A", "Bb", "F#", "F#m", "Em")] == [
        "a",
        "bb",
        "f-sharp",
        "f-sharp-m",
        "em",
    ]
