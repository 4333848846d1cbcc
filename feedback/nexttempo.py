"""The tempos that are offered: to begin with, and after a turn a step down to ease, a smaller one to push."""

from __future__ import annotations

from routines.tempo import FASTEST_HALF_BPM, SLOWEST_HALF_BPM

EASED = 0.8
"""The tempo to begin with, against a lick's top; that of a change alone, against the turn's."""

EASE_SHARE = 0.08
"""How much slower eased is, as a share of the tempo."""

PUSH_SHARE = 0.04
"""How much faster pushed is."""

LEAST_STEP_HALF_BPM = 2.0
"""No step is smaller: less is hardly felt."""


def eased(tempo_half_bpm: float) -> float:
    """The tempo to ease to, in whole half notes a minute, no slower than may be played.

    Parameters
    ----------
    tempo_half_bpm : float
        `SLOWEST_HALF_BPM` to `FASTEST_HALF_BPM`.
    """
    return _held(tempo_half_bpm - max(LEAST_STEP_HALF_BPM, EASE_SHARE * tempo_half_bpm))


def pushed(tempo_half_bpm: float) -> float:
    """The tempo to push to, in whole half notes a minute, no faster than may be played.

    Parameters
    ----------
    tempo_half_bpm : float
        `SLOWEST_HALF_BPM` to `FASTEST_HALF_BPM`.
    """
    return _held(tempo_half_bpm + max(LEAST_STEP_HALF_BPM, PUSH_SHARE * tempo_half_bpm))


def _held(tempo_half_bpm: float) -> float:
    return float(min(FASTEST_HALF_BPM, max(SLOWEST_HALF_BPM, round(tempo_half_bpm))))
