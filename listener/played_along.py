"""The round trip by playing along: for headphones, where no sound of the click comes back by itself.

The problem: a player hears clicks and strikes a string on each. How much later the strokes come in than the
clicks went out is the round trip, as far as the player strikes when the click is heard. Strokes are missed,
doubled and scattered, and which stroke answers which click is not known: beats that are all alike fit as well
one beat later. So the clicks to play along with have a pattern, `PATTERN_SEC`, that lies on itself badly when
it is shifted by a beat, and an answer is given only where no other offset explains nearly as many clicks.

What no number of strokes removes: people strike before the beat. Repp 2005 ("Sensorimotor synchronization: A
review of the tapping literature", Psychonomic Bulletin & Review 12, 969-992) reports that taps lead by some
tens of milliseconds, less with musicians. Nobody's habit is known here, so it is not taken off but counted as
not known: HABIT_SEC.

Conventions: seconds, in one time base. The offset is a stroke's time less its click's; late is positive.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

BEAT_SEC = 0.6
"""The least time between two clicks."""

PATTERN_SEC: tuple[float, ...] = tuple(
    round(BEAT_SEC * (3 * bar + beat), 1) for bar in range(8) for beat in (0, 1)
)
"""When the clicks are: eight times "one, two, rest". Shifted by a beat, every other click has no stroke."""

HABIT_SEC = 0.020
"""By how much a player may always be early or late."""

REACH_SEC = 0.4
"""Offsets up to this are found, early or late."""

LEAST_NOTES = 6
"""Clicks that must have been answered, and at least six in ten of them all."""

_STEP_SEC = 0.004
_WIDE_SEC = 0.12  # no stroke farther from its place answers a click
_APART_SEC = 0.2  # an offset so far away is another one
_RIVAL = 0.8
_SCATTERED_SEC = 0.06  # strokes at random scatter by 0.07
_SIGMAS = 3.0 * 1.253  # of a median; strokes that are doubled or go astray make it worse than two of them


@dataclass(frozen=True, slots=True, kw_only=True)
class PlayedAlong:
    """What strokes say of the round trip.

    Attributes
    ----------
    offset_sec : float
        Median of the strokes that answer a click.
    unsure_sec : float
        HABIT_SEC at least, and three times what the scatter leaves open.
    spread_sec : float
        How the strokes scatter (standard deviation).
    notes, clicks : int
        How many clicks were answered, of how many.
    """

    offset_sec: float
    unsure_sec: float
    spread_sec: float
    notes: int
    clicks: int


def offset_of(
    onsets_sec: Sequence[float], clicks_sec: Sequence[float], *, reach_sec: float = REACH_SEC
) -> PlayedAlong | None:
    """How much later strokes come than the clicks that they answer.

    Parameters
    ----------
    onsets_sec : sequence of float
        Strokes, in any order.
    clicks_sec : sequence of float
        Clicks; `PATTERN_SEC` at some place is meant.
    reach_sec : float
        No greater offset, early or late, is looked for; above 0.

    Returns
    -------
    PlayedAlong or None
        None where too few clicks were answered or another offset explains nearly as many.

    Raises
    ------
    ValueError
        If `reach_sec` is not above 0, or a time is no finite number.
    """
    onsets, clicks = np.sort(np.array(onsets_sec, float)), np.sort(np.array(clicks_sec, float))
    if not 0.0 < reach_sec < np.inf:
        raise ValueError(f"reach is {reach_sec:g} s; above 0 is accepted")
    if not (np.isfinite(onsets).all() and np.isfinite(clicks).all()):
        raise ValueError("a stroke or click at no finite time; seconds are needed")
    needed = max(LEAST_NOTES, -(-6 * len(clicks) // 10))
    if min(len(onsets), len(clicks)) < needed:
        return None
    steps = round((reach_sec + BEAT_SEC) / _STEP_SEC)
    tried = _STEP_SEC * np.arange(
        -steps, steps + 1
    )  # beyond reach, too: a beat off, what lies there looks near
    scores = _scores(_beside(onsets, tried[:, None] + clicks))
    best = float(tried[int(scores.argmax())])
    rivals = scores[np.abs(tried - best) > _APART_SEC]
    if abs(best) > reach_sec + _STEP_SEC or rivals.max(initial=0.0) > _RIVAL * scores.max():
        return None
    offset, rests = _settled(onsets, clicks, best)
    spread = float(rests.std()) if len(rests) else 0.0
    if len(rests) < needed or spread > _SCATTERED_SEC:
        return None
    return PlayedAlong(
        offset_sec=offset,
        unsure_sec=float(np.hypot(HABIT_SEC, _SIGMAS * spread / np.sqrt(len(rests)))),
        spread_sec=spread,
        notes=len(rests),
        clicks=len(clicks),
    )


def _beside(onsets: np.ndarray, places: np.ndarray) -> np.ndarray:
    """How far the nearest stroke lies from each place; positive where it is later."""
    after = np.clip(np.searchsorted(onsets, places), 1, len(onsets) - 1)
    early, late = onsets[after - 1] - places, onsets[after] - places
    nearest: np.ndarray = np.where(np.abs(early) <= np.abs(late), early, late)
    return nearest


def _scores(rests: np.ndarray) -> np.ndarray:
    """How many clicks are answered at each offset, one at the edge of its place by nothing."""
    found: np.ndarray = np.maximum(0.0, 1.0 - np.abs(rests) / _WIDE_SEC).sum(axis=1)
    return found


def _settled(onsets: np.ndarray, clicks: np.ndarray, offset: float) -> tuple[float, np.ndarray]:
    """The median of those that answer, found again from itself until it stays."""
    rests = np.zeros(0)
    for _ in range(5):
        rests = _beside(onsets, clicks + offset)
        rests = rests[np.abs(rests) <= _WIDE_SEC]
        if not len(rests):
            break
        offset += float(np.median(rests))
        rests = rests - np.median(rests)
    return offset, rests
