"""When callbacks came, the third witness beside the stamps: was sound of the microphone really lost?

The problem: stamps of an input that something resamples wander, and jump by as much as a true loss does. A
callback comes, by the monotonic clock, when its input is complete; where frames were lost, their count lags
behind that clock from then on for good. So of *lateness* (when a callback came, less the frames before it)
the least within a stretch, its edge, steps up by what was lost, and stays; where only stamps wander it does
not. By itself it proves nothing: callbacks come in bursts, and are late for seconds where the computer is
busy. So a loss counts where edge and stamps agree, and a jump of stamps is taken back where the edge denies
it. The arrivals are no witness

- where the output steps, too: callbacks also wait for room in the output, and are late by its gaps;
- of what was queued: where the round trip has grown, input waits for its callback, and a loss makes the queue
  shorter, and nothing late.

Measured (sound-card.md's card, eight minutes of a wandering input with a busy main thread): without any loss
the edges of 2 s and of the 2 s after them were up to 12 ms apart (mostly 0.5 where little else ran), but if
both edge and stamps rose, the lesser rose by 6.7 ms at most; the one true loss, of 17 ms, moved them by 16
and 19. With 5 ms for `LEAST_SEC` two false losses were found, and six false steps where frames put in were
looked for as well, of which no recording has any. So only losses are looked for. With stamps believed from
12 ms on 12 false jumps were taken and 10 of them taken back; one came 1 s before the end, one 0.5 s after the
beginning.
"""

from __future__ import annotations

import math
from collections import deque
from dataclasses import dataclass
from statistics import median

from listener.levels import CHUNK_SEC
from listener.stamps import Jump
from listener.steps import Steps

SPAN_SEC = 2.0
"""Of what was before, held against as much of what was after: bursts take 20 ms, most spells under 1 s."""

VERDICT_SEC = SPAN_SEC + 3.0 * CHUNK_SEC
"""So long after a step the arrivals have told."""

LEAST_SEC = 0.010
"""What moves less is no business of theirs."""

_AGREE_SEC = 0.005  # edge and stamps of one and the same loss differ by so much
_AGREE_SHARE = 0.3  # or by so much of it
_STILL_SEC = LEAST_SEC / 2.0  # an output that moves less has no part in it
_ENOUGH = 10  # chunks in a span: there are 20, and of long blocks fewer
_JUMPS = 32


@dataclass(frozen=True, slots=True)
class Verdict:
    """By how much the input's steps must be put right.

    Attributes
    ----------
    position : int
        First callback that it concerns.
    moved_sec : float
        Of the input's stamps against the count of frames: a loss that was missed, or the opposite of a step.
    denies : bool
        Whether it is the opposite of a step that was none.
    """

    position: int
    moved_sec: float
    denies: bool


@dataclass(frozen=True, slots=True)
class _Chunk:
    position: int
    least_sec: float
    input_sec: float | None
    output_sec: float | None


class Arrivals:
    """Follows the arrivals of one stream's callbacks; memory for 5 s.

    Parameters
    ----------
    rate : int
        Frames a second.
    steps : Steps
        Of the round trip, as they were counted so far.
    """

    def __init__(self, rate: int, steps: Steps) -> None:
        self._rate, self._steps = rate, steps
        self._span, self._chunk = round(SPAN_SEC * rate), round(CHUNK_SEC * rate)
        self._chunks: deque[_Chunk] = deque(maxlen=round((2.0 * SPAN_SEC + 1.0) / CHUNK_SEC))
        self._begin: int | None = None
        self._least_sec = math.inf
        self._untold: deque[Jump] = deque(maxlen=_JUMPS)
        self._taken: deque[int] = deque(maxlen=_JUMPS)

    def taken(self, jump: Jump) -> None:
        """Learn of a step of the input that was counted by its stamps."""
        self._untold.append(jump)
        self._taken.append(jump.position)

    def feed(
        self, position: int, came_sec: float, input_sec: float | None, output_sec: float | None
    ) -> Verdict | None:
        """Take in a callback.

        Parameters
        ----------
        position : int
            Frames before it.
        came_sec : float
            When it was called, by the monotonic clock.
        input_sec, output_sec : float or None
            Levels of the two sides' stamps with their steps; None where they say nothing now.

        Returns
        -------
        Verdict or None
        """
        if not math.isfinite(came_sec):
            return None
        if self._begin is None:
            self._begin = position
        self._least_sec = min(self._least_sec, came_sec - position / self._rate)
        if position - self._begin < self._chunk:
            return None
        self._chunks.append(_Chunk(self._begin, self._least_sec, input_sec, output_sec))
        self._begin, self._least_sec = None, math.inf
        return self._denied(position) or self._missed(position)

    def _denied(self, now: int) -> Verdict | None:
        """The opposite of a step that the arrivals know nothing of."""
        while self._untold and self._untold[0].position <= now - VERDICT_SEC * self._rate:
            jump = self._untold.popleft()
            told = self._moved(jump.position)
            seen = abs(jump.moved_sec) - self._steps.grown_sec(jump.position)
            if told is None or seen < LEAST_SEC:
                continue
            edge = math.copysign(1.0, jump.moved_sec) * told[0]
            if -seen < edge < seen / 2.0:
                self._taken = deque((at for at in self._taken if at != jump.position), maxlen=_JUMPS)
                return Verdict(jump.position, -jump.moved_sec, True)
        return None

    def _missed(self, now: int) -> Verdict | None:
        """A loss that edge and stamps agree upon, and that was not counted."""
        at = now - round(VERDICT_SEC * self._rate)
        if any(abs(taken - at) <= self._span + self._chunk for taken in self._taken):
            return None
        told = self._moved(at)
        if told is None or min(told) < LEAST_SEC:
            return None
        edge, stamps = told
        if abs(stamps - edge) > max(_AGREE_SEC, _AGREE_SHARE * edge):
            return None
        position = self._place(at, edge)
        self._taken.append(position)
        return Verdict(position, (edge + stamps) / 2.0, False)

    def _moved(self, at: int) -> tuple[float, float] | None:
        """How far edge and input's stamps moved about a position; None if unknown, or if the output moved."""
        before = self._before(at)
        after = self._between(at + self._chunk, at + self._chunk + self._span)
        earlier = [chunk.input_sec for chunk in before if chunk.input_sec is not None]
        later = [chunk.input_sec for chunk in after if chunk.input_sec is not None]
        output = [chunk.output_sec for chunk in before + after if chunk.output_sec is not None]
        if min(len(earlier), len(later), len(output) // 2) < _ENOUGH:
            return None
        if max(output) - min(output) > _STILL_SEC:
            return None
        return _edge(after) - _edge(before), median(later) - median(earlier)

    def _before(self, at: int) -> list[_Chunk]:
        """What is over well before a position; chunks of long blocks are longer."""
        return self._between(at - 2 * self._chunk - self._span, at - 2 * self._chunk)

    def _between(self, begin: int, end: int) -> list[_Chunk]:
        return [chunk for chunk in self._chunks if begin <= chunk.position < end]

    def _place(self, at: int, edge_sec: float) -> int:
        """The first callback of the first chunk from which on all came late."""
        low = _edge(self._before(at)) + edge_sec / 2.0
        place = self._chunks[-1].position
        for chunk in reversed(self._chunks):
            if chunk.least_sec < low:
                break
            place = chunk.position
        return place


def _edge(chunks: list[_Chunk]) -> float:
    return min(chunk.least_sec for chunk in chunks)
