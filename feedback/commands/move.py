"""`sevenfall move LICK --to A`: a lick in another key, tuning or capo.

The capo answer comes first: the same frets as written. Then the tab of the best fingering without a capo (or
on the neck that is asked for), with what becomes of the drone, and what had to be altered where no hand can
play it exactly. Frets are read as if there were no capo; MIDI numbers in the JSON are as it sounds. A file
is written anew only over the same lick in the same key.
"""

from __future__ import annotations

import argparse
import json
from pathlib import Path

from feedback.commands.options import add_json
from feedback.errors import Usage
from feedback.moved_json import as_json, sentence
from feedback.tab_told import tab_told
from feedback.writing import beside
from routines.chords import Chord
from routines.errors import BadRoutine
from routines.library import load
from routines.lick import Lick
from routines.moving.answers import Fingering, Moved
from routines.moving.fingering import Way
from routines.moving.move import move
from routines.neck import OPEN_TUNINGS
from routines.shapes import shaped
from routines.tab_writer import write_tab
from routines.tempo import tempo_words

HELP = "a lick in another key: the capo answer, and the best fingering without a capo"
EXAMPLE = """\
  sevenfall move slab-wood-supper --to C                    capo and fifth string, then a new fingering
  sevenfall move slab-wood-supper --to G --tuning gCGBD     the same key in another tuning
  sevenfall move slab-wood-supper --to E -o in-e.lick       keep the fingering: sevenfall play in-e.lick"""

_ENDING = ".lick"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare what can be typed after the command's name."""
    parser.add_argument("lick", metavar="LICK", help="the name of a lick, or the path of a .lick file")
    parser.add_argument("--to", required=True, metavar="KEY", help="the key that is to sound: A, Bb, em")
    parser.add_argument(
        "--tuning", metavar="T", help=f"one of {' '.join(OPEN_TUNINGS)} (default: the lick's own)"
    )
    parser.add_argument("--capo", type=int, metavar="N", help="fret of the capo (default: whichever fits)")
    ways = parser.add_mutually_exclusive_group()
    ways.add_argument("--up", action="store_true", help="finger it higher than it is written")
    ways.add_argument("--down", action="store_true", help="finger it lower (default: mostly the nearer)")
    parser.add_argument(
        "-o",
        "--output",
        metavar="FILE",
        help="keep the fingering as x.lick; with --capo the same frets as written, where they do",
    )
    add_json(parser)


def run(args: argparse.Namespace) -> int:
    """Print the lick moved.

    Returns
    -------
    int
        0, also where no hand can play it exactly: then the nearest is told, and what is altered.

    Raises
    ------
    BadRoutine
        If the lick, the key, the tuning or the capo is none.
    Usage
        If the file's name has another ending, or something else than this lick in this key is in it.
    OSError
        If the lick's file cannot be read, or the file not be written.
    """
    if args.output is not None and not args.output.lower().endswith(_ENDING):
        raise Usage(f"{args.output}: a lick's name ends in {_ENDING}")
    lick = load(args.lick)
    way: Way | None = "up" if args.up else "down" if args.down else None
    moved = move(lick, args.to, tuning=args.tuning, capo=args.capo, way=way)
    kept = [] if args.output is None else ["", _kept(args.output, moved, same_frets=args.capo is not None)]
    if args.json:
        print(json.dumps(as_json(lick, moved)))
        return 0
    print("\n".join([*as_text(lick, moved), *kept]))
    return 0


def _kept(output: str, moved: Moved, *, same_frets: bool) -> str:
    """Write the lick, and say so."""
    there, what = moved.fingering.lick, "the fingering"
    if same_frets and moved.capo is not None:
        there, what = moved.capo.lick, "the frets as they were"
    path = Path(output)
    does = "replaced" if _is_same(path, there) else "written"
    beside(path, lambda part: _write(part, write_tab(there)))
    return f"{output}: {does}, {what}"


def _is_same(path: Path, lick: Lick) -> bool:
    """Whether a file holds a lick of this title; False where there is none.

    Raises
    ------
    Usage
        If it holds something else.
    """
    if not path.exists():
        return False
    try:
        title = load(str(path.resolve())).title
    except BadRoutine:
        raise Usage(f"{path}: there already, and no lick; accepted is another name") from None
    if title != lick.title:
        raise Usage(f"{path}: there already, {title!r}, not {lick.title!r}; accepted is another name")
    return True


def _write(part: Path, text: str) -> None:
    part.write_text(text, encoding="utf-8")


def as_text(lick: Lick, moved: Moved) -> list[str]:
    """A move as lines for the terminal.

    Parameters
    ----------
    lick : Lick
        What was moved.
    moved : Moved
    """
    fingering = moved.fingering
    capo = list(moved.capo.words) if moved.capo is not None else [sentence(moved.no_capo)]
    return [
        f"{lick.title}, from {lick.key} to {moved.key}",
        *capo,
        "",
        *_fingering_text(fingering),
        "",
        *tab_told(fingering.lick, fingering.left),
    ]


def _fingering_text(fingering: Fingering) -> list[str]:
    lick = fingering.lick
    neck = lick.neck
    where = [] if neck.tuning == "gDGBD" else [f"in {neck.tuning}"]
    where.append(f"with capo {neck.capo}, {_shapes(lick)} shapes" if neck.capo else "without a capo")
    lines = [f"Fingered {' '.join(where)}: {fingering.direction}."]
    if fingering.drones:
        lines.append(sentence(fingering.drones))
    if not fingering.playable:
        tempo = tempo_words(lick.top_tempo_half_bpm)
        lines.append(f"No hand plays this at {tempo}: {'; '.join(fingering.troubles)}.")
    elif not fingering.exact:
        lines.append("Not the lick itself, but the nearest that a hand plays:")
    lines += [
        f"  {_note_words(one.index)}{one.before} is {_now(one.after)}: {one.why}" for one in fingering.altered
    ]
    return lines


def _shapes(lick: Lick) -> str:
    return shaped(Chord.parse(lick.key), lick.neck.capo).symbol


def _note_words(index: int | None) -> str:
    return "" if index is None else f"note {index + 1}, "


def _now(after: str) -> str:
    return after if after == "left out" else f"now {after}"
