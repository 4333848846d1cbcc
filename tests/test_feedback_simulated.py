"""The simulated player's practice on a clock that goes on when it is waited for."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
import pytest

from feedback.performing import Asked, simulated
from feedback.playing import TurnRequest, play_simulated
from feedback.practice_events import (
    Begins,
    CountIn,
    Event,
    GoesOn,
    Opened,
    Passed,
    Resting,
    TempoSet,
    TurnOver,
)
from feedback.session import after_count_in
from feedback.settings import SETTINGS
from feedback.simulated import LEAD_SEC, SimulatedPractice
from feedback.sources import listened
from feedback.wishes import BreakOff, End, Start, Tempo, Wishes
from routines.library import load

pytestmark = pytest.mark.usefixtures("ears_remember")

LICK = load("slab-wood-supper")
TEMPO = 150.0
MISTAKES = ((), ("left-hanging",))
ASKED = Asked(
    whole=LICK,
    values={name: row.default for name, row in SETTINGS.items()},
    source="sim",
    tempo_half_bpm=TEMPO,
    passes=2,
    turns=1,
    mistakes=MISTAKES,
    seed=7,
)


class Clock:
    """Goes on when it is waited for, and does something at its times."""

    def __init__(self) -> None:
        self.sec = 100.0
        self.then: list[tuple[float, Callable[[], object]]] = []

    def __call__(self) -> float:
        return self.sec

    def wait(self, sec: float) -> None:
        self.sec += sec
        while self.then and self.then[0][0] <= self.sec:
            self.then.pop(0)[1]()


def _practise(asked: Asked, clock: Clock, wishes: Wishes) -> tuple[SimulatedPractice, list[Event]]:
    practice = simulated(asked, wishes, clock=clock, wait=clock.wait)
    events = []
    for event in practice.events():
        events.append(event)
        if len(events) > 500:
            pytest.fail("it does not end")
    return practice, events


@dataclass(frozen=True, slots=True)
class Watched:
    """A turn that was played through, with which second of it sounded when each event came."""

    practice: SimulatedPractice
    events: list[tuple[Event, float | None]]
    ended_sec: float


@pytest.fixture(scope="module")
def watched() -> Watched:
    clock = Clock()
    practice = simulated(ASKED, clock=clock, wait=clock.wait)
    events = [(event, practice.part_sec()) for event in practice.events()]
    return Watched(practice, events, clock.sec)


def test_it_says_what_the_same_turn_says_at_once(watched: Watched) -> None:
    practice, events = watched.practice, [event for event, _ in watched.events]
    request = TurnRequest(lick=LICK, tempo_half_bpm=TEMPO, mistakes=MISTAKES, seed=7)
    assert practice.turns == [list(play_simulated(request))]
    kinds = [type(event) for event in events if not isinstance(event, (Begins, GoesOn))]
    assert kinds == [Opened, Resting, CountIn, Passed, Passed, TurnOver]


def test_it_takes_the_time_that_it_would_take(watched: Watched) -> None:
    (count_in,) = [event for event, _ in watched.events if isinstance(event, CountIn)]
    assert count_in.begins_sec == pytest.approx(100.0 + LEAD_SEC)
    assert watched.ended_sec == pytest.approx(count_in.begins_sec + count_in.plan.end_sec, abs=0.02)


def test_a_running_pass_is_told_note_by_note_and_never_ahead_of_time(watched: Watched) -> None:
    answered = []
    for event, part_sec in watched.events:
        if isinstance(event, GoesOn) and event.number == 1:
            heard = [note for note in event.outcome.notes if note.heard_midi is not None]
            answered.append(len(heard))
            assert part_sec is not None
            assert all(note.onset_sec is not None and note.onset_sec < part_sec + 0.1 for note in heard)
            assert event.heard_to_sec <= part_sec
    assert answered == sorted(answered)
    assert answered[-1] >= len(LICK.notes) - 1
    assert len(set(answered)) > len(LICK.notes) / 2


def test_broken_off_it_waits_and_starts_again_when_it_is_wished() -> None:
    clock, wishes = Clock(), Wishes()
    clock.then = [
        (103.0, lambda: wishes.add(BreakOff())),
        (130.0, lambda: wishes.add(Tempo(140.0))),
        (130.5, lambda: wishes.add(Start())),
    ]
    practice, events = _practise(replace(ASKED, turns=2), clock, wishes)
    over = [event for event in events if isinstance(event, TurnOver)]
    assert [len(one.passes) for one in over][1] == 2
    assert all(not one.complete for one in over[0].passes)
    after = events[events.index(over[0]) + 1 :]
    assert after[0] == Resting(until_sec=None)
    assert after[1] == TempoSet(tempo_half_bpm=140.0)
    begun = [event for event in events if isinstance(event, CountIn)]
    assert [one.plan.tempo_half_bpm for one in begun] == [TEMPO, 140.0]
    assert begun[1].begins_sec == pytest.approx(130.5 + LEAD_SEC, abs=0.05)
    assert practice.request.tempo_half_bpm == 140.0


def test_it_goes_on_by_itself_or_waits_as_is_asked() -> None:
    clock, wishes = Clock(), Wishes()
    practice, events = _practise(replace(ASKED, passes=1, mistakes=((),), turns=2), clock, wishes)
    rests = [event for event in events if isinstance(event, Resting)]
    assert [one.until_sec is None for one in rests] == [False, False]
    one, two = (turn[0].judged.outcome.notes for turn in practice.turns)  # each by another hand
    assert [note.deviation_ms for note in one] != [note.deviation_ms for note in two]
    clock, wishes = Clock(), Wishes()
    clock.then = [(1000.0, lambda: wishes.add(End()))]
    waiting = replace(ASKED, passes=1, mistakes=((),), turns=2, waits=True)
    practice, events = _practise(waiting, clock, wishes)
    assert events[-1] == Resting(until_sec=None)
    assert len(practice.turns) == 1


def test_ended_in_a_pass_it_tells_what_there_is() -> None:
    clock, wishes = Clock(), Wishes()
    clock.then = [(105.8, lambda: wishes.add(End()))]
    practice, events = _practise(replace(ASKED, turns=None), clock, wishes)
    assert isinstance(events[-1], TurnOver)
    assert practice.turns[0][0].complete
    assert clock.sec < 105.9


def test_mistakes_must_go_with_the_passes() -> None:
    with pytest.raises(ValueError, match="mistakes of 1 passes; the turn has 2"):
        simulated(replace(ASKED, mistakes=((),)))


def test_a_turn_is_heard_to_its_end_at_any_tempo() -> None:
    for tempo in (63.6, 63.7, 61.3, 77.77):
        plan = after_count_in(LICK, tempo, passes=1)
        sound = np.zeros(10, np.float32)
        last = list(listened(sound, 44100, until_sec=plan.end_sec))[-1]
        assert last.now_sec >= plan.end_sec
