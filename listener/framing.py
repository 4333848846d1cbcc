"""From blocks of any length to hops of one length, and a memory of the last stretch of sound.

The problem: what arrives comes in blocks of a sound card's or a file's choosing, and what is heard must not
depend on them. Every detector therefore works on hops of a fixed number of samples counted from the first
sample fed; whatever is left over waits for the next block.

Conventions: positions are sample numbers counted from the first sample fed, an end is the number of the
first sample that no longer belongs. Before sample 0 there was silence.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

LOUDEST = 16.0
"""Samples beyond this are damage, not sound (full scale is 1; float files may go over it by some)."""


def cleaned(samples: np.ndarray) -> np.ndarray:
    """Make finite float32 of whatever a file or a sound card delivered.

    Parameters
    ----------
    samples : ndarray, any shape
        Numbers; not-a-number and the infinities are taken for silence.

    Returns
    -------
    ndarray of float32, same shape
        Within `LOUDEST`; the array itself where there is nothing to mend.
    """
    with np.errstate(over="ignore", invalid="ignore"):
        sound: np.ndarray = np.asarray(samples, np.float32)
        flat = sound.reshape(-1)
        if float(flat @ flat) <= LOUDEST * LOUDEST:  # false where anything is no number
            return sound
    sound = np.nan_to_num(sound, nan=0.0, posinf=0.0, neginf=0.0)
    finite: np.ndarray = np.clip(sound, -LOUDEST, LOUDEST)
    return finite


class Hops:
    """Cuts blocks into hops.

    Parameters
    ----------
    hop_samples : int
        Length of a hop, at least 1.

    Raises
    ------
    ValueError
        If `hop_samples` is below 1.
    """

    def __init__(self, hop_samples: int) -> None:
        if hop_samples < 1:
            raise ValueError(f"hop of {hop_samples} samples; at least 1 is needed")
        self._hop = np.zeros(hop_samples, np.float32)
        self._filled = 0

    def reset(self) -> None:
        """Forget what was left over."""
        self._filled = 0

    def left_over(self) -> np.ndarray:
        """What waits for the next block, shorter than a hop; a copy."""
        return self._hop[: self._filled].copy()

    def feed(self, samples: np.ndarray) -> Iterator[np.ndarray]:
        """Take a block, give the hops that it completes.

        Parameters
        ----------
        samples : ndarray of float32, shape (n,)
            Any n, 0 included.

        Yields
        ------
        ndarray of float32, shape (hop_samples,)
            Good until the next one is asked for: the memory is used again.
        """
        size, taken = len(self._hop), 0
        while taken < len(samples):
            fits = min(size - self._filled, len(samples) - taken)
            self._hop[self._filled : self._filled + fits] = samples[taken : taken + fits]
            self._filled += fits
            taken += fits
            if self._filled == size:
                self._filled = 0
                yield self._hop


class Past:
    """The last stretch of sound, readable by sample number without a copy.

    Everything is kept twice, half a buffer apart, so that any stretch lies in one piece.

    Parameters
    ----------
    span_samples : int
        How far back it remembers.
    """

    def __init__(self, span_samples: int) -> None:
        self._span = span_samples
        self._twice = np.zeros(2 * span_samples, np.float32)
        self.end = 0

    def reset(self) -> None:
        """Forget everything."""
        self._twice[:] = 0.0
        self.end = 0

    def append(self, hop: np.ndarray) -> None:
        """Remember a hop that is not longer than the span."""
        at = self.end % self._span
        first = min(len(hop), self._span - at)
        for base in (0, self._span):
            self._twice[base + at : base + at + first] = hop[:first]
            self._twice[base : base + len(hop) - first] = hop[first:]
        self.end += len(hop)

    def between(self, begin: int, end: int) -> np.ndarray:
        """A stretch of the past.

        Parameters
        ----------
        begin, end : int
            Sample numbers; `begin` may lie before 0, where there was silence.

        Returns
        -------
        ndarray of float32, shape (end - begin,)
            A view that the next `append` may change.

        Raises
        ------
        ValueError
            If the stretch is not, or no longer, remembered.
        """
        if not (self.end - self._span <= begin <= end <= self.end):
            raise ValueError(
                f"samples {begin} to {end}; {self.end - self._span} to {self.end} are remembered"
            )
        at = begin % self._span
        return self._twice[at : at + end - begin]
