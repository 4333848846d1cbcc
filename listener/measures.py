"""How loud a heard note is and how far off its half step: said once its first 70 ms are over.

Level: the mean power of the first 70 ms, of which the note gets the share that is new at its partials. For a
note out of silence that is the power of everything; for one in a roll the strings that ring on are left
out, or a note swallowed by the roll would look as loud as the roll.

Cents: each clear partial says where its fundamental would lie; the median of them, weighted by what they
brought times their number (a high partial tells a half step more finely), is taken, less what a stroke is
sharp by (`listener.offset.STROKE_CENTS`).
"""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass
from statistics import median

import numpy as np

from listener.framing import Past
from listener.offset import STROKE_CENTS
from listener.spectra import TRANSFORM, hann
from listener.templates import partial_hz

_PARTIALS = np.arange(1, 13)
_STIFFNESS = 5e-5
_HIGH_HZ, _LOW_HZ = 5000.0, 120.0
_REACH_CENTS = 60.0  # a partial is looked for so far from its place
_GAP_SEC = 0.002
_SILENT = 1e-12
_LEVELS, _LEVELS_LEAST = 8, 4  # notes whose levels are remembered, and without which nothing is said


@dataclass(frozen=True, slots=True)
class Measured:
    """What was measured of one note.

    Attributes
    ----------
    level_db : float
        Mean power over the first 70 ms, in dB of full scale; not under -120.
    deviation_cents : float
        Against its half step at A4 = 440 Hz, as it rings on.
    """

    level_db: float
    deviation_cents: float


class Measurer:
    """Measures notes.

    Parameters
    ----------
    rate : int
        Samples a second.
    span_sec : float
        The first so much of a note is measured.
    """

    def __init__(self, rate: int, span_sec: float = 0.070) -> None:
        self._rate = rate
        self.ahead_samples = min(TRANSFORM, round(span_sec * rate))
        self._gap = round(_GAP_SEC * rate)
        self._window = hann(self.ahead_samples)
        self._hz = rate / TRANSFORM
        self._band = slice(int(_LOW_HZ / self._hz), int(_HIGH_HZ / self._hz))

    @property
    def back_samples(self) -> int:
        """How much sound before a note's onset is read."""
        return self._gap + self.ahead_samples

    def measure(self, past: Past, sample: int, midi: int, tuning_cents: float) -> Measured:
        """Measure one note.

        Parameters
        ----------
        past : Past
            Remembers `back_samples` before the onset and `ahead_samples` after it.
        sample : int
            Onset.
        midi : int
        tuning_cents : float
            Where the note is looked for.

        Returns
        -------
        Measured
        """
        stretch = past.between(sample, sample + self.ahead_samples)
        after = self._magnitudes(stretch)
        before = self._magnitudes(past.between(sample - self.back_samples, sample - self._gap))
        new = np.maximum(after * after - before * before, 0.0)
        hz = partial_hz(midi + tuning_cents / 100.0, _PARTIALS, _STIFFNESS)
        hz = hz[hz < _HIGH_HZ]
        all_power = float(np.sum(after[self._band] ** 2)) + _SILENT
        share = min(1.0, float(new[self._near(hz, len(new))].sum()) / all_power)
        power = float(np.var(stretch)) * share
        away = self._away_cents(after, np.sqrt(new), hz)
        return Measured(10.0 * float(np.log10(max(power, _SILENT))), tuning_cents + away)

    def _magnitudes(self, stretch: np.ndarray) -> np.ndarray:
        return np.abs(np.fft.rfft(stretch * self._window, TRANSFORM))

    def _near(self, hz: np.ndarray, bins: int) -> np.ndarray:
        """Which bins belong to partials at those frequencies: their main lobes."""
        lobe = int(np.ceil(2.0 * TRANSFORM / self.ahead_samples))
        near = np.zeros(bins, bool)
        for middle in np.round(hz / self._hz).astype(int):
            near[max(0, middle - lobe) : middle + lobe + 1] = True
        return near

    def _away_cents(self, after: np.ndarray, new: np.ndarray, hz: np.ndarray) -> float:
        """Weighted median of how far the partials lie from their places; 0 where none is clear."""
        found, weights = [], []
        for number, place in zip(_PARTIALS, hz, strict=False):
            reach = max(1, int(place * (2.0 ** (_REACH_CENTS / 1200.0) - 1.0) / self._hz))
            middle = round(place / self._hz)
            begin = max(1, middle - reach)
            peak = begin + int(after[begin : middle + reach + 1].argmax())
            if not after[peak - 1] <= after[peak] >= after[peak + 1] or after[peak] <= 0.0:
                continue
            left, top, right = np.log(after[peak - 1 : peak + 2] + 1e-12)
            bend = left - 2.0 * top + right
            at = (peak + (0.5 * (left - right) / bend if bend < 0.0 else 0.0)) * self._hz
            found.append(1200.0 * float(np.log2(at / place)))
            weights.append(float(new[peak]) * number)
        if sum(weights) <= 0.0:
            return 0.0
        order = np.argsort(found)
        summed = np.cumsum(np.array(weights)[order])
        return float(found[order[int(np.searchsorted(summed, 0.5 * summed[-1]))]]) - STROKE_CENTS


class Levels:
    """How loud the notes of late were, and what is no note beside them.

    Parameters
    ----------
    faint_db : float
        What lies so far under their median is faint.
    """

    def __init__(self, faint_db: float) -> None:
        self._faint_db = faint_db
        self._levels_db: deque[float] = deque(maxlen=_LEVELS)

    def reset(self) -> None:
        """Forget everything."""
        self._levels_db.clear()

    def add(self, level_db: float) -> None:
        """Take in a sure note's level."""
        self._levels_db.append(level_db)

    def is_faint(self, level_db: float) -> bool:
        """Whether that is far softer than the notes of late; of too few of them nothing is said."""
        if len(self._levels_db) < _LEVELS_LEAST:
            return False
        return level_db < median(self._levels_db) - self._faint_db
