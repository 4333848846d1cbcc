"""Whether a string was plucked, and which pitch it has: talk, knocks and what rang before are not named.

The problem: strikes are candidates, more than there are plucks (`listener.strikes`), and a voice has a pitch,
too. So a pluck must bring power beside what rang before it, go on as a string does, neither swelling as a
syllable nor dying at once as a knock, and hold one pitch while it is looked at, which a voice hardly does.
Tried on simulated talk (syllables that glide) and on thumps of a hand; see `tests.bench.tune`.

Conventions: positions are samples of the `listener.framing.Past` that is read. Spectra of what is new leave
out the knock of the pick, and what rang until just before it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from listener.framing import Past
from listener.plucked import Pitched, pitch_of
from listener.stiff import cents_between, fitted, spectrum_of

KNOCK_SEC = 0.03
"""So long the pick is heard beside the string."""

BEFORE_SEC = 0.166
"""So much before a pluck is read."""

STEADY_SEC = 0.35
"""So long a tone must stand that nobody plucked."""

_TOUCH_SEC = 0.006
_SHARE = 0.7  # of the age of a note, what is read
_EARLY_SEC, _LATE_SEC = (0.02, 0.075), (0.09, 0.145)
_STANDS_DB = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class NamingSettings:
    """What is taken for a note.

    Attributes
    ----------
    quietest_db : float
        What is softer, in dB of full scale, is none.
    clear, clear_steady : float
        How clear its pitch must be (`listener.plucked.Pitched`): after a pluck, and without one.
    rises : float
        A pluck brings at least so many times the power of what rang before.
    moves_cents : float
        So far at most its pitch moves within some 40 ms.
    swells_db, dies_db : float
        Within 70 ms it grows by no more, and does not die by so much.
    """

    quietest_db: float = -62.0
    clear: float = 0.40
    clear_steady: float = 0.60
    rises: float = 0.3
    moves_cents: float = 10.0
    swells_db: float = 1.5
    dies_db: float = 14.0


class Namer:
    """Names plucks.

    Parameters
    ----------
    rate : int
        Samples a second.
    low_hz, high_hz : float
        Pitches are looked for between these.
    settings : NamingSettings
    """

    def __init__(self, rate: int, low_hz: float, high_hz: float, settings: NamingSettings) -> None:
        self._rate, self._low_hz, self._high_hz = rate, low_hz, high_hz
        self._set = settings

    def struck(self, past: Past, at: int) -> Pitched | None:
        """Name a pluck that is some 0.15 s old.

        Parameters
        ----------
        past : Past
            Remembers `BEFORE_SEC` before the pluck.
        at : int
            Where it was struck.

        Returns
        -------
        Pitched or None
            None where no string was plucked there.
        """
        name = self.again(past, at)
        if name is None or not self._rises(past, at, name) or not self._decays(past, at):
            return None
        return name if self._holds(past, name, past.end - at - self._in(KNOCK_SEC)) else None

    def again(self, past: Past, at: int) -> Pitched | None:
        """Name what is new since a pluck, from as much of it as is there by now; None if that is unclear."""
        begin = max(at + self._in(KNOCK_SEC), past.end - round(_SHARE * (past.end - at)))
        before = past.between(at - self._in(BEFORE_SEC), at - self._in(_TOUCH_SEC))
        name = self._pitch(past.between(begin, past.end), before)
        return name if name is not None and name.clear >= self._set.clear else None

    def steady(self, past: Past) -> Pitched | None:
        """Name a tone that stands there without having been plucked; None if none does."""
        length = self._in(STEADY_SEC) // 2 * 2
        stretch = past.between(past.end - length, past.end)
        early_db, late_db = (level_db(float(np.var(half))) for half in np.split(stretch, 2))
        if late_db < max(self._set.quietest_db, early_db - _STANDS_DB) or late_db > early_db + _STANDS_DB:
            return None
        name = self._pitch(stretch, None)
        if name is None or name.clear < self._set.clear_steady:
            return None
        return name if self._holds(past, name, length) else None

    def _pitch(self, stretch: np.ndarray, before: np.ndarray | None) -> Pitched | None:
        was = None if before is None else spectrum_of(before, self._rate)
        now = spectrum_of(stretch, self._rate)
        return pitch_of(now, low_hz=self._low_hz, high_hz=self._high_hz, before=was)

    def _rises(self, past: Past, at: int, name: Pitched) -> bool:
        """Whether a pluck brought enough, against what rang before."""
        before = past.between(at - self._in(BEFORE_SEC), at - self._in(_TOUCH_SEC))
        loud = level_db(name.power) > self._set.quietest_db
        return loud and name.power >= self._set.rises * float(np.var(before))

    def _decays(self, past: Past, at: int) -> bool:
        """Whether what was struck goes on as a string does."""
        early_db, late_db = (
            level_db(float(np.var(past.between(at + self._in(begin), at + self._in(end)))))
            for begin, end in (_EARLY_SEC, _LATE_SEC)
        )
        return -self._set.dies_db <= late_db - early_db <= self._set.swells_db

    def _holds(self, past: Past, name: Pitched, length: int) -> bool:
        """Whether a pitch stands in two overlapping parts of the last so many samples."""
        part = 2 * length // 3
        fits = [
            fitted(spectrum_of(past.between(end - part, end), self._rate), name.hz, name.stiffness)
            for end in (past.end - length + part, past.end)
        ]
        first, second = fits
        if first is None or second is None:
            return False
        return abs(cents_between(second.hz, first.hz)) <= self._set.moves_cents

    def _in(self, seconds: float) -> int:
        return round(seconds * self._rate)


def level_db(power: float) -> float:
    """A power in decibels of full scale, -120 at the least."""
    return 10.0 * float(np.log10(max(power, 1e-12)))
