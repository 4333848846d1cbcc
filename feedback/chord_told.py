"""What there is to say about a chord on a neck: its notes, where its guide tones go, what the drone is to it.

The problem: a page of text, JSON and a picture say the same about a chord, and must not differ. The chord is
what sounds; under a capo a player thinks in the notes of the shape that the hand holds, so text and picture
name those, and JSON what sounds. Frets are tab frets in all of them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from routines.chords import Chord, Tendency, home_of, seven_falls, third_moves
from routines.neck import Neck
from routines.pitch import LETTERS, Tone, usual_tone

VERBS = {-2: "falls", -1: "falls", 1: "rises"}
"""What a guide tone does, by the half steps that it moves."""

_TEXT_TOP_FRET = 12
_STRINGS = (1, 2, 3, 4, 5)
_MIDI = range(128)
_IN_WORDS = {"seven": "flat seven"}
_STEPS = {-2: "a whole step", -1: "a half step", 1: "a half step"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Drone:
    """What the open fifth string is to a chord.

    Attributes
    ----------
    tone : Tone
        As the chord spells it where it holds it, else as is usual.
    function : str or None
        What it is in the chord, if anything.
    rubs : tuple of Tone
        The chord's tones a half step from it.
    reached_by : tuple of Tendency
        The guide tones that move onto it.
    """

    tone: Tone
    function: str | None
    rubs: tuple[Tone, ...]
    reached_by: tuple[Tendency, ...]


def shape_of(chord: Chord, capo: int) -> Chord:
    """The chord that the hand holds under a capo: by its usual name, or as it was given without one."""
    return Chord(usual_tone(chord.root.pitch_class - capo), chord.kind) if capo else chord


def next_shape_of(chord: Chord, next_chord: Chord, capo: int) -> Chord:
    """What the hand holds next, spelled as far from `shape_of` as the two chords are spelled apart."""
    if not capo:
        return next_chord
    here, there = chord.root, next_chord.root
    letters = LETTERS.index(there.letter) - LETTERS.index(here.letter)
    natural = Tone(there.letter).pitch_class - Tone(here.letter).pitch_class
    root = shape_of(chord, capo).root.up(letters, natural + there.alter - here.alter)
    return Chord(root if abs(root.alter) < 2 else usual_tone(root.pitch_class), next_chord.kind)


def tendencies(chord: Chord, next_chord: Chord | None = None) -> list[Tendency]:
    """Where the guide tones of a chord go.

    Parameters
    ----------
    chord : Chord
    next_chord : Chord, optional
        Left out, a dominant seventh goes home, and any other chord nowhere.
    """
    if next_chord is None:
        if not chord.dominant:
            return []
        next_chord = home_of(chord)
    return [
        move for move in (third_moves(chord, next_chord), seven_falls(chord, next_chord)) if move is not None
    ]


def drone_of(shape: Chord, moves: list[Tendency], neck: Neck) -> Drone:
    """What the open fifth string is to a shape, and to where its guide tones go."""
    pitch_class = (neck.open_midi(5) - neck.capo) % 12
    function = shape.function_of(pitch_class)
    own = shape.tone(function) if function is not None else None
    return Drone(
        tone=own or usual_tone(pitch_class),
        function=function,
        rubs=tuple(tone for _, tone in shape.tones if (tone.pitch_class - pitch_class) % 12 in (1, 11)),
        reached_by=tuple(move for move in moves if move.to_tone.pitch_class == pitch_class),
    )


def as_json(chord: Chord, neck: Neck) -> dict[str, object]:
    """The contract's object: everything as it sounds, a dominant seventh going home."""
    return {
        "symbol": chord.symbol,
        "notes": [str(tone) for _, tone in chord.tones],
        "midi_pitch_classes": [tone.pitch_class for _, tone in chord.tones],
        "tendencies": [
            {
                "from": str(move.from_tone),
                "to": str(move.to_tone),
                "semitones": move.half_steps,
                "chord": move.chord,
            }
            for move in tendencies(chord)
        ],
        "places": [
            {"note": str(tone), "string": place.string, "fret": place.fret, "midi": midi}
            for _, tone in chord.tones
            for midi in _MIDI[tone.pitch_class :: 12]
            for place in neck.places(midi)
        ],
    }


