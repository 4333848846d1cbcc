"""Tempo as players type it: `96` is half notes a minute (cut time), `192q` the same in quarters."""

from __future__ import annotations

import math

from routines.errors import BadRoutine

SLOWEST_HALF_BPM = 20.0
FASTEST_HALF_BPM = 240.0


def parse_tempo(text: str) -> float:
    """Read a tempo.

    Parameters
    ----------
    text : str
        A number, with `q` behind it where it counts quarters.

    Returns
    -------
    float
        Half notes a minute, `SLOWEST_HALF_BPM` to `FASTEST_HALF_BPM`.

    Raises
    ------
    BadRoutine
        Where it is no number or out of range.
    """
    typed = text.strip().lower()
    number, per_half = (typed[:-1], 2.0) if typed.endswith("q") else (typed, 1.0)
    try:
        tempo = float(number) / per_half
    except ValueError:
        tempo = math.nan
    if not SLOWEST_HALF_BPM <= tempo <= FASTEST_HALF_BPM:
        raise BadRoutine(
            f"tempo {text!r}: give {SLOWEST_HALF_BPM:g} to {FASTEST_HALF_BPM:g} half notes a minute, "
            f"or twice that with a q for quarters (96 is 192q)"
        )
    return tempo


def tempo_words(tempo_half_bpm: float) -> str:
    """A tempo for a reader, its unit named.

    Parameters
    ----------
    tempo_half_bpm : float

    Returns
    -------
    str
        Such as "96 half notes a minute".
    """
    return f"{round(tempo_half_bpm, 1):g} half notes a minute"
