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

An instrument that is known already begins where it was last. A hint that is near there is steadied by it, one
that is far is believed (it was tuned anew). A tuning and the one a half step from it are one and the same to
the ear: of the two that is meant which is near where the instrument was last.
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
_LAST_NOTES = 2.0  # so does where it was last
_ANEW = 0.05  # if it is to have been tuned anew, that must fit better: loss of any other tuning
_LAST_CENTS = 15.0  # so near to where it was last it is taken to be tuned as it was
_NEAR_CENTS = 12.0  # deviations farther from the median are left out of the mean
_SHY = 0.35  # a tuning so near to the next half step must fit clearly better: loss at 50 cents
_TURN_CENTS = 52.0  # beyond, the estimate has settled on the neighbouring half step


class TuningOffset:
    """The running estimate."""

    def __init__(self) -> None:
        self._deviations: deque[tuple[float, float]] = deque(maxlen=_MEMORY)
        self._hints = np.zeros(len(GRID_CENTS))
        self.reset()

    def reset(self) -> None:
        """Forget everything."""
        self._deviations.clear()
        self._hints[:] = 0.0
        self._begin_at(None)

    @property
    def cents(self) -> float:
        """Best estimate so far; before anything was heard where it was told to start, else 0."""
        return self._cents

    def start(self, cents: float) -> None:
        """Begin where the instrument was last; without effect once anything was heard.

        Parameters
        ----------
        cents : float
            -60 to 60.
        """
        if not self._deviations and not self._hints.any():
            self._begin_at(cents)

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
        cents = _nearest(self._cents, deviation_cents)
        if self._last_cents is not None:
            as_last = _nearest(self._last_cents, deviation_cents)
            cents = as_last if self._near_last(np.array(as_last)) else cents
        self._deviations.append((cents, weight))
        self._update()

    def _begin_at(self, last_cents: float | None) -> None:
        self._last_cents = last_cents
        self._cents = last_cents or 0.0
        plain = np.array(GRID_CENTS) - STROKE_CENTS
        self._grid = plain - 100.0 * (self._near_last(plain - 100.0) - self._near_last(plain + 100.0))
        shy = 1.0 - _SHY * (self._grid / 50.0) ** 6  # steep: it is to say nothing of 30 cents
        anew = 1.0 if last_cents is None else 1.0 - _ANEW
        self._shy = np.where(self._near_last(self._grid), 1.0, anew * shy)

    def _near_last(self, cents: np.ndarray) -> np.ndarray:
        """Where tunings are about that of last time: 1, else 0."""
        if self._last_cents is None:
            return np.zeros(cents.shape)
        return (np.abs(cents - self._last_cents) <= _LAST_CENTS).astype(float)

    def _update(self) -> None:
        points = list(self._deviations)
        if self.wants_hints and self._hints.any():
            hint = float(self._grid[int((self._hints * self._shy).argmax())])
            points.append((hint, _HINT_NOTES))
            if self._last_cents is not None and self._near_last(np.array(hint)):
                points.append((self._last_cents, _LAST_NOTES))
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
        if abs(self._cents) > _TURN_CENTS and not self._near_last(np.array(self._cents)):
            turn = -100.0 * np.sign(self._cents)
            self._cents += turn
            self._deviations = deque(((value + turn, weight) for value, weight in self._deviations), _MEMORY)
            self._hints[:] = 0.0


def _nearest(to_cents: float, cents: float) -> float:
    """A deviation, or the same one from a neighbouring half step, whichever is nearer to a tuning."""
    return to_cents + (cents - to_cents + 50.0) % 100.0 - 50.0
