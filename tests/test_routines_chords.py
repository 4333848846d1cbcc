"""Chord spelling, and where the flat seven and the third go, against tables worked by hand."""

from __future__ import annotations

import itertools

import pytest

from routines.chords import KINDS, Chord, ChordSpan, Tendency, home_of, kind_named, seven_falls, third_moves
from routines.errors import BadRoutine
from routines.pitch import LETTERS, Tone
from tests.in_turn import in_turn

ROOTS = [letter + sign for letter in LETTERS for sign in ("b", "", "#")]


def spelled(symbol: str) -> str:
    return " ".join(str(tone) for _, tone in Chord.parse(symbol).tones)


def said(move: Tendency | None) -> str | None:
    return (
        None if move is None else f"{move.from_tone}-{move.to_tone} {move.half_steps:+d} {move.to_function}"
    )


def moves(changes: str) -> tuple[str | None, str | None]:
    """What the third and the seven do over two chords parted by a blank."""
    chord, next_chord = (Chord.parse(symbol) for symbol in changes.split())
    return said(third_moves(chord, next_chord)), said(seven_falls(chord, next_chord))


@in_turn(
    ("symbol", "notes"),
    [
        ("D7", "D F# A C"),
        ("C7", "C E G Bb"),
        ("C#7", "C# E# G# B"),
        ("Cb7", "Cb Eb Gb Bbb"),
        ("E#7", "E# G## B# D#"),
        ("Fb7", "Fb Ab Cb Ebb"),
        ("B♭7", "Bb D F Ab"),
        ("F♯7", "F# A# C# E"),
        ("G", "G B D"),
        ("Em", "E G B"),
        ("Am7", "A C E G"),
        ("Dmaj7", "D F# A C#"),
        ("G6", "G B D E"),
        ("Cm6", "C Eb G A"),
        ("D9", "D F# A C E"),
        ("F#dim", "F# A C"),
        ("F#dim7", "F# A C Eb"),
        ("Bm7b5", "B D F A"),
        ("Caug", "C E G#"),
        ("Asus2", "A B E"),
        ("Dsus4", "D G A"),
        ("D7sus4", "D G A C"),
    ],
)
def test_chords_are_spelled_by_letter(symbol: str, notes: str) -> None:
    assert spelled(symbol) == notes


def test_every_seventh_has_four_letters_a_third_apart_and_its_seven_a_whole_step_below_the_root() -> None:
    for root in ROOTS:
        tones = [tone for _, tone in Chord.parse(f"{root}7").tones]
        places = [LETTERS.index(tone.letter) for tone in tones]
        assert [(place - places[0]) % 7 for place in places] == [0, 2, 4, 6]
        assert [(tone.pitch_class - tones[0].pitch_class) % 12 for tone in tones] == [0, 4, 7, 10]


@in_turn("kind", KINDS)
def test_every_kind_reads_back_and_knows_its_own_tones(kind: str) -> None:
    for root in ROOTS:
        chord = Chord.parse(root + kind)
        assert chord.symbol == root + kind
        for function, tone in chord.tones:
            assert chord.tone(function) == tone
            assert chord.function_of(tone.pitch_class + 60) == function
        held = {tone.pitch_class for _, tone in chord.tones}
        assert all((chord.function_of(midi) is None) == (midi % 12 not in held) for midi in range(40, 64))


def test_only_a_flat_seven_is_called_seven() -> None:
    for kind in KINDS:
        chord = Chord(Tone("D"), kind)
        seven = chord.tone("seven")
        assert seven is None or str(seven) == "C"
    assert Chord.parse("Dmaj7").tone("seven") is None
    assert Chord.parse("D").tone("seven") is None


def test_only_a_major_triad_with_a_flat_seven_is_dominant() -> None:
    assert {kind for kind in KINDS if Chord(Tone("G"), kind).dominant} == {"7", "9"}


