"""The simulated player heard: where its sound lies, when it is silent, and that nothing else changes."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator
from dataclasses import replace
from functools import partial

import numpy as np
import pytest

from feedback import aloud as aloud_module
from feedback.aloud import NO_LOUDSPEAKER, STEP_SEC, Aloud, aloud
from feedback.performing import Asked, simulated
from feedback.player import render
from feedback.practice_events import CountIn, Event, TurnOver
from feedback.setting_rows import SETTINGS
from feedback.simulated import SimulatedPractice
from feedback.sounding import FADES_SEC, aloud_sound, turn_sound
from feedback.sources import SIMULATED_RATE, simulated_turn
from feedback.wishes import BreakOff, Start, Wish, Wishes
from listener.device import MISSING
from listener.errors import DeviceTrouble, LibraryMissing, NoDevice
from listener.playout import Playout
from routines.library import load

pytestmark = pytest.mark.usefixtures("ears_remember")

LICK = load("slab-wood-supper")
BEGUN_SEC = 90.0
MISTAKES = (("seven-swallowed",),)
VALUES = {name: row.default for name, row in SETTINGS.items()}
ASKED = Asked(
    whole=LICK,
    values=VALUES,
    source="sim",
    tempo_half_bpm=200.0,
    passes=1,
    turns=1,
    mistakes=MISTAKES,
    seed=7,
)


class Room:
    """A clock that goes on when it is waited for, and an output that plays meanwhile what was laid on it.

    As `listener.speaking.Speaker`; its time 0 was heard at `begun_sec` by the clock.
    """

    rate, latency_sec, hung = SIMULATED_RATE, 0.25, False

    def __init__(self, *, wrong: Exception | None = None, gone_sec: float = 1e9) -> None:
        self.sec, self.begun_sec = 100.0, BEGUN_SEC
        self.then: list[tuple[float, Callable[[], object]]] = []
        self.let = threading.Event()
        self.let.set()
        self.calls: list[str] = []
        self.played: list[np.ndarray] = []
        self._wrong, self._gone_sec = wrong, gone_sec
        self._playout = Playout()

    def start(self) -> None:
        self.let.wait(10.0)
        self.calls.append("start")
        if self._wrong is not None:
            raise self._wrong

    def stop(self) -> None:
        self.calls.append("stop")

    @property
    def now_sec(self) -> float:
        if self.sec >= self._gone_sec:
            raise DeviceTrouble("Horn: the sound has gone")
        return self.sec - self.begun_sec

    def play(self, sound: np.ndarray, at_sec: float) -> None:
        self._playout.add(sound, round(at_sec * self.rate), now=self._position)

    def silence(self) -> None:
        self._playout.clear()

    def clock(self) -> float:
        return self.sec

    def wait(self, sec: float) -> None:
        self.sec += sec
        begin = self._position
        block = np.empty(round((self.sec - BEGUN_SEC) * self.rate) - begin, np.float32)
        self._playout.mix(begin, block)
        self.played.append(block)
        while self.then and self.then[0][0] <= self.sec:
            self.then.pop(0)[1]()

    def heard(self, begin_sec: float, end_sec: float) -> np.ndarray:
        """What was played between two times of the clock."""
        frames = [round((sec - 100.0) * self.rate) for sec in (begin_sec, end_sec)]
        return np.concatenate(self.played)[frames[0] : frames[1]]

    @property
    def _position(self) -> int:
        """Frames from the output's time 0 to what was played last; the room is entered 10 s after it."""
        return round((100.0 - BEGUN_SEC) * self.rate) + sum(map(len, self.played))


@pytest.fixture(autouse=True)
def _nothing_left_behind() -> Iterator[None]:
    yield
    for thread in threading.enumerate():
        if thread.name == "aloud":
            thread.join(5.0)
            assert not thread.is_alive()


