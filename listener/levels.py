"""What the two sides' stamps said over the last two minutes: round trip, wander, and drift of two clocks.

The problem: the stamps of input and output stand ten times a second for where each side is. From that come
the round trip (a median, so that a saw's wander averages out), how far it may be off, and whether input and
output run at different speeds, which two sound cards do and one does not. Only what both sides said at the
same time is compared: clocks of a computer are slewed, too, and that moves both alike.
"""

from __future__ import annotations

from collections import deque
from statistics import median

import numpy as np

CHUNK_SEC = 0.1
"""Levels are noted down so often."""

RECALL_SEC = 20.0
"""A round trip is taken from so far back, several periods of the slowest wander seen; drift needs so much."""

STEADY_SEC = 0.003
"""What stamps that stand still are known to: steady ones were up to 3.2 ms from the truth, mostly 0.3."""

_LONG_SEC = 120.0  # drift is taken from so far back
_ENOUGH = 10  # levels since the last step that make those before it unnecessary
_CLOCK_PPM = 500.0  # no sound card is off by more
_WANDERS_SEC = 0.0015  # half range, beyond which a side is not steady
_CLEAR = 4.0  # drift is clear if it moved so many times as far as the stamps scatter
_CLEAR_SEC = 0.001  # and so far at least


class Levels:
    """Levels of both sides, without their steps.

    Parameters
    ----------
    rate : int
        Frames a second.
    """

    def __init__(self, rate: int) -> None:
        self._rate = rate
        self._entries: deque[tuple[int, float, float]] = deque(maxlen=round(_LONG_SEC / CHUNK_SEC))

    def __len__(self) -> int:
        return len(self._entries)

    def note(self, position: int, came_sec: float, went_sec: float) -> None:
        """Note where the input's stamps are, and the output's."""
        self._entries.append((position, came_sec, went_sec))

    def amend(self, position: int, came_sec: float) -> None:
        """Take a step of the input out of what was noted since a position."""
        self._entries = deque(
            ((at, came - came_sec * (at >= position), went) for at, came, went in self._entries),
            maxlen=self._entries.maxlen,
        )

    def weighed(self, now: int, step: int, ppm: float, at: int) -> tuple[float, float]:
        """Output against input, from the last 20 s.

        Parameters
        ----------
        now : int
            Position; not before the last that was noted.
        step : int
            Position of the last step. What was before it is used only where less than 1 s was after it.
        ppm : float
            Drift that is taken off.
        at : int
            Position where it is 0.

        Returns
        -------
        float
            Seconds; the median.
        float
            Half its range, STEADY_SEC at least.
        """
        late = self._late(now) or list(self._entries)[-1:]
        after = [entry for entry in late if entry[0] > step]
        slope = 1e-6 * ppm / self._rate
        trips = [
            went - came - slope * (position - at)
            for position, came, went in (after if len(after) >= _ENOUGH else late)
        ]
        return median(trips), max(STEADY_SEC, (max(trips) - min(trips)) / 2.0)

    def drift(self, step: int) -> tuple[float, bool] | None:
        """How fast output against input runs away.

        Parameters
        ----------
        step : int
            Position of the last step; only what was after it counts.

        Returns
        -------
        (float, bool) or None
            Millionths; whether that is clear. None without 20 s of steady stamps on both sides.
        """
        entries = [entry for entry in self._entries if entry[0] > step]
        if not entries or entries[-1][0] - entries[0][0] < RECALL_SEC * self._rate:
            return None
        position, came, went = np.array(entries).T
        time, trip = (position - position[0]) / self._rate, went - came
        if max(_half_range(time, side) for side in (came, went)) > _WANDERS_SEC:
            return None
        third = len(time) // 3
        run = np.median(time[-third:]) - np.median(time[:third])
        slope = float((np.median(trip[-third:]) - np.median(trip[:third])) / run)
        low, high = np.quantile(trip - slope * time, (0.05, 0.95))
        return 1e6 * slope, abs(slope) * float(time[-1]) > max(_CLEAR_SEC, _CLEAR * float(high - low))

    def _late(self, now: int) -> list[tuple[int, float, float]]:
        begin = now - RECALL_SEC * self._rate
        return [entry for entry in self._entries if entry[0] >= begin]


def _half_range(time_sec: np.ndarray, level_sec: np.ndarray) -> float:
    """By how much a side wanders about the line that a clock may follow."""
    time, level = time_sec - time_sec.mean(), level_sec - np.median(level_sec)
    most = 1e-6 * _CLOCK_PPM
    slope = min(most, max(-most, float(time @ level) / max(1e-9, float(time @ time))))
    low, high = np.quantile(level - slope * time, (0.05, 0.95))
    return float(high - low) / 2.0
