"""The microphone's sound laid on the clock of what is played.

The problem: what sounds at one position of the stream comes back a round trip later, the round trip moves
when a sound card stumbles, and blocks are lost. Whoever listens should know nothing of this. So the sound
is handed on in such a way that its sample k was taken in when the output's frame k sounded: a round
trip's worth is left out at the beginning; where the round trip grew, as much more is left out; where it
shrank or blocks were lost, silence stands in for what is not there.

Conventions: `fed` counts what was handed on, in samples; a time is seconds of that count plus
`shift_sec`, the small rest (below `SPLICE_SEC`) that the clock says and that is not worth a cut. What
lies about a cut or a loss is a *deaf* stretch: no one should be blamed there.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from listener.clock import Step, StreamClock
from listener.notes import Report
from listener.ring import Block

SPLICE_SEC = 0.005
"""From so much on a moved round trip is mended by a cut."""

AROUND_SEC = 0.1
"""A deaf stretch reaches so far beyond the cut: what is measured of a note takes 70 ms."""

WAITS_SEC = 2.0
"""So long sound is kept until a round trip is known; what is older is given up."""


class Aligner:
    """Lays blocks of one stream on its clock.

    Parameters
    ----------
    rate : int
        Samples a second.
    clock : StreamClock
        Is fed here.
    """

    def __init__(self, rate: int, clock: StreamClock) -> None:
        self.rate = rate
        self.clock = clock
        self.fed = 0
        """Samples handed on; by this count and `shift_sec` the sound is on the output's clock."""
        self._base: int | None = None
        self._next = 0
        self._skip = self._owed = 0
        self._waiting: deque[Block] = deque()
        self._steps: tuple[Step, ...] = ()
        self._deaf: list[tuple[float, float]] = []

    @property
    def shift_sec(self) -> float:
        """What must be added to a time of the sound handed on."""
        if self._base is None:
            return 0.0
        return self._base / self.rate - self.clock.round_trip_sec(self._next)

    @property
    def now_sec(self) -> float:
        """Time up to which sound was handed on."""
        return self.fed / self.rate + self.shift_sec

    def new_deaf(self) -> list[tuple[float, float]]:
        """The deaf stretches found since this was asked last."""
        found, self._deaf = self._deaf, []
        return found

    def settle(self) -> None:
        """Take the best that is known of the round trip from now on; for when nobody plays."""
        self.clock.hold()
        if self._base is not None:
            self._splice()

    def feed(self, block: Block) -> Iterator[np.ndarray]:
        """Take in a block.

        Parameters
        ----------
        block : Block

        Yields
        ------
        ndarray of float32, shape (n,)
            What follows on what was handed on before; `fed` counts it already.
        """
        self.clock.feed(
            block.position, block.adc_sec, block.dac_sec, flags=block.flags, came_sec=block.came_sec
        )
        if self._base is None:
            self._waiting.append(block)
            while self._waiting[0].position < block.position - WAITS_SEC * self.rate:
                self._waiting.popleft()
            if not self.clock.ready:
                return
            self._begin()
            while self._waiting:
                yield from self._lay(self._waiting.popleft())
            return
        yield from self._lay(block)

    def _begin(self) -> None:
        self.clock.hold()
        self._base = self._skip = self._wanted()
        self._steps = self.clock.steps

    def _wanted(self) -> int:
        return max(0, round(self.clock.round_trip_sec(self._next) * self.rate))

    def _lay(self, block: Block) -> Iterator[np.ndarray]:
        lost = block.position - self._next
        if lost > 0:
            self._lose(lost)
            self._owed += lost
        if block.flagged:
            self._lose(0)
        self._next = block.position + len(block.samples)
        steps = self.clock.steps
        new = [step for step in steps if step not in self._steps] if steps != self._steps else []
        self._steps = steps
        if new:
            for step in new:
                self._step(step)
            self._splice()
        elif abs(self.shift_sec) > SPLICE_SEC:
            self._lose(0)
            self._splice()
        if self._owed:
            yield from self._hand_on(np.zeros(self._owed, np.float32))
            self._owed = 0
        yield from self._hand_on(block.samples)

    def _hand_on(self, samples: np.ndarray) -> Iterator[np.ndarray]:
        cut = min(self._skip, len(samples))
        self._skip -= cut
        if cut < len(samples):
            self.fed += len(samples) - cut
            yield samples[cut:]

    def _splice(self) -> None:
        """Lay what follows by the round trip as it is now: more of it is left out, or silence is owed."""
        assert self._base is not None
        wanted = self._wanted()
        moved, self._base = wanted - self._base, wanted
        self._skip += max(0, moved)
        owed = max(0, -moved)
        saved = min(self._skip, owed)
        self._skip -= saved
        self._owed += owed - saved

    def _step(self, step: Step) -> None:
        """The round trip moved: what was on its way then, or was laid wrongly since, is deaf."""
        moved = abs(step.moved_sec)
        at_sec = step.position / self.rate
        begin = at_sec - self.clock.round_trip_sec(self._next) - moved
        end = max(self.now_sec, self.fed / self.rate, at_sec) + moved
        self._deaf.append((begin - AROUND_SEC, end + AROUND_SEC))

    def _lose(self, samples: int) -> None:
        self._deaf.append((self.now_sec - AROUND_SEC, self.now_sec + samples / self.rate + AROUND_SEC))


def shifted(report: Report, by_sec: float) -> Report:
    """A report whose times are later by so much."""
    if by_sec == 0.0:
        return report
    note = report.note
    moved = replace(
        note,
        onset_sec=note.onset_sec + by_sec,
        heard_sec=note.heard_sec + by_sec,
        settled_sec=note.settled_sec + by_sec,
        path=tuple((sec + by_sec, cents) for sec, cents in note.path),
    )
    return replace(report, note=moved)
