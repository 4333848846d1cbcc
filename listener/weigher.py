"""Weighing what is heard together with what is expected: a small function, the same for all pitches.

For each pitch it sees the blind log odds of that pitch, of its kin and of the best other one, by this look
and by the sooner looks; how much it, its neighbours and anything else are expected; and what was heard right
before. It gives the log odds that the pitch was begun. It learnt how far to trust an expectation from takes
in which one in five is not met (`tests/bench/train/asked.py`), so that its odds are honest ones.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from listener.network import PITCHES, heights, kinship, last_layers

KIN = (-12, 12, -1, 1, -2, 2, -7, 7, -5, 5, -19, 19)
"""Half steps to the pitches whose odds are seen, too."""

ASKED_KIN = (-1, 1, -2, 2, -12, 12)
"""Half steps to the pitches of which is seen whether they are expected."""

RECENT_SEC = 0.06
"""What was heard so long before is seen, too."""

_GREATEST = 10.0  # log odds beyond are as good as that
_SCALE = 5.0
_FAINTEST = 0.003  # expectation that is as good as none
_NOT_ASKED = float(np.log10(_FAINTEST))


_KIN, _ASKED_KIN, _HEIGHTS = kinship(KIN), kinship(ASKED_KIN), heights()


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
    held = np.clip(np.stack(odds), -_GREATEST, _GREATEST) / _SCALE
    now = held[-1]
    asked = np.log10(expected + _FAINTEST) - _NOT_ASKED
    met = np.minimum(expected, 1.0 / (1.0 + np.exp(-_SCALE * now)))
    found = np.empty((PITCHES, width(len(held) - 1, len(facts))), np.float32)
    found[:, 0] = now
    at = len(held)
    found[:, 1:at] = held[:-1].T
    found[:, at] = _of_others(now)
    found[:, at + 1] = asked
    found[:, at + 2] = _of_others(asked)
    found[:, at + 3] = _of_others(met)
    found[:, at + 4] = np.clip(recent, -_GREATEST, _GREATEST) / _SCALE
    at += 5
    for values, kin, beyond in ((now, _KIN, -_GREATEST / _SCALE), (asked, _ASKED_KIN, 0.0)):
        found[:, at : at + kin.shape[1]] = np.append(values, beyond)[kin]
        at += kin.shape[1]
    found[:, at:-2] = facts
    found[:, -2:] = _HEIGHTS
    return found


def _of_others(values: np.ndarray) -> np.ndarray:
    """For each pitch the greatest value of the other pitches."""
    first = int(values.argmax())
    found = np.full(PITCHES, values[first])
    found[first] = max(values[:first].max(initial=-np.inf), values[first + 1 :].max(initial=-np.inf))
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
        return last_layers(arrays, np.maximum(seen @ arrays["see"] + arrays["see_bias"], 0.0))
