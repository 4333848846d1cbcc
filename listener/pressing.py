"""A sweep in a recording pressed together into a peak where it begins, beside a measure of the noise there.

The problem: the sweep lies under noise, talk and notes, which are neither white nor steady. So the spectrum
of what was recorded is made flat first (Knapp and Carter 1976, "The generalized correlation method for
estimation of time delay", IEEE Trans. ASSP 24, 320-327), and lines that stand out of it are cut down. What
the same sweep *backwards* gives is the measure of noise: it has the same spectrum and is as long, and nothing
but the sweep tells the two apart.

Departs from its source in that a smoothed spectrum is taken for the whitening, so that a loudspeaker's and a
room's colour are not turned into ringing before the peak.
"""

from __future__ import annotations

import numpy as np

_NOISE_SEC = 0.010  # noise is taken from so far on either side, and from as far as the sweep lasts
_SMOOTH_HZ = 400.0
_TALLEST = 2.0  # of a line in the flattened spectrum
_ENDS_SEC = 0.010
_BEFORE_SEC, _AFTER_SEC = 0.001, 0.060  # of the straight way: what a loudspeaker and a room make of it
_FAINTEST_DB = -120.0


def pressed(taken: np.ndarray, sent: np.ndarray, rate: int, lags: int) -> tuple[np.ndarray, np.ndarray]:
    """Press a sweep together.

    Parameters
    ----------
    taken : ndarray of float64, shape (n,)
        What was recorded; finite, no silence.
    sent : ndarray of float64, shape (m,)
        The sweep, no silence.
    rate : int
        Samples a second of both.
    lags : int
        Delays that are looked at, from 0 samples on.

    Returns
    -------
    ndarray of float64, shape (lags,)
        Power at each delay, on any scale; peaks where the sweep begins.
    ndarray of float64, shape (lags,)
        Power of the noise there, on the same scale; above 0.
    """
    size = 1 << (len(taken) + len(sent)).bit_length()
    ends = min(round(_ENDS_SEC * rate), len(taken) // 2)
    rise = np.sin(0.5 * np.pi * np.arange(ends) / max(1, ends)) ** 2
    eased = taken.copy()
    eased[:ends] *= rise
    eased[len(eased) - ends :] *= rise[::-1]
    flat = _flattened(np.fft.rfft(eased, size), round(_SMOOTH_HZ * size / rate))
    pattern = np.fft.rfft(sent, size)
    strength = np.abs(pattern)
    share = np.cumsum(strength**2)
    weight = np.sin(np.pi * share / share[-1]) ** 2  # a hill over its band: no side peaks
    turn = pattern / np.maximum(strength, 1e-9 * strength.max())
    there = weight * turn.conj()
    back = weight * _backwards(turn, len(sent), size)
    forwards, backwards = (_envelope(flat * way, size)[:lags] for way in (there, back))
    noise = np.maximum(
        _smoothed(backwards, 2 * round(_NOISE_SEC * rate) + 1),
        np.maximum(*(_smoothed(power, 2 * len(sent) + 1) for power in (forwards, backwards))),
    )
    return forwards, np.maximum(noise, 1e-12 * forwards.max() + 1e-300)


def came_back_db(taken: np.ndarray, sent: np.ndarray, rate: int, delay_sec: float) -> float:
    """How loud a sweep came back, the room's first answers with it.

    Parameters
    ----------
    taken, sent : ndarray
        As for `listener.chirp.found`.
    rate : int
        Samples a second of both.
    delay_sec : float
        Where it was found.

    Returns
    -------
    float
        Its level against what was sent, in decibels; -120 where nothing of it stands out of the noise.
    """
    sound = np.nan_to_num(np.asarray(taken, np.float64), nan=0.0, posinf=0.0, neginf=0.0)
    size = 1 << (len(sound) + len(sent)).bit_length()
    spectrum, pattern = np.fft.rfft(sound, size), np.fft.rfft(np.asarray(sent, np.float64), size)
    begin = max(0, round((delay_sec - _BEFORE_SEC) * rate))
    window = slice(begin, begin + round((_BEFORE_SEC + _AFTER_SEC) * rate))
    there = _envelope(spectrum * pattern.conj(), size)[window].sum()
    noise = _envelope(spectrum * _backwards(pattern, len(sent), size), size)[window].sum()
    own = _envelope(pattern * pattern.conj(), size).sum()
    share = float((there - noise) / own)
    return max(_FAINTEST_DB, 10.0 * float(np.log10(max(share, 1e-300))))


def _backwards(pattern: np.ndarray, count: int, size: int) -> np.ndarray:
    """What presses the sweep together that is played backwards, at the same delay."""
    turned: np.ndarray = pattern * np.exp(2j * np.pi * np.arange(len(pattern)) * (count - 1) / size)
    return turned


def _flattened(spectrum: np.ndarray, around: int) -> np.ndarray:
    size = np.abs(spectrum)
    level = np.sqrt(_smoothed(size**2, 2 * around + 1)) + 1e-12 * size.max()
    flat: np.ndarray = spectrum / level
    cut: np.ndarray = flat / np.maximum(1.0, np.abs(flat) / _TALLEST)
    return cut


def _envelope(spectrum: np.ndarray, size: int) -> np.ndarray:
    """Power of the analytic signal: which way round a loudspeaker is wired does not matter."""
    whole = np.zeros(size, complex)
    whole[: len(spectrum)] = spectrum
    power: np.ndarray = np.abs(np.fft.ifft(whole)) ** 2
    return power


def _smoothed(values: np.ndarray, width: int) -> np.ndarray:
    """Running mean; shorter at the ends."""
    half = width // 2
    summed = np.concatenate([[0.0], np.cumsum(values)])
    at = np.arange(len(values))
    begin, end = np.maximum(0, at - half), np.minimum(len(values), at + half + 1)
    mean: np.ndarray = (summed[end] - summed[begin]) / (end - begin)
    return mean
