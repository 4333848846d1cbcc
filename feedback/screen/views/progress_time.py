"""Home and edge over time: the tempo ladder itself, laid through the weeks.

The problem: it must be seen from two metres whether home has come up, and by how much, without an axis to be
read. So the two rails carry their words and numbers where they end, and their numbers where they begin. The
rungs between them are days of practice: where there are none, it was not played.

Conventions: time runs to the right and ends today, tempos rise upward. Home is the lower rail, and thick;
edge is the upper one, and thin. Over a long pause both are dashed, as nobody knows them any more. Days that
fall in one another's way are not all drawn: of each, the last one.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from itertools import pairwise
from statistics import median

from feedback.screen.lettering import width
from feedback.screen.marks import READABLE, Line, Mark, Point, Shape, Text
from feedback.screen.views.progress_words import since_text
from routines.journal.records import LevelsDay

PAUSE_DAYS = 28
"""Home and edge are told from so many days: what is older holds no more."""

_LEAST_SPAN = 0.30  # of the tempo, from the lowest to the highest that is shown
_HOME, _EDGE, _RUNG = 8.0, 4.0, 2.0
_RUNG_GAP = 15.0
_APART = 34.0  # of two texts, one below the other
_LABELS = 40.0  # height of the dates
_BESIDE = 14.0
_PAUSES = 3.0  # of many days, longer than so many usual gaps is a pause
_MANY_DAYS = 30


def time_marks(
    levels: Sequence[LevelsDay],
    today: str,
    x: float,
    y: float,
    wide: float,
    high: float,
    *,
    as_of: str = "",
) -> list[Mark]:
    """Draw home and edge over time.

    Parameters
    ----------
    levels : sequence of LevelsDay
        Oldest first; days on which nothing could be told are left out.
    today : str
        The last day that is shown.
    x, y, wide, high : float
        The room.
    as_of : str
        Words for how old home and edge are, where they are older than the last day of practice.

    Returns
    -------
    list of Mark
        Nothing where nothing could be told on any day.
    """
    told = [
        _Told(date.fromisoformat(one.day).toordinal(), one.home_half_bpm, one.edge_half_bpm)
        for one in levels
        if one.home_half_bpm is not None and one.edge_half_bpm is not None
    ]
    if not told:
        return []
    now = max(told[-1].day, date.fromisoformat(today).toordinal())
    plot = _Plot.within(told, now, x, y, wide, high - _LABELS, as_of)
    first, last = date.fromordinal(told[0].day).isoformat(), date.fromordinal(now).isoformat()
    return [*plot.rungs(), *plot.rails(), *plot.names(), *plot.dates(first, last, y + high)]


@dataclass(frozen=True, slots=True)
class _Told:
    """Home and edge on a day, which is counted as `date.toordinal` does."""

    day: int
    home: float
    edge: float


@dataclass(frozen=True, slots=True, kw_only=True)
class _Plot:
    told: Sequence[_Told]
    now: int
    pauses: Sequence[tuple[int, int]]
    left: float
    right: float
    top: float
    foot: float
    low: float
    high: float
    as_of: str

    @classmethod
    def within(
        cls, told: Sequence[_Told], now: int, x: float, y: float, wide: float, high: float, as_of: str
    ) -> _Plot:
        begins = max(width(f"{tempo:.0f}", READABLE) for tempo in (told[0].home, told[0].edge))
        ends = max(width(text, READABLE, True) for text in (*_names(told[-1]), as_of))
        low, top = min(one.home for one in told), max(one.edge for one in told)
        wider = max(0.0, _LEAST_SPAN * top - (top - low)) / 2
        left, right = x + begins + _BESIDE, x + wide - ends - _BESIDE
        return cls(
            told=_thinned(told, (now - told[0].day) * _RUNG_GAP / (right - left)),
            now=now,
            pauses=_pauses([*(one.day for one in told), now]),
            left=left,
            right=right,
            top=y + 0.5 * READABLE,
            foot=y + high - 0.5 * READABLE,
            low=low - wider,
            high=top + wider,
            as_of=as_of,
        )

    def at(self, day: int) -> float:
        first = self.told[0].day
        return self.left + (self.right - self.left) * (day - first) / max(1, self.now - first)

    def level(self, tempo: float) -> float:
        return self.foot - (self.foot - self.top) * (tempo - self.low) / (self.high - self.low)

    def stretches(self) -> Iterator[tuple[_Told, _Told]]:
        """From each day that is drawn to the next one, and from the last one to today."""
        yield from pairwise([*self.told, replace(self.told[-1], day=self.now)])

    def paused(self, one: _Told, other: _Told) -> bool:
        return any(one.day <= begin and end <= other.day for begin, end in self.pauses)

    def rungs(self) -> Iterator[Mark]:
        for one, other in self.stretches():
            if not self.paused(one, other) and other.day > one.day:
                corners = ((one, one.edge), (other, other.edge), (other, other.home), (one, one.home))
                yield Shape(
                    points=tuple((self.at(told.day), self.level(tempo)) for told, tempo in corners),
                    fill="band",
                )
        for one in self.told:
            x = self.at(one.day)
            yield Line(points=((x, self.level(one.edge)), (x, self.level(one.home))), thick=_RUNG)

    def rails(self) -> Iterator[Mark]:
        yield from self._rail(lambda one: one.edge, _EDGE)
        yield from self._rail(lambda one: one.home, _HOME)

    def _rail(self, tempo: Callable[[_Told], float], thick: float) -> Iterator[Mark]:
        solid: list[Point] = []
        for one, other in self.stretches():
            begin, end = ((self.at(told.day), self.level(tempo(told))) for told in (one, other))
            solid.append(begin)
            if self.paused(one, other):
                yield from _drawn(solid, thick)
                yield Line(points=(begin, end), thick=thick, dashed=True)
                solid = []
        yield from _drawn([*solid, end], thick)

    def names(self) -> Iterator[Mark]:
        """Numbers where the lines begin, words and numbers where they end; beside these how old they are."""
        first, last = self.told[0], self.told[-1]
        sides = (
            (first, self.left - _BESIDE, ("{:.0f}", "{:.0f}"), False),
            (last, self.right + _BESIDE, ("edge {:.0f}", "home {:.0f}"), True),
        )
        for one, x, texts, ends in sides:
            upper, lower = _parted(self.level(one.edge), self.level(one.home), self.top, self.foot)
            for y, text, tempo in zip((upper, lower), texts, (one.edge, one.home), strict=True):
                yield Text(
                    x=x,
                    y=y + 0.365 * READABLE,
                    text=text.format(tempo),
                    ink="ink" if ends else "faint",
                    bold=ends,
                    anchor="left" if ends else "right",
                )
            if ends and self.as_of:
                fits = lower + _APART <= self.foot or upper - _APART < self.top
                y = lower + _APART if fits else upper - _APART
                yield Text(x=x, y=y + 0.365 * READABLE, text=self.as_of, ink="faint")

    def dates(self, first: str, last: str, y: float) -> Iterator[Mark]:
        """The first day and today; today alone where they are one or have no room."""
        base = y - 0.3 * READABLE
        begin = since_text(first, last)
        room = self.right - self.left - _BESIDE
        if first != last and width(begin, READABLE) + width("today", READABLE) <= room:
            yield Text(x=self.left, y=base, text=begin, ink="faint")
        yield Text(x=self.right, y=base, text="today", ink="faint", anchor="right")


def _pauses(days: Sequence[int]) -> list[tuple[int, int]]:
    """From when to when it was not played for long; of years not every day is there, so gaps are usual."""
    gaps = list(pairwise(days))
    usual = median(end - begin for begin, end in gaps) if len(gaps) >= _MANY_DAYS else 0.0
    return [(begin, end) for begin, end in gaps if end - begin > max(PAUSE_DAYS, _PAUSES * usual)]


def _thinned(told: Sequence[_Told], apart: float) -> list[_Told]:
    """Of the days, the first and the last, and between them such as are so many days apart."""
    kept = [told[-1]]
    for one in reversed(told[1:-1]):
        if min(kept[-1].day - one.day, one.day - told[0].day) >= apart:
            kept.append(one)
    return [*told[:1], *reversed(kept)] if len(told) > 1 else kept


def _names(last: _Told) -> tuple[str, str]:
    return f"edge {last.edge:.0f}", f"home {last.home:.0f}"


def _drawn(points: Sequence[Point], thick: float) -> Iterator[Mark]:
    if len(points) > 1:
        yield Line(points=tuple(points), thick=thick)


def _parted(upper: float, lower: float, top: float, foot: float) -> tuple[float, float]:
    """Two heights, moved apart so that texts at both can be read, and within the room."""
    spare = max(0.0, _APART - (lower - upper)) / 2
    upper, lower = upper - spare, lower + spare
    if upper < top:
        return top, max(lower, top + _APART)
    if lower > foot:
        return min(upper, foot - _APART), foot
    return upper, lower
