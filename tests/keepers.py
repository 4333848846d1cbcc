"""Streams and a sound library in software for the keeper's tests, which wait until it has told something or
has looked a few more times, and measure no time."""

from __future__ import annotations

import queue
import threading
import time
from collections.abc import Callable, Iterator
from typing import Any

import pytest

from listener import keeper as module
from listener.keeper import Back, Keeper, Lost

SOON_SEC = 20.0
"""What has not happened by then hangs."""


class FakeStream:
    """A stream at 1000 frames a second that is called all the time, until a test says otherwise."""

    rate = 1000

    def __init__(self, *, position: int = 1000, zero_frames: int = 0) -> None:
        self.position, self.zero_frames = position, zero_frames
        self.ended = self.stalled = self.left = False
        self.left_by: list[threading.Thread] = []
        self.closed = threading.Event()
        self.closes: Callable[[], object] = lambda: None

    @property
    def beat_sec(self) -> float:
        return 0.0 if self.stalled or self.position == 0 else time.monotonic()

    def leave(self) -> None:
        self.left = True
        self.left_by.append(threading.current_thread())

    def close(self) -> None:
        assert self.left
        self.closes()
        self.closed.set()


class House:
    """A keeper, what it opens in turn (streams, errors, or calls that return a stream), and what it told."""

    def __init__(self, *opens: Any) -> None:
        self._opens = iter(opens)
        self.opened = self.renewed = 0
        self.news: queue.Queue[Lost | Back] = queue.Queue()
        self.keeper = Keeper(self._open, self._renew, self.news.put)
        self.renews: Callable[[], object] = lambda: None

    @property
    def stream(self) -> object:
        """The one that the keeper says runs now."""
        return self.keeper.stream

    def _open(self) -> Any:
        self.opened += 1
        one = next(self._opens)
        if isinstance(one, Exception):
            raise one
        return one() if callable(one) else one

    def _renew(self) -> None:
        self.renewed += 1
        self.renews()

    def lost(self) -> str:
        """Why the sound went, once that is told."""
        told = self.news.get(timeout=SOON_SEC)
        assert isinstance(told, Lost)
        assert told.at_sec <= time.monotonic()
        return told.line

    def back(self) -> object:
        """The stream that is back, once that is told."""
        told = self.news.get(timeout=SOON_SEC)
        assert isinstance(told, Back)
        assert told.at_sec <= time.monotonic()
        return told.stream


class Looks:
    """Counts how often a keeper has looked; the clock that runs on may jump."""

    def __init__(self) -> None:
        self.count, self.jump_sec = 0, 0.0

    def clock(self) -> float:
        self.count += 1
        return time.monotonic() + 1000.0 + self.jump_sec

    def wait(self) -> None:
        """Until a look that begins from now on is over."""
        until = self.count + 3
        wait_for(lambda: self.count >= until)


def wait_for(told: Callable[[], bool]) -> None:
    """Wait until it is so."""
    deadline = time.monotonic() + SOON_SEC
    while not told():
        assert time.monotonic() < deadline
        time.sleep(0.001)


def looks_fixture() -> Any:
    """A fixture that has keepers look and try again at once, and counts the looks."""

    @pytest.fixture(autouse=True)
    def looks(monkeypatch: pytest.MonkeyPatch) -> Looks:
        looks = Looks()
        monkeypatch.setattr(module, "running_clock_sec", looks.clock)
        monkeypatch.setattr(module, "LOOK_SEC", 0.002)
        monkeypatch.setattr(module, "CLOSING_SEC", SOON_SEC)
        monkeypatch.setattr(module, "BACKOFF_SEC", (0.001,))
        monkeypatch.setattr(module, "STARTS_SEC", SOON_SEC)
        return looks

    return looks


def house_fixture() -> Any:
    """A fixture that starts houses, by what they open, and stops them afterwards."""

    @pytest.fixture
    def house() -> Iterator[Callable[..., House]]:
        houses = []

        def start(*opens: Any) -> House:
            houses.append(House(*opens))
            assert houses[-1].keeper.start() is opens[0]
            return houses[-1]

        yield start
        for one in houses:
            one.keeper.stop()

    return house
