"""Pegs: the guide tones on their ledges, each in the shape of its function, with a tail as long as it rings.

A peg is open until its note was heard, then inked in where it is due. Early or late it is inked in where it
came, and a post shows where it was due. Not heard it stays open and is crossed out; another note in its place
strikes it through once; a seven that the roll swallowed is inked in to its half; where the listener could not
tell it is faint, with a question mark.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache

from feedback.screen.lane.ledges import Peg
from feedback.screen.lane.page import Page
from feedback.screen.lane.shifting import Laid, laid
from feedback.screen.marks import READABLE, Line, Mark, Point, Shape, Text
from feedback.screen.neck.shapes import Size, outline
from routines.outcome import NoteVerdict

HEAD = Size(wide=40.0, high=36.0)
"""The box that a triangle fills."""

_TAIL_HIGH = 15.0
_STROKE = 4.0


@lru_cache(maxsize=1024)
def peg_marks(page: Page, peg: Peg, verdict: NoteVerdict | None, swallowed: bool) -> tuple[Laid, ...]:
    """A peg.

    Parameters
    ----------
    page : Page
    peg : Peg
    verdict : NoteVerdict or None
        None where nothing is known yet.
    swallowed : bool
    """
    return laid(_Drawn(page, peg).marks(verdict, swallowed))


class _Drawn:
    def __init__(self, page: Page, peg: Peg) -> None:
        self._page, self._peg = page, peg
        self._x = page.x_of(peg.note)
        self._y = page.ledge_y(peg.upper, peg.step)

    def marks(self, verdict: NoteVerdict | None, swallowed: bool) -> Iterator[Mark]:
        if verdict is None:
            yield from self._head("band", "ink", self._x)
        elif swallowed:
            yield from self._swallowed()
        elif verdict.verdict == "landed":
            yield from self._head("landed", "landed", self._x)
        elif verdict.verdict in ("early", "late"):
            yield from self._off(self._page.x_of_ms(verdict.rest_ms or 0.0))
        elif verdict.verdict == "wrong":
            yield from self._head("band", "astray", self._x)
            yield self._stroke(+1)
        elif verdict.verdict == "missed":
            yield from self._head("band", "astray", self._x)
            yield self._stroke(+1)
            yield self._stroke(-1)
        else:
            yield from self._head("band", "faint", self._x)
            yield Text(x=self._x + 0.5 * HEAD.wide, y=self._y - 12.0, text="?", size=READABLE, ink="faint",
                       on="band", bold=True)  # fmt: skip

    def _head(self, fill: str, edge: str, x: float) -> Iterator[Mark]:
        end = self._rings()
        if end - x >= HEAD.wide:
            tail = ((x, self._y - _TAIL_HIGH), (end, self._y - 2.0), (end, self._y), (x, self._y))
            yield Shape(points=tail, fill=fill, edge=edge, thick=2.0)
        yield Shape(points=self._outline(x), fill=fill, edge=edge, thick=3.0)

    def _rings(self) -> float:
        """Where it ceases to ring, or its ledge ends."""
        page, note = self._page, self._page.lick.notes[self._peg.note]
        end = self._x + page.x(note.duration_quarters) - 8.0
        ledge = page.picture.ledge_at(self._peg.upper, note.onset_quarters)
        return end if ledge is None else min(end, page.slope_x(ledge.end_quarters)[0] + 8.0)

    def _outline(self, x: float) -> tuple[Point, ...]:
        """The shape, standing on its ledge."""
        points = outline(self._peg.function, x, 0.0, HEAD)
        down = self._y - max(y for _, y in points)
        return tuple((across, y + down) for across, y in points)

    def _stroke(self, way: int) -> Mark:
        reach, middle = 0.5 * HEAD.wide, self._y - 0.5 * HEAD.high
        return Line(
            points=((self._x - reach, middle + way * reach), (self._x + reach, middle - way * reach)),
            thick=_STROKE,
            ink="astray",
        )

    def _off(self, by: float) -> Iterator[Mark]:
        """Where it came, tied to where it was due."""
        at, middle = self._x + by, self._y - 0.5 * HEAD.high
        yield Line(points=((self._x, self._y - HEAD.high), (self._x, self._y)), thick=_STROKE, ink="astray")
        yield Line(points=((min(self._x, at), middle), (max(self._x, at), middle)), ink="astray")
        yield from self._head("astray", "astray", at)

    def _swallowed(self) -> Iterator[Mark]:
        """Open above, inked in below."""
        yield from self._head("band", "astray", self._x)
        half = self._y - 0.5 * HEAD.high
        lower = [point for point in self._outline(self._x) if point[1] > half]
        quarter = 0.25 * HEAD.wide
        if self._peg.function == "seven":
            lower = [(self._x - quarter, half), (self._x + quarter, half), *lower]
        yield Shape(points=tuple(lower), fill="astray", edge="astray", thick=2.0)
