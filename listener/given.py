"""What is played around a moment: as it went out, and, ahead of that, as it lies ready.

The problem: what comes back in the microphone is looked for with what was played as its pattern, some
milliseconds ahead of where it is due. What went out comes with each block; what follows has not been mixed
yet, but lies in the playout, which changes there only when something is taken away.

Conventions: positions are frames since the stream began. For the analysis thread alone.
"""

from __future__ import annotations

import numpy as np

from listener.playout import Playout

REMEMBERS_SEC = 4.0
"""So far back it is known what was played: the longest round trip, and more."""


class Given:
    """What a stream played.

    Parameters
    ----------
    rate : int
        Frames a second.
    playout : Playout
        What it is going to play.
    """

    def __init__(self, rate: int, playout: Playout) -> None:
        self._playout = playout
        self._most = round(REMEMBERS_SEC * rate)
        self._memory = np.zeros(2 * self._most, np.float32)
        self._begin = self._end = 0

    def note(self, position: int, samples: np.ndarray) -> None:
        """Take in what went out.

        Parameters
        ----------
        position : int
            Of its first frame; what lies between the last that was noted and this is taken for silence.
        samples : ndarray of float32, shape (n,)
            At most `REMEMBERS_SEC`.
        """
        end = position + len(samples)
        if end - self._begin > len(self._memory):
            kept = max(self._begin, self._end - self._most, end - len(self._memory))
            self._memory[: max(0, self._end - kept)] = self._memory[
                kept - self._begin : self._end - self._begin
            ]
            self._memory[max(0, self._end - kept) :] = 0.0
            self._begin = kept
        self._memory[position - self._begin : end - self._begin] = samples
        self._end = end

    def between(self, begin: int, end: int) -> np.ndarray:
        """What was, or is going to be, played from a position to another one.

        Returns
        -------
        ndarray of float32, shape (end - begin,)
            Zeros where it is not known any more.
        """
        found = np.zeros(end - begin, np.float32)
        low, high = max(begin, self._begin), min(end, self._end)
        if low < high:
            found[low - begin : high - begin] = self._memory[low - self._begin : high - self._begin]
        ahead = max(begin, self._end)
        if ahead < end:
            self._playout.mix(ahead, found[ahead - begin :])
        return found
