"""A practice that runs on a thread of its own, and is looked at from another.

Threads and who may block:

- the practice's own: runs what it is given to the end; it may wait for the sound.
- the window's: reads `state` and `part_sec`, adds wishes; it never waits for the practice. Only once there is
  no window any more, `stop` waits until all is told.

What crosses: `state` and `fault` are each one store of one frozen object; wishes go through a bounded deque
(`feedback.wishes`); what sounds now is asked of the practice, which answers from any thread.
"""

from __future__ import annotations

import logging
import threading
from collections.abc import Callable
from dataclasses import replace
from typing import Protocol

from feedback.errors import exit_code, one_line
from feedback.playstate import PlayState, after_event
from feedback.practice_events import Event
from feedback.practice_request import PracticeRequest
from feedback.wishes import End, Wish, Wishes

STOP_SEC = 20.0
"""So long a practice has to end, and to report. Mostly it takes no time, but where it is about to hear the
last pass again it computes for some seconds."""

_LOG = logging.getLogger("sevenfall.backstage")

Watch = Callable[[Event], None]


class Work(Protocol):
    """What is run: a practice with whatever it prints and stores."""

    def run(self, watch: Watch) -> None:
        """Practise to the end; every event is handed to `watch` as it comes."""
        ...

    def part_sec(self) -> float | None:
        """Which second of the running part sounds now."""
        ...

    @property
    def lean_unsure_ms(self) -> float | None:
        """A lean within this is not told from none; None where nothing more is known than was asked."""
        ...

    @property
    def devices(self) -> str:
        """Microphone, output and round trip in a line; empty where there are none."""
        ...

    @property
    def hung(self) -> bool:
        """Whether a stream hangs in the sound library."""
        ...


class Backstage:
    """A practice on its own thread.

    Parameters
    ----------
    work : Work
    request : PracticeRequest
    wishes : Wishes
        Those that the work takes.
    """

    def __init__(self, work: Work, request: PracticeRequest, wishes: Wishes) -> None:
        self._work, self._wishes = work, wishes
        self._state = PlayState(request=request)
        self._thread = threading.Thread(target=self._run, name="practice", daemon=True)
        self.fault: BaseException | None = None
        """What the work ended by, if by a fault."""

    @property
    def state(self) -> PlayState:
        """How the practice stands."""
        return self._state

    def part_sec(self) -> float | None:
        """Which second of the running part sounds now; None before the first."""
        return self._work.part_sec()

    def start(self) -> None:
        """Begin."""
        self._thread.start()

    def wish(self, *wishes: Wish) -> None:
        """Wish something of it."""
        for one in wishes:
            self._wishes.add(one)

    @property
    def over(self) -> bool:
        """Whether it has come to its end."""
        return self._state.phase == "over"

    @property
    def alive(self) -> bool:
        """Whether its thread runs."""
        return self._thread.is_alive()

    @property
    def work(self) -> Work:
        """What is run."""
        return self._work

    def end(self) -> None:
        """Wish its end; never waits."""
        self.wish(End())

    def stop(self) -> bool:
        """End it, and wait until it has reported; False where it takes too long, or something hangs."""
        self.end()
        if self._thread.ident is not None:
            self._thread.join(STOP_SEC)
        return not (self._thread.is_alive() or self._work.hung)

    def _watch(self, event: Event) -> None:
        state = after_event(self._state, event, lean_unsure_ms=self._work.lean_unsure_ms)
        self._state = replace(state, devices=self._work.devices)

    def _run(self) -> None:
        said = ""
        try:
            self._work.run(self._watch)
        except BaseException as error:  # told by whoever looks, in the thread that can tell it
            self.fault = error
            said = one_line(error)
            if exit_code(error) is None:
                _LOG.exception("the practice ended")
                said = f"a fault of the program, {type(error).__name__}: {said}"
        trouble = self.fault is not None
        self._state = replace(self._state, phase="over", ended=said, trouble=trouble, goes_on_sec=None)
