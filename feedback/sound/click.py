"""How the click sounds: small blocks of wood, each a few damped partials, laid on exact samples.

The problem: a click must be heard beside a banjo two metres away and must not hide it. A banjo's stroke has
most of its power from 400 to 1800 Hz; in the third of an octave around 2.5 kHz it has 7 dB less than around
800 Hz, around 4 kHz 14 dB less (medians of the first 50 ms of the simulated player's notes, sixteen
instruments). An ear hears best from 2 to 5 kHz and the smallest speaker carries it. So the click is narrow
and lies there: strokes of definite pitch at 2.1 and 2.9 kHz, and the chop, a dense cluster above them. All
are over within 55 ms, less than the shortest eighth of any tempo, so no two strokes of a turn overlap.

Conventions: levels are peaks, in decibels of full scale or against the accent. The accent differs from the
beat in pitch and length, too: a quiet accent is still no loud beat.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from types import MappingProxyType

import numpy as np

from feedback.clicking import Sort, Stroke
from feedback.errors import Usage
from feedback.sound.mixing import check, gain, laid
from feedback.sound.partials import NEPERS_PER_DB, pointers

LEAST_RATE = 8000
"""Samples a second, below which the click cannot be made."""

_ATTACK_SEC = 0.0003
_HEARD_DB = 40.0
_TO_THE_END = 1.5
"""A sound goes on for so many times the length over which it falls by `_HEARD_DB`: down to -60 dB."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Sound:
    """One sort of stroke.

    Attributes
    ----------
    peak_db : float
        Against the accent's peak.
    lasts_sec : float
        How soon its lowest partial has died by 40 dB; higher ones die sooner, as the frequency is higher.
    partials : tuple of (float, float)
        Hertz, and decibels against one another; the lowest first.
    """

    peak_db: float
    lasts_sec: float
    partials: tuple[tuple[float, float], ...]


SOUNDS: Mapping[Sort, Sound] = MappingProxyType(
    {
        "accent": Sound(
            peak_db=0.0, lasts_sec=0.036, partials=((2900.0, 0.0), (4370.0, -9.0), (7300.0, -18.0))
        ),
        "beat": Sound(
            peak_db=-2.0, lasts_sec=0.024, partials=((2130.0, 0.0), (3210.0, -9.0), (5370.0, -18.0))
        ),
        "soft": Sound(peak_db=-10.0, lasts_sec=0.014, partials=((2130.0, 0.0), (3210.0, -12.0))),
        "chop": Sound(
            peak_db=-1.0,
            lasts_sec=0.016,
            partials=(
                (3150.0, -3.0),
                (3490.0, 0.0),
                (3910.0, -1.0),
                (4330.0, 0.0),
                (4870.0, -2.0),
                (5390.0, -3.0),
                (6110.0, -5.0),
                (6870.0, -8.0),
            ),
        ),
    }
)
"""How each sort sounds. Partials stand at no simple ratios, so that none is heard as a note of the banjo."""


@lru_cache(maxsize=16)
def sound(sort: Sort, rate: int) -> np.ndarray:
    """One stroke, where the accent's peak is 1.

    Parameters
    ----------
    sort : Sort
    rate : int
        Samples a second, at least `LEAST_RATE`.

    Returns
    -------
    numpy.ndarray
        Shape (n,), float64, not writeable; its first sample is not 0.

    Raises
    ------
    Usage
        If the rate is too low.
    """
    if rate < LEAST_RATE:
        raise Usage(f"click at {rate} samples a second: accepted: {LEAST_RATE} or more")
    row = SOUNDS[sort]
    hz, db = np.array([p for p in row.partials if p[0] < 0.45 * rate]).T
    nepers = _HEARD_DB * NEPERS_PER_DB / row.lasts_sec * hz / hz[0]
    count = round(_TO_THE_END * row.lasts_sec * rate)
    made = pointers(10.0 ** (db / 20.0), np.zeros(len(hz)), hz, nepers, count, rate).astype(np.float64)
    attack = max(1, round(_ATTACK_SEC * rate))
    made[:attack] *= np.sin(np.pi / 2 * np.arange(1, attack + 1) / (attack + 1)) ** 2
    end = count // 5
    made[-end:] *= np.cos(np.pi / 2 * np.arange(1, end + 1) / (end + 1)) ** 2
    made *= 10.0 ** (row.peak_db / 20.0) / np.max(np.abs(made))
    made.setflags(write=False)
    return made


def render(strokes: Sequence[Stroke], *, rate: int, level_db: float, quiet_sec: float) -> np.ndarray:
    """Make strokes audible.

    A stroke begins on sample round(sec * rate), its first that is not 0. Strokes that overlap add.
    So that nobody is startled, a stroke at 0 lies `QUIET_DB` under its level, later ones evenly less, those
    from `quiet_sec` on not at all; a stroke has one gain from its beginning to its end. Strokes that
    together would pass `CEILING_DB` are turned down together, from silence to silence, so that nothing is
    bent; all others stay as they are (`room.limited` bends, and from another level on).

    Parameters
    ----------
    strokes : sequence of Stroke
    rate : int
        Samples a second, at least `LEAST_RATE`.
    level_db : float
        Peak of the accent, `SOFTEST_DB` to `LOUDEST_DB` decibels of full scale.
    quiet_sec : float
        When the click has its full level; 0 for at once. The length of the count-in is meant.

    Returns
    -------
    numpy.ndarray
        Shape (n,), float32, mono, from 0 seconds to the end of the last stroke; empty without strokes.

    Raises
    ------
    Usage
        If the level, `quiet_sec`, the rate or a stroke's time is out of range.
    """
    check("click", level_db, quiet_sec, (stroke.sec for stroke in strokes), "strokes")
    return laid(
        [(round(s.sec * rate), sound(s.sort, rate) * gain(s.sec, level_db, quiet_sec)) for s in strokes]
    )
