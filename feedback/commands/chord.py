"""`sevenfall chord D7`: how a chord is spelled, where its seven and third want to go, and where they lie.

The chord is what sounds. Under a capo the text names the notes of the shape that the hand holds, as players
think of them, and says so in its first line; the JSON names what sounds. Frets are tab frets in both. With
`-o` the same becomes a picture of the neck. With a key, chords may be numbers; the key alone tells its
sevenths: what leads to each of its chords.
"""

from __future__ import annotations

import argparse
import json

from feedback.chord_told import as_json, as_text, in_every_tuning
from feedback.commands.options import add_json
from feedback.errors import Usage
from feedback.key_told import key_as_json, key_as_text
from routines.chords import Chord
from routines.keys import Key, is_number, numbered
from routines.neck import OPEN_TUNINGS, Neck

HELP = "how a chord is spelled, where its seven and third want to go, and where they lie on the neck"
EXAMPLE = """\
  sevenfall chord E7 --capo 2               E7 as it is held with capo 2: the D7 shape
  sevenfall chord 27 --key G                by its number: A7, which leads to D
  sevenfall chord --key Em                  every seventh that leads to a chord of E minor
  sevenfall chord A7 --tuning all           where G falls to F# in every tuning
  sevenfall chord D7 --to Gm -o d7.svg      the neck as a picture, with the falls into G minor"""

_ENDINGS = (".png", ".svg")
_FRETS = (0, 12)
_ALL = "all"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare what can be typed after the command's name."""
    parser.add_argument(
        "symbol",
        nargs="?",
        metavar="CHORD",
        help="a chord such as D7, Bbm or C#7; with --key also a number such as 57",
    )
    parser.add_argument(
        "--key", metavar="K", help="the key that numbers count in; without a chord, the sevenths of this key"
    )
    parser.add_argument(
        "--tuning",
        default="gDGBD",
        metavar="T",
        help=f"one of {' '.join(OPEN_TUNINGS)} (default gDGBD), or all: the seven's falls in each of them",
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
    key = None if args.key is None else Key.parse(args.key)
    if args.symbol is None:
        return _key(args, key)
    chord, next_chord = _chord(args.symbol, key), None if args.to is None else _chord(args.to, key)
    if args.tuning == _ALL:
        return _in_every_tuning(args, chord, next_chord)
    neck = Neck(tuning=args.tuning, capo=args.capo)
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


def _chord(typed: str, key: Key | None) -> Chord:
    if key is not None and (is_number(typed) or typed[:1].isdigit()):
        return numbered(typed, key.tonic)
    if is_number(typed):
        raise Usage(f"{typed}: a chord by number needs --key, such as --key G")
    return Chord.parse(typed)


def _key(args: argparse.Namespace, key: Key | None) -> int:
    """Tell the sevenths of a key."""
    if key is None:
        raise Usage("CHORD is missing: give one such as D7, or a key with --key")
    if args.to is not None or args.output is not None or args.tuning == _ALL:
        raise Usage("--to, -o and --tuning all are of a chord: give one before --key")
    neck = Neck(tuning=args.tuning, capo=args.capo)
    print(json.dumps(key_as_json(key)) if args.json else "\n".join(key_as_text(key, neck)))
    return 0


def _in_every_tuning(args: argparse.Namespace, chord: Chord, next_chord: Chord | None) -> int:
    if args.json or args.output is not None:
        raise Usage("--tuning all is text only; --json and -o take one tuning")
    necks = [Neck(tuning=name, capo=args.capo) for name in OPEN_TUNINGS]
    print("\n".join(in_every_tuning(chord, necks, next_chord)))
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
