"""Practising with what behaves like a microphone: a stand-in whose time goes on when it is asked.

The stand-in hears what a simulated hand plays along with whatever click was laid, as `as_heard` tells it: so
verdicts are known. It can lose the sound and give it back.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np
import pytest

from feedback.clicking import strokes
from feedback.performance import perform
from feedback.played import as_heard
from feedback.practice import BETWEEN_SEC, LEAD_SEC, PATIENCE_SEC, Practice
from feedback.practice_events import (
    CountIn,
    Event,
    Fell,
    Kept,
    NobodyPlays,
    Passed,
    PracticeRequest,
    SoundBack,
    SoundLost,
    TurnOver,
)
from listener.errors import DeviceTrouble
from listener.expecting import Expectation
from listener.keeper import Back, Lost
from listener.live import Condition
from listener.notes import NoteEvent, Report
from listener.run import Heard
from listener.tape import Tape
from routines.library import load

LICK = load("slab-wood-supper")
TEMPO = 120.0  # a bar lasts a second
RATE = 8000
STEP_SEC = 0.05
TRIP_SEC = 0.02


class Room:
    """Behaves as `listener.live.Live` does, with a hand that plays along from the count-in on.

    Parameters
    ----------
    hand : callable
        Given how many parts were begun, the mistakes of each pass in the part; None plays nothing.
    """

    rate = RATE

    def __init__(self, hand: Callable[[int], Sequence[Sequence[str]] | None]) -> None:
        self._hand = hand
        self.now_sec = 0.0
        self.clock_sec = 100.0
        self.ready = True
        self.tape = Tape(RATE)
        self.parts = 0
        self.laid: list[tuple[float, np.ndarray]] = []
        self.asked: list[Expectation] = []
        self.hushed = self.settled = 0
        self.lose_at: dict[float, float] = {}  # by the clock: when, and for how long
        self.deaf: list[tuple[float, float]] = []
        self.trip_sec = TRIP_SEC
        self._gone_until: float | None = None
        self._notes: list[NoteEvent] = []
        self._count = 0

    @property
    def condition(self) -> Condition:
        return Condition(
            source="m",
            sink="o",
            rate=RATE,
            block=256,
            round_trip_sec=self.trip_sec,
            unsure_sec=0.003,
            basis="stamps",
            drift_ppm=None,
            overflows=0,
            underflows=0,
            dropped=0,
        )

    def clock(self) -> float:
        return self.clock_sec

    def play(self, sound: np.ndarray, at_sec: float) -> None:
        self.laid.append((at_sec, sound))
        self.parts += 1
        mistakes = self._hand(self.parts)
        if mistakes is None:
            return
        bar_sec = 1.0
        for number, names in enumerate(mistakes):
            start = at_sec + (2 + number * (LICK.bars + 1)) * bar_sec
            played = perform(LICK, tempo_half_bpm=TEMPO, mistakes=names, seed=number + 1, start_sec=start)
            self._notes += as_heard(played)

    def hush(self) -> None:
        self.hushed += 1

    def expect(self, expectations: Sequence[Expectation]) -> None:
        self.asked = list(expectations)

    def settle(self) -> None:
        self.settled += 1

    def take(self, wait_sec: float) -> list[Heard | Lost | Back]:
        self.clock_sec += STEP_SEC
        if self._gone_until is not None:
            if self.clock_sec < self._gone_until:
                return []
            self._gone_until, self.now_sec = None, 0.0  # another stream
            return [Back(stream=None, at_sec=self.clock_sec)]  # type: ignore[arg-type]
        for at in [at for at in self.lose_at if self.clock_sec >= at]:
            self._gone_until = self.clock_sec + self.lose_at.pop(at)
            self._notes = []
            return [Lost(line="unplugged", at_sec=self.clock_sec)]
        self.now_sec += STEP_SEC
        settled = [note for note in self._notes if note.settled_sec <= self.now_sec]
        self._notes = [note for note in self._notes if note.settled_sec > self.now_sec]
        reports = [Report("settled", self._count + k, note) for k, note in enumerate(settled)]
        self._count += len(settled)
        deaf, self.deaf = tuple(self.deaf), []
        return [
            Heard(
                now_sec=self.now_sec,
                reports=tuple(reports),
                deaf=deaf,
                round_trip_sec=self.trip_sec,
                adc_sec=0.0,
                came_sec=0.0,
                taken_sec=0.0,
                said_sec=0.0,
            )
        ]


def _request(**more: object) -> PracticeRequest:
    return replace(PracticeRequest(lick=LICK, tempo_half_bpm=TEMPO, passes=2, turns=1), **more)  # type: ignore[arg-type]


def _practise(room: Room, **more: object) -> tuple[Practice, list[Event]]:
    practice = Practice(_request(**more), room, clock=room.clock)
    return practice, list(practice.events())


def _faithful(part: int) -> Sequence[Sequence[str]]:
    return ((), ())


def test_a_turn_from_count_in_to_sentence() -> None:
    room = Room(lambda part: ((), ("left-hanging",)))
    practice, events = _practise(room)
    assert [type(event) for event in events] == [CountIn, Fell, Passed, Passed, TurnOver]
    one, two = (event.over for event in events if isinstance(event, Passed))
    assert [over.number for over in (one, two)] == [1, 2]
    assert [seven.resolution for seven in one.judged.outcome.sevenths] == ["resolved"]
    assert [seven.resolution for seven in two.judged.outcome.sevenths] == ["hanging"]
    assert all(over.complete and over.heard and not over.shaken for over in (one, two))
    assert practice.turns == [[one, two]]
    assert one.judged.outcome.start_sec == pytest.approx(2.0)  # since the count-in began
    assert one.judged.outcome.start_found is False


def test_what_is_laid_and_asked_lies_on_the_streams_clock() -> None:
    room = Room(_faithful)
    room.now_sec = 7.0
    _, events = _practise(room)
    ((at_sec, click),) = room.laid
    assert at_sec == pytest.approx(7.0 + LEAD_SEC)
    plan = next(event.plan for event in events if isinstance(event, CountIn))
    first = next(stroke.sec for stroke in strokes(plan, "halves"))
    assert int(np.flatnonzero(click)[0]) == round(first * RATE)
    dues = [at_sec + plan.first_start_sec + note.onset_quarters / 4.0 for note in LICK.notes]
    asked = {one.onset_sec for one in room.asked if one.weight > 0.5}
    assert all(any(abs(due - sec) < 1e-9 for sec in asked) for due in dues)
    assert room.settled == 1
    assert room.hushed == 1


def test_turns_repeat_and_the_bounce_is_pooled() -> None:
    room = Room(_faithful)
    practice, events = _practise(room, turns=3)
    assert [event.turn for event in events if isinstance(event, TurnOver)] == [1, 2, 3]
    assert [len(passes) for passes in practice.turns] == [2, 2, 2]
    begun = [event.begins_sec for event in events if isinstance(event, CountIn)]
    assert np.diff(begun) == pytest.approx(
        [2 + 2 * LICK.bars + 1 + 0.5 + BETWEEN_SEC + LEAD_SEC] * 2, abs=0.5
    )
    assert practice.turns[2][1].judged.outcome.timing.bounce is not None


def test_two_quiet_passes_end_it_and_rest_bars_do_not() -> None:
    room = Room(lambda part: None)
    practice, events = _practise(room, turns=None, passes=4)
    assert isinstance(events[-1], NobodyPlays)
    assert [over.heard for over in practice.turns[0]] == [False, False]


def test_one_quiet_pass_does_not_end_it() -> None:
    room = Room(lambda part: ((), (), ()))
    silent = room.take

    def take(wait_sec: float) -> list[Heard | Lost | Back]:
        items = silent(wait_sec)
        quiet = room.laid and room.laid[0][0] + 2 + LICK.bars + 0.5 < room.now_sec < room.laid[0][0] + 8.2
        return [replace(item, reports=()) if quiet and isinstance(item, Heard) else item for item in items]

    room.take = take  # type: ignore[method-assign]
    practice, events = _practise(room, passes=3)
    assert [over.heard for over in practice.turns[0]] == [True, False, True]
    assert isinstance(events[-1], TurnOver)


def test_quiet_passes_count_across_turns() -> None:
    room = Room(lambda part: ((),) if part == 1 else None)
    practice, events = _practise(room, turns=None, passes=1)
    assert [[over.heard for over in passes] for passes in practice.turns] == [[True], [False], [False]]
    assert isinstance(events[-1], NobodyPlays)


def test_lost_in_a_pass_it_is_not_complete_and_played_again() -> None:
    room = Room(lambda part: ((), ()) if part == 1 else ((),))
    room.lose_at[room.clock_sec + LEAD_SEC + 2 + LICK.bars + 1 + 1.2] = 3.0  # in the second pass
    practice, events = _practise(room)
    kinds = [type(event) for event in events if not isinstance(event, Fell)]
    assert kinds == [CountIn, Passed, Passed, SoundLost, SoundBack, CountIn, Passed, TurnOver]
    told = [(over.number, over.complete) for over in practice.turns[0]]
    assert told == [(1, True), (2, False), (2, True)]
    broken, again = practice.turns[0][1:]
    late = [note.verdict for note in broken.judged.outcome.notes if note.onset_sec and note.onset_sec > 6.4]
    assert late
    assert set(late) == {"unclear"}
    assert again.judged.outcome.clean
    goes_on = [event for event in events if isinstance(event, CountIn)][1]
    assert (goes_on.again, goes_on.plan.passes) == (True, 1)


def test_lost_in_the_count_in_no_pass_is_told() -> None:
    room = Room(_faithful)
    room.lose_at[room.clock_sec + LEAD_SEC + 0.5] = 1.0
    practice, _ = _practise(room)
    assert [(over.number, over.complete) for over in practice.turns[0]] == [(1, True), (2, True)]


def test_lost_between_two_turns() -> None:
    room = Room(_faithful)
    turn_sec = LEAD_SEC + 2 + 2 * LICK.bars + 1 + 0.5
    room.lose_at[room.clock_sec + turn_sec + BETWEEN_SEC / 2] = 1.0
    practice, events = _practise(room, turns=2)
    assert [type(event) for event in events if isinstance(event, (SoundLost, SoundBack))] == [
        SoundLost,
        SoundBack,
    ]
    assert [len(passes) for passes in practice.turns] == [2, 2]


def test_it_waits_long_and_not_for_ever() -> None:
    room = Room(_faithful)
    room.lose_at[room.clock_sec + LEAD_SEC + 2.5] = PATIENCE_SEC + 60.0
    practice = Practice(_request(), room, clock=room.clock)
    with pytest.raises(DeviceTrouble, match="did not come back"):
        list(practice.events())
    assert [(over.number, over.complete) for over in practice.turns[0]] == [(1, False)]


def test_a_stream_without_time_is_said() -> None:
    room = Room(_faithful)
    room.ready = False
    with pytest.raises(DeviceTrouble, match="time"):
        list(Practice(_request(), room, clock=room.clock).events())


def test_deaf_stretches_reach_the_judges() -> None:
    room = Room(lambda part: ((), ("left-hanging",)))
    start = LEAD_SEC + 2 + LICK.bars + 1
    room.deaf = [(start, start + LICK.bars)]
    practice, _ = _practise(room)
    one, two = practice.turns[0]
    assert one.judged.outcome.clean
    assert [seven.resolution for seven in two.judged.outcome.sevenths] == ["unclear"]


@pytest.mark.parametrize(("moved_ms", "shaken"), [(4.0, False), (6.0, True)])
def test_a_pass_in_which_the_round_trip_moved_is_marked(moved_ms: float, shaken: bool) -> None:
    room = Room(_faithful)
    plain = room.take

    def take(wait_sec: float) -> list[Heard | Lost | Back]:
        if room.now_sec > LEAD_SEC + 2.5:
            room.trip_sec = TRIP_SEC + moved_ms / 1e3
        return plain(wait_sec)

    room.take = take  # type: ignore[method-assign]
    practice, _ = _practise(room)
    one, two = practice.turns[0]
    assert one.moved_ms == pytest.approx(moved_ms)
    assert (one.shaken, two.shaken) == (shaken, False)


def test_each_part_is_kept_only_where_that_is_asked_for() -> None:
    room = Room(_faithful)
    practice, events = _practise(room)
    assert not [event for event in events if isinstance(event, Kept)]
    assert practice.unstored is None
    room = Room(_faithful)
    plain = room.take

    def take(wait_sec: float) -> list[Heard | Lost | Back]:
        before = round(room.now_sec * RATE)
        items = plain(wait_sec)
        room.tape.write(before, np.arange(before, round(room.now_sec * RATE), dtype=np.float32))
        return items

    room.take = take  # type: ignore[method-assign]
    practice, events = _practise(room, keep=True)
    (kept,) = [event for event in events if isinstance(event, Kept)]
    assert kept.sound[0] == round(room.laid[0][0] * RATE)  # the sound begins with the count-in
    assert len(kept.sound) / RATE == pytest.approx(2 + 2 * LICK.bars + 1 + 0.5, abs=2 * STEP_SEC)
    assert kept.passes == tuple(practice.turns[0])


def test_an_interruption_leaves_what_was_played() -> None:
    room = Room(_faithful)
    practice = Practice(_request(keep=True), room, clock=room.clock)
    plain = room.take

    def take(wait_sec: float) -> list[Heard | Lost | Back]:
        if room.now_sec > LEAD_SEC + 2 + LICK.bars + 1 + 0.75 * LICK.bars:
            raise KeyboardInterrupt
        return plain(wait_sec)

    room.take = take  # type: ignore[method-assign]
    with pytest.raises(KeyboardInterrupt):
        list(practice.events())
    assert [(over.number, over.complete) for over in practice.turns[0]] == [(1, True), (2, False)]
    assert practice.unstored is not None
    assert len(practice.unstored.passes) == 2


def test_a_thinned_click_is_told_to_the_judges() -> None:
    drift = {}
    for click in ("halves", "off"):
        practice, _ = _practise(Room(_faithful), click=click)
        drift[click] = practice.turns[0][0].judged.outcome.timing.drift_percent
    assert drift["halves"] is None
    assert drift["off"] is not None
