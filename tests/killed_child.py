"""A program to be killed in the middle of a pass, again and again.

`python tests/killed_child.py HOME TIMES SEED`: for each time a process of its own is forked, so that nothing
heavy is loaded anew, and plays a simulated player's turn that is remembered, in the very code that `play`
runs. All of them play the same, so the sound is made and heard once, by the first process, in a home of its
own; from then on the ear's reports are taken as they were, and the rest of each pass is done anew. Once a
child has said a pass or two it is killed by SIGKILL at a random moment within a pass and a half. A line is
printed for each: how many passes it had said by then, how many milliseconds after the last word it was
killed.
"""

from __future__ import annotations

import os
import random
import select
import signal
import sys
import time
from collections.abc import Callable, Iterator
from functools import partial
from itertools import pairwise
from typing import Any

PASSES = 5
"""In a turn: more than are played before it is killed."""


def main(home: str, times: int, seed: int) -> None:
    os.environ["SEVENFALL_HOME"] = os.path.join(home, "first")
    os.environ["SEVENFALL_HEARD"] = "off"
    from feedback import settings, simulated
    from feedback.performing import Asked
    from feedback.simulated_in_terminal import in_terminal
    from routines.library import load

    asked = Asked(
        whole=load("slab-wood-supper"),
        values=settings.load([]),
        source="sim",
        loop="change",
        tempo_half_bpm=220.0,
        passes=PASSES,
        turns=1,
        player="killed",
    )
    simulated.render = _once(simulated.render)
    simulated.listened = _once(simulated.listened)
    in_terminal(asked, lambda line: None)
    said_sec: list[float] = []
    in_terminal(asked, lambda line: said_sec.append(time.monotonic()) if "  pass" in line else None)
    pass_sec = min(later - sooner for sooner, later in pairwise(said_sec))
    os.environ["SEVENFALL_HOME"] = home
    drawn = random.Random(seed)
    for _ in range(times):
        told, tells = os.pipe()
        child = os.fork()
        if child == 0:
            os.close(told)
            code = 1
            try:
                code = in_terminal(asked, partial(_say, tells))
            finally:
                os._exit(code)
        os.close(tells)
        print(*_killed(child, told, drawn, pass_sec), flush=True)
        os.close(told)


def _once(made: Callable[..., Any]) -> Callable[..., Any]:
    """The same, made by the first call only: every turn here is the same turn."""
    kept: list[Any] = []

    def again(*asked: Any, **more: Any) -> Any:
        if not kept:
            found = made(*asked, **more)
            kept.append(list(found) if isinstance(found, Iterator) else found)
        return kept[0]

    return again


def _say(tells: int, line: str) -> None:
    os.write(tells, f"{line}\n".encode())


def _killed(child: int, told: int, drawn: random.Random, pass_sec: float) -> tuple[int, int]:
    """Kill it a random while after a random pass: how many passes it had said, how long after the last."""
    wanted, said, last = drawn.randint(1, 2), b"", time.monotonic()
    while said.count(b"  pass") < wanted and (more := os.read(told, 4096)):
        said += more
        last = time.monotonic()
    until = last + drawn.uniform(0.0, 1.5) * pass_sec
    while (left := until - time.monotonic()) > 0.0:
        if select.select([told], [], [], left)[0] and (more := os.read(told, 4096)):
            said += more
    os.kill(child, signal.SIGKILL)
    after_ms = round(1e3 * (time.monotonic() - last))
    _, status = os.waitpid(child, 0)
    if not os.WIFSIGNALED(status):
        raise SystemExit(f"it had ended by itself: {said.decode()}")
    while more := os.read(told, 4096):
        said += more
    return said.count(b"  pass"), after_ms


if __name__ == "__main__":
    main(sys.argv[1], int(sys.argv[2]), int(sys.argv[3]))
