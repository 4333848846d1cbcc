"""What becomes of a take's sound: its level, its rate, what else is heard in the room.

Conventions: levels are peaks, in decibels of full scale. What is played stays as it was. A change is a
function of a take and a seed.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from tests.bench.takes import Take

_FULL_SCALE_16_BIT = 32768.0
_BUMP_SEC, _BUMP_DIES_SEC = 0.2, 0.03


def as_it_is(take: Take, seed: int) -> Take:
    """Nothing."""
    return take


def at_level(take: Take, seed: int, *, peak_dbfs: float) -> Take:
    """Bring the loudest sample to a level, above full scale it clips; in steps of a 16-bit card."""
    loudest = _peak(take.sound)
    gain = 10.0 ** (peak_dbfs / 20.0) / loudest if loudest else 1.0
    steps = np.clip(
        np.round(take.sound * (gain * _FULL_SCALE_16_BIT)), -_FULL_SCALE_16_BIT, _FULL_SCALE_16_BIT - 1
    )
    return replace(take, sound=(steps / _FULL_SCALE_16_BIT).astype(np.float32))


def at_rate(take: Take, seed: int, *, rate: int) -> Take:
    """Bring it to another sample rate."""
    import soxr

    if rate == take.rate:
        return take
    return replace(
        take, sound=soxr.resample(take.sound, take.rate, rate, quality="VHQ").astype(np.float32), rate=rate
    )


def after_bump(take: Take, seed: int, *, over_db: float) -> Take:
    """Knock something over as it begins: a thump at full scale, so far over the peak of what is played."""
    rng, count = np.random.default_rng(seed), round(_BUMP_SEC * take.rate)
    thump = rng.standard_normal(count) * np.exp(-np.arange(count) / (_BUMP_DIES_SEC * take.rate))
    sound = take.sound * np.float32(10.0 ** (-over_db / 20.0) / max(_peak(take.sound), 1e-9))
    sound[:count] += (thump / _peak(thump)).astype(np.float32)
    return replace(take, sound=sound)


def disturbed(take: Take, seed: int, *, by: str, under_db: float) -> Take:
    """Mix a disturbance in, its peak so far under the peak of the take."""
    peak = _peak(take.sound) * 10.0 ** (-under_db / 20.0)
    return replace(take, sound=take.sound + _disturbance(take, seed, by, peak))


def disturbed_alone(take: Take, seed: int, *, by: str, peak_dbfs: float) -> Take:
    """Mix a disturbance in at a level of its own."""
    return replace(take, sound=take.sound + _disturbance(take, seed, by, 10.0 ** (peak_dbfs / 20.0)))


def _disturbance(take: Take, seed: int, name: str, peak: float) -> np.ndarray:
    from tests.bench.train.disturbances import DISTURBANCES

    sound = DISTURBANCES[name](np.random.default_rng(seed), take.rate, len(take.sound))
    loudest = _peak(sound)
    scaled: np.ndarray = (sound * (peak / loudest if loudest else 0.0)).astype(np.float32)
    return scaled


def _peak(sound: np.ndarray) -> float:
    return float(np.abs(sound).max(initial=0.0))
