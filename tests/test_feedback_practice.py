"""Practising with what behaves like a microphone: a stand-in whose time goes on when it is asked.

The stand-in hears what a simulated hand plays along with whatever click was laid, as `as_heard` tells it: so
verdicts are known. It can lose the sound and give it back.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest

from feedback.attending import PATIENCE_SEC
from feedback.clicking import strokes
from feedback.practice import LEAD_SEC, Practice
from feedback.practice_events import (
    Begins,
    CountIn,
    Event,
    Fell,
    GoesOn,
    Kept,
    NobodyPlays,
    Opened,
    Passed,
    Resting,
    SoundBack,
    SoundLost,
    TurnOver,
)
from feedback.practice_request import PracticeRequest
from feedback.sound.click import render
from listener.errors import DeviceTrouble
from listener.keeper import Back, Lost
from listener.run import Heard
from tests.rooms import LICK, RATE, STEP_SEC, TEMPO, TRIP_SEC, Room


def _request(**more: object) -> PracticeRequest:
    return replace(PracticeRequest(lick=LICK, tempo_half_bpm=TEMPO, passes=2, turns=1, rest_sec=0.0), **more)  # type: ignore[arg-type]


def _practise(room: Room, **more: object) -> tuple[Practice, list[Event]]:
    practice = Practice(_request(**more), room, clock=room.clock)
    return practice, list(practice.events())


def _kinds(events: Sequence[Event], *besides: type) -> list[type]:
    return [type(event) for event in events if not isinstance(event, (*besides, Begins))]


def _faithful(part: int) -> Sequence[Sequence[str]]:
    return ((), ())


def test_a_turn_from_count_in_to_sentence() -> None:
    room = Room(lambda part: ((), ("left-hanging",)))
    practice, events = _practise(room)
    assert _kinds(events, GoesOn) == [Opened, Resting, CountIn, Fell, Passed, Passed, TurnOver]
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
    assert room.settled == 2  # when it is laid, and once more when the count-in has gone by
    assert room.hushed == 1


def test_turns_repeat() -> None:
    room = Room(_faithful)
    practice, events = _practise(room, turns=3, rest_sec=4.0)
    assert [event.turn for event in events if isinstance(event, TurnOver)] == [1, 2, 3]
    assert [len(passes) for passes in practice.turns] == [2, 2, 2]
    begun = [event.begins_sec for event in events if isinstance(event, CountIn)]
    assert np.diff(begun) == pytest.approx([2 + 2 * LICK.bars + 1 + 0.5 + 4.0 + LEAD_SEC] * 2, abs=0.5)


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
    kinds = _kinds(events, Fell, GoesOn, Resting)
    assert kinds == [Opened, CountIn, Passed, SoundLost, Passed, SoundBack, CountIn, Passed, TurnOver]
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
    room.lose_at[room.clock_sec + 4.0 + turn_sec + 2.0] = 1.0
    practice, events = _practise(room, turns=2, rest_sec=4.0)
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


def test_the_bounce_is_pooled_over_the_turns() -> None:
    """One pass of the lick has too few notes to tell it from, two have enough."""
    practice, _ = _practise(Room(lambda part: (("bounced",),)), turns=2, passes=1)
    one, two = (passes[0].judged.outcome.timing.bounce for passes in practice.turns)
    assert one is None
    assert two is not None


@pytest.mark.parametrize("click", ["halves", "chop", "second", "gaps", "off"])
def test_the_click_that_was_asked_for_is_laid_at_its_level(click: str) -> None:
    room = Room(_faithful)
    _, events = _practise(room, click=click, click_db=-40.0)
    ((_, sound),) = room.laid
    plan = next(event.plan for event in events if isinstance(event, CountIn))
    asked = strokes(plan, click)
    asked_sound = render(asked, rate=RATE, level_db=-40.0, quiet_sec=plan.first_start_sec)
    assert np.array_equal(sound, asked_sound)


def test_only_the_first_count_in_is_quiet_at_first() -> None:
    room = Room(_faithful)
    _practise(room, turns=2)
    (_, first), (_, second) = room.laid
    begin = slice(0, RATE // 4)
    assert np.abs(first[begin]).max() < 0.3 * np.abs(second[begin]).max()
    assert np.abs(first[4 * RATE :]).max() == np.abs(second[4 * RATE :]).max()


def test_lost_and_back_in_one_breath() -> None:
    room = Room(_faithful)
    plain, gone = room.take, []

    def take(wait_sec: float) -> list[Heard | Lost | Back]:
        items = plain(wait_sec)
        if room.now_sec > LEAD_SEC + 2.5 and not gone:
            gone.append(True)
            back = Back(stream=None, at_sec=0.0)  # type: ignore[arg-type]
            return [*items, Lost(line="a moment", at_sec=0.0), back, *items]
        return items

    room.take = take  # type: ignore[method-assign]
    practice, events = _practise(room)
    kinds = _kinds(events, Fell, GoesOn, Resting)
    assert kinds == [Opened, CountIn, SoundLost, Passed, SoundBack, CountIn, Passed, Passed, TurnOver]
    assert [(over.number, over.part, over.complete) for over in practice.turns[0]] == [
        (1, 1, False),
        (1, 2, True),
        (2, 2, True),
    ]


def test_a_loss_of_unknown_length_marks_the_pass() -> None:
    room = Room(_faithful)
    plain = room.take

    def take(wait_sec: float) -> list[Heard | Lost | Back]:
        room.untold = int(room.now_sec > LEAD_SEC + 2.5)
        return plain(wait_sec)

    room.take = take  # type: ignore[method-assign]
    practice, _ = _practise(room)
    assert [over.shaken for over in practice.turns[0]] == [True, False]


def test_a_broken_pass_counts_neither_way() -> None:
    for mistakes in ((), ("left-hanging",)):
        room = Room(lambda part, names=mistakes: (names, ()) if part == 1 else ((), ()))
        room.lose_at[room.clock_sec + LEAD_SEC + 2 + LICK.bars - 0.1] = 1.0
        practice, _ = _practise(room)
        broken = practice.turns[0][0]
        assert (broken.complete, broken.judged.outcome.clean) == (False, None)
        assert "hanging" not in [seven.resolution for seven in broken.judged.outcome.sevenths]


def test_a_pass_that_had_been_heard_out_is_whole() -> None:
    room = Room(_faithful)
    room.lose_at[room.clock_sec + LEAD_SEC + 2 + LICK.bars + 0.3] = 1.0
    practice, _ = _practise(room)
    assert [(over.number, over.complete) for over in practice.turns[0]] == [(1, True), (2, True)]
    assert practice.turns[0][0].judged.outcome.clean


def test_a_pass_that_nobody_played_is_not_unclean() -> None:
    practice, _ = _practise(Room(lambda part: None), passes=4)
    assert [over.judged.outcome.clean for over in practice.turns[0]] == [None, None]


def test_a_thinned_click_is_told_to_the_judges() -> None:
    drift = {}
    for click in ("halves", "off"):
        practice, _ = _practise(Room(_faithful), click=click)
        drift[click] = practice.turns[0][0].judged.outcome.timing.drift_percent
    assert drift["halves"] is None
    assert drift["off"] is not None


def test_a_round_trip_that_has_grown_is_mended_between_turns() -> None:
    room = Room(_faithful)
    plain = room.take

    def take(wait_sec: float) -> list[Heard | Lost | Back]:
        if room.parts == 1 and room.now_sec > LEAD_SEC + 4.0 and not room.freshened:
            room.grown = True
        return plain(wait_sec)

    room.take = take  # type: ignore[method-assign]
    practice, _ = _practise(room, turns=3)
    assert room.freshened == 1
    assert [[over.complete for over in passes] for passes in practice.turns] == [[True, True]] * 3
    assert room.laid[1][0] < room.laid[0][0] + 2.0  # on the new stream's own count
