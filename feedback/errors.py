"""Errors that the command line itself raises, the exit code of every error, lines on standard error."""

from __future__ import annotations

import os
import sys
from typing import NoReturn, TextIO

INTERRUPTED = 130
"""Exit code where the player interrupted."""


class Usage(ValueError):
    """What was typed cannot be taken: an unknown command or option, a value out of range."""


class CannotDo(OSError):
    """What was asked is in order, but could not be done here (a device, a library, a disk)."""


def exit_code(error: BaseException) -> int | None:
    """The exit code that an error stands for.

    Parameters
    ----------
    error : BaseException

    Returns
    -------
    int or None
        2 where what was given is wrong, 1 where it could not be done, 130 where the player interrupted;
        None where the error is a fault of the program.
    """
    from listener.errors import BadSound, WrongDevice
    from routines.errors import BadRoutine

    for kinds, code in (
        ((Usage, BadRoutine, BadSound, WrongDevice), 2),
        ((OSError,), 1),
        ((KeyboardInterrupt,), INTERRUPTED),
    ):
        if isinstance(error, kinds):
            return code
    return None


def one_line(error: BaseException) -> str:
    """The error as one line for standard error: the file or place, what was wrong, what is accepted."""
    if isinstance(error, OSError) and error.filename is not None and error.strerror:
        return f"{error.filename or repr(error.filename)}: {error.strerror[0].lower()}{error.strerror[1:]}"
    if isinstance(error, OSError) and error.strerror:
        return error.strerror
    return " ".join(str(error).split())


def tell(line: str) -> None:
    """One line on standard error, or nowhere where that is closed; never among the output."""
    if sys.stderr is not None:
        print(line, file=sys.stderr)


_owned: list[TextIO] = []


def own_standard_error() -> None:
    """Keep standard error for the program's own lines: what C libraries write to it by themselves is dropped.

    A sound library tells its troubles there, in its own words and in the middle of anything; the player is
    told them in one line. To be called before such a library is loaded; once more does no harm.
    """
    if sys.stderr is None or sys.stderr in _owned:
        return
    try:
        kept = os.dup(2)
        nowhere = os.open(os.devnull, os.O_WRONLY)
    except OSError:  # standard error is closed
        return
    os.dup2(nowhere, 2)
    os.close(nowhere)
    sys.stderr = open(kept, "w", encoding=sys.stderr.encoding, errors="replace", buffering=1)  # noqa: SIM115
    _owned.append(sys.stderr)


def leave_at_once(code: int) -> NoReturn:
    """Leave the program without its usual ways out, which hang where a sound server has died."""
    for stream in (sys.stdout, sys.stderr):
        if stream is not None:
            stream.flush()
    os._exit(code)
