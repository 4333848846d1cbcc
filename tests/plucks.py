"""Small plucked notes for the listener's tests: partials that decay, and a short knock of the pick.

The same sound is asked for by many tests: those asked for last are kept.
"""

from __future__ import annotations

from collections.abc import Iterable
from functools import lru_cache

import numpy as np

_FALLS = 14.0
"""In nepers: so far has a partial fallen when it is left out; 120 dB."""

_KNOCK_FALLS = 400.0
"""In nepers a second."""

_FINE = 256
"""Samples of a partial for which its turn is worked out one by one; the rest are turned from these."""

_KEPT = 48
"""Sounds: some megabytes."""


def plucked(
    rate: int,
    notes: Iterable[tuple[float, float, float]],
    *,
    duration_sec: float,
    hiss: float = 3e-5,
    knock: float = 0.15,
    seed: int = 0,
) -> np.ndarray:
    """Mono sound, float32, of notes (onset in seconds, pitch in fractions of half steps, amplitude).

    It is the caller's own, to be written to.
    """
    return _sound(rate, tuple(notes), round(duration_sec * rate), hiss, knock, seed).copy()


@lru_cache(maxsize=_KEPT)
def _sound(
    rate: int,
    notes: tuple[tuple[float, float, float], ...],
    samples: int,
    hiss: float,
    knock: float,
    seed: int,
) -> np.ndarray:
    rng = np.random.default_rng(seed)
    sound = hiss * rng.standard_normal(samples)
    for onset_sec, pitch, amplitude in notes:
        begin = round(onset_sec * rate)
        note = np.zeros(len(sound) - begin)
        base = 440.0 * 2.0 ** ((pitch - 69.0) / 12.0)
        for number in range(1, 25):
            hz = base * number * np.sqrt(1.0 + 4e-5 * number**2)
            if hz > min(8000.0, 0.45 * rate):
                break
            # weak fundamentals below, less and less above: a banjo's body, roughly
            body = (hz / 400.0) ** 2 / (1.0 + (hz / 400.0) ** 2) / (1.0 + (hz / 2500.0) ** 2)
            comb = abs(np.sin(np.pi * number * 0.13))
            falls = 3.0 + hz / 400.0
            long = min(len(note), round(_FALLS / falls * rate))
            note[:long] += body * comb * _partial(hz, falls, number, rate, long)
        tap = rng.standard_normal(len(note))[: round(_FALLS / _KNOCK_FALLS * rate)]
        note[: len(tap)] += knock * tap * np.exp(-np.arange(len(tap)) / rate * _KNOCK_FALLS)
        sound[begin:] += amplitude * note
    return sound.astype(np.float32)


def _partial(hz: float, falls: float, phase: float, rate: int, samples: int) -> np.ndarray:
    """A sine that falls by so many nepers a second: `exp(-falls * t) * sin(2 pi hz t + phase)`."""
    turn = (2j * np.pi * hz - falls) / rate
    fine = np.exp(turn * np.arange(_FINE))
    coarse = np.exp(turn * _FINE * np.arange(-(-samples // _FINE)) + 1j * phase)
    # the imaginary part of their products, which is all that is heard
    turned = np.outer(coarse.imag, fine.real) + np.outer(coarse.real, fine.imag)
    return turned.ravel()[:samples]


ROLL = (
    (0.300, 55, 0.20),
    (0.425, 59, 0.18),
    (0.551, 62, 0.22),
    (0.676, 67, 0.20),
    (0.800, 60, 0.17),
    (0.926, 62, 0.20),
    (1.050, 67, 0.19),
    (1.175, 66, 0.20),
)
"""Eight picked notes at eight a second, strings ringing on."""
