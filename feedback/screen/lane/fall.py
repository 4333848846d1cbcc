"""The ledges, their labels, and the falls and rises from one to the other, drawn.

A ledge is a ribbon; a fall is the ribbon inked in, from the seven to the tone that it fell to, on the way
that it took: down the slope where it resolved; down at once, elsewhere, where it came ahead or late; dotted
where another octave came; and where the seven was left hanging a broken outline that goes on level and ends.
The third's rise is drawn the same way, half as thick.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from functools import lru_cache

from feedback.screen.lane.ledges import Ledge, Slope
from feedback.screen.lane.page import FUNCTIONS, RIBBON, Page, chord_words
from feedback.screen.lane.shifting import Laid, laid
from feedback.screen.lettering import signed, width
from feedback.screen.marks import Box, Line, Mark, Shape, Text
from routines.lick import Ask
from routines.outcome import SeventhVerdict

LABEL = 28.0
"""Em of a ledge's label."""

INKED = RIBBON + 6.0
"""Thickness of a seven's fall, once it is inked in."""

NAME = 32.0
"""Em of a chord's name over its change."""

_LABEL_DOWN = RIBBON + 24.0
_HANGS_QUARTERS = 1.0
_DOT, _DOTS_APART = 12.0, 22.0


@lru_cache(maxsize=32)
def ribbons(page: Page) -> tuple[Laid, ...]:
    """Ledges and slopes of a pass as they are before anything is heard."""
    marks: list[Mark] = []
    slopes = {(s.upper, s.at_quarters): s for s in page.picture.slopes}
    for ledge in page.picture.ledges:
        begin, end = _ends(page, ledge, slopes)
        y = page.ledge_y(ledge.upper, ledge.step)
        marks.append(Box(x=begin, y=y, wide=max(0.0, end - begin), high=RIBBON, fill=ledge.ink))
    for slope in page.picture.slopes:
        begin, end = page.slope_x(slope.at_quarters)
        marks.append(_slant(page, slope, begin, end, 0.0, RIBBON, slope.ink, "ink"))
    return laid(marks)


def _ends(page: Page, ledge: Ledge, slopes: dict[tuple[bool, float], Slope]) -> tuple[float, float]:
    """A ledge reaches from the slope that leads to it to the one that leads away, or ends before a change."""
    reached = slopes.get((ledge.upper, ledge.begin_quarters))
    leaving = slopes.get((ledge.upper, ledge.end_quarters))
    broken = 9.0 if ledge.broken else 0.0
    begin = page.slope_x(ledge.begin_quarters)[1] if reached else page.x(ledge.begin_quarters) - 15.0 + broken
    end = page.slope_x(ledge.end_quarters)[0] if leaving else page.x(ledge.end_quarters) - 36.0
    return begin, end


def _slant(
    page: Page, slope: Slope, begin: float, end: float, inset: float, thick: float, fill: str, edge: str
) -> Shape:
    high, low = (page.ledge_y(slope.upper, step) + inset for step in (slope.from_step, slope.to_step))
    points = ((begin, high), (end, low), (end, low + thick), (begin, high + thick))
    return Shape(points=points, fill=fill, edge=edge, thick=2.5)


@lru_cache(maxsize=32)
def labels(page: Page) -> tuple[tuple[float, float, Text], ...]:
    """The name of each ledge with the stretch that it may keep to: it stays in sight as long as that does."""
    found = []
    slopes = {(s.upper, s.at_quarters): s for s in page.picture.slopes}
    for ledge in page.picture.ledges:
        begin, end = _ends(page, ledge, slopes)
        begin += 15.0
        y = page.ledge_y(ledge.upper, ledge.step) + _LABEL_DOWN
        said = f"{signed(ledge.tone)}  {FUNCTIONS.get(ledge.function, ledge.function)}"
        if width(said, LABEL, True) <= end - begin:
            found.append((begin, end, Text(x=0.0, y=y, text=said, size=LABEL, on="band", bold=True)))
    return tuple(found)


@lru_cache(maxsize=32)
def names(page: Page) -> tuple[tuple[float, float, Text], ...]:
    """The chords over the band, each with the stretch that its name may keep to."""
    found = []
    for span in page.spans:
        said = chord_words(page.lick, span)
        text = Text(x=0.0, y=page.room.names_y, text=said, size=NAME, on="band", bold=True)
        found.append((page.x(span.start_quarters) - 12.0, page.x(span.end_quarters) - 24.0, text))
    return tuple(found)


