"""The simulated player in the terminal alone.

Where it is heard it goes on in real time. Without a loudspeaker nobody is kept waiting: it goes as fast as it
is computed, and says once why it is silent.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import Any

from feedback.accompanying import accompanied
from feedback.aloud import Aloud, aloud
from feedback.errors import INTERRUPTED, exit_code, leave_at_once, one_line, own_standard_error, tell
from feedback.performing import Asked
from feedback.playing import play_simulated, turn_lines
from feedback.playing_simulated import SimulatedPlay, turn_request
from feedback.sources import simulated_turn
from feedback.wishes import Wishes
from listener.errors import WrongDevice

OPENS_SEC = 5.0
"""So long the terminal waits for an output to open."""

Say = Callable[[str], None]


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
        return _at_once(asked, say)
    request = turn_request(asked, asked.request)
    simulated_turn(request.plan, mistakes=request.mistakes, seed=request.seed)  # a wrong name ends here
    own_standard_error()  # the sound library has lines of its own
    code = 0
    try:
        heard.start()
        if heard.wait(OPENS_SEC):
            code = min(1, _run(asked, say, heard).unstored)
        elif isinstance(heard.error, WrongDevice):
            raise heard.error
        else:
            code = _at_once(asked, say)
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


def _at_once(asked: Asked, say: Say) -> int:
    """All of it as fast as it is computed; the exit code."""
    if asked.player is None and not asked.warm_up:
        request = turn_request(asked, asked.request)
        for line in turn_lines(request, play_simulated(request)):
            say(line)
        return 0
    return min(1, _run(asked, say, None, **_own_time()).unstored)


def _run(asked: Asked, say: Say, heard: Aloud | None, **clockwork: Callable[..., Any]) -> SimulatedPlay:
    """A practice with its company, played to its end."""
    wishes = Wishes()
    request, company = accompanied(asked, wishes, clock=clockwork.get("clock", time.monotonic))
    play = SimulatedPlay(asked, wishes, say, heard, request=request, company=company, **clockwork)
    play.run(lambda event: None)
    return play


def as_json(asked: Asked) -> int:
    """Print what would be told in the terminal as one JSON object; nothing is heard. The exit code."""
    play = _run(asked, _unsaid, None, **_own_time())
    print(play.json())
    return min(1, play.unstored)


def _unsaid(line: str) -> None:
    """Nothing is said where JSON is asked for."""


def _own_time() -> dict[str, Callable[..., Any]]:
    own = OwnTime()
    return {"clock": own.clock, "wait": own.wait}


class OwnTime:
    """A clock that goes on only when it is waited for: nobody is kept waiting."""

    def __init__(self) -> None:
        self._sec = 0.0

    def clock(self) -> float:
        """Seconds so far."""
        return self._sec

    def wait(self, sec: float) -> None:
        """Let so many pass."""
        self._sec += sec
