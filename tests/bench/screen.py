"""The window: work and pace of its frames while the listener runs, how soon it is there, whether it grows.

Each row is a child of its own that opens the window, lets the simulated player play in real time through the
ear on its thread, and measures each frame: its work (events, view, drawing, flip) and the time since the one
before. The processor's time of the drawing thread is its own clock. Dummy is SDL's driver that shows nothing,
drawn by its software renderer; Xvfb is an X server without a screen.
"""

from __future__ import annotations

import argparse
import json
import os
import subprocess
import sys
import time
from contextlib import ExitStack
from typing import Any

from feedback.errors import CannotDo
from tests import xserver

HELP = "the window: work a frame, intervals, share of a core, first frame, growth"

ROWS = (
    ("slab-wood-supper", 96.0, "flowing", (1280, 720)),
    ("guide-tone-pinches", 60.0, "flowing", (1280, 720)),
    ("half-an-inch-of-kerf", 120.0, "flowing", (1280, 720)),
    ("slab-wood-supper", 96.0, "stepped", (1280, 720)),
    ("slab-wood-supper", 96.0, "flowing", (1920, 1080)),
)
"""Lick, tempo in half notes a minute, motion, size in pixels."""

_LONGEST_SEC = 900.0


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Arguments of the bench."""
    parser.add_argument("--turns", type=int, default=3, metavar="N", help="of four passes, a row (default 3)")
    parser.add_argument("--starts", type=int, default=5, metavar="N", help="times that it is started")
    parser.add_argument("--child", help=argparse.SUPPRESS)


def run(args: argparse.Namespace) -> int:
    """Print the tables."""
    if args.child:
        print(json.dumps(_measured(json.loads(args.child))))
        return 0
    with ExitStack() as stack:
        drivers = {"dummy": {**os.environ, "SDL_VIDEODRIVER": "dummy"}}
        if xserver.missing():
            print(f"without Xvfb: {xserver.missing()}")
        else:
            drivers["Xvfb"] = stack.enter_context(xserver.display((1920, 1080))).environ
        _starts(drivers, args.starts)
        print(_HEAD)
        for driver, environ in drivers.items():
            for lick, tempo, motion, size in ROWS:
                asked = {"lick": lick, "tempo": tempo, "motion": motion, "size": size, "turns": args.turns}
                print(_row(driver, asked, _child(asked, environ)), flush=True)
    return 0


_HEAD = (
    "\ndriver  lick                   tempo  motion   size       frames  work ms 50 / 99 / 99.9 % / worst   "
    "over 25 ms  drawing  ear    memory MB    kept"
)


def _row(driver: str, asked: dict[str, Any], found: dict[str, Any]) -> str:
    size = f"{asked['size'][0]}x{asked['size'][1]}"
    work = " / ".join(f"{found['work'][share]:5.2f}" for share in ("50", "99", "99.9", "100"))
    return (
        f"{driver:<7} {asked['lick']:<22} {asked['tempo']:>5g}  {asked['motion']:<8} {size:<10} "
        f"{found['frames']:>6}  {work:<33}  {found['late_percent']:>8.2f} %  {found['drawing']:.3f}    "
        f"{found['others']:.3f}  {found['memory'][0]:.0f} -> {found['memory'][1]:.0f}   {found['kept']}"
    )


def _child(asked: dict[str, Any], environ: dict[str, str]) -> dict[str, Any]:
    words = [sys.executable, "-m", "tests.bench", "screen", "--child", json.dumps(asked)]
    done = subprocess.run(
        words, env=environ, capture_output=True, text=True, timeout=_LONGEST_SEC, check=False
    )
    if done.returncode:
        raise CannotDo(f"the window could not be measured: {done.stderr.strip().splitlines()[-1:]}")
    found: dict[str, Any] = json.loads(done.stdout.splitlines()[-1])
    return found


def _measured(asked: dict[str, Any]) -> dict[str, Any]:
    """In the child: play in the window, and measure."""
    from feedback import onscreen

    onscreen.prepared()
    import numpy as np

    from feedback import settings
    from feedback.performing import Asked, performing
    from feedback.screen.frame import Frame
    from feedback.screen.screens.play_along import Playing
    from feedback.screen.window import Window
    from feedback.session import PASSES_A_TURN
    from routines.library import load

    values = {**settings.load([]), "motion": asked["motion"], "rest_sec": 1.0, "heard": "off"}
    play = Asked(
        whole=load(asked["lick"]),
        values=values,
        source="sim",
        tempo_half_bpm=asked["tempo"],
        turns=asked["turns"],
        passes=asked.get("passes", PASSES_A_TURN),
    )
    house = onscreen.house_of(values)
    work: list[float] = []
    apart: list[float] = []

    def watched(work_sec: float, apart_sec: float) -> None:
        work.append(1e3 * work_sec)
        apart.append(1e3 * apart_sec)

    window = Window(house, size_px=tuple(asked["size"]), watched=watched)
    backstage = performing(play, lambda line: None)
    frame = Frame(house, "play along", Playing(asked=play, backstage=backstage, closes_sec=0.5))
    before_mb = _memory_mb()
    own, whole, begun = time.thread_time(), time.process_time(), time.monotonic()
    window.run(frame)
    lasted = time.monotonic() - begun
    drawing = (time.thread_time() - own) / lasted
    others = (time.process_time() - whole) / lasted - drawing
    shares = {"50": 50, "99": 99, "99.9": 99.9, "100": 100}
    settled = work[30:], apart[30:]  # the first half second loads the ear
    return {
        "frames": len(work),
        "work": {name: float(np.percentile(settled[0], share)) for name, share in shares.items()},
        "late_percent": 100.0 * float(np.mean(np.array(settled[1]) > 25.0)),
        "drawing": drawing,
        "others": others,
        "memory": (before_mb, _memory_mb()),
        "kept": window.painter.kept,
    }


def _memory_mb() -> float:
    """What the process holds now; 0 where the system does not say."""
    try:
        with open("/proc/self/statm", encoding="ascii") as file:
            return int(file.read().split()[1]) * os.sysconf("SC_PAGE_SIZE") / 1e6
    except OSError:
        return 0.0


def _starts(drivers: dict[str, dict[str, str]], times: int) -> None:
    """How long from the start of the program to the first frame that was shown."""
    print("first frame, seconds after the program was started (warm disk cache)")
    for driver, environ in drivers.items():
        for words in ([], ["play", "slab-wood-supper", "--from", "sim"], ["demo"]):
            took = [_first_frame(words, environ) for _ in range(times)]
            said = " ".join(f"{sec:.2f}" for sec in sorted(took))
            print(f"  {driver:<7} sevenfall {' '.join(words):<34} {said}")


_WATCHED = """\
import sys, time
from feedback import onscreen
from feedback.__main__ import main
onscreen.has_display = onscreen.opens = lambda: True  # a driver that shows nothing counts here
from feedback.screen.library import pygame
flip = pygame.display.flip
def first():
    flip()
    print(time.monotonic(), flush=True)
    import os
    os._exit(0)
pygame.display.flip = first
main(sys.argv[1:])
"""


def _first_frame(words: list[str], environ: dict[str, str]) -> float:
    begun = time.monotonic()
    done = subprocess.run(
        [sys.executable, "-c", _WATCHED, *words],
        env=environ,
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )
    return float(done.stdout.split()[-1]) - begun
