"""Where the round trip of a stream changed for good: confirmed steps, in order of their positions.

Conventions: positions are frames since the stream began; a step counts from its own position on. Two at one
position are one: the second puts the first right.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import groupby
from operator import attrgetter

_STEPS = 1000


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """Where the round trip changed for good.

    Attributes
    ----------
    position : int
        Frames since the stream began: the first callback that shows it.
    moved_sec : float
        By how much the round trip is longer since then.
    """

    position: int
    moved_sec: float


class Steps:
    """The last 1000 steps of a stream.

    Attributes
    ----------
    total_sec : float
        Sum of all, also of those that are kept no longer.
    """

    def __init__(self) -> None:
        self._steps: deque[Step] = deque(maxlen=_STEPS)
        self.total_sec = 0.0

    def __iter__(self) -> Iterator[Step]:
        return iter(self._steps)

    @property
    def last(self) -> int:
        """Position of the last one that was not taken back; -1 without any."""
        return next((position for position, moved in _net(reversed(self._steps)) if moved), -1)

    def grown_sec(self, position: int) -> float:
        """By how much the round trip was longer just before a position than it had ever been."""
        trip = least = 0.0
        for at, moved in _net(self._steps):
            if at < position:
                trip += moved
                least = min(least, trip)
        return trip - least

    def insert(self, position: int, moved_sec: float) -> None:
        """Add one, which may lie before others."""
        late = []
        while self._steps and self._steps[-1].position > position:
            late.append(self._steps.pop())
        self._steps.append(Step(position=position, moved_sec=moved_sec))
        self._steps.extend(reversed(late))
        self.total_sec += moved_sec

    def up_to(self, position: int) -> float:
        """Sum of those up to a position."""
        later = 0.0
        for step in reversed(self._steps):
            if step.position <= position:
                break
            later += step.moved_sec
        return self.total_sec - later

    def greatest(self, begin: int, end: int, slope: float) -> float:
        """The greatest change of the round trip within a stretch.

        Parameters
        ----------
        begin, end : int
            Positions, the end among them.
        slope : float
            Seconds a frame by which it grows besides.

        Returns
        -------
        float
            Longest less shortest; 0 and up.
        """
        moved, trips = 0.0, [0.0]
        for step in self._steps:
            if begin < step.position <= end:
                drift = slope * (step.position - begin)
                trips += [moved + drift, moved + drift + step.moved_sec]
                moved += step.moved_sec
        trips.append(moved + slope * max(0, end - begin))
        return max(trips) - min(trips)


def _net(steps: Iterable[Step]) -> Iterator[tuple[int, float]]:
    """Positions, and what all steps at each come to."""
    for position, together in groupby(steps, attrgetter("position")):
        yield position, sum(step.moved_sec for step in together)
