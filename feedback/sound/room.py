"""Around the instrument: a small room, the noise of a microphone, and a ceiling that never clips.

The problem: a take is never the bare string. The room is noise that dies away exponentially, its highs
sooner than its lows; it is convolved in blocks, so a long take needs no long transform.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

_KNEE = 0.8
_BLOCK = 1 << 16


@dataclass(frozen=True, slots=True, kw_only=True)
class Room:
    """Where a take is made.

    Attributes
    ----------
    rt60_sec : float
        How long the room takes to die by 60 dB; 0 for no room at all.
    wet_db : float
        Energy of the whole tail against the direct sound.
    delay_sec : float
        When its first reflection comes.
    noise_dbfs : float
        Power of the noise floor, in decibels of full scale; -inf for none.
    """

    rt60_sec: float = 0.28
    wet_db: float = -17.0
    delay_sec: float = 0.004
    noise_dbfs: float = -68.0

    def impulse(self, rate: int, rng: np.random.Generator) -> np.ndarray:
        """Return the room's answer to a unit pulse, the pulse itself left out.

        Parameters
        ----------
        rate : int
            Samples a second.
        rng : numpy.random.Generator

        Returns
        -------
        numpy.ndarray
            Shape (n,), float64; empty where there is no room.
        """
        if self.rt60_sec <= 0.0:
            return np.zeros(0)
        sec = np.arange(int(self.rt60_sec * rate)) / rate
        noise = rng.standard_normal(len(sec))
        dull = np.convolve(noise, np.hanning(round(rate / 4000) + 2), mode="same")
        dull *= np.std(noise) / np.std(dull)
        tail = noise * 10.0 ** (-6.0 * sec / self.rt60_sec) + dull * 10.0 ** (-3.0 * sec / self.rt60_sec)
        tail *= 10.0 ** (self.wet_db / 20.0) / np.sqrt(np.sum(tail**2))
        return np.concatenate([np.zeros(round(self.delay_sec * rate)), tail])


def added(signal: np.ndarray, impulse: np.ndarray) -> np.ndarray:
    """Return a signal with its convolution by an impulse response added, cut at the signal's length.

    Parameters
    ----------
    signal : numpy.ndarray
        Shape (n,), float32.
    impulse : numpy.ndarray
        Shape (m,); may be empty.

    Returns
    -------
    numpy.ndarray
        Shape (n,), float32.
    """
    if not len(impulse) or not len(signal):
        return signal
    size = 1 << int(np.ceil(np.log2(min(_BLOCK, len(signal)) + len(impulse))))
    step = size - len(impulse) + 1
    spectrum = np.fft.rfft(impulse, size)
    out = np.zeros(len(signal) + size, dtype=np.float32)
    out[: len(signal)] = signal
    for start in range(0, len(signal), step):
        block = signal[start : start + step]
        out[start : start + size] += np.fft.irfft(np.fft.rfft(block, size) * spectrum, size)
    return out[: len(signal)]


def limited(signal: np.ndarray) -> np.ndarray:
    """Bend what is louder than four fifths of full scale so that it never reaches full scale.

    Parameters
    ----------
    signal : numpy.ndarray
        Shape (n,).

    Returns
    -------
    numpy.ndarray
        Shape (n,), float32, within -1 and 1, unchanged below the knee.
    """
    size = np.abs(signal)
    over = np.maximum(size - _KNEE, 0.0) / (1.0 - _KNEE)
    bent = np.minimum(size, _KNEE) + (1.0 - _KNEE) * np.tanh(over)
    signed: np.ndarray = np.copysign(bent, signal).astype(np.float32)
    return signed
