"""Work at a microphone that goes on by itself while a window looks at it.

The problem: a tuner and a sound check take sound as it comes and compute for longer than a frame lasts; a
window draws sixty times a second, asks for something else at any moment, and is closed when the player likes.

Threads: the *window's* makes an `Offstage`, looks at its `state`, asks it to begin `anew` and makes its
`end`. The *work's* own opens the microphone, takes its sound, computes, and shows states; it may wait for the
sound, and waits for the window never. PortAudio's and the keeper's are as in `listener.taking`. The window
waits in `end` alone, and there no longer than a microphone is given to close.

What crosses: `state`, which is immutable, is stored as one object by the work's thread only. `_over` and
`_anew` are events. `_source` is stored once by the work's thread, before it looks at `_over` and starts it,
while `end` sets `_over` before it looks at `_source`: so one of the two stops it, and twice does no harm.
"""

from __future__ import annotations

import logging
import threading
from abc import ABC, abstractmethod
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Generic, Protocol, TypeVar

from feedback.errors import exit_code, one_line

if TYPE_CHECKING:
    import numpy as np

    from listener.keeper import Back, Lost
    from listener.ring import Block
    from listener.stream import Stream

State = TypeVar("State")

_LOG = logging.getLogger("sevenfall.offstage")


class Microphone(Protocol):
    """What is worked at; see `listener.taking.Taking`."""

    @property
    def hung(self) -> bool: ...
    @property
    def rate(self) -> int: ...
    @property
    def stream(self) -> Stream: ...
    def start(self) -> None: ...
    def stop(self) -> None: ...
    def play(self, sound: np.ndarray, position: int) -> None: ...
    def take(self, wait_sec: float) -> list[Block | Lost | Back]: ...


class Left(Exception):
    """The window has left; raised where the work takes sound."""


class Anew(Exception):
    """The work is to begin anew, with what is asked now; raised where it takes sound."""


class Attended:
    """A microphone that can be left at any moment: each `take` looks first whether the work is still wanted.

    Parameters
    ----------
    source : Microphone
        Started already.
    look : callable
        Raises `Left` or `Anew`.
    """

    def __init__(self, source: Microphone, look: Callable[[], None]) -> None:
        self._source, self._look = source, look
        self.watch: Callable[[Sequence[Block | Lost | Back]], None] = lambda items: None
        """Is given what was taken before it is handed on."""

    @property
    def rate(self) -> int:
        """Samples a second."""
        return self._source.rate

    @property
    def stream(self) -> Stream:
        """As the microphone's."""
        return self._source.stream

    def play(self, sound: np.ndarray, position: int) -> None:
        """As the microphone's."""
        self._source.play(sound, position)

    def take(self, wait_sec: float) -> list[Block | Lost | Back]:
        """As the microphone's.

        Raises
        ------
        Left, Anew
            If it is not wanted any more, or not as it was.
        """
        self._look()
        items = self._source.take(wait_sec)
        self.watch(items)
        return items


class Offstage(Generic[State]):
    """A piece of work on its own thread; it begins at once.

    Parameters
    ----------
    first : State
        What is seen before the work shows anything.
    make : callable
        Makes the microphone, not started yet; called on the work's thread.
    work : callable
        Is given the microphone and how a state is shown. It lets `Left` through; `Anew` it may catch to begin
        anew, else that ends it.
    failed : callable
        The state after an error, from the state before and one line that says what was wrong.
    """

    def __init__(
        self,
        first: State,
        *,
        make: Callable[[], Microphone],
        work: Callable[[Attended, Callable[[State], None]], None],
        failed: Callable[[State, str], State],
    ) -> None:
        self.state = first
        """What is to be seen now."""
        self._make, self._work, self._failed = make, work, failed
        self._over, self._anew = threading.Event(), threading.Event()
        self._source: Microphone | None = None
        self._thread = threading.Thread(target=self._run, name="offstage", daemon=True)
        self._thread.start()

    @property
    def busy(self) -> bool:
        """Whether the work goes on."""
        return self._thread.is_alive() and not self._over.is_set()

    @property
    def hung(self) -> bool:
        """Whether its microphone hangs in the sound library, so that leaving the program may hang, too."""
        return self._source is not None and self._source.hung

    def anew(self) -> None:
        """Ask the work to begin anew; nothing where it is over."""
        self._anew.set()

    def end(self) -> None:
        """Leave the work: its microphone is closed or left behind, and nothing is shown any more."""
        self._over.set()
        source = self._source
        if source is not None and self._thread.is_alive():
            source.stop()

    def wait(self, most_sec: float) -> bool:
        """Wait until the work is over, at most so long; whether it is."""
        self._thread.join(most_sec)
        return not self._thread.is_alive()

    def _run(self) -> None:
        try:
            source = self._source = self._make()
            if self._over.is_set():
                return
            try:
                source.start()
                self._work(Attended(source, self._look), self._show)
            finally:
                source.stop()
        except (Left, Anew):
            pass
        except Exception as error:
            self._tell(error)

    def _look(self) -> None:
        if self._over.is_set():
            raise Left
        if self._anew.is_set():
            self._anew.clear()
            raise Anew

    def _show(self, state: State) -> None:
        if not self._over.is_set():
            self.state = state

    def _tell(self, error: Exception) -> None:
        """Show what was wrong, so that a fault of the program does not pass for a quiet microphone."""
        line = one_line(error)
        if exit_code(error) is None:
            _LOG.error("a fault of the program", exc_info=error)
            line = f"a fault of the program: {type(error).__name__}: {line}"
        self._show(self._failed(self.state, line))


class Staged(ABC, Generic[State]):
    """Work offstage that may be begun anew: the stage that runs, and what is known of those before it."""

    def __init__(self) -> None:
        self._was_hung = False
        self._stage = self._begun()

    @abstractmethod
    def _begun(self) -> Offstage[State]:
        """Begin the work."""

    def _renew(self) -> None:
        """Leave the stage for another one."""
        self._stage.end()
        self._was_hung |= self._stage.hung
        self._stage = self._begun()

    @property
    def state(self) -> State:
        """What there is to see now."""
        return self._stage.state

    def end(self) -> None:
        """Leave the microphone."""
        self._stage.end()

    @property
    def hung(self) -> bool:
        """Whether the microphone hangs in the sound library, or one did that was opened before."""
        return self._was_hung or self._stage.hung
