"""Steering a practice by wishes, and what a window shows beside its events: with a stand-in's sound."""

from __future__ import annotations

import math
import threading
from collections.abc import Callable, Sequence
from dataclasses import replace

import pytest

from feedback.practice import LEAD_SEC, Practice
from feedback.practice_events import (
    Begins,
    CountIn,
    Cued,
    Event,
    Fell,
    GoesOn,
    HeardAgain,
    Kept,
    NobodyPlays,
    Opened,
    Passed,
    Resting,
    SoundBack,
    SoundLost,
    TempoSet,
    TurnOver,
)
from feedback.practice_request import PracticeRequest
from feedback.wishes import MOST, BreakOff, End, Start, Tempo, Wish, Wishes
from routines.tempo import FASTEST_HALF_BPM, SLOWEST_HALF_BPM
from tests.rooms import LICK, STEP_SEC, TEMPO, Room
from tests.test_feedback_practice_around import Recording

BEGAN = 100.0  # the room's clock
PASS_SEC = float(LICK.bars)  # a bar lasts a second
TURN_SEC = LEAD_SEC + 2 + 2 * PASS_SEC + 1 + 0.5
REST_SEC = 4.0
OPEN_FIFTH = LICK.neck.open_midi(5)


def _request(**more: object) -> PracticeRequest:
    base = PracticeRequest(lick=LICK, tempo_half_bpm=TEMPO, passes=2, turns=2, rest_sec=REST_SEC)
    return replace(base, **more)  # type: ignore[arg-type]


def _faithful(part: int) -> Sequence[Sequence[str]]:
    return ((), ())


def _steered(
    *wishes: tuple[float, Wish], room: Room | None = None, waits: bool = False, **more: object
) -> tuple[Practice, list[tuple[float, Event]]]:
    """A practice with wishes so long after it began, and its events with when they came."""
    room = room or Room(_faithful)
    room.wish_at = [(BEGAN + after, wish) for after, wish in wishes]
    practice = Practice(_request(**more), room, room.clock, room.wishes, waits=waits)
    events = []
    for event in practice.events():
        events.append((room.clock_sec - BEGAN, event))
        assert room.clock_sec < BEGAN + 200.0, "it does not end"
    return practice, events


def _kinds(events: Sequence[tuple[float, Event]]) -> list[type]:
    return [type(event) for _, event in events if not isinstance(event, (Begins, Fell, GoesOn))]


def _times(events: Sequence[tuple[float, Event]], kind: type) -> list[float]:
    return [sec for sec, event in events if isinstance(event, kind)]


def _rests(events: Sequence[tuple[float, Event]]) -> list[float | None]:
    return [
        None if event.until_sec is None else event.until_sec - BEGAN
        for _, event in events
        if isinstance(event, Resting)
    ]


def test_wishes_keep_their_order_and_the_oldest_are_dropped() -> None:
    wishes = Wishes()
    assert wishes.next() is None
    told = [Tempo(60.0 + k) for k in range(MOST + 3)]
    thread = threading.Thread(target=lambda: [wishes.add(wish) for wish in told])
    thread.start()
    thread.join()
    taken = []
    while (wish := wishes.next()) is not None:
        taken.append(wish)
    assert taken == told[3:]


def test_without_wishes_it_rests_as_long_as_was_asked_for() -> None:
    _, events = _steered()
    assert _kinds(events) == [Opened, *[Resting, CountIn, Passed, Passed, TurnOver] * 2]
    first, second = _rests(events)
    assert first == pytest.approx(REST_SEC)
    assert second == pytest.approx(REST_SEC + TURN_SEC + REST_SEC, abs=0.2)
    counted = _times(events, CountIn)
    assert counted == pytest.approx([first, second], abs=STEP_SEC + 1e-6)


def test_start_ends_a_rest_at_once() -> None:
    _, events = _steered((1.0, Start()), (1.0 + TURN_SEC + 0.5, Start()))
    assert _kinds(events) == [Opened, *[Resting, CountIn, Passed, Passed, TurnOver] * 2]
    assert _times(events, CountIn) == pytest.approx([1.0, 1.0 + TURN_SEC + 0.5], abs=2 * STEP_SEC)


