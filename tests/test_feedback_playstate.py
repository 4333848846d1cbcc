"""What a window knows of a practice, folded from its events."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from feedback.judges.whole import Judged, judge_pass
from feedback.ladder_seen import LadderSeen
from feedback.performance import perform
from feedback.played import as_heard
from feedback.playstate import PlayState, after_event
from feedback.practice_events import (
    CountIn,
    Cued,
    Event,
    GoesOn,
    HeardAgain,
    LadderTold,
    NobodyPlays,
    Opened,
    Passed,
    PieceSet,
    Resting,
    SoundBack,
    SoundLost,
    TempoSet,
    Trouble,
    TurnOver,
    WarmUpTold,
)
from feedback.practice_report import turn_offer, turn_sentence
from feedback.practice_request import PracticeRequest
from feedback.screen.after.picture import after_picture
from feedback.screen.marks import Sheet
from feedback.session import PassOver, after_count_in
from feedback.warm_up_seen import WarmUpSeen
from routines.excerpt import Span
from routines.library import load

LICK = load("slab-wood-supper")
REQUEST = PracticeRequest(lick=LICK, tempo_half_bpm=96.0, passes=4)
PLAN = after_count_in(LICK, 96.0)


def _judged(number: int, *mistakes: str) -> Judged:
    grid = PLAN.grids(REQUEST.limits)[number - 1]
    played = perform(LICK, tempo_half_bpm=96.0, mistakes=mistakes, seed=number, start_sec=grid.start_sec)
    return judge_pass(grid, as_heard(played))


def _over(number: int, *mistakes: str) -> PassOver:
    return PassOver(number=number, judged=_judged(number, *mistakes))


def _after(*events: Event, state: PlayState | None = None, unsure_ms: float | None = None) -> PlayState:
    found = state or PlayState(request=REQUEST)
    for event in events:
        found = after_event(found, event, lean_unsure_ms=unsure_ms)
    return found


COUNT_IN = CountIn(turn=2, again=False, plan=PLAN, begins_sec=5.0, first_number=1)


def test_from_opening_to_the_count_in() -> None:
    state = _after(Opened())
    assert (state.phase, state.turn, state.plan) == ("opening", 0, None)
    state = _after(Resting(until_sec=12.0), state=state)
    assert (state.phase, state.goes_on_sec) == ("resting", 12.0)
    state = _after(COUNT_IN, state=replace(state, news="the sound is back"))
    assert (state.phase, state.turn, state.plan, state.goes_on_sec, state.news) == (
        "playing",
        2,
        PLAN,
        None,
        "",
    )


def test_passes_are_told_anew_until_they_are_over() -> None:
    first = _judged(1).outcome
    state = _after(COUNT_IN, GoesOn(turn=2, number=1, outcome=first, heard_to_sec=3.0))
    assert [(one.number, one.heard_to_sec, one.over) for one in state.running] == [(1, 3.0, None)]
    over = _over(1)
    second = GoesOn(turn=2, number=2, outcome=first, heard_to_sec=9.0)
    state = _after(Passed(turn=2, over=over), second, state=state)
    assert [(one.number, one.over) for one in state.running] == [(1, over), (2, None)]
    assert state.running[0].heard_to_sec == math.inf
    assert state.running[0].outcome == over.judged.outcome
    assert _after(COUNT_IN, state=state).running == ()


def test_a_turn_that_is_over_says_what_the_terminal_says() -> None:
    passes = tuple(_over(number, "left-hanging") for number in range(1, 5))
    state = _after(COUNT_IN, TurnOver(turn=2, passes=passes))
    assert (state.phase, state.done) == ("resting", passes)
    assert state.sentence == turn_sentence(REQUEST, passes)
    assert state.offer == turn_offer(REQUEST, passes)
    assert state.offer is not None
    assert "left hanging" in state.sentence
    assert _after(COUNT_IN, state=state).done == passes  # until another turn is over


def _leaning(ms: float) -> Sequence[PassOver]:
    found = []
    for over in (_over(number) for number in range(1, 5)):
        timing = replace(over.judged.outcome.timing, lean_ms=ms)
        judged = replace(over.judged, outcome=replace(over.judged.outcome, timing=timing))
        found.append(replace(over, judged=judged))
    return found


def test_a_lean_is_told_only_beyond_what_is_sure() -> None:
    passes = tuple(_leaning(-18.0))
    sure = _after(TurnOver(turn=1, passes=passes)).sentence
    unsure = _after(TurnOver(turn=1, passes=passes), unsure_ms=40.0).sentence
    assert "ahead of the click" in sure
    assert "ahead of the click" not in unsure


def test_news_and_what_ends_it() -> None:
    state = _after(COUNT_IN, SoundLost(line="the cable is out"))
    assert (state.phase, state.news) == ("sound lost", "the cable is out")
    assert _after(SoundBack(), state=state).news == "the sound is back"
    assert _after(HeardAgain(turn=1, speed=0.5, lasts_sec=4.0)).phase == "hearing again"
    assert "nothing was heard" in _after(NobodyPlays()).news
    assert _after(Cued()).news == "the cue was heard"


def test_another_tempo() -> None:
    assert _after(TempoSet(tempo_half_bpm=100.0)).request == replace(REQUEST, tempo_half_bpm=100.0)


def test_what_is_practised_next_is_not_what_the_last_turn_is_told_of() -> None:
    passes = (_over(1), _over(2, "left-hanging"))
    alone = Span().of(LICK)
    piece = PieceSet(request=replace(REQUEST, lick=alone, whole=LICK, span=Span()))
    state = _after(COUNT_IN, TurnOver(turn=2, passes=passes), piece)
    assert (state.request.lick, state.told_of) == (alone, REQUEST)
    picture = after_picture(state, 0.0, Sheet(), "once more")
    assert any("the whole" in text for text in picture.texts)  # the next is the change alone
    assert _after().told_of == REQUEST


def test_what_goes_along_is_seen() -> None:
    ladder = LadderSeen(tempo_half_bpm=80.0)
    seen = WarmUpSeen(title="Pinches", says="D7", lick=LICK, tempo_half_bpm=60.0)
    state = _after(LadderTold(seen=ladder), WarmUpTold(seen=seen), Trouble(line="disk full", lost=1))
    assert (state.ladder, state.warm_up, state.besides) == (ladder, seen, "disk full")
    playing = _after(COUNT_IN, state=state)
    assert playing.news == ""  # not over what is read while playing
    assert _after(TurnOver(turn=2, passes=(_over(1),)), state=playing).news == "disk full"
    assert _after(Trouble(line=""), TurnOver(turn=2, passes=(_over(1),)), state=playing).news == ""
