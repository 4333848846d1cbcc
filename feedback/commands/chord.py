"""`sevenfall chord D7`: how a chord is spelled, where its seven and third want to go, and where they lie.

The chord is what sounds. Under a capo the text names the notes of the shape that the hand holds, as players
think of them, and says so in its first line; the JSON names what sounds. Frets are tab frets in both.
"""

from __future__ import annotations

import argparse
import json

from feedback.commands.options import add_json
from routines.chords import Chord, Tendency, home_of, seven_falls, third_moves
from routines.neck import OPEN_TUNINGS, Neck
from routines.pitch import Tone, usual_tone

HELP = "how a chord is spelled, where its seven and third want to go, and where they lie on the neck"
EXAMPLE = "  sevenfall chord E7 --capo 2    E7 as it is held with capo 2: the D7 shape"

_TEXT_TOP_FRET = 12
_STRINGS = (1, 2, 3, 4, 5)
_MIDI = range(128)
_IN_WORDS = {"seven": "flat seven"}
_VERBS = {-1: "falls", 1: "rises"}


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare what can be typed after the command's name."""
    parser.add_argument("symbol", metavar="CHORD", help="a chord such as D7, Bbm or C#7")
    parser.add_argument(
        "--tuning", default="gDGBD", metavar="T", help=f"one of {' '.join(OPEN_TUNINGS)} (default gDGBD)"
    )
    parser.add_argument("--capo", type=int, default=0, metavar="N", help="fret of the capo (default 0, none)")
    add_json(parser)


def run(args: argparse.Namespace) -> int:
    """Print the chord.

    Returns
    -------
    int
        0, always.

    Raises
    ------
    BadRoutine
        If the chord, the tuning or the capo is none.
    """
    chord = Chord.parse(args.symbol)
    neck = Neck(tuning=args.tuning, capo=args.capo)
    print(json.dumps(_as_json(chord, neck)) if args.json else "\n".join(_as_text(chord, neck)))
    return 0


def _tendencies(chord: Chord) -> list[Tendency]:
    """Where the guide tones of a dominant seventh go when it goes home; of another chord none."""
    if not chord.dominant:
        return []
    home = home_of(chord)
    return [move for move in (third_moves(chord, home), seven_falls(chord, home)) if move is not None]


def _as_json(chord: Chord, neck: Neck) -> dict[str, object]:
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
            for move in _tendencies(chord)
        ],
        "places": [
            {"note": str(tone), "string": place.string, "fret": place.fret, "midi": midi}
            for _, tone in chord.tones
            for midi in _MIDI[tone.pitch_class :: 12]
            for place in neck.places(midi)
        ],
    }


def _as_text(chord: Chord, neck: Neck) -> list[str]:
    notes = " ".join(str(tone) for _, tone in chord.tones)
    lines = [f"{chord.symbol}: {notes}"]
    shape = chord
    if neck.capo:
        shape = Chord(usual_tone(chord.root.pitch_class - neck.capo), chord.kind)
        lines = [
            f"{chord.symbol}: {notes}. With capo {neck.capo} it is the {shape.symbol} shape, named below."
        ]
    moves = _tendencies(shape)
    lines += ["", *_functions(shape, moves)]
    lines += ["", f"Frets to {_TEXT_TOP_FRET} in {neck.tuning}, as in tab:", *_fret_table(shape, neck)]
    lines += ["", *(_paths(move, neck) for move in moves), _drone(shape, moves, neck)]
    return lines


def _functions(shape: Chord, moves: list[Tendency]) -> list[str]:
    goes = {
        move.function: f"{_VERBS[move.half_steps]} a half step "
        f"to {move.to_tone}, the {move.to_function} of {move.chord}"
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
    verb = _VERBS[move.half_steps]
    return f"{move.from_tone} {verb} to {move.to_tone}: " + "  ".join(
        f"{here}-{there}" for here, there in pairs
    )


def _drone(shape: Chord, moves: list[Tendency], neck: Neck) -> str:
    """What the open fifth string is to the chord, and to where the chord leads."""
    pitch_class = (neck.open_midi(5) - neck.capo) % 12
    function = shape.function_of(pitch_class)
    own = shape.tone(function) if function is not None else None
    name = str(own or usual_tone(pitch_class))
    rubs = [str(tone) for _, tone in shape.tones if (tone.pitch_class - pitch_class) % 12 in (1, 11)]
    said = []
    if function is not None:
        said.append(f"is the {_IN_WORDS.get(function, function)}")
    elif rubs:
        said.append(f"rubs against {' and '.join(rubs)}")
    said += [
        f"is what {move.from_tone} {_VERBS[move.half_steps]} to"
        for move in moves
        if move.to_tone.pitch_class == pitch_class
    ]
    return f"The open fifth string, {name}, {' and '.join(said) or f'is no tone of {shape.symbol}'}."


def _label(function: str, tone: Tone) -> str:
    return f"{tone!s:<3} {_IN_WORDS.get(function, function):<16}"
