"""How far the instrument as a whole is tuned from A4 = 440 Hz.

The problem: five strings tuned well among themselves may all be 40 cents flat; the half step of a note is
meant after that is taken off. It is not known before something was heard, must be right from the first
notes on, and may use only what was heard already.

The first strikes are compared with templates drawn at several tunings, each strike weighted by its power:
`hint`. Notes then bring their own deviations, and their weighted median takes over: a choke, a wrong fret
or one badly tuned string does not move it far. Tunings are told apart within half a half step; an
instrument 50 cents flat is 50 cents sharp. Where the first
notes were taken for the neighbouring half step, the estimate runs past half a half step and is turned over;
what was said stays said, the notes after that are right.
"""

from __future__ import annotations

from collections import deque

import numpy as np

GRID_CENTS = tuple(range(-50, 51, 10))
"""Tunings at which the first strikes are compared."""

STROKE_CENTS = 4.0
"""So much sharper than it rings on does a stroke sound in its first 70 ms, on the whole: between 0 and 10."""

_MEMORY = 48  # notes: half a minute of slow picking
_ENOUGH = 4.0  # notes, after which no hint is needed
_HINT_NOTES = 1.0  # a hint weighs as much as so many notes
_NEAR_CENTS = 12.0  # deviations farther from the median are left out of the mean
_SHY = 0.35  # a tuning so near to the next half step must fit clearly better: loss at 50 cents
_TURN_CENTS = 52.0  # beyond, the estimate has settled on the neighbouring half step


class TuningOffset:
    """The running estimate."""

    def __init__(self) -> None:
        self._deviations: deque[tuple[float, float]] = deque(maxlen=_MEMORY)
        self._hints = np.zeros(len(GRID_CENTS))
        self._grid = np.array(GRID_CENTS) - STROKE_CENTS
        self._shy = 1.0 - _SHY * (self._grid / 50.0) ** 6  # steep: it is to say nothing of 30 cents
        self._cents = 0.0

    def reset(self) -> None:
        """Forget everything."""
        self._deviations.clear()
        self._hints[:] = 0.0
        self._cents = 0.0

    @property
    def cents(self) -> float:
        """Best estimate so far; 0 before anything was heard."""
        return self._cents

    @property
    def wants_hints(self) -> bool:
        """Whether too few notes have been heard to do without hints."""
        return sum(weight for _, weight in self._deviations) < _ENOUGH

    def hint(self, fits: np.ndarray, power: float) -> None:
        """Take in how well the templates of each tuning fit a strike.

        Parameters
        ----------
        fits : ndarray, shape (len(GRID_CENTS),)
            Greater is better.
        power : float
            Weight of the strike: what it brought, squared.
        """
        self._hints += power * fits
        self._update()

    def add(self, deviation_cents: float, weight: float) -> None:
        """Take in a note.

        Parameters
        ----------
        deviation_cents : float
            Its pitch against its half step at A4 = 440 Hz.
        weight : float
            0 to 1: how sure that is.
        """
        turned = (deviation_cents - self._cents + 50.0) % 100.0 - 50.0  # of a neighbouring half step, too
        self._deviations.append((self._cents + turned, weight))
        self._update()

    def _update(self) -> None:
        points = list(self._deviations)
        if self.wants_hints and self._hints.any():
            points.append((float(self._grid[int((self._hints * self._shy).argmax())]), _HINT_NOTES))
        if not points:
            return
        values, weights = np.array(points, float).T
        if weights.sum() <= 0.0:
            return
        order = np.argsort(values, kind="stable")
        summed = np.cumsum(weights[order])
        median = values[order][int(np.searchsorted(summed, 0.5 * summed[-1]))]
        near = weights * (np.abs(values - median) <= _NEAR_CENTS)
        self._cents = float(values @ near / near.sum())
        if abs(self._cents) > _TURN_CENTS:
            turn = -100.0 * np.sign(self._cents)
            self._cents += turn
            self._deviations = deque(((value + turn, weight) for value, weight in self._deviations), _MEMORY)
            self._hints[:] = 0.0
