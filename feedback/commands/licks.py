"""`sevenfall licks`: the licks that there are, found by what they train; with the name of one, its tab.

Keys and changes are those that sound; under a capo the shapes stand beside them. Tab and its chord symbols
are read as if there were no capo.
"""

from __future__ import annotations

import argparse
import json
import shutil
import textwrap
from collections.abc import Sequence
from itertools import zip_longest

from feedback.commands.options import add_json
from feedback.tab_told import tab_told
from feedback.words import counted
from routines.chords import Chord
from routines.finding import all_facts, find
from routines.library import all_licks, changes_of, is_path, load, shape_changes_of, techniques_of
from routines.lick import Lick
from routines.pitch import usual_tone
from routines.shapes import shaped
from routines.tab_writer import WIDEST
from routines.tempo import tempo_words

HELP = "the licks there are, found by what they train; with the name of one, its tab"
EXAMPLE = """\
  sevenfall licks A7-D easy            every lick from A7 to D for an easy hand
  sevenfall licks kick-off thumb       kick-offs that have something for the thumb
  sevenfall licks slab-wood-supper     the tab of one"""

_HEAD = ("lick", "change", "key", "hand", "top", "bars", "what it has")
_NUMBERS = ("top", "bars")
_GAP = "  "
_PIPED = (100, 24)  # columns and lines where the output is no terminal: a line for each lick
_LEAST_ROOM = 12

Cell = tuple[str, ...]
"""What stands in a column: on one line, or where there is no room for that, each part on its own."""


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
    if is_path(query) and query not in all_facts():
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
    kind = ", ".join(filter(None, (lick.kind, lick.use, lick.meter)))
    facts = (
        f"{changes}{': ' if changes else ''}key {_key(lick)}{_fifth(lick)}, {lick.hand} hand, "
        f"to {tempo_words(lick.top_tempo_half_bpm)}"
    )
    words = [line for text in (facts, lick.trains) for line in textwrap.wrap(text, WIDEST)]
    return [f"{lick.title} ({kind})", *words, "", *tab_told(lick)]


def _table(licks: Sequence[Lick]) -> list[str]:
    """The rows in the width of the terminal; where they are wider, cells go on in the next line."""
    columns = shutil.get_terminal_size(_PIPED).columns
    rows = [_row(lick) for lick in licks]
    lines = _laid([tuple((" ".join(cell),) for cell in row) for row in rows])
    if max(map(len, lines)) > columns:
        *_, last = _widths(rows)
        room = columns - max(map(len, _laid([row[:-1] for row in rows]))) - len(_GAP)
        folded = [(*row[:-1], _folded(row[-1], max(room, _LEAST_ROOM))) for row in rows]
        lines = _laid(folded if room < last else rows)
    return [*lines, "", *_legend(licks)]


def _folded(cell: Cell, room: int) -> Cell:
    return tuple(textwrap.wrap(" ".join(cell), room, break_on_hyphens=False)) or ("",)


def _widths(rows: Sequence[tuple[Cell, ...]]) -> list[int]:
    return [
        max([len(name), *(len(part) for cell in cells for part in cell)])
        for name, cells in zip(_HEAD, zip(*rows, strict=True), strict=False)
    ]


def _laid(rows: Sequence[tuple[Cell, ...]]) -> list[str]:
    """The heading and the rows, each part of a cell in a line of its own."""
    widths = _widths(rows)
    lines = []
    for row in [tuple((name,) for name in _HEAD[: len(widths)]), *rows]:
        for parts in zip_longest(*row, fillvalue=""):
            laid = [
                part.rjust(width) if name in _NUMBERS else part.ljust(width)
                for name, part, width in zip(_HEAD, parts, widths, strict=False)
            ]
            lines.append(_GAP.join(laid).rstrip())
    return lines


def _legend(licks: Sequence[Lick]) -> list[str]:
    """What the columns mean that do not say it themselves."""
    change = [
        *(["in brackets as the hand shapes it"] if any(_is_shaped(lick) for lick in licks) else []),
        *(["+1: and one more"] if any(len(changes_of(lick)) > 1 for lick in licks) else []),
    ]
    return [
        *([f"change: as it sounds; {'; '.join(change)}"] if change else []),
        "top: the tempo to grow to, in half notes a minute",
        f"{counted(len(licks), 'lick')}; sevenfall licks NAME shows the tab of one",
    ]


def _row(lick: Lick) -> tuple[Cell, ...]:
    first, *others = changes_of(lick) or ["-"]
    more = [f"+{len(others)}"] if others else []
    shapes = [f"({shape_changes_of(lick)[0]})"] if _is_shaped(lick) else []
    return (
        (lick.id,),
        (first, " ".join([*shapes, *more])) if shapes else (" ".join([first, *more]),),
        (f"{lick.key},", f"capo {lick.neck.capo}") if lick.neck.capo else (lick.key,),
        (lick.hand,),
        (f"{lick.top_tempo_half_bpm:g}",),
        (str(lick.bars),),
        (", ".join(filter(None, (lick.use, *techniques_of(lick)))),),
    )


def _is_shaped(lick: Lick) -> bool:
    return bool(lick.neck.capo and changes_of(lick))


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
