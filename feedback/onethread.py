"""One thread for numpy's algebra: more of them would stand in the way of the ear's and the sound card's."""

from __future__ import annotations

import os

NAMES = ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS", "VECLIB_MAXIMUM_THREADS")
"""Variables by which the libraries of linear algebra are told."""


def one_thread() -> None:
    """Ask for one thread; to be called before numpy is loaded. What is set already stays."""
    for name in NAMES:
        os.environ.setdefault(name, "1")
