"""The simulated player: a performance made into sound, on an instrument, in a room.

Conventions: sound is float32 mono within -1 and 1. The same performance, instrument, room and seed give the
same sound to the sample.
"""

from __future__ import annotations

import numpy as np

from feedback.played import Performance
from feedback.sound.banjo import Banjo
from feedback.sound.room import Room, added, limited
from feedback.sound.strings import strings_sound, sympathetic_impulse
from routines.errors import BadRoutine

RATES = (8_000, 192_000)
"""Least and greatest sample rate."""

TAIL_SEC = 1.5
"""How long the last note is listened to, unless a length is asked for."""

_FADE_SEC = 0.050


def render(
    performance: Performance,
    *,
    rate: int = 44_100,
    seed: int | None = None,
    instrument: Banjo | None = None,
    room: Room | None = None,
    duration_sec: float | None = None,
) -> np.ndarray:
    """Make the sound of a performance.

    Parameters
    ----------
    performance : Performance
    rate : int
        Samples a second, within `RATES`.
    seed : int, optional
        Of everything in the sound that the performance leaves open; by default the performance's own.
    instrument : Banjo, optional
    room : Room, optional
    duration_sec : float, optional
        Length of the sound; by default `TAIL_SEC` beyond the last onset.

    Returns
    -------
    numpy.ndarray
        Shape (n,), float32.

    Raises
    ------
    BadRoutine
        If the rate is out of range.
    """
    if not RATES[0] <= rate <= RATES[1]:
        raise BadRoutine(f"rate {rate}: accepted are {RATES[0]} to {RATES[1]} samples a second")
    banjo, place = instrument or Banjo(), room or Room()
    strings_rng, room_rng = np.random.default_rng(performance.seed if seed is None else seed).spawn(2)
    last_sec = performance.notes[-1].onset_sec if performance.notes else performance.start_sec
    samples = round((last_sec + TAIL_SEC if duration_sec is None else duration_sec) * rate)
    dry = strings_sound(performance.notes, rate=rate, samples=samples, banjo=banjo, rng=strings_rng)
    fade = min(samples, round(_FADE_SEC * rate))
    dry[samples - fade :] *= np.linspace(1.0, 0.0, fade, dtype=np.float32)
    ringing = added(dry, sympathetic_impulse(list(performance.open_midi.values()), rate, banjo))
    wet = added(ringing, place.impulse(rate, room_rng))
    wet += (10.0 ** (place.noise_dbfs / 20.0) * room_rng.standard_normal(samples)).astype(np.float32)
    return limited(wet)
