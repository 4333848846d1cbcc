"""Work shared out over processes, in order; and which instruments can be had here."""

from __future__ import annotations

import multiprocessing
import os
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import ProcessPoolExecutor
from contextlib import contextmanager
from functools import partial
from typing import Any

from feedback.errors import CannotDo, one_line
from tests.bench.sounds import SOUNDS

Mapper = Callable[[Callable[[Any], Any], Iterable[Any]], Iterator[Any]]
"""A `map` that keeps the order."""

_AT_ONCE = 4


@contextmanager
def workers(processes: int) -> Iterator[Mapper]:
    """A `map` in order; over processes of their own where there are several.

    Parameters
    ----------
    processes : int
        1 or more.
    """
    if processes == 1:
        yield map
        return
    with ProcessPoolExecutor(processes, mp_context=multiprocessing.get_context("spawn")) as pool:
        yield partial(pool.map, chunksize=_AT_ONCE)


def work_sec() -> float:
    """Processor time that this process and those that it waited for have had, in seconds."""
    return sum(os.times()[:4])


def usable(sounds: Iterable[str]) -> Iterator[str]:
    """Those that can be had here; of one of `tests.bench.sounds.SOUNDS` that cannot a line says why not."""
    for sound in sounds:
        try:
            if sound in SOUNDS:
                SOUNDS[sound].check()
        except CannotDo as error:
            print(f"{sound}: skipped, {one_line(error)}")
        else:
            yield sound
