"""Lines among the output from beside a window: it goes on where nobody reads them any more."""

from __future__ import annotations

import contextlib
import os
import sys


def print_line(line: str) -> None:
    """One line at once; from the first that cannot be written on, nothing.

    What was not written is dropped, too, or the interpreter would complain of it when it ends.
    """
    try:
        print(line, flush=True)
    except (OSError, ValueError):  # nobody reads, or it is closed
        with contextlib.suppress(OSError, ValueError):
            nowhere = os.open(os.devnull, os.O_WRONLY)
            os.dup2(nowhere, sys.stdout.fileno())
            os.close(nowhere)
