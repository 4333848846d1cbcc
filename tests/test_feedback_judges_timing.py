"""Timing of a pass: lean, bounce, spread, drift and hurry at the change, each apart."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from feedback.grid import Habits
from feedback.judges.timing import (
    Deviation,
    bounce_sec,
    habits_of,
    spread_sec,
    steadied,
)
from feedback.judges.whole import Circumstances, Judged, judge_pass
from routines.lick import Lick
from tests.bench.start_takes import Warp
from tests.scores import A, grid_of, judged, lick, play

ROLL = lick("3/0 2/0 1/0 5/0 2/0 1/0 5/0 1/0 | 3/0 2/0 1/0 5/0 2/0 1/0 5/0 1/0", "G .")
EIGHT = lick("3/0 2/0 1/0 5/0 2/0 1/0 5/0 1/0", "G")
FOUR_BARS = lick("3/0 2/0 1/0 5/0 2/0 1/0 5/0 1/0 | " * 4, "G . . .")
FOUR_LONG = lick(
    "3/2 2/1 1/0 5/0 2/1 1/4 3/2 2/1 | 2/0 1/0 5/0 3/0 1/0 5/0 3/0 1/0 | "
    "3/0 2/0 1/0 5/0 2/0 1/0 5/0 1/0 | 3/0 2/0 1/0 5/0 2/0 1/0 5/0 1/0",
    "D7 G . .",
)


def _faster(of: Lick, percent: float, about: Circumstances, slips: str = "") -> Judged:
    """A pass that was played faster than its grid says."""
    events = play(of, slips, tempo_half_bpm=150.0 * (1 + percent / 100))
    return judge_pass(grid_of(of), events, about)


def _warp(of: Lick, rise: float) -> Warp:
    first, last = (1.0 + of.notes[k].onset_quarters * 0.2 for k in (0, -1))
    return Warp(begin_sec=first, end_sec=last, rise=rise)


def _changing(of: Lick, rise: float, slips: str = "", about: Circumstances | None = None) -> Judged:
    """A pass whose tempo rises (or falls) smoothly, by default without a click."""
    warp = _warp(of, rise)
    events = [replace(event, onset_sec=warp.at(event.onset_sec)) for event in play(of, slips)]
    return judge_pass(grid_of(of), events, about or Circumstances(click_off=True))


def _deviations(*late_ms: float) -> list[Deviation]:
    """Picked notes an eighth of 100 ms apart, from the first eighth on."""
    return [Deviation(quarters=k / 2, due_sec=k / 10, sec=ms / 1e3) for k, ms in enumerate(late_ms)]


def test_the_steady_example() -> None:
    found = judged(EIGHT, "each -24 -19 -26 -22 -20 -25 -18 -23")
    assert found.outcome.timing.lean_ms == pytest.approx(-22)
    assert found.outcome.timing.spread_ms == pytest.approx(1.48 * 2.5)
    assert {note.verdict for note in found.outcome.notes} == {"landed"}


def test_the_uneven_example() -> None:
    timing = judged(EIGHT, "each -30 22 28 -24 -26 27 31 -20").outcome.timing
    assert timing.lean_ms == pytest.approx(1)
    assert timing.spread_ms == pytest.approx(1.48 * 26.5)
    assert timing.bounce is None


def test_the_bounced_example() -> None:
    found = judged(ROLL, "even +20ms")
    assert found.outcome.timing.bounce == pytest.approx(0.6)
    assert found.outcome.timing.spread_ms == pytest.approx(0, abs=1e-6)
    assert found.outcome.timing.lean_ms == pytest.approx(0, abs=1e-6)
    assert {note.verdict for note in found.outcome.notes} == {"landed"}
    assert found.outcome.notes[1].deviation_ms == pytest.approx(20)
    assert found.outcome.notes[1].rest_ms == pytest.approx(0, abs=1e-6)


def test_bounce_is_told_as_a_share_of_the_quarter() -> None:
    # 56:44 at 75 half notes a minute: a quarter of 400 ms, its second half 24 ms later than half way.
    timing = judged(ROLL, "even +24ms", tempo_half_bpm=75).outcome.timing
    assert timing.bounce == pytest.approx(0.56)


def test_bounce_needs_six_of_each() -> None:
    five = _deviations(0, 20, 0, 20, 0, 20, 0, 20, 0, 20, 0)
    assert bounce_sec(five) is None
    assert bounce_sec([*five, Deviation(quarters=5.5, due_sec=1.1, sec=0.02)]) == pytest.approx(0.02)
    even = [Deviation(quarters=k + 0.5, due_sec=k / 5, sec=0.02) for k in range(9)]
    assert bounce_sec(even) is None


def test_notes_between_the_eighths_are_neither_odd_nor_even() -> None:
    assert [d.odd for d in _deviations(0, 0, 0)] == [True, False, True]
    assert Deviation(quarters=-0.5, due_sec=0, sec=0).odd is False
    assert Deviation(quarters=-1.0, due_sec=0, sec=0).odd is True
    assert Deviation(quarters=0.25, due_sec=0, sec=0).odd is None


@pytest.mark.parametrize(("quarters", "ms"), [(0, 0), (0.25, 10), (0.5, 20), (0.75, 10), (1, 0), (-0.5, 20)])
def test_between_the_eighths_a_bounce_is_half_there(quarters: float, ms: float) -> None:
    assert 1e3 * Habits(bounce_sec=0.02).expected_sec(quarters, 0.0) == pytest.approx(ms)


def test_a_bounce_early_is_told_but_is_no_habit_to_be_taken_off() -> None:
    # "later than half way": even eighths that come early are not called bounced. What is early stays early.
    found = judged(ROLL, "even -25ms")
    assert found.outcome.timing.bounce == pytest.approx(0.375)
    assert found.outcome.notes[1].verdict == "early"


def test_lean_looks_at_odd_eighths_only() -> None:
    timing = judged(ROLL, "odd -12ms; even +8ms").outcome.timing
    assert timing.lean_ms == pytest.approx(-12)
    assert timing.bounce == pytest.approx(0.6)


def test_lean_looks_at_picked_notes_of_the_right_pitch() -> None:
    slurred = lick("3/0 2/0 h2/1 5/0 3/0 h3/2 h3/4 1/0", "G")
    timing = judged(slurred, "b1e1 -8ms; b1e5 -8ms; b1e3 +20ms; b1e7 +20ms").outcome.timing
    assert timing.lean_ms == pytest.approx(-8)
    wrong = judged(EIGHT, "all -8ms; b1e3 =3/2 +30ms; b1e5 =3/2 +30ms; b1e7 sure 0.1 +30ms").outcome.timing
    assert wrong.lean_ms == pytest.approx(-8)


def test_one_late_note_makes_no_lean() -> None:
    found = judged(A, "b1e3 +70ms; b2e7 +60ms")
    assert found.outcome.timing.lean_ms == pytest.approx(0, abs=1e-6)
    assert found.outcome.timing.spread_ms == pytest.approx(0, abs=1e-6)


@pytest.mark.parametrize("lean_ms", [-60, -30, 30, 60])
def test_a_large_lean_is_found_before_it_is_blamed(lean_ms: int) -> None:
    found = judged(A, f"all {lean_ms:+d}ms")
    assert found.outcome.timing.lean_ms == pytest.approx(lean_ms)
    assert {note.verdict for note in found.outcome.notes} == {"landed"}


class TestSeveralPasses:
    """Bounce is pooled over this pass and the ones before it at the same tempo."""

    def test_bounce_comes_from_the_passes_before(self) -> None:
        first = judged(EIGHT, "even +24ms")
        assert first.outcome.timing.bounce is None
        assert first.outcome.notes[1].verdict == "late"
        second = judged(EIGHT, "even +24ms", about=Circumstances(earlier=first.played))
        assert second.outcome.timing.bounce == pytest.approx(0.62)
        assert second.outcome.notes[1].verdict == "landed"
        assert second.outcome.timing.spread_ms == pytest.approx(0, abs=1e-6)

    def test_a_lean_that_differs_from_pass_to_pass_is_no_bounce(self) -> None:
        # The first pass lacks two even eighths and leans ahead, the second lacks odd ones and leans behind.
        first = judged(ROLL, "all -30ms; b1e2 out; b1e4 out; b1e6 out")
        second = judged(
            ROLL, "all +30ms; b1e1 out; b1e3 out; b1e5 out", about=Circumstances(earlier=first.played)
        )
        assert second.outcome.timing.bounce == pytest.approx(0.5)
        assert second.outcome.timing.lean_ms == pytest.approx(30)

    def test_lean_is_of_this_pass_alone(self) -> None:
        first = judged(ROLL, "all -30ms")
        second = judged(ROLL, "all +5ms", about=Circumstances(earlier=first.played))
        assert second.outcome.timing.lean_ms == pytest.approx(5)


class TestDrift:
    """Rushing and dragging, where no click held the tempo."""

    @pytest.mark.parametrize("percent", [-4.0, -1.0, 0.0, 2.0, 3.0])
    def test_it_is_told_in_percent_of_tempo_and_taken_off(self, percent: float) -> None:
        found = _faster(A, percent, Circumstances(click_off=True))
        assert found.outcome.timing.drift_percent == pytest.approx(percent, abs=1e-6)
        assert found.outcome.timing.spread_ms == pytest.approx(0, abs=1e-6)
        assert {note.verdict for note in found.outcome.notes} == {"landed"}
        assert found.outcome.clean

    def test_with_a_click_it_is_neither_told_nor_taken_off(self) -> None:
        found = _faster(A, 5.0, Circumstances())
        assert found.outcome.timing.drift_percent is None
        assert found.outcome.notes[0].verdict == "late"
        assert found.outcome.notes[-1].verdict == "early"

    def test_it_is_told_where_the_start_was_found_and_lean_is_not(self) -> None:
        timing = _faster(A, 3.0, Circumstances(start_found=True), "all +12ms").outcome.timing
        assert timing.drift_percent == pytest.approx(3.0)
        assert timing.lean_ms is None

    def test_lean_is_that_of_the_middle_of_the_pass(self) -> None:
        events = play(A, "all +12ms", tempo_half_bpm=150 * 1.03, start_sec=10.0)
        about = Circumstances(click_off=True)
        timing = judge_pass(grid_of(A, start_sec=10.0), events, about).outcome.timing
        assert timing.lean_ms == pytest.approx(12 - 700 * (1 - 1 / 1.03), abs=1e-6)

    def test_it_is_robust(self) -> None:
        late = _faster(A, 2.0, Circumstances(click_off=True), "b2e6 +70ms; b1e2 -50ms")
        assert late.outcome.timing.drift_percent == pytest.approx(2.0, abs=0.01)

    def test_it_is_no_bounce(self) -> None:
        timing = _faster(ROLL, -5.0, Circumstances(click_off=True), "even +15ms").outcome.timing
        assert timing.bounce == pytest.approx(0.575, abs=0.003)

    def test_too_few_notes_tell_no_drift(self) -> None:
        few = lick("3/0 . 2/0 . 1/0 . 5/0 . | 3/0 . 2/0 . 1/0 . . .", "G .")
        found = _faster(few, 1.0, Circumstances(click_off=True))
        assert found.outcome.timing.drift_percent is None

    def test_the_tempo_course_is_the_click_s(self) -> None:
        assert judged(FOUR_BARS, "").outcome.timing.tempo_course == ((1.0, 150.0),)

    def test_the_tempo_course_follows_a_free_player_bar_by_bar(self) -> None:
        # 2 % slower in the last two bars.
        late = " ".join(f"{max(0, k - 16) * 2:g}" for k in range(32))
        course = judged(FOUR_BARS, f"each {late}", about=Circumstances(click_off=True)).outcome.timing
        assert [sec for sec, _ in course.tempo_course] == pytest.approx([1.0, 1.8, 2.6, 3.4])
        assert [bpm for _, bpm in course.tempo_course] == pytest.approx([150, 150, 150 / 1.02, 150 / 1.02])


class TestSpeedingUp:
    """A tempo that changes smoothly: no fault of any one note, and told bar by bar."""

    @pytest.mark.parametrize("rise", [0.15, -0.15])
    @pytest.mark.parametrize("of", [A, FOUR_BARS], ids=["two-bars", "four-bars"])
    def test_no_note_is_blamed_for_it(self, of: Lick, rise: float) -> None:
        found = _changing(of, rise)
        assert {note.verdict for note in found.outcome.notes} == {"landed"}
        assert found.outcome.timing.spread_ms == pytest.approx(0, abs=4)
        assert found.outcome.clean
        assert found.habits.bend * rise < 0

    @pytest.mark.parametrize("rise", [0.15, -0.15])
    @pytest.mark.parametrize("slips", ["", "each 5 -7 2 6 -4 -2 3 -6 4 -5 1 7 -3 2 -4 5"])
    def test_the_tempo_course_tells_it_bar_by_bar(self, rise: float, slips: str) -> None:
        found = _changing(FOUR_BARS, rise, slips)
        told = [tempo for _, tempo in found.outcome.timing.tempo_course]
        warp = _warp(FOUR_BARS, rise)
        last = FOUR_BARS.notes[-1].onset_quarters
        bars = [(quarters, min(quarters + 4.0, last)) for quarters in (0.0, 4.0, 8.0, 12.0)]
        sec = [tuple(warp.at(1.0 + quarters * 0.2) for quarters in bar) for bar in bars]
        played = [30 * (b - a) / (end - begin) for (a, b), (begin, end) in zip(bars, sec, strict=True)]
        assert told == pytest.approx(played, rel=0.01)
        assert (told[-1] / told[0] - 1.0) * rise > 0

    def test_a_late_note_is_late_still(self) -> None:
        found = _changing(A, 0.15, "b1e6 +45ms")
        assert [n.index for n in found.outcome.notes if n.verdict != "landed"] == [5]
        assert found.outcome.notes[5].verdict == "late"
        assert found.outcome.notes[5].rest_ms == pytest.approx(45, abs=6)

    def test_a_hurry_to_the_change_is_no_smooth_change(self) -> None:
        for percent in (0.0, 3.0):
            found = _faster(A, percent, Circumstances(click_off=True), "b1e7-b2e1 -18ms")
            assert found.habits.bend == 0.0
            assert found.hurried

    def test_a_hurry_is_seen_while_the_tempo_changes(self) -> None:
        found = _changing(FOUR_LONG, 0.15, "b1e7-b2e1 -18ms")
        assert found.outcome.timing.hurry_at_change_ms == pytest.approx(-18, abs=5)
        assert found.hurried

    def test_with_a_click_it_is_not_taken_off(self) -> None:
        found = _changing(FOUR_BARS, 0.15, about=Circumstances())
        assert found.habits.bend == 0.0
        assert {"early", "late"} & {note.verdict for note in found.outcome.notes}

    def test_matching_begins_with_what_is_known_of_the_player_s_time(self) -> None:
        # A lick of one pitch, half an eighth off: only who knows that can tell which note is which.
        of = lick("1/0 1/0 1/0 1/0 1/0 1/0 1/0 1/0", "G")
        events = play(of, "all +80ms")[:-1]
        known = judge_pass(grid_of(of), events, Circumstances(habits=Habits(lean_sec=0.08)))
        assert [n.verdict for n in known.outcome.notes] == ["landed"] * 7 + ["missed"]


class TestHurry:
    """Hurry at the change: the resolution and the two strokes before it."""

    @pytest.mark.parametrize(("ms", "hurried"), [(11, False), (12, True), (20, True)])
    def test_beyond_half_w(self, ms: int, hurried: bool) -> None:
        found = judged(A, f"b1e7-b2e1 -{ms}ms")
        assert found.outcome.timing.hurry_at_change_ms == pytest.approx(-ms)
        assert found.hurried is hurried

    def test_lateness_is_no_hurry(self) -> None:
        found = judged(A, "b1e7-b2e1 +15ms")
        assert found.outcome.timing.hurry_at_change_ms == pytest.approx(15)
        assert not found.hurried

    @pytest.mark.parametrize(("ms", "hurried"), [(65, True), (67, False), (-65, True), (-67, False)])
    def test_only_while_the_others_average_within_a_quarter_of_w(self, ms: int, hurried: bool) -> None:
        # Twelve other notes: one of them off by 66 ms moves their mean by W/4, 5.5 ms.
        assert judged(A, f"b1e7-b2e1 -15ms; b2e3 {ms:+d}ms").hurried is hurried

    def test_the_voices_of_a_pinch_are_one_stroke(self) -> None:
        of = lick("3/2 2/1 1/0 5/0 2/1 1/4 3/2 2/1 | 2/0+1/0 5/0 3/0 . 1/0 5/0 3/0", "D7 G")
        found = judged(of, "b1e7-b2e1 -15ms")
        assert found.outcome.timing.hurry_at_change_ms == pytest.approx(-15)

    def test_the_worst_change_is_told(self) -> None:
        of = lick(
            "3/2 2/1 1/0 5/0 2/1 1/4 3/2 2/1 | 2/0 1/0 5/0 3/0 1/0 5/0 3/0 1/0 | "
            "3/2 2/1 1/0 5/0 2/1 1/4 3/2 2/1 | 2/0 1/0 5/0 3/0 1/0 5/0 3/0 1/0",
            "D7 G D7 G",
        )
        assert judged(of, "b1e7-b2e1 -5ms; b3e7-b4e1 -14ms").outcome.timing.hurry_at_change_ms == (
            pytest.approx(-14)
        )

    def test_what_was_not_heard_is_left_out(self) -> None:
        assert judged(A, "b1e7-b2e1 -15ms; b2e1 out").outcome.timing.hurry_at_change_ms == pytest.approx(-15)
        assert judged(A, "b1e7-b2e1 out").outcome.timing.hurry_at_change_ms is None

    def test_no_change_no_hurry(self) -> None:
        assert judged(EIGHT, "").outcome.timing.hurry_at_change_ms is None


def test_nothing_heard() -> None:
    timing = judged(A, "all out").outcome.timing
    assert (timing.lean_ms, timing.bounce, timing.spread_ms, timing.hurry_at_change_ms) == (None,) * 4
    assert spread_sec([]) is None
    assert bounce_sec([]) is None
    assert habits_of([], [], with_drift=True).expected_sec(0.5, 1.0) == 0.0


def test_one_note() -> None:
    timing = judged(lick("3/0 . . .", "G"), "b1e1 +12ms").outcome.timing
    assert timing.lean_ms == pytest.approx(12)
    assert timing.spread_ms == pytest.approx(0, abs=1e-6)


@settings(max_examples=50, deadline=None)
@given(
    st.lists(st.floats(-15, 15), min_size=16, max_size=16),
    st.floats(-30, 30),
    st.floats(0, 25),
)
def test_habits_explain_what_they_take_off(noise: list[float], lean: float, bounce: float) -> None:
    plain = _deviations(*noise)
    moved = _deviations(*(ms + lean + (bounce + 40 if k % 2 else 0) for k, ms in enumerate(noise)))
    before = habits_of(plain, [], with_drift=False)
    after = habits_of(moved, [], with_drift=False)
    assert after.lean_sec - before.lean_sec == pytest.approx(lean / 1e3)
    late_even = bounce_sec(steadied(plain, before))
    assert late_even is not None
    assert after.bounce_sec == pytest.approx(late_even + (bounce + 40) / 1e3)
