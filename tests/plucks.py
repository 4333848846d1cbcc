"""Small plucked notes for the listener's tests: partials that decay, and a short knock of the pick."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

_FALLS = 14.0
"""In nepers: so far has a partial fallen when it is left out; 120 dB."""


def plucked(
    rate: int,
    notes: Iterable[tuple[float, float, float]],
    *,
    duration_sec: float,
    hiss: float = 3e-5,
    knock: float = 0.15,
    seed: int = 0,
) -> np.ndarray:
    """Mono sound, float32, of notes (onset in seconds, pitch in fractions of half steps, amplitude)."""
    rng = np.random.default_rng(seed)
    sound = hiss * rng.standard_normal(round(duration_sec * rate))
    for onset_sec, pitch, amplitude in notes:
        begin = round(onset_sec * rate)
        time = np.arange(len(sound) - begin) / rate
        base = 440.0 * 2.0 ** ((pitch - 69.0) / 12.0)
        note = np.zeros(len(time))
        for number in range(1, 25):
            hz = base * number * np.sqrt(1.0 + 4e-5 * number**2)
            if hz > min(8000.0, 0.45 * rate):
                break
            # weak fundamentals below, less and less above: a banjo's body, roughly
            body = (hz / 400.0) ** 2 / (1.0 + (hz / 400.0) ** 2) / (1.0 + (hz / 2500.0) ** 2)
            comb = abs(np.sin(np.pi * number * 0.13))
            rings = time[: round(_FALLS / (3.0 + hz / 400.0) * rate)]
            note[: len(rings)] += (
                body * comb * np.exp(-rings * (3.0 + hz / 400.0)) * np.sin(2.0 * np.pi * hz * rings + number)
            )
        tap = rng.standard_normal(len(time)) * np.exp(-time * 400.0)
        sound[begin:] += amplitude * (note + knock * tap)
    return sound.astype(np.float32)


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
