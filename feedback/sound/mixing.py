"""Sounds laid beside and over one another: soft beginnings, and a ceiling that turns down and never bends.

Conventions: sounds are mono and begin on whole samples; levels are peaks, in decibels of full scale.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

import numpy as np

from feedback.errors import Usage

SOFTEST_DB, LOUDEST_DB = -60.0, -6.0
"""Between these lies a level that may be asked for, in decibels of full scale."""

CEILING_DB = -6.0
"""No sample of what is played lies above this, whatever falls together."""

QUIET_DB = -12.0
"""How far under its level what is played begins."""


def check(name: str, level_db: float, quiet_sec: float, secs: Iterable[float], parts: str) -> None:
    """See that a sound of this name can be laid: its level, its soft beginning, when its parts begin.

    Raises
    ------
    Usage
        If one is out of range.
    """
    if not SOFTEST_DB <= level_db <= LOUDEST_DB:
        raise Usage(
            f"{name} level {level_db:g} dB: accepted: {SOFTEST_DB:g} to {LOUDEST_DB:g} dB of full scale"
        )
    if not 0.0 <= quiet_sec < math.inf:
        raise Usage(f"{name} quiet for {quiet_sec:g} s: accepted: 0 or more")
    if any(not 0.0 <= sec < math.inf for sec in secs):
        raise Usage(f"{name} before 0 s: accepted: {parts} at 0 s or later")


def gain(sec: float, level_db: float, quiet_sec: float) -> float:
    """Gain of what begins at a time: from `QUIET_DB` under its level at 0 to that level at `quiet_sec`."""
    come = min(1.0, sec / quiet_sec) if quiet_sec else 1.0
    return float(10.0 ** ((level_db + QUIET_DB * (1.0 - come)) / 20.0))


def laid(sounds: Sequence[tuple[int, np.ndarray]]) -> np.ndarray:
    """Sounds at their places; those that together would pass `CEILING_DB` are turned down together.

    Parameters
    ----------
    sounds : sequence of (int, ndarray)
        First sample and sound, shape (n,), each. What overlaps adds, and is turned down from silence to
        silence, so that nothing is bent; all others stay as they are.

    Returns
    -------
    numpy.ndarray
        Shape (n,), float32, to the end of the last; empty without sounds.
    """
    signal = np.zeros(max((begin + len(made) for begin, made in sounds), default=0))
    spans: list[tuple[int, int]] = []
    for begin, made in sorted(sounds, key=lambda one: one[0]):
        end = begin + len(made)
        signal[begin:end] += made
        if spans and begin < spans[-1][1]:
            spans[-1] = (spans[-1][0], max(end, spans[-1][1]))
        else:
            spans.append((begin, end))
    for begin, end in spans:
        signal[begin:end] = under_ceiling(signal[begin:end])
    return signal.astype(np.float32)


def under_ceiling(sound: np.ndarray) -> np.ndarray:
    """A sound as it is, or turned down as a whole where it would pass `CEILING_DB`; same shape and type."""
    peak, ceiling = float(np.abs(sound).max(initial=0.0)), 10.0 ** (CEILING_DB / 20.0)
    return sound * sound.dtype.type(ceiling / peak) if peak > ceiling else sound
