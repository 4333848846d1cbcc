"""How the backing sounds: an upright bass and a chopped mandolin, laid on exact samples.

The problem: the changes must be heard while a banjo plays, on a small speaker too, and must neither hide
the banjo nor be taken for it. A banjo has most of its power from 400 to 1800 Hz. The bass stays below: what
it has above some 500 Hz falls fast. Its fundamentals of 41 to 78 Hz are weak, as a body of that size weakens
them, so that the partials from 80 to 400 Hz carry it. The chop lies where a mandolin lies, among the notes of
the banjo, and an ear knows a note by its partials and by how it goes on: so the strings of a chop have two
partials each, are damped within 70 ms, and begin under a dull knock of wood.

What a blind ear heard, in notes a minute, in chops alone (three licks, peaks at -24 dBFS, all equally loud by
A-weighted level; in brackets an ear that expected the lick): with eight partials, damped within 90 ms, 340
(320); within 70 ms 138 (133); with four 63 (55), three 17 (30), two 0 (0), one 0 (0), which whistles. The
bass alone: 0 (0); both together, five licks: 0 (7).

Conventions: levels are peaks, in decibels of full scale or against the bass, whose every note has the same
peak. Nothing is drawn at random: the same note is always the same samples. A note of the bass is damped
before the next is plucked, so one sounds at a time.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

import numpy as np

from feedback.backing import BassNote, Chop
from feedback.errors import Usage
from feedback.sound.click import LEAST_RATE
from feedback.sound.mixing import check, gain, laid
from feedback.sound.partials import NEPERS_PER_DB, hz_of, pointers

DAMP_SEC = 0.028
"""How long it takes to damp a note of the bass: the end of its duration."""

CHOP_DB = -5.4
"""Peak of a chop against the bass: by the A-weighted level of their loudest eighth of a second, 6 dB less."""

CHOP_SEC = 0.070
"""Length of a chop that is damped at once."""

_BASS_SEC = 2.5
_BASS_PARTIALS = 40
_BASS_HIGHEST_HZ = 1500.0
_BASS_STIFFNESS = 1.2e-4
_BASS_PLUCKED_AT = 0.21
"""Part of the string's length; partials with a node there are weak."""
_BASS_BODY_HZ = (130.0, 520.0)
"""Below the first it gives 6 dB an octave less, above the second 18 dB."""
_BASS_DECAY_DB = (16.0, 9.0)
"""In a second; and so much more for each 100 Hz."""
_BASS_ATTACK_SEC = 0.0045

_CHOP_PLUCKED_AT = 0.15
_CHOP_PARTIALS = 2
_CHOP_BODY_HZ = 1100.0
_CHOP_DECAY_DB = 40.0 / 0.050
_RINGING_DECAY_DB = 40.0 / 1.2
_CHOP_ATTACK_SEC = 0.0012
_STRUM_SEC = 0.0015
"""From string to string."""
_CHOP_FADES = 0.3
"""Part of a chop's length over which it is brought to nothing."""

RINGING_DB = -5.0
"""Peak of the last chop, which rings and falls together with the bass, against one that is damped."""

_KNOCK = ((181.0, -2.0), (253.0, 0.0), (347.0, -3.0), (467.0, -8.0), (2350.0, -18.0), (3170.0, -16.0))
"""Hertz at no simple ratios, and decibels against one another; its peak is that of the strings."""
_KNOCK_SEC = 0.0525
_KNOCK_DECAY_DB = 40.0 / 0.035
"""In a second, at 300 Hz; the higher, the faster, so that the pick's tick is over at once."""


def bass(midi: int, count: int, rate: int) -> np.ndarray:
    """One note of the bass, damped over the last `DAMP_SEC` of it; its peak is 1.

    Parameters
    ----------
    midi : int
    count : int
        Samples until it is damped; it has died by itself after two seconds and a half.
    rate : int
        Samples a second, at least `LEAST_RATE`.

    Returns
    -------
    numpy.ndarray
        Shape (n,), float64, n at most `count`; its first sample is not 0.
    """
    made = _string(midi, rate)[:count].copy()
    _fade(made, round(DAMP_SEC * rate))
    return made


@lru_cache(maxsize=64)
def chop(midis: tuple[int, ...], count: int, rate: int) -> np.ndarray:
    """One stroke of the mandolin.

    Parameters
    ----------
    midis : tuple of int
        From the lowest, in the order of the stroke; empty for a dead one.
    count : int
        Samples that it rings; 0 for one that is damped at once, and none is shorter than `CHOP_SEC`.
    rate : int
        Samples a second, at least `LEAST_RATE`.

    Returns
    -------
    numpy.ndarray
        Shape (n,), float64, not writeable; its peak is 1, its first sample is not 0.
    """
    decay_db = _RINGING_DECAY_DB if count else _CHOP_DECAY_DB
    made = np.zeros(max(count, round(CHOP_SEC * rate)))
    number = np.arange(1, _CHOP_PARTIALS + 1)
    for string, midi in enumerate(midis):
        begin = round(string * _STRUM_SEC * rate)
        hz = hz_of(midi, 0.0) * number
        size = _pluck(number, _CHOP_PLUCKED_AT) / (1.0 + (hz / _CHOP_BODY_HZ) ** 4) ** 0.5
        size *= -1.0 if string % 2 else 1.0
        made[begin:] += _rung(size, hz, decay_db * (0.7 + hz / 2000.0), len(made) - begin, rate)
    if midis:
        made /= np.max(np.abs(made))
    hz, db = np.array(_KNOCK).T
    heard = min(len(made), round(_KNOCK_SEC * rate))
    knock = _rung(10.0 ** (db / 20.0), hz, _KNOCK_DECAY_DB * hz / 300.0, heard, rate)
    made[:heard] += knock / np.max(np.abs(knock))
    _rise(made, round(_CHOP_ATTACK_SEC * rate))
    _fade(made, round(_CHOP_FADES * len(made)))
    made /= np.max(np.abs(made))
    made.setflags(write=False)
    return made