@pytest.mark.parametrize(
    ("typed", "symbol"),
    [("Gmaj", "G"), ("A-", "Am"), ("A-7", "Am7"), ("B°", "Bdim"), ("C+", "Caug"), ("Dsus", "Dsus4")],
)
def test_other_names_of_a_kind(typed: str, symbol: str) -> None:
    assert Chord.parse(typed).symbol == symbol


def test_a_kind_by_its_suffix() -> None:
    assert kind_named("-7") == "m7"
    with pytest.raises(BadRoutine, match="'x'"):
        kind_named("x")


@in_turn("symbol", ["", "H7", "d7", "7", "Bbb7", "F##", "F#b7", "D8", "D7 ", "D7\n", "D 7", "D/F#", "N.C."])
def test_what_is_no_chord_is_told_in_one_line_with_what_is_accepted(symbol: str) -> None:
    with pytest.raises(BadRoutine, match="no chord") as caught:
        Chord.parse(symbol)
    message = str(caught.value)
    assert repr(symbol) in message
    assert "at most one # or b" in message
    assert "m7b5" in message
    assert "\n" not in message


def test_a_kind_must_be_a_row_of_the_table() -> None:
    with pytest.raises(BadRoutine, match="'7b9'"):
        Chord(Tone("D"), "7b9")


@pytest.mark.parametrize(
    ("chord", "home"), [("D7", "G"), ("F7", "Bb"), ("B7", "E"), ("C#7", "F#"), ("Fb7", "Bbb")]
)
def test_home_is_the_plain_major_chord_a_fifth_below(chord: str, home: str) -> None:
    assert home_of(Chord.parse(chord)).symbol == home


@pytest.mark.parametrize(
    ("changes", "third", "seven"),
    [
        ("D7 G", "F#-G", "C-B"),
        ("G7 C", "B-C", "F-E"),
        ("C7 F", "E-F", "Bb-A"),
        ("A7 D", "C#-D", "G-F#"),
        ("E7 A", "G#-A", "D-C#"),
    ],
)
def test_the_five_falls_of_the_trade(changes: str, third: str, seven: str) -> None:
    assert moves(changes) == (f"{third} +1 root", f"{seven} -1 third")


@in_turn(
    ("changes", "third", "seven"),
    [
        # To minor: the seven falls a whole step to the minor third; over the sixth below, to the fifth.
        ("B7 Em", "D#-E +1 root", "A-G -2 third"),
        ("E7 Am", "G#-A +1 root", "D-C -2 third"),
        ("D7 Gm", "F#-G +1 root", "C-Bb -2 third"),
        ("D7 Em", "F#-G +1 third", "C-B -1 fifth"),
        # To another seventh both fall and swap jobs.
        ("D7 G7", "F#-F -1 seven", "C-B -1 third"),
        ("A7 D7", "C#-C -1 seven", "G-F# -1 third"),
        ("E7 Am7", "G#-G -1 seven", "D-C -2 third"),
        ("D7 G9", "F#-F -1 seven", "C-B -1 third"),
        # One-seven to four is the same fall as five-seven to one.
        ("G7 C", "B-C +1 root", "F-E -1 third"),
        ("D7 Bb", None, "C-Bb -2 root"),
    ],
)
def test_minor_and_seventh_targets(changes: str, third: str | None, seven: str | None) -> None:
    assert moves(changes) == (third, seven)


@in_turn("changes", ["D7 C", "D7 Am", "G7 Dm", "D7 F", "D7 D7", "A7 G", "D7 Gsus4", "D7 Cmaj7"])
def test_a_seven_that_the_next_chord_holds_is_colour(changes: str) -> None:
    assert moves(changes)[1] is None


@pytest.mark.parametrize("changes", ["C7 G", "G7 D", "D7 A", "G7 D7", "D7 D"])
def test_a_seven_with_no_tone_so_near_below_is_colour(changes: str) -> None:
    assert moves(changes)[1] is None


