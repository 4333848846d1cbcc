"""A stand-in for a microphone taken as it is: what is played comes back, as in a room; a hand plays."""

from __future__ import annotations

from collections.abc import Callable
from types import SimpleNamespace

import numpy as np

from listener.keeper import Back, Lost
from listener.playout import Playout
from listener.ring import Block

RATE = 44100
SIZE = 1024


class Desk:
    """Behaves as `listener.taking.Taking` does; each `take` is one block, and no time passes in truth.

    Parameters
    ----------
    trip_sec : float
        The true round trip.
    stamps_sec : float or None
        What the stamps say of it; None where they stand still.
    bleed : float
        Gain of what is played in the microphone; 0 with headphones.
    noise : float
        RMS of the microphone's noise.
    hand : callable, optional
        Given the position and the number of frames, what the player's banjo sounds like there.
    rate : int
    """

    def __init__(
        self,
        *,
        trip_sec: float = 0.041,
        stamps_sec: float | None = 0.030,
        bleed: float = 0.1,
        noise: float = 1e-4,
        hand: Callable[[int, int], np.ndarray] | None = None,
        rate: int = RATE,
    ) -> None:
        self.rate, self.trip_sec, self.stamps_sec = rate, trip_sec, stamps_sec
        self.bleed, self.noise, self.hand = bleed, noise, hand
        self.playout = Playout()
        self.stream = SimpleNamespace(
            source="Mic", sink="Speakers", rate=rate, block=SIZE, latency_sec=0.05, playout=self.playout
        )
        self.position = 0
        self.lose_at: int | None = None
        self.laid: list[tuple[int, np.ndarray]] = []
        self._rng = np.random.default_rng(5)
        self._played = np.zeros(120 * rate, np.float32)

    def play(self, sound: np.ndarray, position: int) -> None:
        self.laid.append((position, sound))
        self.playout.add(sound, position, now=self.position)

    def take(self, wait_sec: float) -> list[Block | Lost | Back]:
        if self.lose_at is not None and self.position >= self.lose_at:
            self.lose_at = None
            return [Lost(line="unplugged", at_sec=0.0)]
        given = np.zeros(SIZE, np.float32)
        self.playout.mix(self.position, given)
        self._played[self.position : self.position + SIZE] = given
        begin = self.position - round(self.trip_sec * self.rate)
        back = np.zeros(SIZE)
        low, high = max(0, begin), max(0, begin + SIZE)
        back[low - begin : high - begin] = self._played[low:high]
        taken = self.bleed * back + self.noise * self._rng.standard_normal(SIZE)
        if self.hand is not None:
            taken = taken + self.hand(self.position, SIZE)
        sec = self.position / self.rate
        adc = 0.0 if self.stamps_sec is None else 100.0 + sec
        block = Block(
            position=self.position,
            samples=taken.astype(np.float32),
            adc_sec=adc,
            dac_sec=adc + (self.stamps_sec or 0.0),
            came_sec=500.0 + sec,
            flags=0,
            given=given,
        )
        self.position += SIZE
        return [block]


def laid_out(sound: np.ndarray, at: int) -> Callable[[int, int], np.ndarray]:
    """A hand that plays a sound from a position on, and nothing else."""

    def hand(position: int, frames: int) -> np.ndarray:
        out = np.zeros(frames)
        low, high = max(position, at), min(position + frames, at + len(sound))
        if low < high:
            out[low - position : high - position] = sound[low - at : high - at]
        return out

    return hand