def test_start_is_nothing_while_a_turn_runs() -> None:
    _, events = _steered((REST_SEC + 3.0, Start()))
    assert _times(events, CountIn)[1] == pytest.approx(2 * REST_SEC + TURN_SEC, abs=0.2)


def test_a_turn_that_is_broken_off_ends_there_and_the_player_is_waited_for() -> None:
    off_sec = REST_SEC + LEAD_SEC + 2 + PASS_SEC + 1 + 0.75 * PASS_SEC
    practice, events = _steered((off_sec, BreakOff()), (60.0, Start()))
    assert _kinds(events) == [
        *[Opened, Resting, CountIn, Passed, Passed, TurnOver],
        *[Resting, CountIn, Passed, Passed, TurnOver],
    ]
    assert _times(events, TurnOver)[0] == pytest.approx(off_sec, abs=2 * STEP_SEC)
    assert [(over.number, over.complete) for over in practice.turns[0]] == [(1, True), (2, False)]
    late = [note for note in practice.turns[0][1].judged.outcome.notes if note.verdict == "missed"]
    assert not late  # nothing is held against a pass that was broken off
    assert _rests(events)[1] is None
    assert _times(events, CountIn)[1] == pytest.approx(60.0, abs=2 * STEP_SEC)
    over = next(event for _, event in events if isinstance(event, TurnOver))
    assert over.passes == tuple(practice.turns[0])


def test_what_sounds_and_what_is_expected_ends_with_a_turn_that_is_broken_off() -> None:
    room = Room(_faithful)
    _, events = _steered((REST_SEC + LEAD_SEC + 1.0, BreakOff()), (30.0, End()), room=room)
    assert room.hushed
    assert room.asked == []
    (over,) = [event for _, event in events if isinstance(event, TurnOver)]
    assert over.passes == ()  # broken off in its count-in


def test_broken_off_in_a_rest_it_waits() -> None:
    _, events = _steered((1.0, BreakOff()), (2.0, BreakOff()), (50.0, Start()), turns=1)
    assert _kinds(events) == [Opened, Resting, Resting, CountIn, Passed, Passed, TurnOver]
    assert _rests(events) == [pytest.approx(REST_SEC), None]
    assert _times(events, CountIn) == pytest.approx([50.0], abs=2 * STEP_SEC)


def test_who_begins_and_thinks_better_of_it_is_waited_for() -> None:
    _, events = _steered((1.0, Start()), (1.0, BreakOff()), (9.0, End()))
    assert _kinds(events) == [Opened, Resting, Resting]
    assert _rests(events) == [pytest.approx(REST_SEC), None]


def test_wishes_at_once_are_taken_in_order() -> None:
    off = REST_SEC + 3.0
    _, events = _steered((off, Start()), (off, BreakOff()), (off, Tempo(60.0)), (off, Start()))
    counted = [event for _, event in events if isinstance(event, CountIn)]
    assert [event.plan.tempo_half_bpm for event in counted] == [TEMPO, 60.0]
    assert _times(events, CountIn)[1] == pytest.approx(off, abs=2 * STEP_SEC)


@pytest.mark.parametrize(
    ("at_sec", "kinds"),
    [
        (0.5, [Opened, Resting]),
        (REST_SEC + 1.0, [Opened, Resting, CountIn, TurnOver]),
        (REST_SEC + 5.5, [Opened, Resting, CountIn, Passed, Kept, TurnOver]),  # before half of the second
        (REST_SEC + TURN_SEC + 1.0, [Opened, Resting, CountIn, Passed, Passed, Kept, TurnOver, Resting]),
    ],
)
def test_the_end_comes_soon_and_leaves_what_was_played(at_sec: float, kinds: list[type]) -> None:
    room = Recording(_faithful)
    practice, events = _steered((at_sec, End()), room=room, keep=True)
    assert _kinds(events) == kinds
    assert room.clock_sec - BEGAN == pytest.approx(at_sec, abs=2 * STEP_SEC)
    assert practice.unstored is None


