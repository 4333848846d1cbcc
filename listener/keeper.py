"""Keeps a stream running: opens it, watches it, and when it goes, gets it back by itself.

Threads: the keeper's own is the only one that opens and renews; it may block in the sound library for as long
as that pleases, and nobody waits for it but whoever starts (`start`, bounded). Closing, which hangs where a
sound server has died, happens in a thread of its own that is waited for a moment and then left behind; the
stream that was left plays nothing and asks for its end if it is ever called again. What crosses threads:
`stream` and the news, each one store of one object.
"""

from __future__ import annotations

import logging
import sys
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from listener.errors import DeviceTrouble
from listener.heartbeat import Heartbeat, Trouble

if TYPE_CHECKING:
    from listener.stream import Stream

FRESH = "opened anew, to have its round trip short again"

LOOK_SEC = 0.05
"""So often a stream is looked at."""

CLOSING_SEC = 0.3
"""So long a stream is given to close."""

OPENING_SEC = 10.0
"""So long the first opening may take."""

BACKOFF_SEC = (0.1, 0.25, 0.5, 1.0, 1.0, 2.0)
"""Waits before the attempts to get a stream back; the last one goes on."""

STARTS_SEC = 1.0
"""A stream that was opened anew must be called within that time, at each further attempt so much more."""

STARTS_MOST = 5
"""So many times that at most."""

_LOG = logging.getLogger("sevenfall.keeper")


@dataclass(frozen=True, slots=True, kw_only=True)
class Lost:
    """The sound is gone.

    Attributes
    ----------
    line : str
        Why, in one line.
    at_sec : float
        When it was noticed, by the monotonic clock.
    """

    line: str
    at_sec: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Back:
    """The sound is there again, on the same stream or another one."""

    stream: Stream
    at_sec: float


def running_clock_sec() -> float:
    """A clock that runs on while the system sleeps, and that nobody sets.

    Where there is none beside `time.monotonic`, which runs on there (Windows), it is that one: who sleeps is
    then seen by callbacks that did not come.
    """
    if hasattr(time, "CLOCK_BOOTTIME"):
        return time.clock_gettime(time.CLOCK_BOOTTIME)
    if sys.platform == "darwin":  # Python's monotonic clock stands still in sleep there, this one does not
        return time.clock_gettime(time.CLOCK_MONOTONIC)
    return time.monotonic()


class Keeper:
    """Keeps a stream.

    Parameters
    ----------
    open_stream : callable
        Opens and starts one; may raise OSError.
    renew : callable
        Starts the sound library anew; may raise OSError.
    tell : callable
        Is given `Lost` and `Back`, in turn, from the keeper's thread; must not wait.
    """

    def __init__(
        self,
        open_stream: Callable[[], Stream],
        renew: Callable[[], None],
        tell: Callable[[Lost | Back], None],
    ) -> None:
        self._open, self._renew, self._tell = open_stream, renew, tell
        self._stopping = threading.Event()
        self._opened = threading.Event()
        self._error: Exception | None = None
        self._heartbeat = Heartbeat()
        self._thread = threading.Thread(target=self._run, name="sound keeper", daemon=True)
        self.stream: Stream | None = None
        """The one that runs now; None before the first."""
        self._fresh = threading.Event()
        self.hung = 0
        """Streams that did not close in time and were left behind; the keeper itself, where it was."""

    def start(self) -> Stream:
        """Open the first stream.

        Raises
        ------
        OSError
            As `listener.device.open_stream`; DeviceTrouble also where the system does not answer.
        """
        self._thread.start()
        if not self._opened.wait(OPENING_SEC):
            self._stopping.set()
            raise DeviceTrouble(f"the sound system did not answer within {OPENING_SEC:.0f} s")
        if self._error is not None:
            raise self._error
        assert self.stream is not None
        return self.stream

    def freshen(self) -> None:
        """Have the stream opened anew: for when nobody plays and its round trip has grown. Never waits."""
        self._fresh.set()

    def stop(self) -> None:
        """End it all; waits a moment at most."""
        self._stopping.set()
        stream = self.stream
        if stream is not None:
            stream.leave()
        if self._thread.ident is not None:
            self._thread.join(2.0 * CLOSING_SEC + LOOK_SEC)
            self.hung += self._thread.is_alive()

    def _run(self) -> None:
        try:
            stream = self.stream = self._open()
        except Exception as error:
            self._error = error
            return
        finally:
            self._opened.set()
        self._is_called(stream, STARTS_SEC)  # one that takes its time to start does not stand still
        told: str | None = None
        while not self._stopping.wait(LOOK_SEC):
            trouble = self._heartbeat.look(stream, time.monotonic(), running_clock_sec())
            if self._fresh.is_set() and trouble is None and told is None:
                trouble = Trouble(line=FRESH, reopen=True)
            if trouble is not None and trouble.line != told and trouble.line != FRESH:
                told = trouble.line
                self._tell(Lost(line=trouble.line, at_sec=time.monotonic()))
            if trouble is not None and trouble.reopen:
                _LOG.info("lost: %s", trouble.line)
                self._close(stream)
                again = self._get_back()
                if again is None:
                    return
                stream = self.stream = again
                self._heartbeat.begin()
                self._fresh.clear()
            elif trouble is None and told is not None and self._sounds(stream):
                told = None
                self._tell(Back(stream=stream, at_sec=time.monotonic()))
        self._close(stream)

    def _sounds(self, stream: Stream) -> bool:
        """Whether a stream has run for a moment, and its latest sound was not zeros, or that says nothing."""
        return stream.position > stream.rate // 10 and (stream.zero_frames == 0 or self._heartbeat.gated)

    def _get_back(self) -> Stream | None:
        """Try until a stream runs; None if it was stopped meanwhile."""
        attempt = 0
        while not self._stopping.wait(BACKOFF_SEC[min(attempt, len(BACKOFF_SEC) - 1)]):
            attempt += 1
            try:
                self._renew()
                stream = self._open()
            except Exception as error:
                _LOG.info("attempt %d: %s", attempt, error)
                continue
            if self._is_called(stream, STARTS_SEC * min(attempt, STARTS_MOST)):
                _LOG.info("back at attempt %d", attempt)
                return stream
            self._close(stream)
        return None

    def _is_called(self, stream: Stream, within_sec: float) -> bool:
        until = time.monotonic() + within_sec
        while time.monotonic() < until and not self._stopping.is_set():
            if stream.position > 0:
                return True
            time.sleep(LOOK_SEC / 5)
        return False

    def _close(self, stream: Stream) -> None:
        """Close a stream, or leave it behind where that hangs."""
        stream.leave()
        closing = threading.Thread(target=_close_quietly, args=(stream,), name="sound closer", daemon=True)
        closing.start()
        closing.join(CLOSING_SEC)
        if closing.is_alive():
            self.hung += 1
            _LOG.info("a stream did not close and was left behind")


def _close_quietly(stream: Stream) -> None:
    try:
        stream.close()
    except Exception:
        _LOG.info("closing", exc_info=True)