@lru_cache(maxsize=512)
def taken(page: Page, ask: Ask, verdict: SeventhVerdict, seven: bool) -> tuple[Laid, ...]:
    """What became of a guide tone's fall or rise.

    Parameters
    ----------
    page : Page
    ask : Ask
    verdict : SeventhVerdict
        It is the one that was due, and all is known of it.
    seven : bool
        Whether it is a flat seven; a third is drawn half as thick, and not at all where it was left hanging.
    """
    function = "seven" if seven else "third"
    slope = page.picture.slope_of(function, ask.change_quarters if ask.change_quarters is not None else -1e9)
    if slope is None or ask.place_quarters is None:
        return ()
    way = _Way(page, slope, ask, INKED if seven else RIBBON / 2)
    late = page.x_of_ms(verdict.resolution_ms or 0.0)
    if verdict.resolution == "resolved":
        return laid(way.inked("landed"))
    if verdict.resolution in ("ahead", "late"):
        return laid(way.stepped(way.asked + late, "landed" if verdict.as_asked else "astray"))
    if verdict.resolution == "octave":
        return laid(way.dotted("landed" if verdict.as_asked else "astray"))
    if verdict.resolution == "hanging" and seven:
        return laid(way.hanging("astray"))
    return laid(way.hanging("faint")) if verdict.resolution == "unclear" and seven else ()


class _Way:
    """From a guide tone over its slope to where it is asked to go."""

    def __init__(self, page: Page, slope: Slope, ask: Ask, thick: float) -> None:
        self._page, self._slope, self._thick = page, slope, thick
        self._from, self.asked = page.x_of(ask.note), page.x(ask.place_quarters or 0.0)
        inset = (RIBBON - thick) / 2
        self._high = page.ledge_y(slope.upper, slope.from_step) + inset
        self._low = page.ledge_y(slope.upper, slope.to_step) + inset
        self._begin, self._end = page.slope_x(slope.at_quarters)

    def _level(self, begin: float, end: float, y: float, ink: str) -> Iterator[Mark]:
        if end > begin:
            yield Box(x=begin, y=y, wide=end - begin, high=self._thick, fill=ink)

    def inked(self, ink: str) -> Iterable[Mark]:
        yield from self._level(self._from, self._begin, self._high, ink)
        inset = (RIBBON - self._thick) / 2
        yield _slant(self._page, self._slope, self._begin, self._end, inset, self._thick, ink, "")
        yield from self._level(self._end, self.asked, self._low, ink)

    def stepped(self, at: float, ink: str) -> Iterable[Mark]:
        """Down at once, where it really came."""
        at = max(at, self._from + self._thick)
        top, bottom = min(self._high, self._low), max(self._high, self._low) + self._thick
        yield from self._level(self._from, at, self._high, ink)
        yield Box(x=at - self._thick / 2, y=top, wide=self._thick, high=bottom - top, fill=ink)
        yield from self._level(at, max(self.asked, at + 24.0), self._low, ink)

    def dotted(self, ink: str) -> Iterable[Mark]:
        """It came, yet not here: the way in dots."""
        middle = self._thick / 2
        at = self._from + _DOTS_APART
        while at < self.asked:
            share = min(1.0, max(0.0, (at - self._begin) / (self._end - self._begin)))
            y = self._high + share * (self._low - self._high) + middle
            yield Box(x=at - _DOT / 2, y=y - _DOT / 2, wide=_DOT, high=_DOT, fill=ink)
            at += _DOTS_APART

    def hanging(self, ink: str) -> Iterable[Mark]:
        """The seven goes on where it is, in a broken outline that nothing closes."""
        end = self._page.x(self._slope.at_quarters + _HANGS_QUARTERS)
        for y in (self._high, self._high + self._thick):
            yield Line(points=((self._from, y), (end, y)), thick=4.0, ink=ink, dashed=True)


def kept(
    stretches: Iterable[tuple[float, float, Text]], by: float, left: float, right: float, room: float
) -> Iterator[Mark]:
    """Texts that stay at the left edge as long as what they name is in sight, each on its own ground.

    Parameters
    ----------
    stretches : iterable of (float, float, Text)
        From, to, and what is written there.
    by : float
        How far all is moved to the right.
    left, right : float
        Edges.
    room : float
        Between a text and the end of its stretch.
    """
    for begin, end, text in stretches:
        wide = width(text.text, text.size, text.bold)
        x = min(max(begin + by, left), end + by - room - wide)
        if x < 4.0 or x + wide > right:
            continue
        high = 0.98 * text.size
        yield Box(x=x - 4.0, y=text.y - 0.76 * text.size, wide=wide + 8.0, high=high, fill=text.on)
        yield Text(x=x, y=text.y, text=text.text, size=text.size, ink=text.ink, on=text.on, bold=text.bold)
