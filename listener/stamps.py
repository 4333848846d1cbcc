"""One side of a full-duplex stream, the sound coming in or that going out: what its time stamps are worth.

The problem: each callback says when its first frame meets the air. Less the frames counted by then (the
residual), that should stand still, and steps where frames were lost or silence was put in: those steps
are real, and change the round trip. But stamps also jitter, are now and then wild, stand still or are zero;
and where something resamples they wander: they run away by some ms a second and jump back, while the sound
does not move at all.

No sound card's clock is off by more than some 500 ppm, so a side whose residual slopes more is known to
wander. So is one that jumps to and fro. What such a side has shown of slopes and jumps in the last 20 s is
the measure of what may be believed of it: `Side.limit_sec`.

Measured (sound-card.md's card, truth by cross-correlation of noise): jitter 0.2 ms; a step stands in the
stamps within a callback or two; smoothed stamps slope by up to 5 ms a second for seconds together, on either
side, and jump by up to 14 ms under load; true steps were multiples of the block, often several within 0.3 s.
"""

from __future__ import annotations

import math
from collections import deque
from dataclasses import dataclass
from statistics import median

from listener.levels import CHUNK_SEC, RECALL_SEC

CONFIRM_SEC = 0.1
"""A step is told from single wild stamps so long after it, or after three callbacks, whichever is later."""

PERSIST_SEC = 1.5
"""What a wandering side does not show at once is believed when it stayed outside all wander for so long."""

SMALLEST_SEC = 0.0025
"""No smaller step is looked for; smoothed stamps do that much by themselves."""

LARGEST_SEC = 0.020
"""A step of more is one on whatever side: no smoother was seen to jump by more than 14 ms."""

_FOLLOW_SEC = 0.05  # the level follows so fast: a slope of 5 ms a second by 0.25 ms behind
_LOST_SEC = 0.5  # no level for so long, and stamps make no sense; steps came for 0.3 s together
_FLAT = 0.3  # seconds a second that stamps may run away and be a level; those that stand still run 1
_LOOK_SEC = 0.01  # how often what may be a step is looked at: the smallest blocks have ten callbacks a ms
_FLAG_SEC = 0.3  # a flag, or a step that is beyond doubt, speaks for others within this time
_FLAG_SHARE = 0.35  # of the limit, where a flag speaks for a step
_JUMP_SHARE = 1.5  # so many times the greatest jump that was wander
_SLOPE_SHARE = 1.25  # so many times as far as it ran: a saw jumps back by that
_SLOPES_SEC = (
    2.0,
    5.0,
    10.0,
)  # over such times; the smoothers that were seen jump every 1.5 s, at times later
_CLOCK = 500e-6  # no sound card's clock runs off faster
_LEVEL_SEC = 0.0004  # twice the jitter
_MANY = 50  # chunks that show where a side wanders
_BETWEEN = 2  # chunks in which the level follows to where it goes
_CLEAR_SHARE = 0.5  # of all its wander, beyond it: no slope gets there, and no jump of a saw


@dataclass(frozen=True, slots=True)
class Jump:
    """A side's stamps moved against the count of frames.

    Attributes
    ----------
    position : int
        First callback that shows it.
    moved_sec : float
    """

    position: int
    moved_sec: float


