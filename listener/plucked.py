"""Which pitch was plucked, to a quarter of a half step, and which octave: from the peaks of a spectrum.

The problem: a banjo's low strings have next to no fundamental, so the lowest peak is not the pitch; other
strings ring; and an octave error in a tuner breaks strings. Pitches are tried that have one of the loudest
peaks for a partial. Each is judged by two questions that answer the two octave errors: how much of the sound
it explains (an octave too high, it leaves every other partial over), and how many of the partials that it
foretells are there (an octave too low, every other one is not). The score is the product. The idea of asking
both ways is that of R. C. Maher and J. W. Beauchamp, "Fundamental frequency estimation of musical signals
using a two-way mismatch procedure" (J. Acoust. Soc. Am. 95, 1994); the measure is another one.

Conventions: amplitudes count by their square roots, so that one loud partial does not speak for all. What
rang before the pluck is taken off.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from listener.stiff import CENTS_A_NEPER, Spectrum, partial_hz

_PEAKS_MOST = 32
_TRIED_PEAKS, _TRIED_NUMBERS = 8, 12
_LOWEST_HZ, _HIGHEST_HZ = 90.0, 5000.0
_STANDS_OUT = 5.0  # times the noise around it
_SHARE_DB = -40.0  # under the loudest peak, what is softer is not looked at
_SAME_CENTS = 20.0
_REACH_CENTS = 18.0
_PARTIALS_MOST = 14
_STIFFNESSES = (1e-4, 3e-5, 4e-4, 8e-4)
_STIFFER_MOST = 5  # so many of the clearest pitches are tried with the other stiffnesses
_FIRST_COUNTS = 0.4  # the first partial's absence says little
_SILENT = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True)
class Pitched:
    """A pitch and how clear it is.

    Attributes
    ----------
    hz : float
        Of the first partial, to within some 10 cents.
    stiffness : float
        One of a few that were tried.
    clear : float
        0 to 1: the share of what sounds that it explains, times the share of its partials that are there.
    power : float
        Of the peaks that it explains, less what was there before.
    """

    hz: float
    stiffness: float
    clear: float
    power: float


def peaks_of(spectrum: Spectrum, before: Spectrum | None = None) -> tuple[np.ndarray, np.ndarray]:
    """Frequencies and amplitudes of the peaks that stand out, less what was there before.

    Parameters
    ----------
    spectrum : Spectrum
    before : Spectrum, optional
        Of a window that ends before the pluck.

    Returns
    -------
    hz, heights : ndarray, shape (peaks,)
        By frequency, the loudest few.
    """
    magnitudes = spectrum.magnitudes
    begin, end = int(_LOWEST_HZ / spectrum.bin_hz), int(_HIGHEST_HZ / spectrum.bin_hz)
    inner = magnitudes[begin:end]
    tops = begin + np.flatnonzero(
        (inner > magnitudes[begin - 1 : end - 1]) & (inner >= magnitudes[begin + 1 : end + 1])
    )
    tops = tops[magnitudes[tops] >= magnitudes[begin:end].max(initial=0.0) * 10.0 ** (_SHARE_DB / 20.0)]
    tops = tops[np.argsort(-magnitudes[tops], kind="stable")[:_PEAKS_MOST]]
    found = []
    for at in np.sort(tops):
        hz, top = spectrum.top(float(at * spectrum.bin_hz), 0.5 * spectrum.bin_hz)
        if top <= max(_SILENT, _STANDS_OUT * spectrum.floor(hz)):
            continue
        if before is not None:
            _, was = before.top(hz, 1.5 / before.seconds)
            top = max(0.0, top - was)
        if top > 0.0:
            found.append((hz, top))
    both = np.array(found).reshape(-1, 2)
    return both[:, 0], both[:, 1]


def pitch_of(
    spectrum: Spectrum, *, low_hz: float, high_hz: float, before: Spectrum | None = None
) -> Pitched | None:
    """Name the pitch that a spectrum holds.

    Parameters
    ----------
    spectrum : Spectrum
        Of a window of 0.08 s or more.
    low_hz, high_hz : float
        Between these it is looked for.
    before : Spectrum, optional
        Of a window that ends before the pluck.

    Returns
    -------
    Pitched or None
        None where nothing stands out or no pitch explains anything.
    """
    hz, heights = peaks_of(spectrum, before)
    if not len(hz):
        return None
    sizes = np.sqrt(heights)
    first, *others = _STIFFNESSES
    found = [_judged(one, first, hz, sizes, spectrum) for one in _tried(hz, heights, low_hz, high_hz)]
    found.sort(key=lambda one: -one.clear)
    found += [
        _judged(one.hz, stiffness, hz, sizes, spectrum)
        for one in found[:_STIFFER_MOST]
        for stiffness in others
    ]
    return max(found, key=lambda one: one.clear, default=None)


def _tried(hz: np.ndarray, heights: np.ndarray, low_hz: float, high_hz: float) -> list[float]:
    """Pitches that have one of the loudest peaks for a partial."""
    loudest = hz[np.argsort(-heights, kind="stable")[:_TRIED_PEAKS]]
    every = np.sort((loudest[:, None] / np.arange(1, _TRIED_NUMBERS + 1)).ravel())
    every = every[(every >= low_hz) & (every <= high_hz)]
    kept: list[float] = []
    for one in every:
        if not kept or CENTS_A_NEPER * np.log(one / kept[-1]) > _SAME_CENTS:
            kept.append(float(one))
    return kept


def _judged(tried: float, stiffness: float, hz: np.ndarray, sizes: np.ndarray, spectrum: Spectrum) -> Pitched:
    numbers = np.arange(1, min(_PARTIALS_MOST, int(_HIGHEST_HZ / tried)) + 1)
    middle = tried
    for _ in range(2):  # the second time from where the partials found lie
        places = partial_hz(middle, stiffness, numbers)
        away = CENTS_A_NEPER * np.abs(np.log(hz[:, None] / places))
        reach = np.maximum(_REACH_CENTS, CENTS_A_NEPER * 0.7 / spectrum.seconds / places)
        near = (away <= reach) & (away == away.min(axis=1, keepdims=True))
        taken = np.where(near, sizes[:, None], 0.0)
        which, has = taken.argmax(axis=0), taken.max(axis=0)
        if not has.any():
            return Pitched(hz=tried, stiffness=stiffness, clear=0.0, power=0.0)
        told = np.log(hz[which] / places)[has > 0.0]
        weights = (has * numbers)[has > 0.0]
        middle *= float(np.exp(told @ weights / weights.sum()))
    explained = float(has.sum() / sizes.sum())
    counts = np.where(numbers == 1, _FIRST_COUNTS, 1.0)[: int(np.flatnonzero(has)[-1]) + 1]
    there = float(counts @ (has[: len(counts)] > 0.0) / counts.sum())
    # sizes are roots of amplitudes
    return Pitched(hz=middle, stiffness=stiffness, clear=explained * there, power=0.5 * float(np.sum(has**4)))
