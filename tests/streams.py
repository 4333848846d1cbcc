"""Callbacks of streams whose truth is known, for the tests of the stream's clock."""

from __future__ import annotations

import math
import random
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field

from listener.clock import StreamClock

RATE = 44100
BLOCK = 256
TRIP = 0.070  # of every stream below, before it steps
WALL = 1.7e9  # stamps are seconds since 1970 in some places


def at(sec: float) -> int:
    """The callback in which that second lies."""
    return math.ceil(sec * RATE / BLOCK) * BLOCK


def saw(range_sec: float, period_sec: float) -> Callable[[float], float]:
    return lambda sec: range_sec * (0.5 - sec % period_sec / period_sec)


def still(_: float) -> float:
    return 0.0


@dataclass
class Stream:
    """Callbacks of a stream whose truth is known: steps are (second, seconds) of a side."""

    came: list[tuple[float, float]] = field(default_factory=list)
    went: list[tuple[float, float]] = field(default_factory=list)
    came_wander: Callable[[float], float] = still
    went_wander: Callable[[float], float] = still
    ppm: float = 0.0
    jitter_sec: float = 0.0002
    block: int = BLOCK

    def callbacks(self, seconds: float) -> Iterable[tuple[int, float, float]]:
        drawn = random.Random(7)
        for position in range(0, round(seconds * RATE), self.block):
            sec = position / RATE
            came, went = (
                sum(moved for begin, moved in steps if position >= at(begin))
                for steps in (self.came, self.went)
            )
            came += self.came_wander(sec) + drawn.uniform(-1, 1) * self.jitter_sec
            went += self.went_wander(sec) + drawn.uniform(-1, 1) * self.jitter_sec + 1e-6 * self.ppm * sec
            yield position, WALL + sec + came, WALL + sec + TRIP + went


def fed(stream: Stream, seconds: float, *, flags: Iterable[float] = (), **known: float) -> StreamClock:
    clock = StreamClock(RATE, **known)
    flagged = {at(sec) for sec in flags}
    for position, adc, dac in stream.callbacks(seconds):
        clock.feed(position, adc, dac, flagged=position in flagged)
    return clock


def changed(
    stream: Stream, change: Callable[[float, float, float], tuple[float, float]], seconds: float = 3.0
) -> StreamClock:
    """A clock with a measured loop of 50 ms and a report of 40, fed stamps that were changed."""
    clock = StreamClock(RATE, measured_sec=0.050, reported_sec=0.040)
    for position, adc, dac in stream.callbacks(seconds):
        clock.feed(position, *change(position / RATE, adc, dac))
    return clock
