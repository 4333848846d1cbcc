"""From the sound card's thread to the analysis thread: memory that exists already, and nobody ever waits.

The problem: the callback of a sound card must not wait, allocate or lock. It copies what came into a ring
and goes; another thread takes it out when it gets to it. If that thread falls behind by more than the
ring holds, blocks are dropped and counted, and whoever reads finds the gap in the positions.

Conventions: a position is the number of frames since the stream began, and counts what was dropped, too.
One thread writes, one reads. Each of the two counters is written by one thread only and read by the
other; a counter moves on after what it stands for is in its place, so that what is read is whole (the
interpreter, with or without its lock, keeps the order of one thread's stores as the other one sees them).
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

INPUT_LOST, OUTPUT_GAP = 1, 2
"""Sound of the microphone was lost; there was none to play."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Block:
    """What one callback brought.

    Attributes
    ----------
    position : int
        Of its first frame.
    samples : ndarray of float32, shape (n,)
        A copy.
    adc_sec, dac_sec : float
        When its first frame was taken in, and when the first frame that went out with it will sound, by the
        sound card's clock; 0 or nonsense where the system does not say.
    came_sec : float
        When the callback was called, by the monotonic clock.
    flags : int
        What the system said was lost before it: `INPUT_LOST`, `OUTPUT_GAP`, both or 0.
    given : ndarray of float32, shape (n,)
        What was played at the same positions; a copy. Zeros, or empty, where that is not known.
    """

    position: int
    samples: np.ndarray
    adc_sec: float
    dac_sec: float
    came_sec: float
    flags: int
    given: np.ndarray = field(default_factory=lambda: np.zeros(0, np.float32))

    @property
    def flagged(self) -> bool:
        """Whether anything was lost before it, as the system says."""
        return self.flags != 0


class Ring:
    """A ring of blocks.

    Parameters
    ----------
    blocks : int
        How many blocks it holds.
    frames : int
        Greatest length of a block; a longer one is dropped.

    Raises
    ------
    ValueError
        If either is below 1.
    """

    def __init__(self, blocks: int, frames: int) -> None:
        if blocks < 1 or frames < 1:
            raise ValueError(f"ring of {blocks} blocks of {frames} frames; at least 1 of each is needed")
        self._sound = np.zeros((blocks, frames), np.float32)
        self._given = np.zeros((blocks, frames), np.float32)
        self._about = np.zeros((blocks, 3))
        self._counts = np.zeros((blocks, 3), np.int64)
        self._written = 0
        self._read = 0
        self.position = 0
        """Frames that the writer was given so far."""
        self.dropped_blocks = 0
        """Blocks that found no place."""

    def write(
        self,
        samples: np.ndarray,
        adc_sec: float,
        dac_sec: float,
        came_sec: float,
        flags: int,
        given: np.ndarray | None = None,
    ) -> bool:
        """Take a block in; for the one writing thread.

        Parameters
        ----------
        samples : ndarray of float32, shape (n,)
        adc_sec, dac_sec, came_sec, flags
            As in `Block`.
        given : ndarray of float32, shape (n,), optional
            What is played at the same positions.

        Returns
        -------
        bool
            False if it was dropped.
        """
        size = len(samples)
        position, self.position = self.position, self.position + size
        if self._written - self._read >= len(self._sound) or size > self._sound.shape[1]:
            self.dropped_blocks += 1
            return False
        at = self._written % len(self._sound)
        self._sound[at, :size] = samples
        self._given[at, :size] = 0.0 if given is None else given
        self._about[at] = adc_sec, dac_sec, came_sec
        self._counts[at] = position, size, flags
        self._written += 1
        return True

    def read(self) -> Block | None:
        """Take the oldest block out; for the one reading thread. None if there is none."""
        if self._read == self._written:
            return None
        at = self._read % len(self._sound)
        position, size, flags = (int(value) for value in self._counts[at])
        adc_sec, dac_sec, came_sec = (float(value) for value in self._about[at])
        block = Block(
            position=position,
            samples=self._sound[at, :size].copy(),
            adc_sec=adc_sec,
            dac_sec=dac_sec,
            came_sec=came_sec,
            flags=flags,
            given=self._given[at, :size].copy(),
        )
        self._read += 1
        return block

    @property
    def waiting(self) -> int:
        """Blocks that wait to be read."""
        return self._written - self._read
