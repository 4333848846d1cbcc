"""Spectra around a strike: what is new in one after it, and a colour evened out.

The problem: when a string is struck, others ring, and often the same pitch rings already. What belongs to
the strike is what the spectrum after it holds beyond what the ringing alone would have left there.

Two answers are combined. The rectified difference of magnitudes (after less the greater of two before) is
blind to a pitch struck again while it rings; the complex difference (after less the ringing carried on, bin
by bin, at its own frequency and decay) sees it by its jump in phase, and is fooled by beating and by the
room. Their geometric mean needs both to agree.

The complex prediction is that of C. Duxbury, J. P. Bello, M. Davies and M. Sandler, "Complex domain onset
detection for musical signals" (DAFx 2003), here over the whole gap between windows instead of one hop.

Conventions: magnitudes are amplitudes (a sine of amplitude a gives a in its bin); windows are Hann.
"""

from __future__ import annotations

import numpy as np

TRANSFORM = 4096
"""Length of every transform; windows are shorter and padded with zeros."""

_STEPS_MOST = 3.0


def hann(length: int) -> np.ndarray:
    """A Hann window scaled so that a sine of amplitude 1 has magnitude 1; shape (length,), float32."""
    window = np.hanning(length + 2)[1:-1]
    scaled: np.ndarray = (2.0 * window / window.sum()).astype(np.float32)
    return scaled


def hann_lobe(bins: np.ndarray) -> np.ndarray:
    """Main lobe of the Hann window, 1 in its middle, `bins` away in units of one over its length."""
    safe = np.where(np.abs(bins - 1.0) < 1e-6, 1.0 + 1e-6, bins)
    return np.where(bins < 2.0, np.abs(np.sinc(safe) / (1.0 - safe * safe)), 0.0)


def beyond_ringing(
    earlier: np.ndarray, before: np.ndarray, after: np.ndarray, *, step: int, gap: int
) -> tuple[np.ndarray, np.ndarray]:
    """What a spectrum holds beyond the ringing that two earlier ones foretell.

    Parameters
    ----------
    earlier, before, after : ndarray of complex, shape (bins,)
        Of windows of one length, the first bins of transforms of `TRANSFORM` samples.
    step, gap : int
        Samples from the earlier window to the one before the strike, and from that to the one after it.

    Returns
    -------
    odd : ndarray, shape (bins,)
        Magnitude of the complex difference, no greater than what sounds.
    new : ndarray, shape (bins,)
        Its geometric mean with the growth in magnitude.
    """
    had, was, loud = np.abs(earlier), np.abs(before), np.abs(after)
    turn = (2.0 * np.pi / TRANSFORM) * np.arange(len(after), dtype=np.float32)
    advance = np.angle(before * np.conj(earlier)) - turn * step
    off = (advance + np.pi) % (2.0 * np.pi) - np.pi
    turned = turn * gap + off * (gap / step)
    # A bin that grew is not expected to go on growing; one that decays does so for a few steps at most.
    decay = np.minimum(was / (had + 1e-9), 1.0) ** min(gap / step, _STEPS_MOST)
    carried = before * (decay * np.exp(1j * turned))
    odd = np.minimum(np.abs(after - carried), loud)
    grown = np.maximum(loud - np.maximum(had, was), 0.0)
    return odd, np.sqrt(grown * odd)


def evened(new: np.ndarray, after: np.ndarray, *, width: int = 31, floor: float = 0.1) -> np.ndarray:
    """Even out the body's colour: what is new, in units of the local mean of what sounds.

    Parameters
    ----------
    new, after : ndarray, shape (bins,)
        Magnitudes.
    width : int
        Bins over which the mean is taken, odd.
    floor : float
        Share of the greatest local mean that is added everywhere, so that silence stays silent.

    Returns
    -------
    ndarray, shape (bins,)
    """
    half = width // 2
    sums = np.cumsum(np.concatenate([np.full(half + 1, after[0]), after, np.full(half, after[-1])]))
    mean = (sums[width:] - sums[:-width]) / width
    even: np.ndarray = new / (mean + floor * mean.max() + 1e-7)
    return even
