"""The pitch of one string from its partials: peaks of a long spectrum, and a stiff string laid through them.

The problem: a tuner must be right to a cent while the string decays, and its fundamental may hardly sound.
Every partial tells the pitch, the higher ones more finely, but they lie sharp of whole multiples, for strings
are stiff; and some coincide with a partial of another string that rings, and are pulled aside. So pitch and
stiffness are fitted together over all partials that stand out, and those that do not fit lose their say.

Conventions: partial n of a stiff string lies at n f0 sqrt((1 + B n^2) / (1 + B)), so that f0 is where the
first partial lies, heard or not (H. Fletcher, E. D. Blackham and R. Stratton, "Quality of piano tones",
J. Acoust. Soc. Am. 34, 1962, where B is against the string without stiffness). The fit is of logarithms of
frequency, linear in B to within 0.02 cents for the B n^2 that are met here, and is iterated. Magnitudes are
amplitudes, windows Hann. A decay does not move a peak of such a spectrum, as it moves no phase.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from listener.spectra import hann

CENTS_A_NEPER = 1200.0 / float(np.log(2.0))

HIGHEST_HZ = 5500.0
"""Partials above it are not looked at."""

_PADDED = 2  # transforms are at least so many times as long as the window
_SILENT = 1e-9
_READ_HZ = 6200.0  # what lies above is not kept
_FLOOR_BAND_HZ = 280.0
_FLOOR_SHARE = 0.3
_STANDS_OUT = 5.0  # times the noise around it
_SHARE_DB = -50.0  # under the strongest partial, what is softer says nothing
_PARTIALS_MOST = 16
_STAGES = (4, 8, _PARTIALS_MOST)  # the stiffness is known the better the higher partials are looked for
_REACH_CENTS = (25.0, 16.0, 12.0)
_USUAL_STIFFNESS, _STIFFEST = 7e-5, 1.5e-3
_SPREAD = 1.0  # as a share of what is usual
_STOPPED_HZ = 400.0  # higher pitches are those of shorter strings, whose stiffness grows with its square
_PULLED_HZ = 1.0  # so far the bridge and other strings pull a partial aside
_LONE_HZ = 0.08  # one partial alone is a tone and no string
_OWN_CENTS = 0.3
_AGREE_LEAST, _AGREE_FROM = 0.2, 4  # partials that agree better than expected, so many of them, are believed
_HUBER = 1.0
_ROUNDS = (2, 3, 6)


@dataclass(frozen=True, slots=True, kw_only=True)
class Spectrum:
    """Magnitudes of a stretch of sound.

    Attributes
    ----------
    magnitudes : ndarray, shape (bins,)
        Amplitudes.
    bin_hz : float
        From bin to bin.
    seconds : float
        Length of the window.
    floors : ndarray, shape (bands,)
        Amplitude of the noise in bands of equal width: what their quieter part has.
    """

    magnitudes: np.ndarray
    bin_hz: float
    seconds: float
    floors: np.ndarray

    def top(self, hz: float, reach_hz: float) -> tuple[float, float]:
        """The highest peak within reach of a frequency: its frequency and amplitude; amplitude 0 if none."""
        begin = max(1, int((hz - reach_hz) / self.bin_hz))
        end = min(len(self.magnitudes) - 1, int((hz + reach_hz) / self.bin_hz) + 2)
        if end <= begin:
            return hz, 0.0
        at = begin + int(self.magnitudes[begin:end].argmax())
        left, top, right = self.magnitudes[at - 1 : at + 2].tolist()
        if not left <= top >= right or top <= _SILENT:
            return hz, 0.0
        return self._between(at), top

    def floor(self, hz: float) -> float:
        """Amplitude of the noise around a frequency."""
        return float(self.floors[min(len(self.floors) - 1, int(hz / _FLOOR_BAND_HZ))])

    def _between(self, at: int) -> float:
        """Frequency of a peak between bins, by a parabola through logarithms."""
        left, top, right = (math.log(one + _SILENT) for one in self.magnitudes[at - 1 : at + 2].tolist())
        bend = min(left - 2.0 * top + right, -_SILENT)
        return (at + min(0.5, max(-0.5, 0.5 * (left - right) / bend))) * self.bin_hz


@dataclass(frozen=True, slots=True, kw_only=True)
class StringFit:
    """A stiff string through the partials of a spectrum.

    Attributes
    ----------
    hz : float
        Where its first partial lies.
    stiffness : float
        B.
    unsure_cents : float
        Standard error of the pitch, from how well the partials agree.
    partials : int
        How many bore it.
    power : float
        Of these: half the sum of their amplitudes squared.
    """

    hz: float
    stiffness: float
    unsure_cents: float
    partials: int
    power: float


def spectrum_of(stretch: np.ndarray, rate: int) -> Spectrum:
    """Magnitudes of a stretch under a Hann window.

    Parameters
    ----------
    stretch : ndarray of float32, shape (n,)
        At least 64 samples.
    rate : int
        Samples a second.

    Returns
    -------
    Spectrum
    """
    length = 1 << (_PADDED * len(stretch) - 1).bit_length()
    bin_hz = rate / length
    magnitudes = np.abs(np.fft.rfft(stretch * _window(len(stretch)), length)[: int(_READ_HZ / bin_hz)])
    wide = max(2, int(_FLOOR_BAND_HZ / bin_hz))
    bands = magnitudes[: len(magnitudes) // wide * wide].reshape(-1, wide)
    rank = int(_FLOOR_SHARE * wide)
    return Spectrum(
        magnitudes=magnitudes,
        bin_hz=bin_hz,
        seconds=len(stretch) / rate,
        floors=np.partition(bands, rank, axis=1)[:, rank],
    )


def cents_between(hz: float, from_hz: float) -> float:
    """How far a frequency lies above another, in cents; negative below."""
    return CENTS_A_NEPER * math.log(hz / from_hz)


def partial_hz(hz: float, stiffness: float, numbers: np.ndarray) -> np.ndarray:
    """Where partials of a stiff string lie, in hertz; same shape as `numbers`."""
    laid: np.ndarray = hz * numbers * np.sqrt((1.0 + stiffness * numbers**2) / (1.0 + stiffness))
    return laid


@lru_cache(maxsize=8)
def _window(size: int) -> np.ndarray:
    return hann(size)


def usual_stiffness(hz: float) -> float:
    """What a banjo's string has, by its pitch: an open one's, above these that of a shortened string."""
    return _USUAL_STIFFNESS * max(1.0, hz / _STOPPED_HZ) ** 2


def fitted(spectrum: Spectrum, hz: float, stiffness: float | None = None) -> StringFit | None:
    """Lay a stiff string through the partials near a pitch.

    Parameters
    ----------
    spectrum : Spectrum
    hz : float
        About where the first partial lies, to within a quarter of a half step.
    stiffness : float, optional
        About what it is.

    Returns
    -------
    StringFit or None
        None where no partial stands out.
    """
    bend = usual_stiffness(hz) if stiffness is None else stiffness
    found: StringFit | None = None
    for most, reach_cents, rounds in zip(_STAGES, _REACH_CENTS, _ROUNDS, strict=True):
        numbers = np.arange(1, min(most, int(HIGHEST_HZ / hz)) + 1)
        places = partial_hz(hz, bend, numbers)
        tops = [_partial(spectrum, place, reach_cents, hz) for place in places]
        heights = np.array([top for _, top in tops])
        loud = (heights > 0.0) & (heights >= heights.max(initial=0.0) * 10.0 ** (_SHARE_DB / 20.0))
        if not loud.any():
            return found
        at = np.array([place for place, _ in tops])[loud]
        found = _through(numbers[loud], at, heights[loud], spectrum, usual_stiffness(hz), rounds)
        hz, bend = found.hz, found.stiffness
    return found


def _partial(spectrum: Spectrum, place: float, reach_cents: float, hz: float) -> tuple[float, float]:
    """Frequency and amplitude of what stands out near a place; amplitude 0 where nothing does."""
    reach_hz = min(0.3 * hz, max(place * reach_cents / CENTS_A_NEPER, 1.0 / spectrum.seconds))
    at, top = spectrum.top(place, reach_hz)
    if top < _STANDS_OUT * spectrum.floor(at):
        return at, 0.0
    return at, top


def _through(
    numbers: np.ndarray, at: np.ndarray, heights: np.ndarray, spectrum: Spectrum, usual: float, rounds: int
) -> StringFit:
    """The string through partials at frequencies, by weighted least squares with outliers held off."""
    floors = np.array([spectrum.floor(hz) for hz in at])
    own_hz = np.hypot(_PULLED_HZ if len(at) > 1 else _LONE_HZ, 0.4 / spectrum.seconds * floors / heights)
    spread = np.hypot(_OWN_CENTS, own_hz / at * CENTS_A_NEPER)
    heard = CENTS_A_NEPER * np.log(at / numbers)
    bend = usual
    held = np.ones(len(at))
    least = _AGREE_LEAST if len(at) >= _AGREE_FROM else 1.0
    middle, error, scale = 0.0, 0.0, 1.0
    for _ in range(rounds):
        # The stiffness enters by its logarithm's slope at the last value.
        rises = 0.5 * CENTS_A_NEPER * (numbers**2 / (1.0 + bend * numbers**2) - 1.0 / (1.0 + bend))
        curve = 0.5 * CENTS_A_NEPER * np.log((1.0 + bend * numbers**2) / (1.0 + bend))
        weights = held / spread**2
        left = np.stack([np.ones(len(at)), rises])
        normal = (left * weights) @ left.T
        right = (left * weights) @ (heard - curve)
        # Weighed against partials that are as sure as they agree.
        usually = (scale / (_SPREAD * usual)) ** 2
        normal[1, 1] += usually
        right[1] += usually * (usual - bend)
        middle, step = np.linalg.solve(normal, right)
        rest = (heard - curve - middle - rises * step) / spread
        bend = float(np.clip(bend + step, 0.0, _STIFFEST))
        scale = max(least, 1.48 * float(np.median(np.abs(rest))))
        held = np.minimum(1.0, _HUBER * scale / np.maximum(np.abs(rest), 1e-6))
        error = scale * float(np.sqrt(np.linalg.inv(normal)[0, 0]))
    return StringFit(
        hz=float(np.exp(middle / CENTS_A_NEPER)),
        stiffness=bend,
        unsure_cents=float(error),
        partials=len(at),
        power=0.5 * float(heights @ heights),
    )