def _practised(
    room: Room, asked: Asked = ASKED, wishes: Wishes | None = None, said: list[str] | None = None
) -> tuple[SimulatedPractice, list[Event]]:
    heard = Aloud(lambda: room, (said if said is not None else []).append)
    practice = simulated(asked, wishes, heard, clock=room.clock, wait=room.wait)
    heard.start()
    try:
        events = list(practice.events())
    finally:
        heard.close()
    assert not heard.hung
    return practice, events


def _count_ins(events: list[Event]) -> list[CountIn]:
    return [event for event in events if isinstance(event, CountIn)]


@pytest.fixture(scope="module")
def alone() -> SimulatedPractice:
    """The same practice, not heard."""
    room = Room()
    practice = simulated(ASKED, clock=room.clock, wait=room.wait)
    list(practice.events())
    return practice


@pytest.fixture(scope="module")
def expected(alone: SimulatedPractice) -> np.ndarray:
    """What is to be heard of the first turn."""
    plan = _plan()
    sound = render(simulated_turn(plan, mistakes=MISTAKES, seed=7), rate=SIMULATED_RATE, seed=7)
    return aloud_sound(alone.request, plan, sound, SIMULATED_RATE, SIMULATED_RATE, first=True)


def _plan():
    from feedback.session import after_count_in

    return after_count_in(LICK, 200.0, passes=1)


def test_the_turn_is_heard_to_the_sample_where_the_picture_has_it(
    alone: SimulatedPractice, expected: np.ndarray
) -> None:
    room, said = Room(), []
    practice, events = _practised(room, said=said)
    (begun,) = _count_ins(events)
    assert begun.begins_sec >= 100.0 + room.latency_sec  # or its first stroke would be cut
    ends_sec = begun.begins_sec + begun.plan.end_sec
    np.testing.assert_array_equal(
        room.heard(begun.begins_sec, ends_sec - 0.02),
        expected[: len(room.heard(begun.begins_sec, ends_sec - 0.02))],
    )
    assert not room.heard(100.0, begun.begins_sec).any()
    assert practice.turns == alone.turns  # verdicts are of the same sound, without click and loudspeaker
    assert (said, room.calls) == ([], ["start", "stop"])


def test_what_the_ear_gets_is_heard_at_its_level_with_the_click_and_fades_out(
    alone: SimulatedPractice, expected: np.ndarray
) -> None:
    plan, request = _plan(), alone.request
    sound = render(simulated_turn(plan, mistakes=MISTAKES, seed=7), rate=SIMULATED_RATE, seed=7)
    click, _ = turn_sound(request, plan, SIMULATED_RATE, first=True)
    click = np.pad(click, (0, len(expected) - len(click)))
    until = round((plan.end_sec - FADES_SEC) * SIMULATED_RATE)
    gain = 10.0 ** (float(VALUES["model_db"]) / 20.0) / np.abs(sound).max()
    np.testing.assert_allclose((expected - click)[:until], gain * sound[:until], atol=1e-6)
    assert np.abs(click).max() > 0.01
    assert (
        np.abs(expected[-20:]).max() < 1e-4 < np.abs(gain * sound[len(expected) - 20 : len(expected)]).max()
    )
    softer = replace(request, model_db=-40.0)
    made = partial(aloud_sound, softer, plan, sound, SIMULATED_RATE, first=True)
    begin = round(plan.first_start_sec * SIMULATED_RATE)
    assert np.abs((made(SIMULATED_RATE) - click)[begin:]).max() == pytest.approx(0.01, rel=1e-3)
    assert len(made(48_000)) / 48_000 == pytest.approx(plan.end_sec, abs=0.001)


