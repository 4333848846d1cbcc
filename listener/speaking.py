"""Playing alone: an output, and sounds laid on its count of frames; no microphone is needed.

Threads: PortAudio's (`listener.stream.Output`); opening and closing, which may hang in the sound library,
happen in threads of their own that are waited for a moment and then left behind.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from typing import TYPE_CHECKING

import numpy as np

from listener.errors import DeviceTrouble
from listener.keeper import CLOSING_SEC, OPENING_SEC

if TYPE_CHECKING:
    from listener.stream import Output

STALLS_SEC = 1.0
"""An output that plays nothing for so long has gone."""


class Speaker:
    """An output that is played on.

    Parameters
    ----------
    open_output : callable
        Opens and starts it; see `listener.device.open_output`.
    clock : callable
        Seconds that pass.
    """

    def __init__(
        self, open_output: Callable[[], Output], clock: Callable[[], float] = time.monotonic
    ) -> None:
        self._open, self._clock = open_output, clock
        self._output: Output | None = None
        self._error: Exception | None = None
        self._moved = (0, 0.0)
        self.hung = False
        """Whether the output hangs in the sound library, so that leaving the program may hang, too."""

    def start(self) -> None:
        """Open the output.

        Raises
        ------
        OSError
            As `listener.device.open_output`; DeviceTrouble also where the system does not answer.
        """
        opening = threading.Thread(target=self._opened, name="sound opener", daemon=True)
        opening.start()
        opening.join(OPENING_SEC)
        if self._error is not None:
            raise self._error
        if self._output is None:
            self.hung = True
            raise DeviceTrouble(f"the sound system did not answer within {OPENING_SEC:.0f} s")
        self._moved = (0, self._clock())

    def stop(self) -> None:
        """End it; waits a moment at most."""
        if self._output is None:
            return
        self._output.leave()
        closing = threading.Thread(target=self._output.close, name="sound closer", daemon=True)
        closing.start()
        closing.join(CLOSING_SEC)
        self.hung = closing.is_alive()

    @property
    def rate(self) -> int:
        """Samples a second."""
        return self._running.rate

    @property
    def sink(self) -> str:
        """The output's name."""
        return self._running.sink

    @property
    def now_sec(self) -> float:
        """Time of the frame that was handed to the sound card last.

        Raises
        ------
        DeviceTrouble
            If the output has stood still for `STALLS_SEC`, or was ended by the system.
        """
        output, now = self._running, self._clock()
        if output.position != self._moved[0]:
            self._moved = (output.position, now)
        if output.ended or now - self._moved[1] > STALLS_SEC:
            raise DeviceTrouble(f"{output.sink}: the sound has gone; is it still plugged in?")
        return output.position / output.rate

    @property
    def begun_sec(self) -> float | None:
        """When its time 0 was heard, by the monotonic clock; see `listener.stream.Output.begun_sec`."""
        return self._running.begun_sec

    @property
    def latency_sec(self) -> float:
        """How late what is played is heard, as the system reports it."""
        return self._running.latency_sec

    def silence(self) -> None:
        """Play nothing of what was laid any more; never waits."""
        self._running.playout.clear()

    def play(self, sound: np.ndarray, at_sec: float) -> None:
        """Lay a mono sound at a time of the output."""
        output = self._running
        output.playout.add(sound, round(at_sec * output.rate), now=output.position)

    @property
    def _running(self) -> Output:
        assert self._output is not None, "start() comes first"
        return self._output

    def _opened(self) -> None:
        try:
            self._output = self._open()
        except Exception as error:  # raised by `start`, in the thread that can tell it
            self._error = error
