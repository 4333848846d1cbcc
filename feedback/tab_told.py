"""A lick's tab as the terminal shows it: with the left hand's fingers, and its lower rows in words.

Conventions: below the strings stand, in this order, the right hand's letters, the left hand's fingers and the
marks of `routines.tab`; each row only where it says something. A finger stands there for each note that
begins an eighth, but for the end of a slide, whose finger is known. Where a grid that holds the fingers would
be another one than that of the lick's text, the left hand is left out.
"""

from __future__ import annotations

import textwrap
from collections.abc import Mapping, Sequence
from dataclasses import replace

from routines.errors import BadRoutine
from routines.hand.playing import hands
from routines.lick import Lick, TargetNote
from routines.tab_systems import MARK_SIGNS
from routines.tab_writer import WIDEST, write_systems

MARKS: Mapping[str, str] = {
    "*": "a clean pass needs this note",
    "r": "the seven resolves here",
    "3": "the third resolves here",
    "7": "the fifth string is the seven here",
    "x": "a seven of colour, nothing is asked",
}
"""Each mark that can stand below a tab, and what it says."""

_RIGHT, _LEFT = "right hand T I M", "left hand 1 to 4"
_ALSO = {0: "0 open", 5: "5 the thumb"}
_STRINGS = 5
_EIGHTH_QUARTERS = 0.5


def tab_told(lick: Lick, left: Sequence[int] | None = None) -> list[str]:
    """The tab of a lick, line by line, and below it what its lower rows mean.

    Parameters
    ----------
    lick : Lick
    left : sequence of int, optional
        The left hand's finger of each note, as in `routines.hand.wanted.Played`; where it is left out, the
        best that is found for the tab as it is written.

    Raises
    ------
    BadRoutine
        If no grid has room for the tab.
    """
    return [*tab_with_left_hand(lick, left), "", *legend(lick, left)]


def tab_with_left_hand(lick: Lick, left: Sequence[int] | None = None) -> list[str]:
    """The tab of a lick, with the left hand's fingers in a row below the right hand's letters.

    Parameters
    ----------
    lick : Lick
    left : sequence of int, optional
        As in `tab_told`.

    Raises
    ------
    BadRoutine
        If no grid has room for the tab.
    """
    return _systems(lick, _left(lick, left))[0]


def legend(lick: Lick, left: Sequence[int] | None = None) -> list[str]:
    """What the rows below a tab mean, with the marks that are used there and no others.

    Parameters
    ----------
    lick : Lick
    left : sequence of int, optional
        As in `tab_told`.

    Returns
    -------
    list of str
        Lines of at most `WIDEST` columns: the hands in one, the marks in others.
    """
    fingers = _left(lick, left)
    told = [_RIGHT] if any(note.finger for note in lick.notes) else []
    if _systems(lick, fingers)[1]:
        shown = {finger for note, finger in zip(lick.notes, fingers, strict=True) if _has_digit(note)}
        told += [_LEFT, *(words for finger, words in _ALSO.items() if finger in shown)]
    marks = set[str]().union(*(_marks(_below(system)) for system in _split(write_systems(lick))))
    said = "; ".join(f"{mark}: {words}" for mark, words in MARKS.items() if mark in marks)
    lines = [f"below the strings: {', '.join(told)}"] if told else []
    return [*lines, *(textwrap.wrap(f"marks in the last row: {said}", WIDEST) if said else [])]


def left_of_part(part: Lick, whole: Lick) -> Sequence[int]:
    """The left hand's fingers of a part of a lick, as the whole lick is fingered.

    Parameters
    ----------
    part : Lick
        What `routines.excerpt` made of `whole`; of anything else, its own best fingers are found.
    whole : Lick
    """
    wanted = [(note.string, note.fret) for note in part.notes]
    played = [(note.string, note.fret) for note in whole.notes]
    for first in range(len(played) - len(wanted) + 1):
        if played[first : first + len(wanted)] == wanted:
            return hands(whole).left[first : first + len(wanted)]
    return hands(part).left


def _left(lick: Lick, left: Sequence[int] | None) -> Sequence[int]:
    return hands(lick).left if left is None else left


def _systems(lick: Lick, left: Sequence[int]) -> tuple[list[str], bool]:
    """The lines of the tab, and whether the left hand stands in them."""
    plain = write_systems(lick).rstrip("\n")
    digits = [
        replace(note, finger=str(finger)) if _has_digit(note) else note
        for note, finger in zip(lick.notes, left, strict=True)
    ]
    try:
        numbered = write_systems(replace(lick, notes=tuple(digits))).rstrip("\n")
    except BadRoutine:
        return plain.split("\n"), False
    lines: list[str] = []
    for here, there in zip(_split(plain), _split(numbered), strict=True):
        below = _below(here)
        tab = here[: len(here) - len(below)]
        if there[: len(tab)] != tab:
            return plain.split("\n"), False
        marks = below[-1:] if _marks(below) else []
        fingers = there[len(tab) : len(there) - len(marks)]
        lines += [*tab, *below[: len(below) - len(marks)], *fingers, *marks, ""]
    return lines[:-1], True


def _split(page: str) -> list[list[str]]:
    return [system.split("\n") for system in page.rstrip("\n").split("\n\n")]


def _below(system: Sequence[str]) -> Sequence[str]:
    """The rows below the strings."""
    first = next(number for number, line in enumerate(system) if "|" in line)
    return system[first + _STRINGS :]


def _marks(below: Sequence[str]) -> set[str]:
    """The marks that stand below the strings of a system of the lick's own text; they are its last row."""
    signs = set(below[-1].replace(" ", "")) if below else set()
    return signs if signs <= set(MARK_SIGNS) else set()


def _has_digit(note: TargetNote) -> bool:
    slid_to = note.technique == "slide" and not note.picked
    return not slid_to and note.onset_quarters % _EIGHTH_QUARTERS == 0.0
