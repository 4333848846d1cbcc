"""What commands that sit at a microphone share: it is started, worked with, and left whatever happens."""

from __future__ import annotations

from collections.abc import Callable
from typing import Protocol

from feedback.errors import INTERRUPTED, exit_code, leave_at_once, one_line, tell


class Source(Protocol):
    """What is started and stopped; see `listener.taking.Taking`."""

    @property
    def hung(self) -> bool: ...
    def start(self) -> None: ...
    def stop(self) -> None: ...


def worked_with(source: Source, work: Callable[[], None]) -> int:
    """Start a microphone, do the work, stop it; errors of the work become one line.

    Parameters
    ----------
    source : Source
    work : callable

    Returns
    -------
    int
        The exit code: 0, 130 where the player interrupted, or that of the error.

    Raises
    ------
    OSError
        If it cannot be started; BrokenPipeError also from the work, as nobody reads any more.
    """
    code = 0
    source.start()
    try:
        work()
    except KeyboardInterrupt:
        code = INTERRUPTED
        tell("interrupted")
    except BrokenPipeError:
        raise
    except OSError as error:
        code = exit_code(error) or 1
        tell(one_line(error))
    finally:
        source.stop()
    if source.hung:
        leave_at_once(code)
    return code


def told_trouble(line: str) -> int:
    """Tell why a screen at a microphone could not go on, if anything; returns the exit code.

    Parameters
    ----------
    line : str
        Empty where all was well.
    """
    if not line:
        return 0
    tell(line)
    return 1
