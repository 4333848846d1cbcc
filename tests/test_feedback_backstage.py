"""A practice on its own thread, looked at from here."""

from __future__ import annotations

import threading
from collections.abc import Callable

import pytest

from feedback.backstage import Backstage, Watch
from feedback.errors import CannotDo
from feedback.practice_events import Resting, TempoSet
from feedback.practice_request import PracticeRequest
from feedback.wishes import End, Start, Tempo, Wishes
from routines.library import load

REQUEST = PracticeRequest(lick=load("slab-wood-supper"), tempo_half_bpm=96.0)


class Stand:
    """Work that does what it is told."""

    lean_unsure_ms: float | None = None
    devices = "a microphone"
    hung = False

    def __init__(self, run: Callable[[Watch], None]) -> None:
        self._run = run

    def run(self, watch: Watch) -> None:
        self._run(watch)

    def part_sec(self) -> float | None:
        return 1.5


def _until_end(wishes: Wishes, taken: list[object], told: threading.Event) -> Callable[[Watch], None]:
    def run(watch: Watch) -> None:
        watch(Resting(until_sec=None))
        told.set()
        while True:
            wish = wishes.next()
            if isinstance(wish, End):
                return
            if isinstance(wish, Tempo):
                watch(TempoSet(tempo_half_bpm=wish.half_bpm))
            if wish is not None:
                taken.append(wish)

    return run


def test_events_become_its_state_and_wishes_reach_it() -> None:
    wishes, taken, told = Wishes(), [], threading.Event()
    backstage = Backstage(Stand(_until_end(wishes, taken, told)), REQUEST, wishes)
    assert backstage.state.phase == "opening"
    backstage.start()
    assert told.wait(5.0)
    assert (backstage.state.phase, backstage.state.devices) == ("resting", "a microphone")
    assert backstage.part_sec() == 1.5
    backstage.wish(Tempo(80.0), Start())
    assert backstage.stop()
    assert taken == [Tempo(80.0), Start()]
    assert backstage.state.request.tempo_half_bpm == 80.0
    assert (backstage.over, backstage.state.ended, backstage.fault) == (True, "", None)
    assert not backstage.state.trouble


@pytest.mark.parametrize(
    ("error", "said"),
    [
        (CannotDo("no microphone; plug one in"), "no microphone; plug one in"),
        (ZeroDivisionError("by nought"), "a fault of the program, ZeroDivisionError: by nought"),
    ],
)
def test_what_it_ends_by_is_told_in_a_line(error: Exception, said: str) -> None:
    def run(watch: Watch) -> None:
        raise error

    backstage = Backstage(Stand(run), REQUEST, Wishes())
    backstage.start()
    assert backstage.stop()
    assert (backstage.state.phase, backstage.state.ended, backstage.fault) == ("over", said, error)
    assert backstage.state.trouble


def test_what_does_not_end_or_hangs_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("feedback.backstage.STOP_SEC", 0.05)
    gate = threading.Event()
    backstage = Backstage(Stand(lambda watch: gate.wait(10.0)), REQUEST, Wishes())
    backstage.start()
    assert not backstage.stop()
    gate.set()
    hanging = Stand(lambda watch: None)
    hanging.hung = True
    backstage = Backstage(hanging, REQUEST, Wishes())
    backstage.start()
    assert not backstage.stop()


def test_one_that_was_never_started_is_stopped_at_once() -> None:
    assert Backstage(Stand(lambda watch: None), REQUEST, Wishes()).stop()
