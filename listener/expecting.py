"""What a listener is told to expect: pitches at times, how sure the time is, how likely the pitch.

Who expects knows a lick, a player's habits and likely mistakes; the listener sees none of these, only seconds
and half steps. An expectation is a prior, never evidence: nothing is heard because it was expected.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from listener.network import HIGH_PITCH, LOW_PITCH, PITCHES

REACH = 3.0
"""So many spreads from its time an expectation says nothing any more."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Expectation:
    """One pitch that may begin near some time.

    Attributes
    ----------
    onset_sec : float
        When, in seconds of the take.
    spread_sec : float
        How far from there it may well come; more than 0.
    midi : int
        Half step on the instrument's own tuning.
    weight : float
        How likely it is to come at all, more than 0, up to 1. What is asked for has a weight near 1, what is
        likely to come in its place by mistake a small one.
    """

    onset_sec: float
    spread_sec: float
    midi: int
    weight: float


class Expected:
    """How much each pitch is expected at a time.

    Parameters
    ----------
    expectations : sequence of Expectation

    Raises
    ------
    ValueError
        If a time is no number, a spread or a weight is out of range, or a pitch is no half step.
    """

    def __init__(self, expectations: Sequence[Expectation] = ()) -> None:
        self.renew(expectations)

    def renew(self, expectations: Sequence[Expectation]) -> None:
        """Expect something else from now on; parameters and errors as at the beginning.

        For strikes that are still to come; one that is being looked at may be weighed by either.
        """
        for one in expectations:
            if not 0.0 < one.spread_sec < math.inf or not 0.0 < one.weight <= 1.0:
                raise ValueError(f"{one}: a spread above 0 and a weight above 0, up to 1, are accepted")
            if not math.isfinite(one.onset_sec) or one.midi != int(one.midi):
                raise ValueError(f"{one}: seconds and whole half steps are accepted")
        known = [one for one in expectations if LOW_PITCH <= one.midi <= HIGH_PITCH]
        known.sort(key=lambda one: one.onset_sec)
        self._onset = np.array([one.onset_sec for one in known])
        self._spread = np.array([one.spread_sec for one in known])
        self._pitch = np.array([one.midi - LOW_PITCH for one in known], int)
        self._weight = np.array([one.weight for one in known])
        self._widest = REACH * float(self._spread.max()) if known else 0.0

    def __len__(self) -> int:
        return len(self._onset)

    def at(self, sec: float) -> np.ndarray:
        """How much each pitch is expected to begin at a time.

        Parameters
        ----------
        sec : float

        Returns
        -------
        ndarray of float32, shape (PITCHES,)
            0 to 1: of each pitch the greatest of its expectations' weights, each less the farther the time is
            from theirs (a bell, `spread_sec` being its standard deviation).
        """
        found = np.zeros(PITCHES, np.float32)
        low, high = np.searchsorted(self._onset, (sec - self._widest, sec + self._widest))
        away = (sec - self._onset[low:high]) / self._spread[low:high]
        bell = self._weight[low:high] * np.exp(-0.5 * away * away) * (np.abs(away) <= REACH)
        np.maximum.at(found, self._pitch[low:high], bell.astype(np.float32))
        return found
