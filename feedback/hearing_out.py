"""A lick heard over the loudspeaker while the window goes on: opened, played and ended beside it.

The problem: opening an output takes a while and may hang in the sound library, a model takes a moment to be
made, and a window that waits for either stands still.

Threads: "hearing", which is started here and left behind where the sound library does not let it go; it
opens, plays and closes (`listener.speaking` has its own threads for what can hang). `state` is written by
it and read by anyone: a text, put in place whole. `stop` only sets an event; it never waits.
"""

from __future__ import annotations

import logging
import threading
from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING, Protocol

from feedback.errors import exit_code, one_line
from routines.lick import Lick

if TYPE_CHECKING:
    import numpy as np

    from feedback.speaking_out import Speaking

ROUNDS = 2
"""So often the lick is played, with a bar of rest between."""

_REST_BARS = 1
_LOG = logging.getLogger("sevenfall.hearing")

STARTING, SOUNDING, ENDING, OVER = "starting", "sounding", "ending", "over"
"""What `HearingOut.state` is while all is well; anything else is an error in one line."""


class Output(Protocol):
    """What is opened and played on; see `listener.speaking.Speaker`."""

    hung: bool

    @property
    def rate(self) -> int: ...
    @property
    def now_sec(self) -> float: ...
    def play(self, sound: np.ndarray, at_sec: float) -> None: ...
    def start(self) -> None: ...
    def stop(self) -> None: ...


class HearingOut:
    """A lick that is heard as a model.

    Parameters
    ----------
    lick : Lick
    tempo_half_bpm : float
    values : mapping
        The settings; see `feedback.settings.load`.
    device : str, optional
        As `--device` has it.
    opened : callable, optional
        Makes the output of device and settings; stands for `feedback.speaking_out.speaker`.
    made : callable, optional
        Makes the sound of a rate; stands for `feedback.modelling.model`.
    """

    def __init__(
        self,
        lick: Lick,
        tempo_half_bpm: float,
        values: Mapping[str, str | float],
        device: str | None = None,
        *,
        opened: Callable[[str | None, Mapping[str, str | float]], Output] | None = None,
        made: Callable[[int], np.ndarray] | None = None,
    ) -> None:
        self._lick, self._tempo, self._device = lick, tempo_half_bpm, device
        self._values = dict(values)
        self._opened, self._made = opened or _speaker, made or self._model
        self._enough = threading.Event()
        self._thread = threading.Thread(target=self._run, name="hearing", daemon=True)
        self._state = STARTING
        self.hung = False
        """Whether the output hangs in the sound library, so that leaving the program may hang, too."""

    @property
    def state(self) -> str:
        """What it is doing: one of the four words above ("ending": asked to stop), or an error's line."""
        if self._state in (STARTING, SOUNDING) and self._enough.is_set():
            return ENDING
        return self._state

    @property
    def goes_on(self) -> bool:
        """Whether the output is not given back yet."""
        return self.state in (STARTING, SOUNDING, ENDING)

    def start(self) -> None:
        """Begin; returns at once. To be called once."""
        self._thread.start()

    def stop(self) -> None:
        """End it; returns at once, and it is silent within a blink where the sound library answers."""
        self._enough.set()

    def ended(self, within_sec: float) -> bool:
        """Stop it and wait a moment; whether it has ended, with nothing left hanging in the sound library."""
        self._enough.set()
        self._thread.join(within_sec)
        return not (self._thread.is_alive() or self.hung)

    def _run(self) -> None:
        try:
            self._play()
        except Exception as error:
            if exit_code(error) is None:  # a fault of the program: it must be seen, yet not end the window
                _LOG.exception("hearing a lick")
            self._state = one_line(error) or type(error).__name__
        else:
            self._state = OVER

    def _play(self) -> None:
        output = self._opened(self._device, self._values)
        try:
            output.start()
            sound = self._made(output.rate)
            if not self._enough.is_set():
                self._state = SOUNDING
                self._speak(output, sound)
        finally:
            output.stop()
            self.hung = output.hung

    def _speak(self, output: Speaking, sound: np.ndarray) -> None:
        from feedback.speaking_out import Piece, speak

        try:
            speak(output, [Piece(sound=sound)], wait=self._wait)
        except _Enough:
            return

    def _wait(self, sec: float) -> None:
        if self._enough.wait(sec):
            raise _Enough

    def _model(self, rate: int) -> np.ndarray:
        from feedback.modelling import model

        return model(
            self._lick,
            tempo_half_bpm=self._tempo,
            rate=rate,
            rounds=ROUNDS,
            rest_bars=_REST_BARS,
            level_db=float(self._values["model_db"]),
        )


class _Enough(Exception):
    """Asked to stop."""


def _speaker(device: str | None, values: Mapping[str, str | float]) -> Output:
    from feedback.speaking_out import speaker

    return speaker(device, values)
