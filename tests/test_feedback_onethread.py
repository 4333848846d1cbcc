"""Threads in each other's way: one for algebra, and short turns for all that run Python."""

from __future__ import annotations

import os
import sys
import threading
import time
from collections.abc import Iterator

os.environ.setdefault("SDL_VIDEODRIVER", "dummy")
os.environ.setdefault("PYGAME_HIDE_SUPPORT_PROMPT", "1")

import pytest

from feedback import settings
from feedback.onethread import LONGEST_SEC, NAMES, Gap, one_thread, quick_turns
from feedback.screen.frame import Frame
from feedback.screen.staging import House
from feedback.screen.window import Window

BLOCK_SEC = 256 / 44100
"""Of the sound card, as it is usually asked for."""


@pytest.fixture(autouse=True)
def usual_turns() -> Iterator[None]:
    before = sys.getswitchinterval()
    sys.setswitchinterval(0.005)
    yield
    sys.setswitchinterval(before)


def test_turns_are_shorter_than_a_block_lasts() -> None:
    quick_turns()
    assert sys.getswitchinterval() < BLOCK_SEC / 4


def test_what_a_window_runs_beside_takes_short_turns(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SDL_VIDEODRIVER", "dummy")
    house = House(values=settings.load([], {}), clock=lambda: 0.0)
    frame = Frame(house, "settings")
    frame.close()
    window = Window(house, size_px=(480, 360))
    try:
        assert sys.getswitchinterval() == pytest.approx(0.005)
        window.run(frame)
    finally:
        window.close()
    assert sys.getswitchinterval() < BLOCK_SEC / 4


def test_one_thread_is_asked_for_where_nothing_else_is_set(monkeypatch: pytest.MonkeyPatch) -> None:
    for name in NAMES:
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setenv(NAMES[1], "4")
    one_thread()
    assert [os.environ[name] for name in NAMES] == ["1", "4", "1", "1"]


def test_work_begins_when_the_frame_is_over() -> None:
    gap, begun = Gap(), threading.Event()
    gap.wait()  # nothing is drawn: at once
    gap.drawing = True

    def work() -> None:
        while not begun.is_set():
            gap.wait()
            if not gap.drawing:
                begun.set()

    thread = threading.Thread(target=work)
    thread.start()
    assert not begun.wait(0.05)
    gap.drawing = False
    assert begun.wait(5.0)
    thread.join(5.0)


def test_it_waits_for_no_frame_for_ever() -> None:
    gap = Gap()
    gap.drawing = True
    before = time.monotonic()
    gap.wait()
    assert LONGEST_SEC <= time.monotonic() - before < 5.0
