"""Keys: their chords by number, the sevenths that lead to each, chains; hand-worked in the keys jams call."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from routines.chords import KINDS, Chord, seven_falls, third_moves
from routines.errors import BadRoutine
from routines.keys import CALLED, Key, is_number, lead_to, number_of, numbered
from routines.neck import OPEN_TUNINGS, Neck
from routines.pitch import Tone

ROOTS = st.builds(Tone, st.sampled_from("ABCDEFG"), st.sampled_from((-1, 0, 1)))
KEYS = st.builds(Key, ROOTS, st.booleans())


def rows(name: str) -> list[tuple[str, str, str, str, str]]:
    return [
        (
            lead.number,
            lead.chord.symbol,
            lead.target.symbol,
            str(lead.seven.from_tone),
            str(lead.seven.to_tone),
        )
        for lead in Key.parse(name).leads
    ]


def test_in_g_every_chord_has_its_seventh() -> None:
    assert rows("G") == [
        ("57", "D7", "G", "C", "B"),
        ("67", "E7", "Am", "D", "C"),
        ("77", "F#7", "Bm", "E", "D"),
        ("17", "G7", "C", "F", "E"),
        ("27", "A7", "D", "G", "F#"),
        ("37", "B7", "Em", "A", "G"),
    ]


def test_in_b_flat_all_is_spelled_with_flats() -> None:
    assert rows("Bb")[:2] == [("57", "F7", "Bb", "Eb", "D"), ("67", "G7", "Cm", "F", "Eb")]
    assert rows("Bb")[3] == ("17", "Bb7", "Eb", "Ab", "G")


def test_in_e_minor_the_relative_major_is_counted_from_e() -> None:
    assert rows("Em")[:3] == [
        ("57", "B7", "Em", "A", "G"),
        ("b77", "D7", "G", "C", "B"),
        ("17", "E7", "Am", "D", "C"),
    ]


def test_into_major_a_half_step_into_minor_a_whole_one() -> None:
    for name in CALLED:
        for lead in Key.parse(name).leads:
            assert lead.seven.half_steps == (-2 if lead.target.kind == "m" else -1)
            assert lead.seven.to_function == "third"
            assert lead.third is not None
            assert (lead.third.half_steps, lead.third.to_function) == (1, "root")


def test_called_keys_lie_in_fifths() -> None:
    for here, there in pairwise(CALLED):
        assert Key.parse(here).neighbours[0] == Key.parse(there)
        assert Key.parse(there).neighbours[1] == Key.parse(here)


def test_neighbours() -> None:
    assert [key.name for key in Key.parse("G").neighbours] == ["D", "C", "Em"]
    assert [key.name for key in Key.parse("Em").neighbours] == ["Bm", "Am", "G"]
    assert [key.name for key in Key.parse("Bb").neighbours] == ["F", "Eb", "Gm"]


@pytest.mark.parametrize(
    ("name", "sevenths", "symbols"),
    [
        ("G", 1, "D7 G"),
        ("G", 3, "E7 A7 D7 G"),
        ("C", 4, "E7 A7 D7 G7 C"),
        ("E", 2, "F#7 B7 E"),
        ("Em", 2, "F#7 B7 Em"),
    ],
)
def test_chains(name: str, sevenths: int, symbols: str) -> None:
    assert [chord.symbol for chord in Key.parse(name).chain(sevenths)] == symbols.split()


@given(KEYS, st.integers(1, 6))
def test_in_a_chain_both_guide_tones_fall_and_swap_jobs_until_home(key: Key, sevenths: int) -> None:
    chords = key.chain(sevenths)
    assert chords[-1] == key.home
    for here, there in pairwise(chords[:-1]):
        seven, third = seven_falls(here, there), third_moves(here, there)
        assert seven is not None
        assert third is not None
        assert (seven.half_steps, seven.to_function) == (-1, "third")
        assert (third.half_steps, third.to_function) == (-1, "seven")
    last = third_moves(chords[-2], key.home)
    assert last is not None
    assert last.half_steps == 1


@pytest.mark.parametrize("sevenths", [0, 7])
def test_a_chain_has_one_to_six(sevenths: int) -> None:
    with pytest.raises(BadRoutine, match="1 to 6"):
        Key.parse("G").chain(sevenths)


@pytest.mark.parametrize("text", ["", "m", "H", "gm", "Bbb", "G7"])
def test_no_key(text: str) -> None:
    with pytest.raises(BadRoutine, match="no key"):
        Key.parse(text)


@pytest.mark.parametrize("number", ["0", "8", "57x", "##1", "D7"])
def test_no_number(number: str) -> None:
    with pytest.raises(BadRoutine):
        numbered(number, Tone("G"))
    assert is_number(number) == (number == "57x")


@given(KEYS, ROOTS, st.sampled_from(sorted(KINDS)))
def test_a_number_names_the_chord_again(key: Key, root: Tone, kind: str) -> None:
    chord = Chord(root, kind)
    again = numbered(number_of(chord, key.tonic), key.tonic)
    assert (again.root.pitch_class, again.kind) == (root.pitch_class, kind)
    if again.root != root:  # only where the letter would need two signs
        steps = ("CDEFGAB".index(root.letter) - "CDEFGAB".index(key.tonic.letter)) % 7
        natural = key.tonic.up(steps, (0, 2, 4, 5, 7, 9, 11)[steps])
        assert abs(natural.alter - root.alter) > 1


def test_a_chord_that_holds_the_seven_is_led_to_by_none() -> None:
    with pytest.raises(BadRoutine, match="holds the seven of G7"):
        lead_to(Chord.parse("C7sus4"), Key.parse("C"))


@pytest.mark.parametrize("tuning", OPEN_TUNINGS)
def test_every_seven_of_every_called_key_lies_on_the_neck_in_every_tuning(tuning: str) -> None:
    neck = Neck(tuning)
    for name in CALLED:
        for lead in Key.parse(name).leads:
            pairs = neck.moves(lead.seven.from_tone.pitch_class, lead.seven.half_steps, top_fret=12)
            strings = {here.string for here, there in pairs if here.string == there.string}
            assert len(strings & {1, 2, 3, 4}) >= 2, (tuning, lead.chord.symbol)
            for here, there in pairs:
                fall = neck.midi(there.string, there.fret) - neck.midi(here.string, here.fret)
                assert fall == lead.seven.half_steps
                assert neck.midi(here.string, here.fret) % 12 == lead.seven.from_tone.pitch_class
