"""Weighing what is heard together with what is expected: a small function, the same for all pitches.

For each pitch it sees the blind log odds of that pitch, of its kin and of the best other one, by this look
and by the sooner looks; how much it, its neighbours and anything else are expected; and what was heard right
before. It gives the log odds that the pitch was begun. It learnt how far to trust an expectation from takes
in which one in five is not met (`tests/bench/train/asked.py`), so that its odds are honest ones.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from listener.network import LOW_PITCH, PITCHES

KIN = (-12, 12, -1, 1, -2, 2, -7, 7, -5, 5, -19, 19)
"""Half steps to the pitches whose odds are seen, too."""

ASKED_KIN = (-1, 1, -2, 2, -12, 12)
"""Half steps to the pitches of which is seen whether they are expected."""

RECENT_SEC = 0.06
"""What was heard so long before is seen, too."""

_GREATEST = 10.0  # log odds beyond are as good as that
_SCALE = 5.0
_FAINTEST = 0.003  # expectation that is as good as none


def width(sooner: int, facts: int) -> int:
    """How many numbers are seen of each pitch, with so many sooner looks and so many facts."""
    return 6 + sooner + len(KIN) + len(ASKED_KIN) + facts + 2


def inputs(
    odds: Sequence[np.ndarray], facts: np.ndarray, expected: np.ndarray, recent: np.ndarray
) -> np.ndarray:
    """What is seen of each pitch.

    Parameters
    ----------
    odds : sequence of ndarray, shape (PITCHES,)
        Blind log odds by each look so far, this one last.
    facts : ndarray, shape (n,)
        Of the strike, as `listener.views.Look` has them.
    expected : ndarray, shape (PITCHES,)
        0 to 1.
    recent : ndarray, shape (PITCHES,)
        Greatest log odds of each pitch, by this look, at the strikes of the last `RECENT_SEC`.

    Returns
    -------
    ndarray of float32, shape (PITCHES, width)
    """
    held = [np.clip(one, -_GREATEST, _GREATEST) / _SCALE for one in odds]
    now = held[-1]
    asked = np.log10(expected + _FAINTEST) - np.log10(_FAINTEST)
    met = np.minimum(expected, 1.0 / (1.0 + np.exp(-_SCALE * now)))
    heights = (LOW_PITCH + np.arange(PITCHES) - 65.0) / 12.0
    columns = [
        now,
        *held[:-1],
        _of_others(now),
        asked,
        _of_others(asked),
        _of_others(met),
        np.clip(recent, -_GREATEST, _GREATEST) / _SCALE,
        *(_moved(now, step, -_GREATEST / _SCALE) for step in KIN),
        *(_moved(asked, step, 0.0) for step in ASKED_KIN),
        *np.broadcast_to(facts[:, None], (len(facts), PITCHES)),
        heights,
        heights * heights,
    ]
    return np.stack(columns, axis=1).astype(np.float32)


def _of_others(values: np.ndarray) -> np.ndarray:
    """For each pitch the greatest value of the other pitches."""
    first = int(values.argmax())
    found = np.full(PITCHES, values[first])
    found[first] = max(values[:first].max(initial=-np.inf), values[first + 1 :].max(initial=-np.inf))
    return found


def _moved(values: np.ndarray, step: int, beyond: float) -> np.ndarray:
    """For each pitch the value of the one so many half steps above it."""
    found = np.full(PITCHES, beyond)
    low, high = max(0, -step), min(PITCHES, PITCHES - step)
    found[low:high] = values[low + step : high + step]
    return found


class Weigher:
    """Weighs the pitches of a strike.

    Parameters
    ----------
    arrays : mapping of str to ndarray of float32
        `see` (width, h), `see_bias` (h,), `weigh` (h, g), `weigh_bias` (g,), `say` (g,), `say_bias` (1,).
    """

    def __init__(self, arrays: Mapping[str, np.ndarray]) -> None:
        self._arrays = arrays

    def log_odds(self, seen: np.ndarray) -> np.ndarray:
        """Log odds that each pitch was begun, by what `inputs` gives; shape (PITCHES,)."""
        arrays = self._arrays
        features = np.maximum(seen @ arrays["see"] + arrays["see_bias"], 0.0)
        weighed = np.maximum(features @ arrays["weigh"] + arrays["weigh_bias"], 0.0)
        odds: np.ndarray = weighed @ arrays["say"] + arrays["say_bias"]
        return odds
