"""The simulated player's practice with its lines: beside a window, or in the terminal alone.

Where it is heard it goes on in real time, and each line comes when it is true of what was heard. In the
terminal without a loudspeaker nobody is kept waiting: it goes as fast as it is computed, and says once why it
is silent.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING

from feedback.aloud import Aloud, aloud
from feedback.errors import INTERRUPTED, exit_code, leave_at_once, one_line, own_standard_error, tell
from feedback.onethread import quick_turns
from feedback.performing import Asked, simulated
from feedback.playing import TurnRequest, play_simulated, turn_lines
from feedback.practice_events import CountIn, Event, Passed, PracticeRequest, TurnOver
from feedback.practice_report import LOUDNESS
from feedback.sources import simulated_turn
from listener.errors import WrongDevice

if TYPE_CHECKING:
    from feedback.backstage import Watch
    from feedback.session import PassOver
    from feedback.wishes import Wishes

OPENS_SEC = 5.0
"""So long the terminal waits for an output to open."""

Say = Callable[[str], None]


class SimulatedPlay:
    """The simulated player's practice; as `feedback.backstage.Work`.

    Parameters
    ----------
    asked : Asked
    wishes : Wishes or None
    say : callable
        Prints a line.
    heard : Aloud, optional
        What it is heard by; is opened and closed here.
    """

    lean_unsure_ms = None
    devices = ""

    def __init__(self, asked: Asked, wishes: Wishes | None, say: Say, heard: Aloud | None = None) -> None:
        self._asked, self._say, self._heard = asked, say, heard
        self._practice = simulated(asked, wishes, heard)
        self._cautioned = False

    @property
    def hung(self) -> bool:
        """Whether the output hangs in the sound library."""
        return self._heard is not None and self._heard.hung

    def part_sec(self) -> float | None:
        """Which second of the turn sounds now; None before the first one. From any thread."""
        return self._practice.part_sec()

    def run(self, watch: Watch) -> None:
        """Play to the end; every event is handed to `watch` as it comes.

        Raises
        ------
        routines.errors.BadRoutine
            If a mistake is unknown, or the lick has no place for it.
        """
        if self._heard is None:
            self._play(watch)
            return
        quick_turns()
        self._heard.start()
        try:
            self._play(watch)
        finally:
            self._heard.close()

    def _play(self, watch: Watch) -> None:
        events = self._practice.events()
        for event in events:
            watch(event)
            if isinstance(event, CountIn):
                request = turn_request(self._asked, self._practice.request)
                for line in turn_lines(request, _passes(events, watch)):
                    self._say(line)
                    self._caution()

    def _caution(self) -> None:
        """Once, under the first line of a turn that is heard."""
        if not self._cautioned and self._heard is not None and self._heard.heard:
            self._cautioned = True
            self._say(f"  {LOUDNESS}")


def in_terminal(asked: Asked, say: Say) -> int:
    """One turn, heard where there is a loudspeaker.

    Parameters
    ----------
    asked : Asked
        Of one turn that does not wait.
    say : callable
        Prints a line.

    Returns
    -------
    int
        The exit code: 0, or 130 where the player interrupted.

    Raises
    ------
    listener.errors.WrongDevice
        If the device that is asked for names no output.
    routines.errors.BadRoutine
        If a mistake is unknown, or the lick has no place for it.
    """
    heard = aloud(asked.device, asked.values)
    if heard is None:
        _at_once(asked, say)
        return 0
    request = turn_request(asked, asked.request)
    simulated_turn(request.plan, mistakes=request.mistakes, seed=request.seed)  # a wrong name ends here
    own_standard_error()  # the sound library has lines of its own
    code = 0
    try:
        heard.start()
        if heard.wait(OPENS_SEC):
            SimulatedPlay(asked, None, say, heard).run(lambda event: None)
        elif isinstance(heard.error, WrongDevice):
            raise heard.error
        else:
            _at_once(asked, say)
    except KeyboardInterrupt:
        code = INTERRUPTED
    except Exception as error:
        heard.close()
        if heard.hung:  # the usual ways out would hang, too
            tell(one_line(error))
            leave_at_once(exit_code(error) or 1)
        raise
    heard.close()
    if code == INTERRUPTED:
        tell("interrupted")
    if heard.hung:
        leave_at_once(code)
    return code


def turn_request(asked: Asked, now: PracticeRequest) -> TurnRequest:
    """The turn that is played now, as its lines need it."""
    return TurnRequest(
        lick=now.lick,
        tempo_half_bpm=now.tempo_half_bpm,
        mistakes=asked.mistakes or ((),) * now.passes,
        seed=asked.seed,
        limits=now.limits,
        rest_bars=now.rest_bars,
    )


def _at_once(asked: Asked, say: Say) -> None:
    request = turn_request(asked, asked.request)
    for line in turn_lines(request, play_simulated(request)):
        say(line)


def _passes(events: Iterator[Event], watch: Watch) -> Iterator[PassOver]:
    """The passes of the turn that runs; every event is handed on as well."""
    for event in events:
        watch(event)
        if isinstance(event, Passed):
            yield event.over
        elif isinstance(event, TurnOver):
            return