def test_with_tones_both_a_half_and_a_whole_step_below_the_seven_takes_the_half_step() -> None:
    assert moves("D7 Bmaj7")[1] == "C-B -1 root"


@pytest.mark.parametrize("changes", ["G7 D7", "D7 Gmaj7", "D7 Bm", "D7 A", "D7 D", "D7 Am7", "D7 Bb7"])
def test_a_third_that_is_held_or_has_nowhere_to_go_stays(changes: str) -> None:
    assert moves(changes)[0] is None


@pytest.mark.parametrize("changes", ["D G", "Dm7 Db", "Dmaj7 G", "D7sus4 G"])
def test_only_the_third_of_a_dominant_seventh_leads(changes: str) -> None:
    assert moves(changes)[0] is None


def test_a_minor_seventh_falls_too_and_a_chord_without_a_flat_seven_has_none_to_fall() -> None:
    assert moves("Am7 D")[1] == "G-F# -1 third"
    assert moves("D G")[1] is None
    assert moves("Dmaj7 G")[1] is None


def test_without_a_next_chord_all_is_colour() -> None:
    assert seven_falls(Chord.parse("D7"), None) is None
    assert third_moves(Chord.parse("D7"), None) is None


def test_going_home_every_root_falls_and_rises_by_a_half_step_to_third_and_root() -> None:
    for root in ROOTS:
        chord = Chord.parse(f"{root}7")
        home = home_of(chord)
        seven, third = seven_falls(chord, home), third_moves(chord, home)
        assert seven is not None
        assert third is not None
        assert (seven.half_steps, seven.to_function, seven.chord) == (-1, "third", home.symbol)
        assert (third.half_steps, third.to_function, third.function) == (1, "root", "third")
        # A fall to the letter below and a rise to the letter above: it is a step, not a mere half step.
        assert LETTERS.index(seven.to_tone.letter) == (LETTERS.index(seven.from_tone.letter) - 1) % 7
        assert LETTERS.index(third.to_tone.letter) == (LETTERS.index(third.from_tone.letter) + 1) % 7


def test_to_the_minor_home_the_seven_falls_a_whole_step_and_in_a_chain_both_fall() -> None:
    for root in ROOTS:
        chord = Chord.parse(f"{root}7")
        minor, chained = (Chord(home_of(chord).root, kind) for kind in ("m", "7"))
        fall = seven_falls(chord, minor)
        assert fall is not None
        assert (fall.half_steps, fall.to_function) == (-2, "third")
        both = seven_falls(chord, chained), third_moves(chord, chained)
        assert [move and (move.half_steps, move.to_function) for move in both] == [
            (-1, "third"),
            (-1, "seven"),
        ]


def test_over_all_pairs_a_move_ends_where_it_says_and_never_leaves_a_held_tone() -> None:
    kinds = ["", "m", "7", "m7", "6", "dim"]
    chords = [
        Chord.parse(root + kind) for root in ("C", "C#", "D", "Eb", "F#", "G", "A", "Bb") for kind in kinds
    ]
    for chord, next_chord in itertools.product(chords, chords):
        for move, reach in (
            (seven_falls(chord, next_chord), (-1, -2)),
            (third_moves(chord, next_chord), (-1, 1)),
        ):
            if move is None:
                continue
            assert move.half_steps in reach
            assert move.from_tone == chord.tone(move.function)
            assert move.to_tone == next_chord.tone(move.to_function)
            assert (move.from_tone.pitch_class + move.half_steps - move.to_tone.pitch_class) % 12 == 0
            assert next_chord.function_of(move.from_tone.pitch_class) is None


def test_a_span_without_a_chord_has_an_empty_symbol() -> None:
    assert ChordSpan(0.0, 4.0, None).symbol == ""
    assert ChordSpan(0.0, 4.0, Chord.parse("D7")).symbol == "D7"
