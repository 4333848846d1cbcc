"""How a sound that was played arrived in another: each piece's lateness, and how like it is.

A software sound card on a busy machine now and then loses some frames, or inserts some, and says nothing.
What a program then says of the notes there is no longer what is true of the file that was played. So the live
tests look at what the program itself kept of the microphone, piece by piece: where the card was whole they
hold it to every word, and where it was not they hold it to nothing, and count.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

BEFORE_SEC, AFTER_SEC = 0.03, 0.15
"""A piece begins and ends so long before and after its place."""

REACH_SEC = 0.1
"""A piece is looked for so far on either side."""

ALIKE = 0.98
"""From so much on a piece is the one that was played (1 is the very same; 5 ms left out of it give .97)."""

SAME_SEC = 0.001
"""Pieces of a whole stretch lie no further from their middle."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Arrival:
    """Where one piece was found.

    Attributes
    ----------
    late_sec : float
        How much later than asked, in seconds.
    alike : float
        Its normalised correlation with what was played, up to 1.
    """

    late_sec: float
    alike: float


def arrivals(
    played: np.ndarray, heard: np.ndarray, rate: int, places_sec: Sequence[float], by_sec: float
) -> list[Arrival]:
    """Find pieces of a mono sound in another of the same rate.

    Parameters
    ----------
    played, heard : numpy.ndarray
        Mono, frames.
    rate : int
        Of both, in Hz.
    places_sec : sequence of float
        Where the pieces lie, in seconds of `played`.
    by_sec : float
        So much later are they looked for in `heard`, up to `REACH_SEC` on either side.
    """
    found = []
    pad = round((REACH_SEC + BEFORE_SEC + abs(by_sec)) * rate) + rate
    around = np.concatenate([np.zeros(pad), np.asarray(heard, np.float64), np.zeros(pad)])
    for place in places_sec:
        first = max(0, round((place - BEFORE_SEC) * rate))
        piece = np.asarray(played[first : round((place + AFTER_SEC) * rate)], np.float64)
        reach, begin = round(REACH_SEC * rate), pad + first + round(by_sec * rate)
        near = around[max(0, begin - reach) :][: len(piece) + 2 * reach]
        if len(near) < len(piece) or not piece.any():
            found.append(Arrival(late_sec=0.0, alike=0.0))
            continue
        size = 1 << (len(near) + len(piece)).bit_length()
        inner = np.fft.irfft(np.fft.rfft(near, size) * np.fft.rfft(piece, size).conj(), size)
        inner = inner[: len(near) - len(piece) + 1]
        power = np.concatenate([[0.0], np.cumsum(near**2)])
        norm = np.sqrt(np.maximum(power[len(piece) :] - power[: len(inner)], 1e-12) * np.sum(piece**2))
        at = int((inner / norm).argmax())
        found.append(Arrival(late_sec=(at - reach) / rate, alike=float((inner / norm)[at])))
    return found


def whole(found: Sequence[Arrival]) -> bool:
    """Whether the pieces came as they were played, all by one way."""
    middle = float(np.median([one.late_sec for one in found]))
    return all(one.alike >= ALIKE and abs(one.late_sec - middle) <= SAME_SEC for one in found)
