"""What a strike looks like: spectra of several windows around it, on an axis of half steps.

The problem: in a ringing roll a note is told from what rings on by comparing sound before the strike with
sound after it. One window length is never right: a short one sees the attack and the time after the knock, a
long one tells half steps apart. So several are taken, before the strike and after it, all on one logarithmic
axis, where a pitch is a pattern of partials that merely slides along.

Two more views carry what single windows cannot: what is odd (the long window after the strike less the
ringing carried on bin by bin), which sees a pitch struck again by its jump in phase; and what is new (see
`listener.spectra.beyond_ringing`).

Conventions: powers in bands of a quarter of a half step, at least `BAND_HZ` wide on both sides, in units of
the greatest band after the strike, as logarithms: 1 is that band, 0 is `RANGE_DB` under it. Windows are
Hann. The axis follows the instrument's tuning.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from listener.framing import Past
from listener.spectra import TRANSFORM, beyond_ringing, hann
from listener.strikes import Strike

LOW_MIDI, HIGH_MIDI = 44, 122
"""Ends of the axis."""

STEPS = 4
"""Bands a half step."""

BANDS = (HIGH_MIDI - LOW_MIDI) * STEPS + 1
"""Length of the axis."""

BAND_HZ = 10.0
RANGE_DB = 60.0


@dataclass(frozen=True, slots=True)
class Span:
    """A window: its length and where it ends, in seconds after the strike."""

    length_sec: float
    end_sec: float


BEFORE, EARLIER, LONG = 0, 1, 2
SPANS = (
    Span(0.050, -0.002),
    Span(0.050, -0.014),
    Span(0.050, 0.052),
    Span(0.020, 0.018),
    Span(0.032, 0.032),
    Span(0.026, 0.052),
)
"""Windows around a strike: two before, for what rings; the long one after; the attack, the first part, and
the part when the knock is over."""

MIDDLE_SPANS = (
    *SPANS[:2],
    Span(0.050, 0.040),
    Span(0.020, 0.018),
    Span(0.030, 0.030),
    Span(0.028, 0.040),
)
EARLY_SPANS = (
    *SPANS[:2],
    Span(0.050, 0.027),
    Span(0.012, 0.012),
    Span(0.020, 0.020),
    Span(0.026, 0.027),
)
"""The same for those who cannot wait: each row has its windows in the order of `SPANS`."""

LOOKS = {"early": EARLY_SPANS, "middle": MIDDLE_SPANS, "full": SPANS}
"""Name of a look to its windows, the soonest first."""

ODD, NEW = len(SPANS), len(SPANS) + 1

VIEWS = len(SPANS) + 2
"""Windows, what is odd, what is new."""

FACTS = 6
"""Numbers that go with a strike, as `Look.facts` has them."""

_QUIETEST = 1e-10  # power of a band, about -100 dB of full scale
_EXPECTED = 1e-5  # greatest band that is assumed before any was heard: a soft note, above any hiss
_FADE_DB = 0.6  # by so much a second the memory of the loudest strike falls
_LIFT_DB = 15.0  # no single strike lifts it by more: a bump is not what the next notes are held against
_NEAR_SEC = 0.1  # neighbours farther away are as good as none


@dataclass(frozen=True, slots=True)
class Look:
    """A strike as the network sees it.

    Attributes
    ----------
    views : ndarray of float32, shape (VIEWS, BANDS)
        0 to 1.
    facts : ndarray of float32, shape (FACTS,)
        Strength of the strike; its level against the loudest of late; how long ago the candidate before it
        came, and how much stronger that was; how soon the next comes, and how much stronger that is.
    magnitudes : ndarray, shape (VIEWS, bins)
        The same in the bins of the transform, as amplitudes.
    """

    views: np.ndarray
    facts: np.ndarray
    magnitudes: np.ndarray


class Looker:
    """Looks at strikes, in the order in which they came.

    Parameters
    ----------
    rate : int
        Samples a second.
    spans : sequence of Span
        `SPANS`, or others in their place.
    """

    def __init__(self, rate: int, spans: Sequence[Span] = SPANS) -> None:
        self._rate = rate
        self._lengths = [min(TRANSFORM, round(span.length_sec * rate)) for span in spans]
        self._ends = [round(span.end_sec * rate) for span in spans]
        self._windows = [hann(length) for length in self._lengths]
        self._frames = np.zeros((len(SPANS), TRANSFORM), np.float32)
        middles = 440.0 * 2.0 ** ((LOW_MIDI + np.arange(BANDS) / STEPS - 69.0) / 12.0)
        half = np.maximum(BAND_HZ, middles * (2.0 ** (0.5 / STEPS / 12.0) - 1.0))
        self._low, self._high = (middles - half) * TRANSFORM / rate, (middles + half) * TRANSFORM / rate
        # An instrument half a half step sharp reaches a little beyond the axis.
        self._bins = min(TRANSFORM // 2 + 1, int(1.05 * self._high[-1]) + 2)
        self.reset()

    @property
    def ahead_samples(self) -> int:
        """How much sound after a strike is read."""
        return max(self._ends)

    @property
    def back_samples(self) -> int:
        """How much sound before a strike is read."""
        return max(length - end for length, end in zip(self._lengths, self._ends, strict=True))

    def reset(self) -> None:
        """Forget everything."""
        self._loudest, self._loudest_at = _EXPECTED, 0
        self._last: Strike | None = None

    def look(self, past: Past, strike: Strike, following: Strike | None, tuning_cents: float) -> Look | None:
        """Look at a strike.

        Parameters
        ----------
        past : Past
            Remembers `back_samples` before the strike and `ahead_samples` after it.
        strike : Strike
        following : Strike or None
            The candidate after it, where one is known by now.
        tuning_cents : float
            How far the instrument is off A4 = 440 Hz.

        Returns
        -------
        Look or None
            None where there is next to no sound.
        """
        last, self._last = self._last, strike
        for frame, window, length, end in zip(
            self._frames, self._windows, self._lengths, self._ends, strict=True
        ):
            sound = past.between(strike.sample + end - length, strike.sample + end)
            np.multiply(sound, window, out=frame[:length])
        spectra = np.fft.rfft(self._frames, axis=1)[:, : self._bins].astype(np.complex64)
        loud = np.abs(spectra)
        odd, new = beyond_ringing(
            spectra[EARLIER],
            spectra[BEFORE],
            spectra[LONG],
            step=self._ends[BEFORE] - self._ends[EARLIER],
            gap=self._ends[LONG] - self._ends[BEFORE],
        )
        magnitudes = np.concatenate([loud, odd[None], new[None]])
        views, greatest = self._on_axis(magnitudes, tuning_cents)
        if greatest < _QUIETEST:
            return None
        return Look(views, self._facts(strike, last, following, greatest), magnitudes)

    def retuned(self, look: Look, tuning_cents: float) -> Look:
        """The same look, where the tuning is known better now."""
        return replace(look, views=self._on_axis(look.magnitudes, tuning_cents)[0])

    def _on_axis(self, magnitudes: np.ndarray, tuning_cents: float) -> tuple[np.ndarray, float]:
        """The views, and the power of the greatest band after the strike."""
        powers = self._banded(magnitudes * magnitudes, tuning_cents)
        greatest = float(powers[LONG : len(SPANS)].max())
        views = 1.0 + np.log10(powers / (greatest + 1e-30) + 10.0 ** (-RANGE_DB / 10.0)) * (10.0 / RANGE_DB)
        return np.clip(views, 0.0, 1.0).astype(np.float32), greatest

    def _banded(self, powers: np.ndarray, tuning_cents: float) -> np.ndarray:
        """Power in each band: the difference of running sums at its edges, read between bins."""
        sums = np.zeros((len(powers), powers.shape[1] + 2))
        np.cumsum(powers, axis=1, dtype=np.float64, out=sums[:, 1:-1])
        sums[:, -1] = sums[:, -2]
        stretch, last = 2.0 ** (tuning_cents / 1200.0), powers.shape[1]
        edges = np.minimum(np.concatenate([self._low, self._high]) * stretch + 0.5, last)
        whole = edges.astype(int)
        part = edges - whole
        read = sums[:, whole] * (1.0 - part) + sums[:, whole + 1] * part
        banded: np.ndarray = read[:, BANDS:] - read[:, :BANDS]
        return banded

    def _facts(
        self, strike: Strike, last: Strike | None, following: Strike | None, power: float
    ) -> np.ndarray:
        faded_db = _FADE_DB * (strike.sample - self._loudest_at) / self._rate
        faded = self._loudest * 10.0 ** (-faded_db / 10.0)
        self._loudest = max(min(power, faded * 10.0 ** (_LIFT_DB / 10.0)), faded)
        self._loudest_at = strike.sample
        own = _told(strike)
        facts = [own, min(0.0, np.log10(power / self._loudest) / 3.0)]
        for other in (last, following):
            if other is None:
                facts += [1.0, -2.0]
            else:
                apart_sec = abs(other.sample - strike.sample) / self._rate
                facts.append(min(apart_sec / _NEAR_SEC, 1.0))
                facts.append(_told(other) - own)
        return np.clip(np.array(facts, np.float32), -3.0, 3.0)


def _told(strike: Strike) -> float:
    """A strike's strength as the network is told it."""
    return 0.5 * float(np.log(max(strike.strength, 0.0) + 1e-2))