class Side:
    """Follows the stamps of one side.

    Parameters
    ----------
    rate : int
        Frames a second.

    Attributes
    ----------
    level_sec : float or None
        Where the residual is, without jitter; None before any stamp made sense.
    moved_sec : float
        Sum of all steps that were confirmed.
    limit_sec : float
        What is nearer to the level than this is no step.
    sane : bool
        Whether stamps make sense now.
    """

    def __init__(self, rate: int) -> None:
        self._rate = rate
        self.level_sec: float | None = None
        self.moved_sec = 0.0
        self.limit_sec = SMALLEST_SEC
        self.sane = False
        self._recent: deque[tuple[int, float]] = deque()
        self._pending: list[tuple[int, float]] = []
        self._look = self._flag = self._last = self._chunk_begin = -(10**9)
        self._good: int | None = None
        self._denied = (0, 0.0)
        self._noise = 0.0
        self._doubts: deque[float] = deque(maxlen=round(RECALL_SEC / CHUNK_SEC))
        self._levels: deque[tuple[int, float]] = deque(maxlen=round(RECALL_SEC / CHUNK_SEC))

    @property
    def settled(self) -> bool:
        """Whether the level is known and nothing speaks against it at the moment."""
        return self.sane and not self._pending

    @property
    def corrected_sec(self) -> float:
        """The level without its steps; 0 before any stamp made sense."""
        return 0.0 if self.level_sec is None else self.level_sec - self.moved_sec

    def feed(self, position: int, stamp_sec: float, flagged: bool) -> Jump | None:
        """Take in a callback.

        Parameters
        ----------
        position : int
            Frames before it.
        stamp_sec : float
            Time of its first frame, by any clock.
        flagged : bool
            Frames are said to be lost about here.

        Returns
        -------
        Jump or None
            A step that is now certain.
        """
        if flagged:
            self._flag = position
        if not 0.0 < stamp_sec < math.inf:
            if self._good is None or position - self._good > _LOST_SEC * self._rate:
                self.sane = False
                self._pending.clear()
            return None
        self._good = position
        residual = stamp_sec - position / self._rate
        self._recent.append((position, residual))
        while len(self._recent) > 8 and position - self._recent[0][0] > 3.0 * CONFIRM_SEC * self._rate:
            self._recent.popleft()
        if self._pending or self.level_sec is None or abs(residual - self.level_sec) > self._limit(position):
            return self._doubt(position, residual)
        return self._absorb(position, residual)

    def change_at(self, position: int) -> float:
        """How far stamps of now lie from those up to CONFIRM_SEC before a position; 0 if unknown."""
        begin = position - CONFIRM_SEC * self._rate
        before = [entry for entry in self._recent if entry[0] < position]
        near = [residual for at, residual in before if at >= begin] or [value for _, value in before[-1:]]
        after = [residual for at, residual in self._recent if at >= position]
        return median(after) - median(near) if near and after else 0.0

    def accept(self, jump: Jump) -> None:
        """Take a step that the other side shows and this side shares, seen or not."""
        if self.level_sec is not None:
            self.level_sec = median(residual for at, residual in self._recent if at >= jump.position)
            self.moved_sec += jump.moved_sec
            self._pending.clear()

    def amend(self, moved_sec: float, wander_sec: float) -> None:
        """Take a step on another witness's word; jumps of up to `wander_sec` are known for wander now."""
        self.moved_sec += moved_sec
        self._levels.clear()
        self.limit_sec = max(self.limit_sec, _SLOPE_SHARE * wander_sec)
        self._denied = self._last, self.limit_sec * (wander_sec > 0.0)

    def _limit(self, position: int) -> float:
        if position - self._flag > _FLAG_SEC * self._rate:
            return self.limit_sec
        return max(SMALLEST_SEC, _FLAG_SHARE * self.limit_sec)

    def _absorb(self, position: int, residual: float) -> Jump | None:
        assert self.level_sec is not None
        off = residual - self.level_sec
        self._noise = max(self._noise, abs(off))
        self.level_sec += min(1.0, (position - self._last) / (_FOLLOW_SEC * self._rate)) * off
        self._last = position
        self.sane = True
        if position - self._chunk_begin < CHUNK_SEC * self._rate:
            return None
        self._chunk_begin = position
        self._levels.append((position, self.corrected_sec))
        jump = self._persisting()
        self._doubts.append(max(_JUMP_SHARE * self._noise, _SLOPE_SHARE * self._ran()))
        self._noise = 0.0
        begin, least = self._denied
        self.limit_sec = min(LARGEST_SEC, max(SMALLEST_SEC, *self._doubts))
        if position - begin < RECALL_SEC * self._rate:
            self.limit_sec = max(self.limit_sec, least)
        return jump

    def _doubt(self, position: int, residual: float) -> Jump | None:
        """Stamps away from the level: wild ones, a step, or no sense at all."""
        pending, limit = self._pending, self._limit(position)
        pending.append((position, residual))
        level = self.level_sec
        if level is not None and all(abs(value - level) <= limit for _, value in pending[-2:]):
            self._learn(level, limit)
            pending.clear()
            return self._absorb(position, residual)
        if position - pending[0][0] < CONFIRM_SEC * self._rate or len(pending) < 3 or position < self._look:
            return None
        self._look = position + round(_LOOK_SEC * self._rate)
        begin = min(position - round(CONFIRM_SEC * self._rate), pending[-3][0])
        values = sorted(value for at, value in pending if at >= begin)
        aside = len(values) // 5
        if values[-1 - aside] - values[aside] <= _FLAT * CONFIRM_SEC:
            return self._settle(position)
        if position - pending[0][0] > _LOST_SEC * self._rate:
            self.sane = False
            self._pending = [entry for entry in pending if entry[0] >= begin]
        return None

    def _learn(self, level: float, limit: float) -> None:
        """Stamps went away and came back: wander, unless it was a single wild one."""
        away = [abs(value - level) for _, value in self._pending if abs(value - level) > limit]
        if len(away) > 1:
            self._noise = max(self._noise, median(away))

    def _settle(self, position: int) -> Jump | None:
        """The pending stamps agree with one another: there the level is now."""
        pending, old, limit = self._pending, self.level_sec, self._limit(position)
        new = median(value for _, value in pending[len(pending) // 2 :])
        if old is not None and abs(new - old) <= limit:
            self._learn(old, limit)
        self._pending = []
        self._last, self.sane = position, True
        if old is None or abs(new - old) > limit:
            self.level_sec = new
        if old is None or abs(new - old) <= limit:
            return None
        first = next(at for at, value in pending if abs(value - new) < abs(value - old))
        return self._confirm(first, new - old)

    def _confirm(self, position: int, moved_sec: float) -> Jump:
        self.moved_sec += moved_sec
        if abs(moved_sec) > LARGEST_SEC:
            self._flag = self._last
        return Jump(position, moved_sec)

    def _persisting(self) -> Jump | None:
        """A step that hid in the wander, but never came back into it."""
        late = round(PERSIST_SEC / CHUNK_SEC)
        if len(self._levels) < _MANY:
            return None
        levels = list(self._levels)
        now = [level for _, level in levels[-late:]]
        earlier = [level for _, level in levels[: -late - _BETWEEN]]
        low, high = min(earlier), max(earlier)
        clear = SMALLEST_SEC + _CLEAR_SHARE * (high - low)
        if max(now) > low - clear and min(now) < high + clear:
            return None
        moved = median(now) - median(earlier)
        self._levels.clear()
        self._levels.append((levels[-1][0], levels[-1][1] - moved))
        return self._confirm(levels[-late][0], moved)

    def _ran(self) -> float:
        """How far the level ran of late, where that is farther than a clock may go; else 0."""
        levels, farthest = list(self._levels), 0.0
        for seconds in _SLOPES_SEC:
            late = levels[-round(seconds / CHUNK_SEC) :]
            ran = max(level for _, level in late) - min(level for _, level in late)
            if ran > _CLOCK * (late[-1][0] - late[0][0]) / self._rate + _LEVEL_SEC:
                farthest = max(farthest, ran)
        return farthest