def test_the_end_is_taken_before_the_stream_is_ready() -> None:
    room = Room(_faithful)
    room.ready = False
    _, events = _steered((0.5, End()), room=room)
    assert events == []


def test_the_end_is_taken_while_the_sound_is_away_and_so_is_a_break() -> None:
    for wish, told in ((End(), []), (BreakOff(), [Resting, SoundBack, Resting])):
        room = Room(_faithful)
        room.lose_at[BEGAN + REST_SEC + 3.0] = 20.0
        _, events = _steered((REST_SEC + 5.0, wish), (REST_SEC + 40.0, End()), room=room)
        kinds = _kinds(events)
        assert kinds[kinds.index(SoundLost) :] == [SoundLost, Passed, TurnOver, *told]
        assert _times(events, TurnOver)[0] == pytest.approx(REST_SEC + 5.0, abs=2 * STEP_SEC)


def test_a_break_is_taken_while_a_stream_that_is_back_gets_ready() -> None:
    room = Room(_faithful)
    gone = BEGAN + REST_SEC + 3.0
    room.lose_at[gone] = 1.0
    plain = room.take

    def take(wait_sec: float) -> list:
        room.ready = room.clock_sec < gone or room.clock_sec > gone + 8.0
        return plain(wait_sec)

    room.take = take  # type: ignore[method-assign]
    _, events = _steered((REST_SEC + 6.0, BreakOff()), (REST_SEC + 30.0, End()), room=room)
    assert len(_times(events, CountIn)) == 1
    assert _times(events, TurnOver) == pytest.approx([REST_SEC + 6.0], abs=2 * STEP_SEC)


def test_another_tempo_holds_from_the_next_count_in_on() -> None:
    room = Room(_faithful)
    practice, events = _steered((REST_SEC + 3.0, Tempo(60.0)), room=room)
    counted = [event.plan.tempo_half_bpm for _, event in events if isinstance(event, CountIn)]
    assert counted == [TEMPO, 60.0]
    assert practice.request.tempo_half_bpm == 60.0
    assert [o.judged.outcome.tempo_half_bpm for turn in practice.turns for o in turn] == [TEMPO] * 2 + [
        60.0
    ] * 2
    (told,) = [sec for sec, event in events if isinstance(event, TempoSet)]
    assert told == pytest.approx(REST_SEC + 3.0, abs=2 * STEP_SEC)


@pytest.mark.parametrize(
    ("asked", "played"),
    [(1.0, SLOWEST_HALF_BPM), (1e9, FASTEST_HALF_BPM), (math.nan, None), (math.inf, None)],
)
def test_a_tempo_out_of_range_is_brought_into_it_and_none_at_all_is_nothing(
    asked: float, played: float | None
) -> None:
    practice, events = _steered((1.0, Tempo(asked)), (2.0, End()))
    assert [e.tempo_half_bpm for _, e in events if isinstance(e, TempoSet)] == (
        [] if played is None else [played]
    )
    assert practice.request.tempo_half_bpm == (TEMPO if played is None else played)


@pytest.mark.parametrize(("tempo", "pooled"), [(TEMPO, True), (60.0, False)])
def test_the_bounce_is_pooled_over_passes_at_the_same_tempo_only(tempo: float, pooled: bool) -> None:
    room = Room(lambda part: (("bounced",),))

    def hand(part: int) -> Sequence[Sequence[str]]:
        room.tempo = TEMPO if part == 1 else tempo
        return (("bounced",),)

    room._hand = hand
    practice, _ = _steered((REST_SEC + 2.0, Tempo(tempo)), room=room, passes=1)
    one, two = (passes[0].judged.outcome.timing.bounce for passes in practice.turns)
    assert one is None
    assert (two is not None) == pooled


