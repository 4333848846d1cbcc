"""Work on a thread of its own: what is seen of it, how it is left, begun anew, and how it fails."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from dataclasses import dataclass, field

import pytest

from feedback.errors import CannotDo
from feedback.offstage import Anew, Attended, Microphone, Offstage
from feedback.tuning_thread import TuneAsked, TuningThread
from listener.errors import DeviceTrouble
from routines.neck import Neck
from tests.screen_texts import SOON_SEC, until


@dataclass
class Mic:
    """A microphone whose sound comes when it is let; as `listener.taking.Taking` as far as that goes."""

    trouble: Exception | None = None
    hung: bool = False
    rate: int = 44100
    log: list[str] = field(default_factory=list)
    opening: threading.Event = field(default_factory=threading.Event)
    open_now: threading.Event = field(default_factory=threading.Event)

    def __post_init__(self) -> None:
        self.open_now.set()

    def start(self) -> None:
        self.opening.set()
        self.log.append("start")
        self.open_now.wait(SOON_SEC)
        if self.trouble is not None:
            raise self.trouble

    def stop(self) -> None:
        self.log.append("stop")
        self.open_now.set()

    def take(self, wait_sec: float) -> list:
        threading.Event().wait(min(wait_sec, 0.002))
        return []


def staged(
    mic: Mic,
    work: Callable[[Attended, Callable[[str], None]], None],
    make: Callable[[], Microphone] | None = None,
) -> Offstage[str]:
    return Offstage(
        "first",
        make=make or (lambda: mic),  # type: ignore[arg-type, return-value]
        work=work,
        failed=lambda state, line: f"{state}, then: {line}",
    )


def for_ever(source: Attended, show: Callable[[str], None]) -> None:
    show("at work")
    while True:
        source.take(0.01)


def test_what_is_shown_is_seen_and_the_microphone_is_closed_at_the_end() -> None:
    mic = Mic()
    stage = staged(mic, lambda source, show: show(f"heard at {source.rate}"))
    assert stage.wait(SOON_SEC)
    assert stage.state == "heard at 44100"
    assert mic.log == ["start", "stop"]
    assert not stage.busy


def test_it_is_left_where_it_takes_sound() -> None:
    mic = Mic()
    stage = staged(mic, for_ever)
    assert until(lambda: stage.state == "at work")
    assert stage.busy
    stage.end()
    assert not stage.busy
    assert "stop" in mic.log  # at once, not only when the work looks up
    assert stage.wait(SOON_SEC)
    assert stage.state == "at work"


def test_nothing_is_shown_after_it_was_left() -> None:
    mic, goes_on = Mic(), threading.Event()

    def computes(source: Attended, show: Callable[[str], None]) -> None:
        show("at work")
        goes_on.wait(SOON_SEC)
        show("too late")

    stage = staged(mic, computes)
    assert until(lambda: stage.state == "at work")
    stage.end()
    goes_on.set()
    assert stage.wait(SOON_SEC)
    assert stage.state == "at work"


def test_leaving_does_not_wait_for_a_microphone_that_is_slow_to_open() -> None:
    mic = Mic()
    mic.open_now.clear()
    stage = staged(mic, for_ever)
    assert mic.opening.wait(SOON_SEC)
    stage.end()
    assert stage.wait(SOON_SEC)
    assert stage.state == "first"
    assert mic.log[0] == "start"
    assert mic.log.count("stop") == 2


def test_a_microphone_that_is_made_after_it_was_left_is_not_started() -> None:
    mic, made = Mic(), threading.Event()

    def make() -> Microphone:
        made.wait(SOON_SEC)
        return mic  # type: ignore[return-value]

    stage = staged(mic, for_ever, make)
    stage.end()
    made.set()
    assert stage.wait(SOON_SEC)
    assert mic.log == []


def test_it_begins_anew_on_the_same_microphone() -> None:
    mic, rounds = Mic(), []

    def again(source: Attended, show: Callable[[str], None]) -> None:
        while True:
            rounds.append(1)
            show(f"round {len(rounds)}")
            try:
                while True:
                    source.take(0.01)
            except Anew:
                continue

    stage = staged(mic, again)
    assert until(lambda: stage.state == "round 1")
    stage.anew()
    assert until(lambda: stage.state == "round 2")
    assert mic.log == ["start"]
    stage.end()
    assert stage.wait(SOON_SEC)
    assert len(rounds) == 2


@pytest.mark.parametrize(
    ("error", "line"),
    [
        (DeviceTrouble("no sound device"), "no sound device"),
        (CannotDo("given up"), "given up"),
        (KeyError("x"), "a fault of the program: KeyError: 'x'"),
    ],
)
def test_an_error_becomes_one_line(error: Exception, line: str) -> None:
    mic = Mic(trouble=error)
    stage = staged(mic, for_ever)
    assert stage.wait(SOON_SEC)
    assert stage.state == f"first, then: {line}"
    assert mic.log == ["start", "stop"]


def test_what_hangs_is_told() -> None:
    assert not staged(Mic(), lambda source, show: None).hung
    stage = staged(Mic(hung=True), lambda source, show: None)
    assert stage.wait(SOON_SEC)
    assert stage.hung


def test_what_was_taken_is_seen_before_it_is_handed_on() -> None:
    mic, seen = Mic(), list[object]()

    def work(source: Attended, show: Callable[[str], None]) -> None:
        source.watch = lambda items: seen.append(list(items))
        assert source.take(0.001) == []
        show(f"{len(seen)} seen")

    stage = staged(mic, work)
    assert stage.wait(SOON_SEC)
    assert stage.state == "1 seen"


def test_a_tuner_without_a_microphone_says_so_and_tries_again_only_when_asked() -> None:
    made = []

    def make() -> Microphone:
        made.append(1)
        raise OSError("no sound device: plug one in")

    thread = TuningThread(TuneAsked(Neck()), make)
    for tries in (1, 2):
        until = time.monotonic() + 5.0
        while thread.state.phase != "failed" and time.monotonic() < until:
            time.sleep(0.005)
        for _ in range(5):
            thread.tick()
        assert (thread.state.phase, thread.state.news) == ("failed", "no sound device: plug one in")
        assert len(made) == tries
        if tries == 1:
            thread.ask(TuneAsked(Neck()))
    thread.end()