def test_broken_off_it_is_silent_at_once_and_the_next_turn_is_heard_again() -> None:
    room, wishes = Room(), Wishes()

    def wished(wish: Wish) -> Callable[[], None]:
        return lambda: wishes.add(wish)

    room.then = [(102.3, wished(BreakOff())), (110.0, wished(Start()))]
    _, events = _practised(room, replace(ASKED, turns=2), wishes)
    _, second = _count_ins(events)
    assert np.abs(room.heard(102.2, 102.3)).max() > 1e-3
    assert not room.heard(102.32, second.begins_sec).any()
    assert np.abs(room.heard(second.begins_sec, second.begins_sec + 0.05)).max() > 1e-3
    assert [len(event.passes) for event in events if isinstance(event, TurnOver)] == [0, 1]


def test_an_output_that_opens_late_is_heard_in_step(
    expected: np.ndarray, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(aloud_module, "PATIENCE_SEC", 0.01)
    room = Room()
    room.let.clear()
    heard = Aloud(lambda: room)
    practice = simulated(ASKED, None, heard, clock=room.clock, wait=room.wait)
    heard.start()

    def opens() -> None:
        room.let.set()
        assert heard.wait(10.0)

    room.then = [(101.5, opens)]
    (begun,) = _count_ins(list(practice.events()))
    heard.close()
    assert not room.heard(100.0, 101.5).any()
    later = room.heard(101.52, 103.0)
    skipped = round((101.52 - begun.begins_sec) * room.rate)
    best = [np.dot(later, expected[k : k + len(later)]) for k in range(skipped - 50, skipped + 51)]
    assert abs(int(np.argmax(best)) - 50) <= 1


def test_the_picture_follows_an_output_that_has_lost_its_step() -> None:
    room, seen = Room(), []
    heard = Aloud(lambda: room)
    practice = simulated(ASKED, None, heard, clock=room.clock, wait=room.wait)

    def loses(sec: float) -> Callable[[], None]:
        def lose() -> None:
            seen.append((room.sec, practice.part_sec()))
            room.begun_sec += sec

        return lose

    room.then = [(101.5, loses(0.6 * STEP_SEC)), (102.0, loses(0.030)), (102.5, loses(0.0))]
    heard.start()
    list(practice.events())
    heard.close()
    origins = [sec - (part_sec or 0.0) for sec, part_sec in seen]
    assert origins[1] == pytest.approx(origins[0])
    assert origins[2] == pytest.approx(origins[0] + 0.030 + 0.6 * STEP_SEC)


def test_sound_that_goes_is_told_once_and_the_practice_goes_on(alone: SimulatedPractice) -> None:
    said: list[str] = []
    practice, _ = _practised(Room(gone_sec=101.7), said=said)
    assert said == ["not heard: Horn: the sound has gone"]
    assert practice.turns == alone.turns


@pytest.mark.parametrize(
    ("wrong", "line"),
    [
        (NoDevice("no sound device: plug one in"), NO_LOUDSPEAKER),
        (LibraryMissing(MISSING), f"not heard: {MISSING}"),
        (DeviceTrouble("Horn: busy"), "not heard: Horn: busy"),
        (ZeroDivisionError(), "not heard: ZeroDivisionError"),
    ],
)
def test_where_nothing_can_be_heard_one_line_says_why(wrong: Exception, line: str) -> None:
    said: list[str] = []
    room = Room(wrong=wrong)
    heard = Aloud(lambda: room, said.append)
    heard.start()
    assert not heard.wait(10.0)
    assert heard.ready(np.zeros) == 0.0
    assert heard.tend(3.0) == 3.0
    heard.close()
    assert said == [line]
    assert room.calls == ["start"]


def test_one_that_does_not_open_is_left_behind_and_given_back_later(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(aloud_module, "CLOSES_SEC", 0.01)
    room = Room()
    room.let.clear()
    heard = Aloud(lambda: room)
    heard.start()
    assert not heard.wait(0.01)
    heard.close()
    assert heard.hung
    room.let.set()
    heard._thread.join(5.0)
    assert room.calls == ["start", "stop"]


def test_it_can_be_turned_off() -> None:
    assert aloud(None, {**VALUES, "heard": "off"}) is None
    assert aloud(None, {**VALUES, "heard": "on"}) is not None
