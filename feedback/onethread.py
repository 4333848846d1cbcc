"""Threads in each other's way: one for numpy's algebra, and short turns for all that run Python."""

from __future__ import annotations

import os
import sys

NAMES = ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS", "VECLIB_MAXIMUM_THREADS")
"""Variables by which the libraries of linear algebra are told."""

SWITCH_SEC = 0.0005
"""So long one thread may keep the interpreter from the sound card's or the window's; the usual 5 ms are a
block's length, and a third of a frame."""


def quick_turns() -> None:
    """Have threads take turns more often than they usually do."""
    sys.setswitchinterval(SWITCH_SEC)


def one_thread() -> None:
    """Ask for one thread; to be called before numpy is loaded. What is set already stays."""
    for name in NAMES:
        os.environ.setdefault(name, "1")
