"""`sevenfall licks`: the licks that there are, found by what they train; with the name of one, its tab.

Keys and changes are those that sound; under a capo the shapes stand beside them. Tab and its chord symbols
are read as if there were no capo.
"""

from __future__ import annotations

import argparse
import json
from collections.abc import Sequence

from feedback.commands.options import add_json
from routines.chords import Chord
from routines.finding import find
from routines.library import all_licks, changes_of, is_path, load, shape_changes_of, techniques_of
from routines.lick import Lick
from routines.pitch import usual_tone
from routines.shapes import shaped
from routines.tab_writer import write_systems
from routines.tempo import tempo_words

HELP = "the licks there are, found by what they train; with the name of one, its tab"
EXAMPLE = """\
  sevenfall licks A7-D easy            every lick from A7 to D for an easy hand
  sevenfall licks kick-off thumb       kick-offs that have something for the thumb
  sevenfall licks slab-wood-supper     the tab of one"""

_HEAD = ("lick", "change", "key", "hand", "top", "bars", "what it has")
_GAP = "  "


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare what can be typed after the command's name."""
    parser.add_argument(
        "query",
        nargs="*",
        metavar="QUERY",
        help="words that must all fit: a change such as A7-D, a key, a hand (easy, ready, quick), a "
        "technique (hammer, pull, slide, choke, pinch), what it is for (kick-off, turnaround, fill, ending, "
        "backup), a kind (lick, roll, drill), waltz, high (up the neck), or any word of its title or of what "
        "it trains; or the name of one lick, or the path of a .lick file",
    )
    add_json(parser)


def run(args: argparse.Namespace) -> int:
    """Print the licks.

    Returns
    -------
    int
        0, also where no lick fits.

    Raises
    ------
    BadLickText
        If a file that is named cannot be read as a lick.
    OSError
        If it cannot be opened.
    """
    query = " ".join(args.query)
    one = _the_one(query)
    licks = (one,) if one is not None else find(query)
    if args.json:
        print(json.dumps({"licks": [_as_json(lick) for lick in licks]}))
    elif one is not None:
        print("\n".join(_in_full(one)))
    elif licks:
        print("\n".join(_table(licks)))
    else:
        print(
            f"no lick fits {query!r}: sevenfall licks, without a word after it, lists all {len(all_licks())}"
        )
    return 0


def _the_one(query: str) -> Lick | None:
    """The lick that is named outright, by its id or its file."""
    if is_path(query):
        return load(query)
    return next((lick for lick in all_licks() if lick.id == query.casefold()), None)


def _as_json(lick: Lick) -> dict[str, object]:
    return {
        "id": lick.id,
        "title": lick.title,
        "key": lick.key,
        "hand": lick.hand,
        "change": next(iter(changes_of(lick)), ""),
        "top_tempo_half_bpm": lick.top_tempo_half_bpm,
        "bars": lick.bars,
        "techniques": list(techniques_of(lick)),
        "file": lick.file,
    }


def _in_full(lick: Lick) -> list[str]:
    changes = ", ".join(_with_shapes(lick))
    lines = [
        f"{lick.title} ({lick.kind}, {lick.meter})",
        f"{changes}{': ' if changes else ''}key {_key(lick)}{_fifth(lick)}, {lick.hand} hand, "
        f"to {tempo_words(lick.top_tempo_half_bpm)}",
        lick.trains,
        "",
    ]
    return [*lines, write_systems(lick).rstrip("\n")]


def _table(licks: Sequence[Lick]) -> list[str]:
    rows = [_HEAD, *(_row(lick) for lick in licks)]
    widths = [max(len(row[column]) for row in rows) for column in range(len(_HEAD))]
    lines = [
        _GAP.join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip() for row in rows
    ]
    return [
        *lines,
        "",
        "change: as it sounds, in brackets as it is shaped; +1: and one more",
        "top: the tempo to grow to, in half notes a minute; sevenfall licks NAME shows the tab",
    ]


def _row(lick: Lick) -> tuple[str, ...]:
    first, *more = changes_of(lick) or ["-"]
    shape = f" ({shape_changes_of(lick)[0]})" if lick.neck.capo and first != "-" else ""
    return (
        lick.id,
        f"{first}{shape}" + (f" +{len(more)}" if more else ""),
        lick.key + (f", capo {lick.neck.capo}" if lick.neck.capo else ""),
        lick.hand,
        f"{lick.top_tempo_half_bpm:g}",
        str(lick.bars),
        ", ".join(filter(None, (lick.use, *techniques_of(lick)))),
    )


def _with_shapes(lick: Lick) -> list[str]:
    """The changes as they sound, under a capo each with its shapes."""
    sounding, shapes = changes_of(lick), shape_changes_of(lick)
    if not lick.neck.capo:
        return list(sounding)
    return [f"{change} ({shape} shapes)" for change, shape in zip(sounding, shapes, strict=True)]


def _fifth(lick: Lick) -> str:
    """What the fifth string is tuned to, where it is not as the tuning leaves it."""
    fifth = lick.neck.fifth_string
    return "" if fifth.how == "plain" else f", fifth string at {str(usual_tone(fifth.open_midi)).lower()}"


def _key(lick: Lick) -> str:
    if not lick.neck.capo:
        return lick.key
    home = shaped(Chord.parse(lick.key), lick.neck.capo).symbol
    return f"{lick.key} (as {home}, capo {lick.neck.capo})"
