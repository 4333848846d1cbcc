"""One note that rings: its pitch followed from reading to reading until it has died away.

The problem: a string begins several cents sharp and comes down within some tenths of a second, then decays,
its high partials first; and while it rings somebody may turn its peg. So the stretch that is looked at is the
last seven tenths of the note's age, 0.7 s at most: it grows with the note and leaves the beginning behind by
itself. A short stretch is looked at beside it, and where the two differ by more than both are unsure of, the
pitch moves and the short one counts.

Conventions: positions are samples of the `listener.framing.Past` that is read. The note keeps its name: a
partial that was the third stays the third, so an octave cannot slip while it is followed.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from listener.framing import Past
from listener.plucked import pitch_of
from listener.stiff import CENTS_A_NEPER, StringFit, cents_between, fitted, spectrum_of

SHARE, LONGEST_SEC = 0.7, 0.7
"""The stretch that is looked at: so much of the age, so long at most."""

_SHORTEST_SEC, _SHORT_SEC = 0.09, 0.2
_SHORT_FROM_SEC = 0.4
_MOVES_CENTS = 5.0
_SURE = 2.0  # standard errors
_LEAST_UNSURE = 0.3
_LOST_CENTS = 150.0  # a peg turned quickly is found again within so much
_LOST_CLEAR = 0.5


@dataclass(frozen=True, slots=True, kw_only=True)
class Followed:
    """A note's pitch at a moment.

    Attributes
    ----------
    hz : float
        Of the first partial.
    unsure_cents : float
        Twice the standard error, and how far it has moved since the last look.
    power : float
        Of its partials.
    still : bool
        Whether the pitch does not move.
    """

    hz: float
    unsure_cents: float
    power: float
    still: bool


class Ringing:
    """Follows a note.

    Parameters
    ----------
    rate : int
        Samples a second.
    begun : int
        Where it was plucked.
    hz, stiffness : float
        As it was named.
    """

    def __init__(self, rate: int, begun: int, hz: float, stiffness: float) -> None:
        self._rate = rate
        self.begun = begun
        self.hz = hz
        self._stiffness = stiffness
        self._last_hz: float | None = None

    def rename(self, hz: float, stiffness: float) -> None:
        """Take another name for it."""
        self.hz, self._stiffness, self._last_hz = hz, stiffness, None

    def away_cents(self, hz: float) -> float:
        """How far another pitch is from it, without a sign."""
        return abs(cents_between(hz, self.hz))

    def look(self, past: Past) -> Followed | None:
        """Look at the sound that ends where the past does.

        Parameters
        ----------
        past : Past
            Remembers `LONGEST_SEC`.

        Returns
        -------
        Followed or None
            None where it is not found any more.
        """
        age_sec = (past.end - self.begun) / self._rate
        long_sec = min(LONGEST_SEC, max(_SHORTEST_SEC, SHARE * age_sec))
        fit, still = self._fit(past, long_sec), True
        if age_sec > _SHORT_FROM_SEC:
            short = self._fit(past, _SHORT_SEC) or self._found_again(past)
            if short is not None and (fit is None or self._moves(fit, short)):
                fit, still = short, False
        if fit is None:
            return None
        moved = 0.0 if self._last_hz is None else abs(cents_between(fit.hz, self._last_hz))
        self.hz = self._last_hz = fit.hz
        self._stiffness = fit.stiffness
        unsure = max(_LEAST_UNSURE, _SURE * fit.unsure_cents + moved)
        return Followed(hz=fit.hz, unsure_cents=unsure, power=fit.power, still=still)

    def _fit(self, past: Past, seconds: float) -> StringFit | None:
        stretch = past.between(past.end - round(seconds * self._rate), past.end)
        spectrum = spectrum_of(stretch, self._rate)
        return fitted(spectrum, self.hz, self._stiffness)

    def _found_again(self, past: Past) -> StringFit | None:
        """The pitch where a peg was turned too quickly to be followed step by step."""
        stretch = past.between(past.end - round(_SHORT_SEC * self._rate), past.end)
        spectrum = spectrum_of(stretch, self._rate)
        reach = float(np.exp(_LOST_CENTS / CENTS_A_NEPER))
        found = pitch_of(spectrum, low_hz=self.hz / reach, high_hz=self.hz * reach)
        if found is None or found.clear < _LOST_CLEAR:
            return None
        return fitted(spectrum, found.hz, found.stiffness)

    @staticmethod
    def _moves(fit: StringFit, short: StringFit) -> bool:
        apart = abs(cents_between(short.hz, fit.hz))
        return apart > _MOVES_CENTS + _SURE * (fit.unsure_cents + short.unsure_cents)
