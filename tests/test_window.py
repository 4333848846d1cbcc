"""The real window on an X server without a screen, with xdotool for hands.

What is to be seen is compared with what the views say that it is; what was played is read from what the
program prints beside its window.
"""

from __future__ import annotations

import os
import queue
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

import pygame
import pytest

from feedback.screen.marks import Picture, Sheet
from feedback.screen.paint import Painter
from feedback.screen.views.licks import ListState, licks_picture
from feedback.screen.views.porch import PorchState, porch_picture
from feedback.screen.views.search import Search
from routines.library import load
from tests import xserver
from tests.pictures import alike

pytestmark = pytest.mark.skipif(bool(xserver.missing()), reason=xserver.missing())

SIZE = (1280, 720)
SMALL = (640, 360)
"""Where nobody looks at what is shown: a large window is much to paint."""

PATIENCE_SEC = 60.0
WITHIN_SEC = 20.0
TURNS_SEC = 0.7  # full screen looks the same before and after, and takes no key while it is made
PROGRAM = ("-m", "feedback")
QUICK_DEMO = """
import sys
from feedback.__main__ import main
from feedback.commands import demo
demo.EASED = 1.8
sys.exit(main(["demo"]))
"""
"""The demo quicker than anybody plays it: what it says of itself does not hang on its tempo."""


class Program:
    """The program with its window, and what it prints."""

    def __init__(self, display: xserver.Display, home: Path, words: Sequence[str], **environ: str) -> None:
        given = {**display.environ, "SEVENFALL_HOME": str(home), "OPENBLAS_NUM_THREADS": "1", **environ}
        self.display = display
        self.process = subprocess.Popen(
            [sys.executable, *words],
            env=given,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
            encoding="utf-8",
            errors="replace",
        )
        self.lines: list[str] = []
        self._coming: queue.Queue[str | None] = queue.Queue()
        threading.Thread(target=self._read, daemon=True).start()

    def _read(self) -> None:
        assert self.process.stdout is not None
        for line in self.process.stdout:
            self._coming.put(line.rstrip("\n"))
        self._coming.put(None)

    def until(self, wanted: Callable[[str], bool], within_sec: float = PATIENCE_SEC) -> str:
        """The first line from here on that is wanted."""
        until = time.monotonic() + within_sec
        while True:
            try:
                line = self._coming.get(timeout=max(0.01, until - time.monotonic()))
            except queue.Empty:
                pytest.fail(f"not printed within {within_sec:g} s; so far: {self.lines}")
            if line is None:
                pytest.fail(f"it ended: {self.lines} {self.process.stderr and self.process.stderr.read()}")
            self.lines.append(line)
            if wanted(line):
                return line

    def shows(self, wanted: Picture) -> None:
        """Wait until the window shows a picture, as near as makes no difference to the eye."""
        expected = pygame.Surface(SIZE)
        Painter("paper").paint(expected, wanted)
        until = time.monotonic() + WITHIN_SEC
        while True:
            size, pixels = self.display.pixels()
            if alike(pygame.image.frombytes(pixels, size, "RGB"), expected):
                return
            if time.monotonic() > until:
                pytest.fail("the window does not show what the view says")
            time.sleep(0.1)

    def ended(self) -> tuple[int, str]:
        """Its exit code, and what it wrote to standard error."""
        _, error = self.process.communicate(timeout=PATIENCE_SEC)
        return self.process.returncode, error


@contextmanager
def _program(
    home: Path, words: Sequence[str] = PROGRAM, size: tuple[int, int] = SIZE, **environ: str
) -> Iterator[Program]:
    with xserver.display(size) as display:
        program = Program(display, home, words, SEVENFALL_REST_SEC="0", **environ)
        try:
            try:
                display.window()
            except TimeoutError:
                if program.process.poll() is not None:
                    pytest.fail(f"it ended: {program.ended()}")
                raise
            yield program
        finally:
            program.process.kill()
            program.process.wait(10.0)


def _porch(focus: str = "open play along") -> Picture:
    lick = load("slab-wood-supper")
    state = PorchState(lick=lick, tempo_half_bpm=80.0, source="sim")
    return porch_picture(state, Sheet(), focus)


def test_porch_licks_play_along_after_the_turn_once_more_and_out(tmp_path: Path) -> None:
    with _program(tmp_path, SEVENFALL_SOURCE="sim") as program:
        keys = program.display.keys
        program.shows(_porch())
        keys("Tab", "Return")
        program.shows(licks_picture(ListState(), Sheet(), "filter change"))
        keys("n", "a", "i", "l")
        program.shows(
            licks_picture(ListState(search=Search(typed="nail")), Sheet(), "open a-nail-in-the-oak")
        )
        keys("Return", "Return")
        program.until(lambda line: line.startswith("A Nail in the Oak | key of B"))
        for number in (1, 2):
            said = program.until(lambda line, n=number: line.startswith(f"  pass {n}: "))
            assert said == f"  pass {number}: C landed, resolved"
        keys("space")  # enough of that turn
        program.until(lambda line: line.startswith("  roll print of 2 passes"))
        keys("Return")
        program.until(lambda line: line.startswith("A Nail in the Oak | key of B"))
        keys("Escape")
        keys("Escape", "Escape", "Escape", "Escape")
        assert program.ended() == (0, "")


def test_the_mouse_opens_and_the_window_says_how_it_closes(tmp_path: Path) -> None:
    with _program(tmp_path, SEVENFALL_SOURCE="sim", LC_ALL="C", PYTHONUTF8="0") as program:
        program.shows(_porch())
        spot = next(spot for spot in _porch().spots if spot.does == "open licks")
        program.display.click(round(spot.x + spot.wide / 2), round(spot.y + spot.high / 2))
        program.shows(licks_picture(ListState(), Sheet(), "filter change"))
        for key in ("F11", "F11"):
            program.display.keys(key)
            time.sleep(TURNS_SEC)
            program.shows(licks_picture(ListState(), Sheet(), "filter change"))
        program.display.keys("Escape")
        program.shows(_porch("open licks"))
        program.process.terminate()
        program.process.wait(10.0)


def test_a_display_that_disappears_leaves_what_was_played_told(tmp_path: Path) -> None:
    words = (*PROGRAM, "play", "half-an-inch-of-kerf", "--tempo", "220", "--passes", "2")
    with _program(tmp_path, words, SMALL) as program:
        program.until(lambda line: line.startswith("  pass 1: "))
        program.display.disappear()
        program.until(lambda line: line == "pass 1")
        program.until(lambda line: "third " in line or "flat seven" in line)
        code, error = program.ended()
        assert code == 1
        assert error == "the display has gone\n"


def test_demo_plays_itself_and_prints_the_same_report(tmp_path: Path) -> None:
    shown = ("DISPLAY", "WAYLAND_DISPLAY", "SDL_VIDEODRIVER")
    without = {name: value for name, value in os.environ.items() if name not in shown}
    with _program(tmp_path, ("-c", QUICK_DEMO), SMALL) as program:
        told = subprocess.run(
            [sys.executable, "-c", QUICK_DEMO],
            env={**without, "SEVENFALL_HOME": str(tmp_path)},
            capture_output=True,
            text=True,
            encoding="utf-8",
            check=True,
        ).stdout
        program.until(lambda line: line.startswith("G over A7 was left hanging"))
        program.display.keys("Escape")  # it would close by itself after some seconds
        program.until(lambda line: line.startswith("Rest five minutes in thirty"))
        assert "\n".join(program.lines).strip() == told.strip()
        assert program.ended() == (0, "")
