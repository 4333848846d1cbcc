"""Callbacks of streams whose truth is known, for the tests of the stream's clock."""

from __future__ import annotations

import math
import random
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from functools import cache

from listener.clock import StreamClock
from listener.steps import Step

RATE = 44100
BLOCK = 256
TRIP = 0.070  # of every stream below, before it steps
WALL = 1.7e9  # stamps are seconds since 1970 in some places
BURST_SEC = 0.019  # callbacks come together so often


def at(sec: float) -> int:
    """The callback in which that second lies."""
    return math.ceil(sec * RATE / BLOCK) * BLOCK


def saw(range_sec: float, period_sec: float) -> Callable[[float], float]:
    return lambda sec: range_sec * (0.5 - sec % period_sec / period_sec)


def still(_: float) -> float:
    return 0.0


@dataclass
class Stream:
    """Callbacks of a stream whose truth is known: steps are (second, seconds) of a side.

    `came` and `went` are what the stamps show; `lost` is sound that the microphone lost, in truth and by its
    stamps. Callbacks come when input is there and the output has room, in bursts, and later by `late`.
    """

    came: list[tuple[float, float]] = field(default_factory=list)
    went: list[tuple[float, float]] = field(default_factory=list)
    lost: list[tuple[float, float]] = field(default_factory=list)
    came_wander: Callable[[float], float] = still
    went_wander: Callable[[float], float] = still
    ppm: float = 0.0
    jitter_sec: float = 0.0002
    block: int = BLOCK
    late: Callable[[float], float] = still

    def callbacks(self, seconds: float) -> Iterable[tuple[int, float, float]]:
        positions = range(0, round(seconds * RATE), self.block)
        for position, (came_jitter, went_jitter) in zip(positions, _jitters(len(positions)), strict=False):
            sec = position / RATE
            came, went = _sum(self.came + self.lost, position), _sum(self.went, position)
            came += self.came_wander(sec) + came_jitter * self.jitter_sec
            went += self.went_wander(sec) + went_jitter * self.jitter_sec + 1e-6 * self.ppm * sec
            yield position, WALL + sec + came, WALL + sec + TRIP + went

    def came_sec(self, position: int) -> float:
        """When a callback came, by a monotonic clock."""
        moved = max(_sum(self.lost, position), _sum(self.went, position))
        sec = (position + self.block) / RATE + moved
        came = math.ceil(sec / BURST_SEC) * BURST_SEC + _unsteady(position)
        return 5000.0 + came + self.late(position / RATE)


_DRAWN = random.Random(7)
_JITTERS: list[tuple[float, float]] = []


def _jitters(count: int) -> list[tuple[float, float]]:
    """Of both stamps, from -1 to 1: the same in every stream, at least so many."""
    while len(_JITTERS) < count:
        _JITTERS.append((_DRAWN.uniform(-1, 1), _DRAWN.uniform(-1, 1)))
    return _JITTERS


@cache
def _unsteady(position: int) -> float:
    return random.Random(position).uniform(0.0, 0.001)


def _sum(steps: list[tuple[float, float]], position: int) -> float:
    return sum(moved for begin, moved in steps if position >= at(begin)) if steps else 0.0


def fed(stream: Stream, seconds: float, *, flags: Iterable[float] = (), **known: float) -> StreamClock:
    clock = StreamClock(RATE, **known)
    flagged = {at(sec) for sec in flags}
    for position, adc, dac in stream.callbacks(seconds):
        clock.feed(position, adc, dac, flags=3 * (position in flagged))
    return clock


def heard(stream: Stream, seconds: float, *, hold: Iterable[float] = ()) -> StreamClock:
    """A clock that hears of the arrivals, too."""
    clock = StreamClock(RATE)
    holds = {at(sec) for sec in hold}
    for position, adc, dac in stream.callbacks(seconds):
        clock.feed(position, adc, dac, came_sec=stream.came_sec(position))
        if position in holds:
            clock.hold()
    return clock


def steps_at(stream: Stream, *secs: float) -> list[tuple[Step, ...]]:
    """The steps of one clock that hears of the arrivals, when so much has been fed, in order of time."""
    clock, told = StreamClock(RATE), list[tuple[Step, ...]]()
    for position, adc, dac in stream.callbacks(secs[-1]):
        while position >= round(secs[len(told)] * RATE):
            told.append(clock.steps)
        clock.feed(position, adc, dac, came_sec=stream.came_sec(position))
    return [*told, clock.steps]


def changed(
    stream: Stream, change: Callable[[float, float, float], tuple[float, float]], seconds: float = 3.0
) -> StreamClock:
    """A clock with a measured loop of 50 ms and a report of 40, fed stamps that were changed."""
    clock = StreamClock(RATE, measured_sec=0.050, reported_sec=0.040)
    for position, adc, dac in stream.callbacks(seconds):
        clock.feed(position, *change(position / RATE, adc, dac))
    return clock
