"""A lick's tab standing still: five lines, numbers, slurs, chords and fingers, as marks.

The problem: a tab must be read from two metres, so its numbers may not touch, and no more bars stand side by
side than that allows. An eighth is as wide as the closest numbers, fingers and chord names need, and wider
where there is room.

Conventions: string 1 on top. The place of a note is the middle of its number. Frets and names are those of
the shape under a capo. Notes are counted as in `Lick.notes`. A choke is one number with a curve and "c", and
with the fret whose pitch it reaches where that is not the next one; a slide inside its eighth shows both. A
bar has its number where a system begins with it, but for bar 1.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass

from feedback.grid import EIGHTH_QUARTERS
from feedback.screen.lettering import signed, width
from feedback.screen.marks import READABLE, Anchor, Box, Line, Mark, Text
from feedback.screen.still.fit import (
    LEFT_HIGH,
    RING,
    Bar,
    bars_of,
    chord_rows,
    eighths,
    finger_rows,
    least_eighth,
    left_rows,
    left_size,
    number_wide,
    numbers,
    shared_out,
)
from feedback.screen.still.strokes import arc, enclosed, ring, rise
from routines.lick import Lick, TargetNote
from routines.tab_systems import string_labels

WIDEST = 2.0
"""How often as wide as it must be an eighth may become where there is room."""

_SIGNS = {"hammer": "h", "pull": "p", "slide": "s"}
_STRINGS = (1, 2, 3, 4, 5)
_BASE = 0.365  # of a number: from its middle to its baseline, in ems
_SMALL = 0.75


def still_tab(
    lick: Lick,
    *,
    x: float,
    y: float,
    wide: float,
    first_bar: int = 1,
    bars: int | None = None,
    line_gap: float = 34.0,
    size: float = 28.0,
    ringed: Collection[int] = (),
    fingers: bool = True,
    left: Sequence[int] = (),
    on: str = "paper",
) -> tuple[list[Mark], float]:
    """Draw the tab of a lick, or of some of its bars.

    Parameters
    ----------
    lick : Lick
    x, y : float
        Upper left corner, in units.
    wide : float
        Room to the right; a single bar that needs more is squeezed into it.
    first_bar : int
        From 1. A pickup stands before bar 1.
    bars : int, optional
        How many; where it is left out, all that follow.
    line_gap : float
        Between two lines; at least 1.2 x `size`.
    size : float
        Of the numbers.
    ringed : collection of int
        Notes that get a doubled ring.
    fingers : bool
        Whether T, I and M stand below.
    left : sequence of int
        The left hand's finger of each note, 0 where the string is open; they stand below those of the right
        hand, enclosed, and only where a string is stopped. Empty for none.
    on : str
        Ink of what lies under it.

    Returns
    -------
    marks : list of Mark
    lower : float
        y of its lower edge.

    Raises
    ------
    ValueError
        If the lick has no such bars.
    """
    pieces = bars_of(lick, first_bar, bars)
    label = max(width(_string_name(lick, string), size) for string in _STRINGS) + 0.4 * size
    lead = 0.55 * width("00", size, True) + 0.35 * size
    least = least_eighth(lick, pieces, size, ringed, left)
    systems = shared_out(pieces, wide - label, lead, least)
    room = min((wide - label - lead * len(one)) / sum(map(eighths, one)) for one in systems)
    style = _Style(
        lick=lick,
        x=x + label,
        lead=lead,
        eighth=min(WIDEST * least, room),
        gap=line_gap,
        size=size,
        ringed=frozenset(ringed),
        fingers=fingers,
        left=tuple(left),
        on=on,
    )
    marks: list[Mark] = []
    for number, system in enumerate(systems):
        y += 0.6 * line_gap if number else 0.0
        drawn = _System(style, system, y)
        marks += drawn.marks()
        y = drawn.lower
    return marks, y


@dataclass(frozen=True, slots=True, kw_only=True)
class _Style:
    lick: Lick
    x: float
    lead: float
    eighth: float
    gap: float
    size: float
    ringed: frozenset[int]
    fingers: bool
    left: tuple[int, ...]
    on: str


def _string_name(lick: Lick, string: int) -> str:
    return signed(string_labels(lick.neck, string)[0])


class _System:
    """Some bars side by side."""

    def __init__(self, style: _Style, bars: Sequence[Bar], y: float) -> None:
        self._s, self._bars = style, bars
        self._notes = [
            (index, note)
            for index, note in enumerate(style.lick.notes)
            if bars[0][0] <= note.onset_quarters < bars[-1][1]
        ]
        self._chords_y = y + 1.05 * style.size
        self._top = self._chords_y + (1.4 if self._slurred_on_top() else 1.0) * style.gap
        self._bottom = self._top + 4 * style.gap
        self._fingers_y = self._bottom + 1.45 * style.size
        self.lower = self._fingers_y + 0.1 * style.size if style.fingers else self._bottom + 0.6 * style.size
        if style.left:
            self._left_y = self.lower + 0.04 * style.size
            self.lower = self._left_y + LEFT_HIGH * left_size(style.size)

    def marks(self) -> Iterator[Mark]:
        """Lines first, then what lies over them."""
        yield from self._lines()
        for index, note in self._notes:
            yield from self._slur(index, note)
        for index, note in self._notes:
            yield from self._numbers(index, note)
        for at, name in chord_rows(self._s.lick, self._bars[0][0], self._bars[-1][1]):
            yield self._text(
                self._at(at) - 0.35 * self._s.size, self._chords_y, name, bold=True, anchor="left"
            )
        if self._s.fingers:
            for at, letters in finger_rows([note for _, note in self._notes]):
                yield self._text(self._at(at), self._fingers_y, letters, ink="faint")

        if self._s.left:
            size = left_size(self._s.size)
            for at, digits in left_rows(self._notes, self._s.left):
                yield from enclosed(self._at(at), self._left_y, digits, size, self._s.on)

    def _slurred_on_top(self) -> bool:
        return any(note.string == 1 and note.technique != "pick" for _, note in self._notes)

    def _bar_x(self, number: int) -> float:
        """Where the line before a bar of this system stands."""
        before = self._bars[:number]
        return self._s.x + sum(self._s.lead + self._s.eighth * eighths(bar) for bar in before)

    def _at(self, quarters: float) -> float:
        number = next((k for k, bar in enumerate(self._bars) if quarters < bar[1]), len(self._bars) - 1)
        within = (quarters - self._bars[number][0]) / EIGHTH_QUARTERS
        return self._bar_x(number) + self._s.lead + within * self._s.eighth

    def _string_y(self, string: int) -> float:
        return self._top + (string - 1) * self._s.gap

    def _text(
        self,
        x: float,
        y: float,
        text: str,
        *,
        ink: str = "ink",
        bold: bool = False,
        anchor: Anchor = "center",
        small: bool = False,
    ) -> Text:
        return Text(
            x=x,
            y=y,
            text=text,
            size=_SMALL * self._s.size if small else self._s.size,
            ink=ink,
            on=self._s.on,
            bold=bold,
            anchor=anchor,
            minor=small,
        )

    def _lines(self) -> Iterator[Mark]:
        end = self._bar_x(len(self._bars))
        for string in _STRINGS:
            y = self._string_y(string)
            name = _string_name(self._s.lick, string)
            x = self._s.x - 0.4 * self._s.size - width(name, self._s.size)
            yield self._text(x, y + _BASE * self._s.size, name, ink="faint", anchor="left")
            yield Line(points=((self._s.x, y), (end, y)), ink="rule")
        for number in range(len(self._bars) + 1):
            x = self._bar_x(number)
            yield Line(points=((x, self._top), (x, self._bottom)), thick=3.0)
        if self._bars[-1][1] == self._s.lick.end_quarters:
            yield Line(points=((end - 7.0, self._top), (end - 7.0, self._bottom)))
        if self._bars[0][0] > 0:
            count = str(round(self._bars[0][0] / self._s.lick.quarters_a_bar) + 1)
            yield Text(
                x=self._s.x,
                y=self._chords_y,  # apart from the name of string 1, which it would seem to number
                text=count,
                size=max(READABLE, _SMALL * self._s.size),
                ink="faint",
                on=self._s.on,
                anchor="right",
            )

    def _numbers(self, index: int, note: TargetNote) -> Iterator[Mark]:
        size, y = self._s.size, self._string_y(note.string)
        ringed = index in self._s.ringed
        for at, text in numbers(note):
            x, room = self._at(at), number_wide(text, size, ringed)
            high = 2 * RING * size if ringed else 0.9 * size
            wide = room if ringed else room + 0.2 * size
            yield Box(x=x - wide / 2, y=y - high / 2, wide=wide, high=high, fill=self._s.on, round=high / 2)
            if ringed:
                yield from ring(x, y, wide, high)
            yield self._text(x, y + _BASE * size, text, bold=True)

    def _slur(self, index: int, note: TargetNote) -> Iterator[Mark]:
        size, y = self._s.size, self._string_y(note.string)
        if note.technique == "choke":
            frets = note.midi - (note.from_midi or note.midi)
            x = self._at(note.onset_quarters) + 0.5 * width(str(note.fret), size, True)
            yield rise(x, y, size)
            said = "c" if frets == 1 else f"c{note.fret + frets}"
            yield self._text(x + 0.58 * size, y - 0.45 * size, said, anchor="left", small=True)
        elif note.technique in _SIGNS:
            begin, end = self._begins(index, note), self._at(numbers(note)[-1][0])
            yield arc(begin, end, y, size)
            yield self._text((begin + end) / 2, y - 0.9 * size, _SIGNS[note.technique], small=True)

    def _begins(self, index: int, note: TargetNote) -> float:
        """Where the slur that ends in a note comes from; the edge where that is in another system."""
        places = numbers(note)
        if len(places) > 1:
            return self._at(places[0][0])
        before = [one for k, one in self._notes if k < index and one.string == note.string]
        return self._at(before[-1].onset_quarters) if before else self._s.x
