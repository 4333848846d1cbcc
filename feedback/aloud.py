"""The simulated player heard over the loudspeaker, in step with what is seen of it.

The problem: what the simulated player does is judged from a sound, and who watches is to hear that very
sound; yet opening an output takes a while and may hang in the sound library, its frames have a clock of their
own, and neither verdicts nor picture may depend on any of that.

What is heard is made by `feedback.sounding.aloud_sound`.

In step: seconds of a turn count from the first stroke of its count-in, which is due at a time of the
monotonic clock; the output says when its frames are heard by that clock, so the turn is laid there. Where the
output loses its step meanwhile (it had nothing to play for a moment), the turn's beginning moves with it, and
the picture follows. It is silent at once but for what the sound card was handed already: its latency, some 20
to 50 ms.

Measured on the software sound card, two shared cores, a window drawn meanwhile, block 256; sound against the
picture's clock, the measurement itself known to some 10 ms: at latency 0.05 7 to 8 ms early throughout, with
two more processes that want all of both cores 11 ms early to 16 ms late, as time stamps wander; at latency
"low" the card had nothing to play some 15 times in a turn of 12 s, 90 ms together, and the sound stayed
between 25 ms early and in step.

The first count-in waits for an output that is being opened, but no longer than `PATIENCE_SEC`: a practice
whose beginning is missing is odd to hear, one that does not begin is worse. An output that opens later is
heard from where the turn is by then.

Threads: "aloud", which is started here, opens and closes the output and may be left behind in the sound
library; everything else is for the one thread that practises, and never waits but in `ready`, `wait` and
`close`.
"""

from __future__ import annotations

import logging
import threading
import time
from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING, Protocol

from feedback import hearing_out
from feedback.errors import exit_code, one_line, tell
from listener.errors import NoDevice

if TYPE_CHECKING:
    import numpy as np

PATIENCE_SEC = 1.0
"""So long is waited for an output to open, counted from when it was asked to."""

CLOSES_SEC = 0.6
"""So long is waited for it to close."""

STEP_SEC = 0.005
"""What a turn's beginning has moved by at least when the picture follows: less is jitter of time stamps."""

NO_LOUDSPEAKER = "no loudspeaker: not heard"

Made = Callable[[int], "np.ndarray"]
"""Makes the sound of a turn, from 0 seconds of its plan, for a rate in samples a second."""

_LOG = logging.getLogger("sevenfall.aloud")


class Output(hearing_out.Output, Protocol):
    """What is opened and played on; see `listener.speaking.Speaker`."""

    @property
    def begun_sec(self) -> float | None: ...
    @property
    def latency_sec(self) -> float: ...
    def silence(self) -> None: ...


class Aloud:
    """Turns that are heard.

    Parameters
    ----------
    opened : callable
        Makes the output, not started yet; may raise OSError or ValueError.
    say : callable
        Is told in one line, once, why nothing is heard; on the thread that practises.
    """

    def __init__(self, opened: Callable[[], Output], say: Callable[[str], None] = tell) -> None:
        self._opened, self._say = opened, say
        self._tried, self._enough = threading.Event(), threading.Event()
        self._thread = threading.Thread(target=self._run, name="aloud", daemon=True)
        self._output: Output | None = None
        self._asked_sec = 0.0
        self._made: Made | None = None
        self._sound: np.ndarray | None = None
        self._laid_sec: float | None = None
        self._told = ""
        self.error: Exception | None = None
        """What opening the output failed by."""
        self.hung = False
        """Whether the output hangs in the sound library, so that leaving the program may hang, too."""

    @property
    def heard(self) -> bool:
        """Whether the output is open, and nothing has gone wrong with it."""
        return self._output is not None and not self._told

    def start(self) -> None:
        """Begin to open the output; returns at once. Once more does nothing."""
        if self._thread.ident is None:
            self._asked_sec = time.monotonic()
            self._thread.start()

    def wait(self, within_sec: float) -> bool:
        """Wait until the output is open or cannot be, so long after `start` at most; whether it is heard."""
        self._tried.wait(max(0.0, self._asked_sec + within_sec - time.monotonic()))
        if self.error is not None:
            self._trouble(self.error)
        return self.heard

    def ready(self, made: Made) -> float:
        """Have the sound of a turn ready, where the output is open within `PATIENCE_SEC`.

        Parameters
        ----------
        made : callable
            Is kept until the turn is silenced: where the output opens later, it is asked then.

        Returns
        -------
        float
            So many seconds at least its count-in must lie ahead to be heard in full.
        """
        self.silence()
        self._made = made
        if not self.wait(PATIENCE_SEC) or self._output is None:
            return 0.0
        self._sound = made(self._output.rate)
        return self._output.latency_sec

    def tend(self, origin_sec: float) -> float:
        """Lay the turn that is ready, or look whether it is in step; to be called again and again.

        Parameters
        ----------
        origin_sec : float
            When its count-in begins, by the monotonic clock.

        Returns
        -------
        float
            When it is heard to have begun; the same where that is not known, or as good as the same.
        """
        output, made = self._output, self._made
        if made is None or not self.wait(0.0) or output is None:
            return origin_sec
        try:
            _ = output.now_sec  # raises where the output has gone
            begun_sec = output.begun_sec
            if begun_sec is None:
                return origin_sec
            laid_sec = self._laid_sec
            if laid_sec is None:
                laid_sec = self._lay(output, made, origin_sec - begun_sec)
        except OSError as error:
            self._trouble(error)
            return origin_sec
        heard_sec = begun_sec + laid_sec
        return heard_sec if abs(heard_sec - origin_sec) >= STEP_SEC else origin_sec

    def silence(self) -> None:
        """Play nothing of the turn any more; returns at once."""
        self._made = self._sound = self._laid_sec = None
        if self._output is not None:
            self._output.silence()

    def close(self) -> None:
        """Fall silent and give the output back; waits a moment at most."""
        self.silence()
        self._enough.set()
        if self._thread.ident is not None:
            self._thread.join(CLOSES_SEC)
            self.hung |= self._thread.is_alive()

    def _lay(self, output: Output, made: Made, at_sec: float) -> float:
        sound = made(output.rate) if self._sound is None else self._sound
        output.play(sound, at_sec)
        self._laid_sec, self._sound = at_sec, None
        return at_sec

    def _trouble(self, error: Exception) -> None:
        """Say once why nothing is heard."""
        if not self._told:
            why = f"not heard: {one_line(error) or type(error).__name__}"
            self._told = NO_LOUDSPEAKER if isinstance(error, NoDevice) else why
            self._say(self._told)

    def _run(self) -> None:
        output: Output | None = None
        try:
            output = self._opened()
            output.start()
            self._output = output
        except Exception as error:
            if exit_code(error) is None:  # a fault of the program: it must be seen, yet end no practice
                _LOG.exception("playing aloud")
            self.error = error
        self._tried.set()
        if self._output is not None:
            self._enough.wait()
            self._output.stop()
        self.hung = output is not None and output.hung


def aloud(device: str | None, values: Mapping[str, str | float]) -> Aloud | None:
    """The output that the flag and the settings ask for, not opened yet; None where they ask for silence."""
    if values["heard"] == "off":
        return None

    def opened() -> Output:
        from feedback.speaking_out import speaker

        return speaker(device, values)

    return Aloud(opened)
