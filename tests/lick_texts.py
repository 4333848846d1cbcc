"""Lick texts typed briefly: a token an eighth, for tests that need many small licks.

``"3/2 2/1 . 5/0 | 2/0 . . ."`` is a bar line and a token an eighth: string/fret, a dot for nothing, ``+``
between the notes of a pinch. What stands after the slash is typed into the tab as it is: ``2/0h1`` is a
hammer-on inside its eighth, ``1/3p 1/2`` a pull-off into the next.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from routines.lick import Lick
from routines.tab import parse_lick

GOOD = "4/4 . 1/0 5/0 2/1 . 1/0 5/0"
"""A bar of D7 with one C in the middle."""

HOME = "| 2/0 . 1/0 5/0 3/0 . 5/0 ."
"""A bar of G that takes C to B on its downbeat; four onsets more."""

D7_G: Mapping[int, str] = MappingProxyType({0: "D7", 8: "G"})

_COLUMNS = 5


def typed(
    tab: str,
    *,
    chords: Mapping[int, str] = D7_G,
    fingers: Mapping[int, str] | None = None,
    marks: Mapping[int, str] | None = None,
    **header: object,
) -> Lick:
    """Read a lick that is typed briefly.

    Parameters
    ----------
    tab : str
        Bars of tokens, as above.
    chords, fingers, marks : mapping
        Eighth, counted from 0 over bars and pickup, to what stands above or below it.
    **header
        Lines of the header; title, key G, easy hand, top 100 where they are left out. A tuning is one whose
        strings are named by single letters.
    """
    bars = [bar.split() for bar in tab.split("|")]
    lines = {
        "title": "Try",
        "key": "G",
        "grid": f"{_COLUMNS} columns an eighth",
        "hand": "easy",
        "top": "100",
        "trains": "A try.",
    } | {name: str(value) for name, value in header.items()}
    rows = [
        f"{name}|" + "|".join("".join(_cell(token, string) for token in bar) for bar in bars) + "|"
        for string, name in enumerate(reversed(lines.get("tuning", "gDGBD")), 1)
    ]
    starts = _starts([len(bar) for bar in bars])
    text = [f"{name}: {value}" for name, value in lines.items()]
    text += ["", _line(chords, starts), *rows]
    text += [_line(signs, starts) for signs in (fingers, marks) if signs]
    return parse_lick("\n".join(text) + "\n", "try.lick")


def _cell(token: str, string: int) -> str:
    found = [note[2:] for note in token.split("+") if note.startswith(f"{string}/")]
    return "".join(found[:1]).ljust(_COLUMNS, "-")


def _starts(bars: list[int]) -> list[int]:
    """Column of each eighth."""
    starts, column = [], 2
    for eighths in bars:
        starts += [column + _COLUMNS * eighth for eighth in range(eighths)]
        column += _COLUMNS * eighths + 1
    return starts


def _line(signs: Mapping[int, str], starts: list[int]) -> str:
    line = ""
    for eighth, sign in sorted(signs.items()):
        line = line.ljust(starts[eighth]) + sign
    return line
