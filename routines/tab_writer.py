"""A lick written as lick text, the format that `routines.tab` reads: reading it back gives the same lick.

The problem: a lick keeps no columns. The narrowest grid of at least three columns is taken in which no
number touches another, every slur mark finds its place, and no chord symbol, finger or mark runs into the
next.

Conventions: fingers are always written out. Marks are written only where they say more than would be
inferred, and a chord that sounds on is repeated at the start of a system for the reader. Columns count the
grid alone, from the start of the lick; only `_Page.system` knows of bar lines and labels.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from itertools import groupby, pairwise

from routines.asks import marks_of
from routines.errors import BadRoutine
from routines.lick import Lick, TargetNote
from routines.shapes import shaped
from routines.tab_fields import COLUMNS_MOST
from routines.tab_header import header_lines
from routines.tab_systems import string_labels

WIDEST = 80
"""Columns of text that a system may take, unless one bar alone takes more."""

_COLUMNS_LEAST = 3
_SLUR_SIGNS = {"hammer": "h", "pull": "p", "slide": "s"}
_STRINGS = (1, 2, 3, 4, 5)


class _TooNarrow(Exception):
    """The grid has no room for what is to be written."""


def write_tab(lick: Lick) -> str:
    """Write a lick as a whole lick text, header and tab.

    Raises
    ------
    BadRoutine
        If no grid has room for it.
    """
    page = _page(lick)
    return "\n".join(header_lines(lick, page.columns)) + "\n\n" + page.text()


def write_systems(lick: Lick) -> str:
    """Write only the tab of a lick, with its chords, fingers and marks.

    Raises
    ------
    BadRoutine
        If no grid has room for it.
    """
    return _page(lick).text()


def _page(lick: Lick) -> _Page:
    for columns in range(_COLUMNS_LEAST, COLUMNS_MOST + 1):
        try:
            return _Page(lick, columns)
        except _TooNarrow:
            continue
    raise BadRoutine(
        f"{lick.id} has no room on a grid of {COLUMNS_MOST} columns an eighth: accepted is less in one"
    )


class _Page:
    """A lick laid out on one grid."""

    def __init__(self, lick: Lick, columns: int) -> None:
        self.columns = columns
        self._lick = lick
        self._bars = self._bar_columns()
        self._note_columns: dict[tuple[float, int], int] = {}
        self._rows = {string: self._row(string) for string in _STRINGS}
        self._fingers = self._below(self._finger_text, self._columns_of(lambda note: bool(note.finger)))
        self._marks = self._below(_mark_text(lick), self._columns_of(lambda note: True))
        self._systems = [self._system(bars) for bars in self._lines()]

    def text(self) -> str:
        """Return the systems, a blank line between them."""
        return "\n\n".join(self._systems) + "\n"

    def _column(self, quarters: float) -> int:
        """Return where the eighth that holds a place begins."""
        return int(2 * (quarters + self._lick.pickup_quarters)) * self.columns

    def _bar_columns(self) -> list[tuple[int, int]]:
        lines = [n * self._lick.quarters_a_bar for n in range(self._lick.bars + 1)]
        if self._lick.pickup_quarters:
            lines.insert(0, -self._lick.pickup_quarters)
        return list(pairwise(self._column(line) for line in lines))

    def _row(self, string: int) -> str:
        row = ["-"] * self._bars[-1][1]
        notes = [note for note in self._lick.notes if note.string == string]
        for column, in_eighth in groupby(notes, key=lambda note: self._column(note.onset_quarters)):
            first, *inner = in_eighth
            lead, text = _fret_text(first)
            self._note_columns[first.onset_quarters, string] = column
            for note in inner:
                self._note_columns[note.onset_quarters, string] = column + len(text) + 1
                text += "".join(_fret_text(note))
            # Only the number after a choke may run on, and not over a bar line.
            room = self.columns
            if first.technique == "choke":
                room = next(end for _, end in self._bars if end > column) - column
            if len(text) > room:
                raise _TooNarrow
            at = slice(column - len(lead), column + len(text))
            touched = row[at.start - 1 : at.start] if not lead else []
            if set(row[at]) != {"-"} or any(sign.isdigit() for sign in touched):
                raise _TooNarrow
            row[at] = lead + text
        return "".join(row)

    def _columns_of(self, wanted: Callable[[TargetNote], bool]) -> dict[float, int]:
        """Return the column below which the signs of each place stand."""
        found: dict[float, int] = {}
        for note in filter(wanted, self._lick.notes):
            column = self._note_columns[note.onset_quarters, note.string]
            found[note.onset_quarters] = min(column, found.get(note.onset_quarters, column))
        return found

    def _below(self, text_at: Callable[[float], str], columns: dict[float, int]) -> dict[int, str]:
        """Return the signs of each column; they may not reach the column of the next place."""
        signs = {column: text_at(place) for place, column in columns.items()}
        for column, following in pairwise(sorted(signs)):
            if column + len(signs[column]) > following:
                raise _TooNarrow
        return {column: text for column, text in signs.items() if text}

    def _finger_text(self, place: float) -> str:
        notes = [note for note in self._lick.notes if note.onset_quarters == place]
        return "".join(note.finger for note in sorted(notes, key=lambda note: -note.string))

    def _lines(self) -> Iterable[list[tuple[int, int]]]:
        """Yield the bars of each system: as many as fit, an even number, the first after the pickup."""
        first, last = self._bars[-1]
        fit = max(1, WIDEST // (last - first + 1))
        fit -= fit % 2 if fit > 1 else 0
        begin, end = 0, fit + len(self._bars) - self._lick.bars
        while begin < len(self._bars):
            yield self._bars[begin:end]
            begin, end = end, end + fit

    def _system(self, bars: list[tuple[int, int]]) -> str:
        labels = {string: string_labels(self._lick.neck, string)[0] for string in _STRINGS}
        width = max(map(len, labels.values()))
        lines = [
            labels[string].ljust(width) + "|" + "".join(self._rows[string][slice(*bar)] + "|" for bar in bars)
            for string in _STRINGS
        ]

        def laid(signs: dict[int, str]) -> str:
            line = ""
            for column in sorted(column for column in signs if bars[0][0] <= column < bars[-1][1]):
                lines_before = 1 + sum(end <= column for _, end in bars)
                line = line.ljust(width + lines_before + column - bars[0][0]) + signs[column]
            return line

        around = [self._chords(*bars[0][:1], bars[-1][1]), self._fingers, self._marks]
        above, *below = (laid(signs) for signs in around)
        return "\n".join(line for line in (above, *lines, *below) if line)

    def _chords(self, start: int, end: int) -> dict[int, str]:
        symbols = {}
        for span in self._lick.chords:
            column = max(self._column(span.start_quarters), start)
            if column < min(self._column(span.end_quarters), end):
                chord = span.chord
                symbols[column] = shaped(chord, self._lick.neck.capo).symbol if chord else "N.C."
        for column, following in pairwise(sorted(symbols)):
            if column + len(symbols[column]) >= following:
                raise _TooNarrow
        return symbols


def _fret_text(note: TargetNote) -> tuple[str, str]:
    """Return the slur sign that leads to a note, and what stands in its own columns."""
    moved = note.midi - note.from_midi if note.from_midi is not None else 0
    if note.technique == "choke":
        return "", f"{note.fret}c{note.fret + moved}"
    if note.technique == "slide" and note.finger:
        return "", f"{note.fret - moved}s{note.fret}"
    return _SLUR_SIGNS.get(note.technique, ""), str(note.fret)


def _mark_text(lick: Lick) -> Callable[[float], str]:
    """Return what gives the marks of a place: those without which the lick would be read as another."""
    marks = marks_of(lick)

    def text_at(place: float) -> str:
        signs = {
            "*": place in marks.core,
            "r": place in marks.resolve,
            "3": place in marks.third,
            "7": place in marks.fifth_seven,
            "x": place in marks.colour,
        }
        return "".join(sign for sign, stands in signs.items() if stands)

    return text_at
