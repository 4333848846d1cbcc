"""Where a lick begins in a take, and how fast: from what a flawless ear says, and from what it may say."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from feedback.judges.limits import Limits
from feedback.start import Start, find_start
from feedback.takes import judge_events
from listener.notes import NoteEvent
from routines.library import load
from routines.lick import Lick, quarter_sec
from tests.bench.start_takes import Warp
from tests.few import few_licks
from tests.in_turn import in_turn
from tests.scores import A, B, judged, lick, play

LIMITS = Limits()
WALTZ = lick("3/2 2/1 1/0 5/0 1/4 2/1 | 2/0 1/0 5/0 3/0 1/0 5/0", "D7 G", meter="3/4")
PICKUP = lick("4/0 4/2 4/4 | 3/2 2/1 1/0 5/0 2/1 1/4 3/2 2/1 | 2/0 1/0 5/0 3/0 1/0", "D7 G", pickup_eighths=3)
FOUR_BARS = lick(
    "3/2 2/1 1/0 5/0 2/1 1/4 3/2 2/1 | 2/0 1/0 5/0 3/0 1/0 5/0 3/0 1/0 | "
    "4/0 4/4 3/2 5/0 1/4 2/1 3/2 2/1 | 2/0 3/0 1/0 5/0 2/0 1/0 3/0 1/0",
    "D7 G D7 G",
)
LONGER = (load("guide-tone-pinches"), load("log-deck-waltz"), FOUR_BARS)


def _noise(seed: int, count: int, begin_sec: float, end_sec: float) -> list[NoteEvent]:
    """Notes of somebody who tunes, noodles or taps."""
    rng = np.random.default_rng(seed)
    return [
        NoteEvent(
            onset_sec=float(sec),
            midi=int(rng.choice([50, 55, 59, 62, 67, 57, 64])),
            cents=0.0,
            level_db=-25.0,
            confidence=1.0,
            heard_sec=float(sec) + 0.03,
            settled_sec=float(sec) + 0.1,
        )
        for sec in np.sort(rng.uniform(begin_sec, end_sec, count))
    ]


def _broken_off(of: Lick, quarters: float, *, tempo_half_bpm: float, start_sec: float) -> list[NoteEvent]:
    """A pass up to a place."""
    end_sec = start_sec + (quarters - 0.25) * quarter_sec(tempo_half_bpm)
    whole = play(of, tempo_half_bpm=tempo_half_bpm, start_sec=start_sec)
    return [event for event in whole if event.onset_sec < end_sec]


def _changing(of: Lick, tempo_half_bpm: float, rise: float) -> list[NoteEvent]:
    """A pass from 3 s on whose tempo rises (or falls) by a share of that at its beginning."""
    ends = [3.0 + of.notes[k].onset_quarters * quarter_sec(tempo_half_bpm) for k in (0, -1)]
    warp = Warp(begin_sec=ends[0], end_sec=ends[1], rise=rise)
    later = 3.0 - warp.at(3.0)
    events = play(of, tempo_half_bpm=tempo_half_bpm, start_sec=3.0)
    return [replace(event, onset_sec=warp.at(event.onset_sec) + later) for event in events]


def _find(of: Lick, events: Sequence[NoteEvent], tempo: float | None = None) -> Start | None:
    return find_start(of, sorted(events, key=lambda e: e.onset_sec), LIMITS, tempo_half_bpm=tempo)


def _assert_found(start: Start | None, start_sec: float, tempo: float, within_sec: float = 0.01) -> None:
    assert start is not None
    assert start.start_sec == pytest.approx(start_sec, abs=within_sec)
    assert start.tempo_half_bpm == pytest.approx(tempo, rel=0.01)


@in_turn("of", [A, B, WALTZ, PICKUP, FOUR_BARS], ids=["A", "B", "waltz", "pickup", "four"])
@in_turn("tempo", [40.0, 72.0, 96.0, 120.0, 165.0])
def test_start_and_tempo_of_a_faithful_pass(of: Lick, tempo: float) -> None:
    events = play(of, tempo_half_bpm=tempo, start_sec=3.21)
    _assert_found(_find(of, events), 3.21, tempo)
    given_tempo = _find(of, events, tempo)
    _assert_found(given_tempo, 3.21, tempo)
    assert given_tempo is not None
    assert given_tempo.tempo_half_bpm == tempo
    assert given_tempo.agreement == pytest.approx(1.0)


@settings(max_examples=25, deadline=None)
@given(st.floats(38.0, 168.0), st.floats(0.6, 30.0))
def test_any_tempo_and_start(tempo: float, start_sec: float) -> None:
    _assert_found(_find(A, play(A, tempo_half_bpm=tempo, start_sec=start_sec)), start_sec, tempo)


def test_every_lick_of_the_library_is_found() -> None:
    for of in few_licks():
        events = play(of, tempo_half_bpm=84.0, start_sec=2.5)
        _assert_found(_find(of, events), 2.5, 84.0)


@pytest.mark.parametrize("seed", range(4))
def test_notes_before_and_after_do_no_harm(seed: int) -> None:
    events = [
        *_noise(seed, 12, 0.0, 3.8),
        *play(A, tempo_half_bpm=100.0, start_sec=4.0),
        *_noise(seed + 100, 6, 7.0, 9.0),
    ]
    _assert_found(_find(A, events), 4.0, 100.0)


@pytest.mark.parametrize(
    "slips",
    [
        "b1e3 =2/0; b1e6 =1/2; b2e1 =1/0; b2e6 =3/2",
        "b1e1 out; b1e8 out; b2e1 out; b2e5 out",
        "b1e2 +0.7e; b1e8 +0.8e; b2e4 -0.6e",
        "add 2/0 b1e2.5; add 3/0 b1e6.5; add 1/2 b2e1.5; add 1/4 b2e3.5",
        "even +30ms",
        "each 9 -12 4 -7 11 -3 8 -10 2 -9 6 12 -5 7 -8",
    ],
)
def test_a_pass_with_mistakes_is_found(slips: str) -> None:
    _assert_found(_find(A, play(A, slips, tempo_half_bpm=100.0, start_sec=4.0)), 4.0, 100.0, 0.012)


@in_turn("of", [A, FOUR_BARS], ids=["two-bars", "four-bars"])
@in_turn("percent", [-5.0, -3.0, 3.0, 5.0])
def test_a_player_who_drifts_from_the_given_tempo(of: Lick, percent: float) -> None:
    events = play(of, tempo_half_bpm=110.0 * (1 + percent / 100), start_sec=2.0)
    start = _find(of, events, 110.0)
    _assert_found(start, 2.0, 110.0)
    outcome = judge_events(events, of, LIMITS, tempo_half_bpm=110.0).outcome
    assert outcome.timing.drift_percent == pytest.approx(percent, abs=0.1)
    assert outcome.timing.lean_ms is None
    assert {note.verdict for note in outcome.notes} == {"landed"}
    assert outcome.clean


@pytest.mark.parametrize("percent", [-20.0, 20.0])
def test_a_tempo_far_from_the_given_one_is_not_found(percent: float) -> None:
    assert _find(A, play(A, tempo_half_bpm=100.0 * (1 + percent / 100)), 100.0) is None


def test_the_first_of_two_passes_is_taken_though_it_has_a_mistake() -> None:
    events = [
        *play(A, "b1e8 out; b2e1 =1/0", tempo_half_bpm=100.0, start_sec=2.0),
        *play(A, tempo_half_bpm=100.0, start_sec=9.0),
    ]
    _assert_found(_find(A, events), 2.0, 100.0)


def test_the_first_of_many_passes_is_taken() -> None:
    passes = [
        play(A, "b1e8 out; b2e1 =1/0" if k % 2 == 0 else "", tempo_half_bpm=100.0, start_sec=2.0 + 4.8 * k)
        for k in range(30)
    ]
    _assert_found(_find(A, [event for events in passes for event in events]), 2.0, 100.0)


def test_bars_that_are_alike_are_not_taken_for_one_another() -> None:
    # One bar early, three bars of four fit; there are even three notes before that fit, too.
    roll = lick("3/0 2/0 1/0 5/0 2/0 1/0 5/0 1/0 | " * 4, "G . . .")
    events = play(roll, tempo_half_bpm=100.0, start_sec=6.0)
    before = play(roll, tempo_half_bpm=100.0, start_sec=6.0 - 2.4)[5:8]
    _assert_found(_find(roll, [*before, *events]), 6.0, 100.0)


def test_a_false_start_is_passed_over() -> None:
    begun = [event for event in play(A, tempo_half_bpm=100.0, start_sec=1.0) if event.onset_sec < 1.8]
    events = [*begun, *play(A, tempo_half_bpm=100.0, start_sec=3.5)]
    _assert_found(_find(A, events), 3.5, 100.0)


@in_turn("pause_sec", [1.0, 1.7, 3.0])
@in_turn("bars", [0.5, 1.0])
@in_turn("of", [A, B, WALTZ, PICKUP, FOUR_BARS], ids=["A", "B", "waltz", "pickup", "four"])
def test_who_breaks_off_and_begins_again_is_judged_by_the_whole_pass(
    of: Lick, bars: float, pause_sec: float
) -> None:
    begun = _broken_off(of, bars * of.quarters_a_bar, tempo_half_bpm=96.0, start_sec=2.0)
    again = begun[-1].onset_sec + pause_sec + of.pickup_quarters * quarter_sec(100.0)
    events = [*begun, *play(of, tempo_half_bpm=100.0, start_sec=again)]
    _assert_found(_find(of, events), again, 100.0)


@in_turn("of", [A, B, WALTZ, PICKUP, FOUR_BARS], ids=["A", "B", "waltz", "pickup", "four"])
@in_turn("tempo", [60.0, 120.0])
def test_who_goes_back_to_the_top_after_a_bar_is_judged_by_the_whole_pass(of: Lick, tempo: float) -> None:
    begun = _broken_off(of, of.quarters_a_bar, tempo_half_bpm=tempo, start_sec=2.0)
    bar_over = 2.0 + of.quarters_a_bar * quarter_sec(tempo)
    again = bar_over + 0.5 + of.pickup_quarters * quarter_sec(tempo)
    events = [*begun, *play(of, tempo_half_bpm=tempo, start_sec=again)]
    _assert_found(_find(of, events), again, tempo)


@pytest.mark.parametrize("seed", range(6))
def test_notes_in_the_pause_make_no_whole_pass_of_what_was_broken_off(seed: int) -> None:
    begun = _broken_off(A, 5.0, tempo_half_bpm=100.0, start_sec=2.0)
    tuning = _noise(seed, 5, 3.7, 4.6)
    events = [*begun, *tuning, *play(A, tempo_half_bpm=100.0, start_sec=5.2)]
    _assert_found(_find(A, events), 5.2, 100.0)


def test_who_breaks_off_for_good_is_judged_by_what_there_is() -> None:
    begun = _broken_off(A, 5.0, tempo_half_bpm=100.0, start_sec=2.0)
    start = _find(A, begun)
    _assert_found(start, 2.0, 100.0)
    assert start is not None
    assert not start.whole


@pytest.mark.parametrize(
    "slips", ["", "b2e6-b2e7 out", "b1e1-b1e2 out", "b2e6-b2e7 =1/4", "b1e3 out; b2e7 out"]
)
def test_of_two_passes_the_first_is_whole_if_it_goes_from_beginning_to_end(slips: str) -> None:
    events = [
        *play(A, slips, tempo_half_bpm=100.0, start_sec=2.0),
        *play(A, tempo_half_bpm=100.0, start_sec=2.0 + 8 * 0.3),
    ]
    start = _find(A, events)
    _assert_found(start, 2.0, 100.0)
    assert start is not None
    assert start.whole


@in_turn("rise", [0.15, -0.15])
@in_turn("tempo", [45.0, 100.0])
@in_turn("of", [*LONGER, A, PICKUP], ids=lambda of: of.id)
def test_a_tempo_that_changes_smoothly_is_followed(of: Lick, tempo: float, rise: float) -> None:
    events = _changing(of, tempo, rise)
    start = _find(of, events)
    _assert_found(start, 3.0, tempo, 0.015)
    assert start is not None
    assert start.share == 1.0
    assert start.whole
    for event, note in zip(events, of.notes, strict=True):
        due = start.start_sec + note.onset_quarters * quarter_sec(start.tempo_half_bpm)
        assert due + start.habits.expected_sec(note.onset_quarters, due) == pytest.approx(
            event.onset_sec, abs=0.015
        )
    outcome = judge_events(events, of, LIMITS).outcome
    assert {note.verdict for note in outcome.notes} == {"landed"}
    assert outcome.timing.lean_ms is None
    assert outcome.timing.drift_percent == pytest.approx(0.0, abs=1.0)


@pytest.mark.parametrize("rise", [0.15, -0.15])
def test_a_change_of_tempo_against_a_given_one_is_followed(rise: float) -> None:
    events = _changing(FOUR_BARS, 103.0, rise)
    start = _find(FOUR_BARS, events, 100.0)
    assert start is not None
    assert start.tempo_half_bpm == 100.0
    outcome = judge_events(events, FOUR_BARS, LIMITS, tempo_half_bpm=100.0).outcome
    assert {note.verdict for note in outcome.notes} == {"landed"}
    assert outcome.timing.drift_percent == pytest.approx(3.0, abs=1.0)


@pytest.mark.parametrize("of", [A, FOUR_BARS], ids=["two-bars", "four-bars"])
def test_long_noodling_on_the_notes_of_the_lick_is_not_the_lick(of: Lick) -> None:
    rng = np.random.default_rng(2)
    beats = play(A, tempo_half_bpm=100.0)
    pitches = [note.midi for note in of.notes]
    noodled = [
        replace(beats[0], midi=int(rng.choice(pitches)), onset_sec=0.15 * k + float(rng.normal(0, 0.006)))
        for k in range(1000)
    ]
    assert _find(of, noodled) is None
    events = [*noodled, *play(of, "b1e4 out; b2e3 =1/2", tempo_half_bpm=90.0, start_sec=152.0)]
    _assert_found(_find(of, events), 152.0, 90.0)


def test_notes_before_a_time_can_be_left_out() -> None:
    events = [*play(A, start_sec=2.0), *play(A, start_sec=8.0)]
    start = find_start(A, events, LIMITS, not_before_sec=7.0)
    assert start is not None
    assert start.start_sec == pytest.approx(8.0)


def test_unsure_notes_are_not_looked_at() -> None:
    assert _find(A, play(A, "all sure 0.1")) is None


@pytest.mark.parametrize("tempo", [None, 100.0])
def test_nothing_and_too_little(tempo: float | None) -> None:
    assert _find(A, [], tempo) is None
    assert _find(A, play(A, tempo_half_bpm=100.0)[:4], tempo) is None
    assert _find(A, _noise(5, 30, 0.0, 8.0), tempo) is None


def test_four_notes_are_too_few_even_of_six() -> None:
    short = lick("3/2 2/1 1/0 5/0 2/1 1/4 . .", "D7")
    assert _find(short, play(short)) is not None
    assert _find(short, play(short, "b1e5-b1e6 out")) is None


def test_a_bounce_does_not_move_the_start() -> None:
    events = play(FOUR_BARS, "even +45ms", tempo_half_bpm=72.0, start_sec=4.0)
    start = _find(FOUR_BARS, events)
    _assert_found(start, 4.0, 72.0, 0.005)
    assert start is not None
    assert start.habits.bounce_sec == pytest.approx(0.045, abs=0.002)


def test_another_lick_is_not_taken_for_this_one() -> None:
    licks = few_licks()
    played = {other.id: play(other, tempo_half_bpm=92.0, start_sec=2.0) for other in licks}
    pairs = [(of, other) for of in licks for other in licks if of.id != other.id]
    taken = [(of.id, other.id) for of, other in pairs if _find(of, played[other.id], 92.0) is not None]
    # Of all 14,042 pairs of the repertoire two: one lick has most of what little the other has.
    assert len(taken) <= 1, taken
    assert _find(A, play(B)) is None
    assert _find(B, play(A)) is None


class TestJudging:
    """What is judged from a found start."""

    def test_what_was_found_is_what_was_played(self) -> None:
        slips = "b1e3 =2/0; b2e1 =1/0"
        found = judge_events(play(A, slips, tempo_half_bpm=100.0, start_sec=4.0), A, LIMITS).outcome
        known = judged(A, slips, tempo_half_bpm=100.0, start_sec=4.0).outcome
        assert found.start_found
        assert not known.start_found
        assert [n.verdict for n in found.notes] == [n.verdict for n in known.notes]
        assert [s.resolution for s in found.sevenths] == [s.resolution for s in known.sevenths]
        assert found.timing.lean_ms is None
        assert found.clean is known.clean is False

    def test_a_given_start_knows_the_lean(self) -> None:
        events = play(A, "all +20ms", start_sec=4.0)
        outcome = judge_events(events, A, LIMITS, tempo_half_bpm=150.0, start_sec=4.0).outcome
        assert outcome.timing.lean_ms == pytest.approx(20)
        assert not outcome.start_found

    def test_the_tempo_at_a_given_start_is_that_of_the_pass_there(self) -> None:
        events = [*play(A, tempo_half_bpm=70.0, start_sec=1.0), *play(A, tempo_half_bpm=120.0, start_sec=9.0)]
        outcome = judge_events(events, A, LIMITS, start_sec=9.0).outcome
        assert outcome.tempo_half_bpm == pytest.approx(120.0, rel=0.005)
        assert outcome.clean

    def test_a_given_start_in_silence_takes_the_lick_s_top_tempo(self) -> None:
        outcome = judge_events([], A, LIMITS, start_sec=2.0).outcome
        assert outcome.tempo_half_bpm == A.top_tempo_half_bpm
        assert outcome.start_sec == 2.0

    @pytest.mark.parametrize("events", [[], play(B)], ids=["silence", "another-lick"])
    def test_no_start(self, events: list[NoteEvent]) -> None:
        outcome = judge_events(events, A, LIMITS).outcome
        assert outcome.start_sec is None
        assert not outcome.start_found
        assert {note.verdict for note in outcome.notes} == {"missed"}
        assert all(note.onset_sec is None for note in outcome.notes)
        assert outcome.extras == ()
        assert all(s.resolution == "none" and s.due is False for s in outcome.sevenths)
        assert outcome.timing.lean_ms is None