def test_where_it_waits_the_last_turn_is_not_the_end() -> None:
    practice, events = _steered((40.0, Start()), (90.0, End()), waits=True, turns=1)
    assert _kinds(events) == [Opened, *[Resting, CountIn, Passed, Passed, TurnOver] * 2, Resting]
    assert _rests(events) == [pytest.approx(REST_SEC), None, None]
    assert len(practice.turns) == 2


def test_where_it_waits_nobody_playing_is_not_the_end() -> None:
    practice, events = _steered(
        (50.0, Start()), (90.0, End()), room=Room(lambda part: None), waits=True, turns=None, passes=4
    )
    assert not _times(events, NobodyPlays)
    assert _rests(events) == [pytest.approx(REST_SEC), None, None]
    assert [len(passes) for passes in practice.turns] == [2, 2]


@pytest.mark.parametrize(("wish", "then"), [(Start(), [CountIn]), (BreakOff(), [Resting]), (End(), [])])
def test_a_pass_that_is_heard_again_gives_way(wish: Wish, then: list[type]) -> None:
    again = REST_SEC + TURN_SEC + 1.0
    room = Recording(_faithful)
    _, events = _steered((again, wish), (again + 3.0, End()), room=room, rehear=1.0)
    kinds = [kind for kind in _kinds(events) if kind is not Resting or wish == BreakOff()]
    after = kinds[kinds.index(HeardAgain) + 1 :]
    assert after[: len(then)] == then
    if isinstance(wish, Start):
        assert _times(events, CountIn)[1] == pytest.approx(again, abs=2 * STEP_SEC)
    if isinstance(wish, BreakOff):
        assert _rests(events)[1] is None


@pytest.mark.parametrize("wish", [BreakOff(), End()])
def test_a_turn_that_is_broken_off_is_not_heard_again(wish: Wish) -> None:
    off_sec = REST_SEC + LEAD_SEC + 2 + PASS_SEC + 1 + 0.5
    practice, events = _steered((off_sec, wish), (40.0, End()), room=Recording(_faithful), rehear=1.0)
    assert practice.last.held
    assert not _times(events, HeardAgain)


def test_begun_while_the_last_pass_is_heard_there_is_one_more_turn() -> None:
    again = REST_SEC + TURN_SEC + 1.0
    wishes = ((again, Start()), (60.0, End()))
    _, events = _steered(*wishes, room=Recording(_faithful), rehear=1.0, waits=True, turns=1)
    assert _times(events, CountIn)[1] == pytest.approx(again, abs=2 * STEP_SEC)


def _cue_played(room: Room, at_sec: float, half_sec: float) -> None:
    """Have the cue played from so long after the practice began; by the clock."""
    plain = room.take

    def take(wait_sec: float) -> list:
        if room.clock_sec < BEGAN + at_sec <= room.clock_sec + STEP_SEC:
            for k in range(3):
                room.pluck(OPEN_FIFTH, BEGAN + at_sec - room.clock_sec + k * half_sec)
        return plain(wait_sec)

    room.take = take  # type: ignore[method-assign]


@pytest.mark.parametrize(
    ("cue", "starts", "told", "counted"),
    [(True, True, 1, True), (True, False, 1, False), (False, True, 0, False)],
)
def test_the_cue_begins_the_turn_where_that_is_asked_for(
    cue: bool, starts: bool, told: int, counted: bool
) -> None:
    room = Room(_faithful)
    room.wish_at = [(BEGAN + 1.0, BreakOff()), (BEGAN + 30.0, End())]
    _cue_played(room, 10.0, 0.5)
    request = _request(cue=cue)
    practice = Practice(request, room, room.clock, room.wishes, cue_starts=starts)
    events = [(room.clock_sec - BEGAN, event) for event in practice.events()]
    cued = _times(events, Cued)
    assert len(cued) == told
    assert cued == pytest.approx([10.0 + 2.5 * 0.5 + 0.1] * told, abs=0.1)
    assert bool(_times(events, CountIn)) == counted
    if counted:
        assert _times(events, CountIn)[0] == pytest.approx(cued[0])