def render(
    notes: Sequence[BassNote | Chop], *, rate: int, level_db: float, quiet_sec: float = 0.0
) -> np.ndarray:
    """Make a backing audible.

    A note begins on sample round(sec * rate), its first that is not 0; what overlaps adds. What begins at 0
    lies `QUIET_DB` under its level, later notes evenly less, those from `quiet_sec` on not at all. Notes that
    together would pass `CEILING_DB` are turned down together, from silence to silence, so that nothing is
    bent: from a level of some -8 dB on the ending is.

    Parameters
    ----------
    notes : sequence of BassNote or Chop
        As from `feedback.backing.backing`.
    rate : int
        Samples a second, at least `LEAST_RATE`.
    level_db : float
        Peak of the bass, `SOFTEST_DB` to `LOUDEST_DB` decibels of full scale.
    quiet_sec : float
        When the backing has its full level; 0 for at once.

    Returns
    -------
    numpy.ndarray
        Shape (n,), float32, mono, from 0 seconds to the end of the last note; empty without notes.

    Raises
    ------
    Usage
        If the level, `quiet_sec`, the rate or a note's time is out of range.
    """
    check("backing", level_db, quiet_sec, (one.sec for one in notes), "notes")
    if rate < LEAST_RATE:
        raise Usage(f"backing at {rate} samples a second: accepted: {LEAST_RATE} or more")
    return laid(
        [(round(one.sec * rate), _sound(one, rate) * gain(one.sec, level_db, quiet_sec)) for one in notes]
    )


def _sound(one: BassNote | Chop, rate: int) -> np.ndarray:
    if isinstance(one, BassNote):
        # Its end is rounded as the next one's beginning is, or the two might overlap by a sample.
        return bass(one.midi, round((one.sec + one.duration_sec) * rate) - round(one.sec * rate), rate)
    gain_db = CHOP_DB + (RINGING_DB if one.rings_sec else 0.0)
    sound: np.ndarray = chop(one.midis, round(one.rings_sec * rate), rate) * 10.0 ** (gain_db / 20.0)
    return sound


@lru_cache(maxsize=32)
def _string(midi: int, rate: int) -> np.ndarray:
    """A string of the bass until it has died; its peak is 1."""
    number = np.arange(1, _BASS_PARTIALS + 1)
    stretch = np.sqrt((1.0 + _BASS_STIFFNESS * number**2) / (1.0 + _BASS_STIFFNESS))
    hz = hz_of(midi, 0.0) * number * stretch
    keep = hz < min(_BASS_HIGHEST_HZ, 0.45 * rate)
    number, hz = number[keep], hz[keep]
    low, high = _BASS_BODY_HZ
    body = 1.0 / np.sqrt((1.0 + (low / hz) ** 2) * (1.0 + (hz / high) ** 6))
    steady_db, more_db = _BASS_DECAY_DB
    count = round(_BASS_SEC * rate)
    made = _rung(_pluck(number, _BASS_PLUCKED_AT) * body, hz, steady_db + more_db * hz / 100.0, count, rate)
    _rise(made, round(_BASS_ATTACK_SEC * rate))
    made /= np.max(np.abs(made))
    made.setflags(write=False)
    return made


def _pluck(number: np.ndarray, place: float) -> np.ndarray:
    """What a pluck at a part of the string's length gives to each partial."""
    size: np.ndarray = (0.1 + np.abs(np.sin(np.pi * number * place))) / number
    return size


def _rung(size: np.ndarray, hz: np.ndarray, decay_db: np.ndarray, count: int, rate: int) -> np.ndarray:
    """Damped sines from just after their zero on: at it the first sample would be 0.

    Every second one starts downwards, or all would add up to a push at the stroke.
    """
    size = size * np.where(np.arange(len(hz)) % 2, -1.0, 1.0)
    phase = np.full(len(hz), -np.pi / 2)
    made = pointers(size, phase, hz, decay_db * NEPERS_PER_DB, count + 1, rate)
    return made[1:].astype(np.float64)


def _rise(made: np.ndarray, count: int) -> None:
    count = min(max(1, count), len(made))
    made[:count] *= np.sin(np.pi / 2 * np.arange(1, count + 1) / (count + 1)) ** 2


def _fade(made: np.ndarray, count: int) -> None:
    count = min(max(1, count), len(made))
    made[len(made) - count :] *= np.cos(np.pi / 2 * np.arange(1, count + 1) / (count + 1)) ** 2
