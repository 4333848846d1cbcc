"""The tempo ladder, small: a ladder that leans, its rungs the tempos.

The problem: in the rest between two turns a player must see, from two metres and without reading a table,
where they stand between home and edge and what would take them up. The number of the tempo that is played
next sits in its rung as a fret's number sits on its string; what leans to the right leaves room for "edge" on
the left of its top and for "home" on the right of its foot, so that the three never stand in one another's
way, however near to each other they are.

Conventions: tempos are half notes a minute, higher rungs are faster; reach is a dashed rung, as what has not
come about. A rung is thick where it has a name.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

from feedback.ladder_seen import LadderSeen
from feedback.screen.lettering import width
from feedback.screen.marks import READABLE, Box, Line, Mark, Text
from feedback.screen.views.ladder_words import tempo_text

LEAST_WIDE, LEAST_HIGH = 320.0, 130.0
"""The least room in which the drawing reads at two metres."""

_LEANS = (0.15, 0.25, 0.40, 0.55, 0.70, 0.85, 1.0)  # how far over the top may stand, of the height
_NOW = 36.0
_RUNG_LEAST, _RUNG_MOST = 70.0, 84.0  # what a number may take of it; a longer one is set smaller
_STUB = 12.0  # of the rung that is seen on both sides of its number
_LEAST_SPAN = 0.12  # of the tempo, from the lowest rung to the highest
_RUNG_STEPS = (1.0, 2.0, 4.0, 5.0, 10.0, 20.0, 40.0)
_RUNG_GAP = 15.0
_CLEAR, _CLEAR_OF_NUMBER = 12.0, 19.0  # a rung without a name stands no nearer to one with a name
_BEYOND = 20.0  # from the outermost rungs to the ends of the rails
_ASIDE = 10.0  # from a rung to its name
_SAME = 0.25  # half notes a minute: two rungs that are one


def ladder_marks(seen: LadderSeen, x: float, y: float, wide: float, high: float) -> list[Mark]:
    """Draw the ladder.

    Parameters
    ----------
    seen : LadderSeen
    x, y : float
        Upper left corner of its room.
    wide, high : float
        Its room; at least `LEAST_WIDE` and `LEAST_HIGH`.

    Returns
    -------
    list of Mark
        All within the room.
    """
    ladder = _Ladder.within(seen, x, y, wide, high)
    return [*ladder.rails(), *ladder.rungs(), *ladder.names()]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Ladder:
    """Where all of it lies.

    Attributes
    ----------
    x, foot : float
        Lower left corner.
    rung, lean, rise : float
        Width of a rung, and how far the top lies to the right of the foot and above it.
    low, high : float
        Tempos of foot and top.
    bare : bool
        Whether home and edge are named without their numbers.
    """

    seen: LadderSeen
    x: float
    foot: float
    rung: float
    lean: float
    rise: float
    low: float
    high: float
    bare: bool = False

    @classmethod
    def within(cls, seen: LadderSeen, x: float, y: float, wide: float, high: float) -> _Ladder:
        """In the middle of its room, as far over as it may; names lose their numbers where they must."""
        low, top = _span(seen, high)
        number = width(tempo_text(seen.tempo_half_bpm), _NOW, True)
        rung = min(max(_RUNG_LEAST, number), _RUNG_MOST) + 2 * _STUB
        ways = [(bare, share * high) for bare in (True, False) for share in _LEANS]
        made = [
            cls(
                seen=seen, x=0.0, foot=y + high, rung=rung, lean=lean, rise=high, low=low, high=top, bare=bare
            )
            for bare, lean in ways
        ]
        fit = [one for one in made if one.wide <= wide]
        best = fit[-1] if fit else min(made, key=lambda one: one.wide)
        return replace(best, x=x + (wide - best.wide) / 2 - best.reach[0])

    @property
    def reach(self) -> tuple[float, float]:
        """How far it reaches with its names, to the left and to the right."""
        left, right = self.x, self.x + self.lean + self.rung
        for name in self.names():
            wide = width(name.text, READABLE)
            left, right = (
                (min(left, name.x - wide), right)
                if name.anchor == "right"
                else (left, max(right, name.x + wide))
            )
        return left, right

    @property
    def wide(self) -> float:
        """How wide that is."""
        left, right = self.reach
        return right - left

    def at(self, tempo: float) -> tuple[float, float]:
        """The left end of a tempo's rung."""
        share = (tempo - self.low) / (self.high - self.low)
        return self.x + share * self.lean, self.foot - share * self.rise

    def rails(self) -> Iterator[Mark]:
        for aside in (0.0, self.rung):
            yield Line(
                points=(
                    (self.x + aside, self.foot),
                    (self.x + self.lean + aside, self.foot - self.rise),
                ),
                thick=4.0,
            )

    def _rung(self, tempo: float, thick: float, ink: str, *, dashed: bool = False) -> Mark:
        x, y = self.at(tempo)
        return Line(points=((x, y), (x + self.rung, y)), thick=thick, ink=ink, dashed=dashed)

    def rungs(self) -> Iterator[Mark]:
        seen = self.seen
        named = [seen.home_half_bpm, seen.edge_half_bpm, seen.reach_half_bpm, seen.tempo_half_bpm]
        step = self._step()
        ends = _CLEAR / self._a_half()
        first, last = math.ceil((self.low + ends) / step), math.floor((self.high - ends) / step)
        for number in range(first, last + 1):
            tempo = number * step
            if all(one is None or self._apart(one, tempo) >= _CLEAR for one in named[:3]) and (
                self._apart(seen.tempo_half_bpm, tempo) >= _CLEAR_OF_NUMBER
            ):
                yield self._rung(tempo, 2.0, "rule")
        reach = seen.reach_half_bpm
        if reach is not None and self._apart(reach, seen.tempo_half_bpm) >= _CLEAR_OF_NUMBER:
            yield self._rung(reach, 3.0, "ink", dashed=True)
        for level in (seen.home_half_bpm, seen.edge_half_bpm):
            if level is not None:
                yield self._rung(level, 5.0, "ink")
        yield from self._number()

    def _number(self) -> Iterator[Mark]:
        """The tempo of the next turn, in its rung."""
        said = tempo_text(self.seen.tempo_half_bpm)
        size, wide = self._size()
        x, y = self.at(self.seen.tempo_half_bpm)
        middle = x + self.rung / 2
        yield self._rung(self.seen.tempo_half_bpm, 7.0, "landed")
        yield Box(x=middle - wide / 2, y=y - 0.4 * size, wide=wide, high=0.8 * size, fill="paper")
        yield Text(x=middle, y=y + 0.365 * size, text=said, size=size, bold=True, anchor="center")

    def names(self) -> Iterator[Text]:
        """Edge on the left of its rung, home on the right; both clear of a number that is next to them."""
        middle = self.at(self.seen.tempo_half_bpm)[0] + self.rung / 2
        half = self._size()[1] / 2
        home, edge = self.seen.home_half_bpm, self.seen.edge_half_bpm
        if edge is not None:
            (x, y), near = self.at(edge), self._near(edge)
            x = min(x - _ASIDE, middle - half) if near else x - _ASIDE
            yield Text(x=x, y=self._base(y), text=self._name("edge", edge), anchor="right")
        if home is not None:
            (x, y), near = self.at(home), self._near(home)
            x += self.rung + _ASIDE
            yield Text(x=max(x, middle + half) if near else x, y=self._base(y), text=self._name("home", home))

    def _near(self, tempo: float) -> bool:
        return self._apart(tempo, self.seen.tempo_half_bpm) < _NOW

    def _size(self) -> tuple[float, float]:
        """Em of the number, and the room that it takes of its rung."""
        said = tempo_text(self.seen.tempo_half_bpm)
        size = min(_NOW, _NOW * (self.rung - _STUB) / width(said, _NOW, True))
        return size, width(said, size, True) + 8.0

    def _name(self, word: str, tempo: float) -> str:
        return word if self.bare or self._now(tempo) else f"{word} {tempo:.0f}"

    def _base(self, y: float) -> float:
        return min(y + 0.365 * READABLE, self.foot)

    def _now(self, tempo: float) -> bool:
        return abs(tempo - self.seen.tempo_half_bpm) < _SAME

    def _apart(self, one: float, other: float) -> float:
        """How far two rungs are from each other, in units."""
        return abs(one - other) * self._a_half()

    def _a_half(self) -> float:
        return self.rise / (self.high - self.low)

    def _step(self) -> float:
        return next((s for s in _RUNG_STEPS if s * self._a_half() >= _RUNG_GAP), _RUNG_STEPS[-1])


def _span(seen: LadderSeen, high: float) -> tuple[float, float]:
    """The tempos at foot and top: what is known lies between them, and a number may stand in each rung."""
    known = [seen.home_half_bpm, seen.edge_half_bpm, seen.reach_half_bpm, seen.tempo_half_bpm]
    tempos = [tempo for tempo in known if tempo is not None]
    low, top = min(tempos), max(tempos)
    wider = max(0.0, _LEAST_SPAN * seen.tempo_half_bpm - (top - low)) / 2
    beyond = (top - low + 2 * wider) * _BEYOND / (high - 2 * _BEYOND)
    return low - wider - beyond, top + wider + beyond
