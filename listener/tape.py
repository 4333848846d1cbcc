"""A take kept in memory while it is played, so that it can be stored; only where that is asked for."""

from __future__ import annotations

import threading

import numpy as np

MOST_SEC = 600.0
"""A take is no longer; what comes after is not kept."""


class Tape:
    """Keeps one take at a time.

    Threads: the analysis thread writes, the session begins and takes; a lock that is held for as long as it
    takes to put one array into a list. The sound card's thread never comes here.

    Parameters
    ----------
    rate : int
        Samples a second.
    """

    def __init__(self, rate: int) -> None:
        self.rate = rate
        self._lock = threading.Lock()
        self._begin: int | None = None
        self._end = 0
        self._parts: list[np.ndarray] = []

    def begin(self, sample: int) -> None:
        """Keep what comes from a sample on; what was kept before is forgotten."""
        with self._lock:
            self._begin = self._end = sample
            self._parts = []

    def write(self, sample: int, samples: np.ndarray) -> None:
        """Take in what follows; `sample` is the number of its first one."""
        with self._lock:
            if self._begin is None:
                return
            last = self._begin + round(MOST_SEC * self.rate)
            kept = samples[max(0, self._end - sample) : max(0, last - sample)]
            if len(kept):
                if sample > self._end:
                    self._parts.append(np.zeros(sample - self._end, np.float32))
                self._parts.append(kept)
                self._end = min(sample + len(samples), last)

    @property
    def full(self) -> bool:
        """Whether it holds all that it can, so that what came after is missing."""
        with self._lock:
            return self._begin is not None and self._end - self._begin >= MOST_SEC * self.rate

    def take(self) -> np.ndarray:
        """What was kept, ending the keeping.

        Returns
        -------
        ndarray of float32, shape (n,)
        """
        with self._lock:
            parts, self._parts, self._begin = self._parts, [], None
        return np.concatenate(parts) if parts else np.zeros(0, np.float32)
