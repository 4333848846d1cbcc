"""Around the passes of a practice: the last one heard again, loops, backing, the lick itself, strings."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from feedback.drifting import Drifted
from feedback.practice import LEAD_SEC, Practice
from feedback.practice_events import CountIn, Event, HeardAgain, SoundLost, StringOff, TurnOver
from feedback.practice_request import PracticeRequest
from feedback.rehearing import LastPass
from feedback.sounding import turn_sound
from listener.keeper import Back, Lost
from listener.run import Heard
from routines.excerpt import span_of
from tests.rooms import LICK, RATE, TEMPO, Room


def _request(**more: object) -> PracticeRequest:
    return replace(PracticeRequest(lick=LICK, tempo_half_bpm=TEMPO, passes=2, turns=1, rest_sec=0.0), **more)  # type: ignore[arg-type]


class Recording(Room):
    """A room whose tape has the number of each sample."""

    def take(self, wait_sec: float) -> list[Heard | Lost | Back]:
        before = round(self.now_sec * RATE)
        items = super().take(wait_sec)
        numbers = np.arange(before, round(self.now_sec * RATE), dtype=np.float32)
        self.tape.write(before, np.sin(0.3 * numbers).astype(np.float32))
        return items


def _practise(room: Room, **more: object) -> tuple[Practice, list[Event]]:
    practice = Practice(_request(**more), room, clock=room.clock)
    return practice, list(practice.events())


@pytest.mark.parametrize("speed", [1.0, 0.5])
def test_the_last_pass_is_heard_again_after_the_turn_with_the_model_after_it(speed: float) -> None:
    room = Recording(lambda part: ((), ()))
    practice, events = _practise(room, rehear=speed)
    assert [type(event) for event in events[-2:]] == [TurnOver, HeardAgain]
    at_sec, again = room.laid[1]
    assert practice.last.held
    assert np.array_equal(again, practice.last.against_model(speed))
    begin = LEAD_SEC + 2 + LICK.bars + 1  # of the second pass; a bar lasts a second
    same = LastPass()
    sound = np.sin(0.3 * np.arange(round(LEAD_SEC * RATE), round(room.now_sec * RATE)))
    same.hold(sound, RATE, lick=LICK, tempo_half_bpm=TEMPO, begin_sec=begin - LEAD_SEC)
    assert again == pytest.approx(same.against_model(speed), abs=1e-4)
    assert at_sec > begin + LICK.bars
    assert room.hushed == 2


def test_it_is_gone_when_the_next_count_in_begins_and_never_there_unless_asked_for() -> None:
    room = Recording(lambda part: ((), ()))
    practice = Practice(_request(rehear=1.0, turns=2), room, clock=room.clock)
    held = [(type(event), practice.last.held) for event in practice.events()]
    assert (HeardAgain, True) in held
    assert [there for kind, there in held if kind is CountIn] == [False, False]
    practice, events = _practise(Recording(lambda part: ((), ())))
    assert not practice.last.held
    assert not [event for event in events if isinstance(event, HeardAgain)]


def test_a_pass_that_nobody_played_is_not_heard_again() -> None:
    practice, events = _practise(Recording(lambda part: None), rehear=1.0)
    assert not practice.last.held
    assert not [event for event in events if isinstance(event, HeardAgain)]


def test_the_sound_may_go_while_the_last_pass_is_heard() -> None:
    room = Recording(lambda part: ((), ()))
    turn_sec = LEAD_SEC + 2 + 2 * LICK.bars + 1 + 0.5
    room.lose_at[room.clock_sec + turn_sec + 1.0] = 2.0
    _, events = _practise(room, rehear=1.0)
    assert [type(event) for event in events[-2:]] == [HeardAgain, SoundLost]


def test_a_loop_goes_round_without_rest_bars() -> None:
    span = span_of("change", LICK)
    part = span.of(LICK)
    room = Room(lambda part: None)
    _, events = _practise(room, lick=part, whole=LICK, span=span, rest_bars=0, passes=3)
    (plan,) = [event.plan for event in events if isinstance(event, CountIn)]
    assert np.diff(plan.starts_sec) == pytest.approx([plan.bar_sec * part.bars] * 2)


def test_backing_and_model_sound_where_they_are_asked_for() -> None:
    room = Room(lambda part: ((), ()))
    _, events = _practise(room, backing=True, model=True)
    (plan,) = [event.plan for event in events if isinstance(event, CountIn)]
    asked, _ = turn_sound(_request(backing=True, model=True), plan, RATE, first=True)
    assert np.array_equal(room.laid[0][1], asked)


def _bleeding(room: Room, bleed_db: float | None) -> Room:
    plain = room.take

    def take(wait_sec: float) -> list[Heard | Lost | Back]:
        return [replace(i, bleed_db=bleed_db) if isinstance(i, Heard) else i for i in plain(wait_sec)]

    room.take = take  # type: ignore[method-assign]
    return room


@pytest.mark.parametrize(
    ("bleed_db", "told"), [(-20.0, {"unclear"}), (None, {"unclear"}), (-70.0, {"landed"})]
)
def test_with_the_lick_sounding_a_loudspeaker_leaves_nothing_to_judge_and_headphones_all(
    bleed_db: float | None, told: set[str]
) -> None:
    practice, _ = _practise(_bleeding(Room(lambda part: ((), ())), bleed_db), model=True)
    for over in practice.turns[0]:
        assert {note.verdict for note in over.judged.outcome.notes} == told


def test_a_string_that_drifts_is_named_once(monkeypatch: pytest.MonkeyPatch) -> None:
    off = Drifted(string=3, note="G3", cents=-11.0, unsure_cents=2.0)
    fed: list[float] = []

    class Strings:
        def __init__(self, lick: object) -> None:
            self.passes = 0

        def begin(self) -> None:
            fed.clear()

        def feed(self, reports: list) -> None:
            fed.extend(report.note.onset_sec for report in reports)

        def over(self, outcome: object) -> tuple[Drifted, ...]:
            self.passes += 1
            return (off,) if self.passes == 2 else ()

    monkeypatch.setattr("feedback.practice.StringDrift", Strings)
    _, events = _practise(Room(lambda part: ((), ())))
    assert [event.drifted for event in events if isinstance(event, StringOff)] == [off]
    # In the times of the outcomes: seconds since the count-in.
    assert min(fed) == pytest.approx(2.0 - LICK.pickup_quarters / 4.0, abs=0.1)
