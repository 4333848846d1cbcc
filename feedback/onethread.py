"""Threads in each other's way: one for numpy's algebra, and short turns for all that run Python."""

from __future__ import annotations

import os
import sys
import time

NAMES = ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS", "VECLIB_MAXIMUM_THREADS")
"""Variables by which the libraries of linear algebra are told."""

SWITCH_SEC = 0.0005
"""So long one thread may keep the interpreter from the sound card's or the window's; the usual 5 ms are a
block's length, and a third of a frame."""


def quick_turns() -> None:
    """Have threads take turns more often than they usually do."""
    sys.setswitchinterval(SWITCH_SEC)


class Gap:
    """Where long work waits for a frame that is being drawn, so that the two do not share the interpreter.

    The window's thread sets `drawing`, one store of a truth value; whoever has some milliseconds of work asks
    for a gap first, and waits no longer than a frame takes. Sound never asks.
    """

    def __init__(self) -> None:
        self.drawing = False

    def wait(self) -> None:
        """Wait until no frame is drawn, for `LONGEST_SEC` at most."""
        until = time.monotonic() + LONGEST_SEC
        while self.drawing and time.monotonic() < until:
            time.sleep(SWITCH_SEC)


LONGEST_SEC = 0.012
"""So long is waited for a frame at most."""

GAP = Gap()
"""The one of this program."""


def one_thread() -> None:
    """Ask for one thread; to be called before numpy is loaded. What is set already stays."""
    for name in NAMES:
        os.environ.setdefault(name, "1")
