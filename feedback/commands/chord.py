"""`sevenfall chord D7`: how a chord is spelled, where its seven and third want to go, and where they lie.

The chord is what sounds. Under a capo the text names the notes of the shape that the hand holds, as players
think of them, and says so in its first line; the JSON names what sounds. Frets are tab frets in both. With
`-o` the same becomes a picture of the neck.
"""

from __future__ import annotations

import argparse
import json

from feedback.chord_told import as_json, as_text
from feedback.commands.options import add_json
from feedback.errors import Usage
from routines.chords import Chord
from routines.neck import OPEN_TUNINGS, Neck

HELP = "how a chord is spelled, where its seven and third want to go, and where they lie on the neck"
EXAMPLE = """\
  sevenfall chord E7 --capo 2               E7 as it is held with capo 2: the D7 shape
  sevenfall chord D7 --to Gm -o d7.svg      the neck as a picture, with the falls into G minor"""

_ENDINGS = (".png", ".svg")
_FRETS = (0, 12)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare what can be typed after the command's name."""
    parser.add_argument("symbol", metavar="CHORD", help="a chord such as D7, Bbm or C#7")
    parser.add_argument(
        "--tuning", default="gDGBD", metavar="T", help=f"one of {' '.join(OPEN_TUNINGS)} (default gDGBD)"
    )
    parser.add_argument("--capo", type=int, default=0, metavar="N", help="fret of the capo (default 0, none)")
    parser.add_argument(
        "--to", metavar="CHORD", help="the chord that follows, as it sounds (default: home); not in the JSON"
    )
    parser.add_argument("-o", "--output", metavar="FILE", help="draw the neck: x.png or x.svg")
    parser.add_argument(
        "--frets",
        type=_frets,
        metavar="A-B",
        help="of the picture, as in tab (default 0-12; 0 is the open strings)",
    )
    parser.add_argument(
        "--left", action="store_true", help="of the picture: left-handed, the nut on the right"
    )
    add_json(parser)


def run(args: argparse.Namespace) -> int:
    """Print the chord, or draw it.

    Returns
    -------
    int
        0, always.

    Raises
    ------
    BadRoutine
        If a chord, the tuning, the capo or a fret is none.
    Usage
        If the options do not go together, or the picture's name has another ending.
    OSError
        If the picture cannot be written.
    """
    chord = Chord.parse(args.symbol)
    neck = Neck(tuning=args.tuning, capo=args.capo)
    next_chord = None if args.to is None else Chord.parse(args.to)
    if args.json and args.to is not None:
        raise Usage("--to is for text and pictures; --json tells where a dominant seventh goes home")
    if args.output is None and (args.left or args.frets):
        raise Usage(
            f"{'--left' if args.left else '--frets'} is for a picture: name one with -o x.png or x.svg"
        )
    if args.output is not None:
        _draw(args, chord, neck, next_chord)
    if args.json:
        print(json.dumps(as_json(chord, neck)))
    elif args.output is None:
        print("\n".join(as_text(chord, neck, next_chord)))
    return 0


def _draw(args: argparse.Namespace, chord: Chord, neck: Neck, next_chord: Chord | None) -> None:
    ending = next((end for end in _ENDINGS if args.output.lower().endswith(end)), None)
    if ending is None:
        raise Usage(f"{args.output}: a picture's name ends in {' or '.join(_ENDINGS)}")
    from feedback.screen.neck.picture import NeckState, fitting_sheet, neck_picture

    first, last = args.frets or (_FRETS[0], min(_FRETS[1], neck.last_fret))
    if last > neck.last_fret:
        under = f" with capo {neck.capo}" if neck.capo else ""
        raise Usage(f"--frets {first}-{last}: the last fret{under} is {neck.last_fret}")
    state = NeckState(
        symbol=chord.symbol,
        next_symbol="" if next_chord is None else next_chord.symbol,
        tuning=neck.tuning,
        capo=neck.capo,
        first_fret=first,
        frets_shown=max(last - max(first, 1) + 1, 1),
        left_handed=args.left,
    )
    picture = neck_picture(state, fitting_sheet(state))
    if ending == ".svg":
        from feedback.screen.neck.words import facts
        from feedback.screen.svg import write_svg

        name = f"{chord.symbol} on the neck"
        write_svg(picture, args.output, title=name, told=". ".join(facts(state)))
    else:
        from feedback.screen.files import write_png

        write_png(picture, args.output)
    if not args.json:
        print(f"{args.output}: {chord.symbol} on the neck, frets {first} to {last}")


def _frets(text: str) -> tuple[int, int]:
    """Frets of a picture, from the first to the last."""
    first, dash, last = text.partition("-")
    if not (dash and first.isdecimal() and last.isdecimal() and int(first) <= int(last) and int(last) > 0):
        raise argparse.ArgumentTypeError(f"{text!r}: give the first and the last fret, such as 0-12 or 5-17")
    return int(first), int(last)