def test_the_cue_is_one_at_the_tempo_that_is_to_come() -> None:
    room = Room(_faithful)
    room.wish_at = [(BEGAN + 1.0, BreakOff()), (BEGAN + 2.0, Tempo(60.0)), (BEGAN + 30.0, End())]
    _cue_played(room, 5.0, 0.5)
    _cue_played(room, 10.0, 1.0)
    practice = Practice(_request(cue=True), room, room.clock, room.wishes)
    told = [room.clock_sec - BEGAN for event in practice.events() if isinstance(event, Cued)]
    assert told == pytest.approx([12.6], abs=0.1)


def test_passes_tell_how_far_they_have_come() -> None:
    _, events = _steered(turns=1)
    going = [event for _, event in events if isinstance(event, GoesOn)]
    assert {(event.turn, event.number) for event in going} == {(1, 1), (1, 2)}
    for event in going:
        assert event.outcome.start_sec == pytest.approx(2.0 + (event.number - 1) * (PASS_SEC + 1))
    heard = [sum(n.heard_midi is not None for n in e.outcome.notes) for e in going if e.number == 1]
    assert heard == sorted(heard)
    assert (heard[0], heard[-1]) == (0, len(LICK.notes))


def test_a_turn_that_goes_on_says_which_pass_comes() -> None:
    room = Room(lambda part: ((), ()) if part == 1 else ((),))
    room.lose_at[BEGAN + REST_SEC + LEAD_SEC + 2 + PASS_SEC + 1 + 1.2] = 3.0
    _, events = _steered(room=room, turns=1)
    counted = [(e.again, e.first_number) for _, e in events if isinstance(e, CountIn)]
    assert counted == [(False, 1), (True, 2)]


def test_the_time_of_the_part_is_told_until_the_next_one_or_until_the_sound_is_lost() -> None:
    room = Room(lambda part: ((), ()) if part == 1 else ((),))
    room.lose_at[BEGAN + REST_SEC + TURN_SEC + 2.0] = 3.0
    practice = Practice(_request(), room, room.clock)
    at: list[tuple[type, float | None]] = []
    plain = room.take
    during: list[float | None] = []

    def take(wait_sec: float) -> list:
        during.append(practice.part_sec())
        return plain(wait_sec)

    room.take = take  # type: ignore[method-assign]
    for event in practice.events():
        at.append((type(event), practice.part_sec()))
    of = [(kind, sec) for kind, sec in at if kind in (Opened, CountIn, TurnOver, SoundLost, SoundBack)]
    assert of[0] == (Opened, None)
    assert of[1] == (CountIn, pytest.approx(-LEAD_SEC))
    assert of[2] == (TurnOver, pytest.approx(TURN_SEC - LEAD_SEC, abs=0.1))
    assert of[3] == (SoundLost, None)
    assert of[4] == (SoundBack, None)
    assert of[5] == (CountIn, pytest.approx(-LEAD_SEC))
    goes_on = [sec for sec in during if sec is not None and sec > TURN_SEC]
    assert max(goes_on) == pytest.approx(TURN_SEC + 2.0 - LEAD_SEC, abs=0.2)


def test_the_time_of_the_part_is_what_sounds_where_that_is_known() -> None:
    room = Room(_faithful)
    sounding: Callable[[], float] = lambda: room.now_sec - 0.125  # noqa: E731
    room.sounding_sec = sounding  # type: ignore[attr-defined]
    practice = Practice(_request(turns=1), room, room.clock)
    told = [practice.part_sec() for event in practice.events() if isinstance(event, CountIn)]
    assert told == [pytest.approx(-LEAD_SEC - 0.125)]


def test_a_stream_that_is_opened_anew_takes_the_time_of_the_part_with_it() -> None:
    room = Room(_faithful)
    practice = Practice(_request(), room, room.clock)
    told = []
    for event in practice.events():
        if isinstance(event, TurnOver):
            room.grown = True
        told.append((type(event), practice.part_sec() is None))
    assert (Resting, False) not in told
    assert room.freshened == 1