def as_text(chord: Chord, neck: Neck, next_chord: Chord | None = None) -> list[str]:
    """The page: the shape's notes and where they go, its frets, the paths of its guide tones, the drone."""
    notes = " ".join(str(tone) for _, tone in chord.tones)
    lines = [f"{chord.symbol}: {notes}"]
    shape = shape_of(chord, neck.capo)
    if neck.capo:
        lines = [
            f"{chord.symbol}: {notes}. With capo {neck.capo} it is the {shape.symbol} shape, named below."
        ]
    moves = tendencies(shape, None if next_chord is None else next_shape_of(chord, next_chord, neck.capo))
    lines += ["", *_functions(shape, moves)]
    lines += ["", f"Frets to {_TEXT_TOP_FRET} in {neck.tuning}, as in tab:", *_fret_table(shape, neck)]
    lines += ["", *(_paths(move, neck) for move in moves), _drone(shape, moves, neck)]
    return lines


def in_every_tuning(chord: Chord, necks: Sequence[Neck], next_chord: Chord | None = None) -> list[str]:
    """Where the guide tones of a chord go, on one neck after another under the same capo."""
    shape = shape_of(chord, necks[0].capo)
    notes = " ".join(str(tone) for _, tone in chord.tones)
    held = f". With capo {necks[0].capo} it is the {shape.symbol} shape, named below" if necks[0].capo else ""
    then = None if next_chord is None else next_shape_of(chord, next_chord, necks[0].capo)
    moves = tendencies(shape, then)
    lines = [f"{chord.symbol}: {notes}{held}."]
    if not moves:
        return [*lines, f"Nothing of it wants to go anywhere from here{_to_a_chord(chord, next_chord)}."]
    for neck in necks:
        lines += ["", f"{neck.tuning}, frets to {_TEXT_TOP_FRET}:"]
        lines += [*(f"  {_paths(move, neck)}" for move in moves), f"  {_drone(shape, moves, neck)}"]
    return lines


def _to_a_chord(chord: Chord, next_chord: Chord | None) -> str:
    if next_chord is not None:
        return f" to {next_chord.symbol}"
    return "" if chord.dominant else ": say with --to what follows"


def _functions(shape: Chord, moves: list[Tendency]) -> list[str]:
    goes = {
        move.function: f"{VERBS[move.half_steps]} {_STEPS[move.half_steps]} "
        f"to {move.to_tone}, the {_IN_WORDS.get(move.to_function, move.to_function)} of {move.chord}"
        for move in moves
    }
    return [
        f"  {_label(function, tone)}  {goes.get(function, '')}".rstrip() for function, tone in shape.tones
    ]


def _fret_table(shape: Chord, neck: Neck) -> list[str]:
    head = f"  {'':<20}" + "".join(f"  {f'string {string}':<8}" for string in _STRINGS)
    rows = []
    for function, tone in shape.tones:
        # The shape's names shift by the capo, its places do not.
        midis = _MIDI[(tone.pitch_class + neck.capo) % 12 :: 12]
        places = sorted((p.string, p.fret) for midi in midis for p in neck.places(midi))
        cells = [
            " ".join(str(fret) for string, fret in places if string == column and fret <= _TEXT_TOP_FRET)
            for column in _STRINGS
        ]
        rows.append(f"  {_label(function, tone)}" + "".join(f"  {cell or '-':<8}" for cell in cells))
    return [line.rstrip() for line in (head, *rows)]


def _paths(move: Tendency, neck: Neck) -> str:
    """Where on the neck a guide tone meets the tone that it goes to, as string/fret."""
    pairs = neck.moves(
        (move.from_tone.pitch_class + neck.capo) % 12, move.half_steps, top_fret=_TEXT_TOP_FRET
    )
    verb = VERBS[move.half_steps]
    return f"{move.from_tone} {verb} to {move.to_tone}: " + "  ".join(
        f"{here}-{there}" for here, there in pairs
    )


def _drone(shape: Chord, moves: list[Tendency], neck: Neck) -> str:
    drone = drone_of(shape, moves, neck)
    said = []
    if drone.function is not None:
        said.append(f"is the {_IN_WORDS.get(drone.function, drone.function)}")
    elif drone.rubs:
        said.append(f"rubs against {' and '.join(map(str, drone.rubs))}")
    said += [f"is what {move.from_tone} {VERBS[move.half_steps]} to" for move in drone.reached_by]
    return f"The open fifth string, {drone.tone}, {' and '.join(said) or f'is no tone of {shape.symbol}'}."


def _label(function: str, tone: Tone) -> str:
    return f"{tone!s:<3} {_IN_WORDS.get(function, function):<16}"
