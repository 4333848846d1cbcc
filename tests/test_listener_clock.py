from __future__ import annotations

import math

import pytest

from listener.clock import CONFIRM_SEC, MEASURED_SEC, REPORTED_SEC, STEADY_SEC, StreamClock
from tests.in_turn import in_turn
from tests.streams import BLOCK, RATE, TRIP, Stream, at, fed


def test_steady_stamps_give_the_round_trip():
    clock = fed(Stream(), 3.0, measured_sec=0.050)
    assert (clock.ready, clock.basis, clock.steps, clock.drift_ppm) == (True, "stamps", (), None)
    assert clock.round_trip_sec(at(2.0)) == pytest.approx(TRIP, abs=2e-4)
    assert clock.unsure_sec == STEADY_SEC
    assert clock.moved_sec(0, at(3.0)) == 0.0


def test_is_ready_after_a_quarter_second_not_before():
    assert not fed(Stream(), 0.24).ready
    assert fed(Stream(), 0.25 + CONFIRM_SEC).ready
    clock = StreamClock(RATE)
    for position in range(0, at(0.49), BLOCK):
        clock.feed(position, 0.0, 0.0)
    assert not clock.ready


def test_step_before_it_is_ready_is_in_the_round_trip():
    clock = fed(Stream(went=[(0.2, 0.0058)]), 1.0)
    assert clock.steps == ()
    assert clock.round_trip_sec(at(1.0)) == pytest.approx(TRIP + 0.0058, abs=2e-4)


@in_turn("moved", [0.0058, 0.0174, -0.012, 0.003, -0.330])
@in_turn("side", ["came", "went"])
@in_turn("block", [64, 256, 1024])
def test_step_of_one_side_is_found_where_it_is(moved: float, side: str, block: int):
    moved = abs(moved) if side == "went" else moved
    stream = Stream(**{side: [(2.0, moved)]}, block=block)
    (step,) = fed(stream, 2.0 + CONFIRM_SEC + 3 * 1024 / RATE).steps
    truth = moved if side == "went" else -moved
    assert step.moved_sec == pytest.approx(truth, abs=4e-4)
    assert 0 <= step.position - at(2.0) < block
    clock = fed(stream, 4.0)
    assert clock.round_trip_sec(step.position - 1) == pytest.approx(TRIP, abs=2e-4)
    assert clock.round_trip_sec(step.position) == pytest.approx(TRIP + truth, abs=6e-4)
    assert clock.moved_sec(step.position - 1, step.position) == abs(step.moved_sec)
    assert clock.moved_sec(step.position, at(4.0)) == clock.moved_sec(0, step.position - 1) == 0.0


def test_steps_that_follow_one_another():
    clock = fed(Stream(went=[(2.0, 0.0058), (2.15, 0.0116), (2.3, 0.0058)]), 3.0)
    assert [step.position for step in clock.steps] == [at(2.0), at(2.15), at(2.3)]
    assert clock.round_trip_sec(at(3.0)) == pytest.approx(TRIP + 0.0232, abs=6e-4)
    assert clock.moved_sec(at(2.1), at(2.2)) == pytest.approx(0.0116, abs=6e-4)


@pytest.mark.parametrize("moved", [0.0058, 0.0174, -3600.0, 2.0])
def test_both_sides_at_once_are_a_gap_and_no_step(moved: float):
    """Also where the clock of the stamps is set an hour back."""
    clock = fed(Stream(came=[(2.0, moved)], went=[(2.0, moved)]), 4.0)
    assert clock.steps == ()
    clock.hold()
    assert (clock.basis, clock.round_trip_sec(at(4.0))) == ("stamps", pytest.approx(TRIP, abs=2e-4))


def test_both_sides_may_step_differently():
    (step,) = fed(Stream(came=[(2.0, 0.0058)], went=[(2.0, 0.0174)]), 3.0).steps
    assert (step.position, step.moved_sec) == (at(2.0), pytest.approx(0.0116, abs=4e-4))


def test_hold_puts_right_what_was_missed():
    clock = fed(Stream(went=[(25.0, 0.0018)]), 40.0)
    assert clock.steps == ()
    assert clock.round_trip_sec(at(40.0)) == pytest.approx(TRIP, abs=2e-4)
    clock.hold()
    assert clock.round_trip_sec(at(40.0)) == pytest.approx(TRIP + 0.0018, abs=2e-4)


def test_hold_goes_by_what_was_after_the_last_step():
    """A step of which the stamps show the rest later."""
    clock = fed(Stream(went=[(20.0, 0.0058), (20.5, 0.0015)]), 23.0)
    clock.hold()
    assert clock.round_trip_sec(at(23.0)) == pytest.approx(TRIP + 0.0073, abs=3e-4)


def test_two_clocks_drift_and_are_followed_after_hold():
    clock = StreamClock(RATE)
    for position, adc, dac in Stream(ppm=80.0, went=[(31.0, 0.0058)]).callbacks(60.0):
        if position == at(30.0):
            clock.hold()
            before = clock.round_trip_sec(position)
        clock.feed(position, adc, dac)
    assert clock.drift_ppm == pytest.approx(80.0, abs=4.0)
    assert before == pytest.approx(TRIP + 0.0024, abs=2e-4)
    end = at(60.0)
    assert clock.round_trip_sec(end) == pytest.approx(TRIP + 0.0048 + 0.0058, abs=5e-4)
    assert clock.moved_sec(at(32.0), end) == pytest.approx(80e-6 * 28.0, abs=2e-4)
    assert clock.moved_sec(at(30.0), end) == pytest.approx(80e-6 * 30.0 + 0.0058, abs=5e-4)


def test_drift_that_is_not_clear_is_not_followed():
    clock = fed(Stream(went_wander=lambda sec: 0.001 * math.sin(sec / 4.0)), 30.0)
    clock.hold()
    assert clock.drift_ppm is not None
    assert clock.moved_sec(0, at(30.0)) == 0.0


def test_wander_at_first_is_no_drift():
    clock = fed(Stream(came_wander=lambda sec: -0.003 * max(0.0, 5.0 - sec)), 30.0)
    clock.hold()
    assert (clock.drift_ppm, clock.moved_sec(0, at(30.0))) == (None, 0.0)


def test_drift_needs_twenty_seconds_without_a_step():
    assert fed(Stream(), 19.0).drift_ppm is None
    assert fed(Stream(went=[(12.0, 0.0058)]), 31.0).drift_ppm is None
    assert fed(Stream(went=[(12.0, 0.0058)]), 33.0).drift_ppm is not None


def test_without_stamps_or_loop_the_report_is_taken():
    clock = StreamClock(RATE, reported_sec=0.040)
    for position in range(0, RATE, BLOCK):
        clock.feed(position, 0.0, 0.0)
    assert (clock.basis, clock.round_trip_sec(RATE), clock.unsure_sec) == ("reported", 0.040, REPORTED_SEC)


def test_only_the_last_thousand_steps_are_kept_but_all_count():
    stairs = Stream(went_wander=lambda sec: 0.0026 * min(1050, int(sec / 0.25)), jitter_sec=0.0, block=1024)
    clock = fed(stairs, 263.0)
    assert len(clock.steps) == 1000
    assert clock.round_trip_sec(at(263.0)) == pytest.approx(TRIP + 1050 * 0.0026, abs=3e-3)


def test_rate_must_be_positive():
    with pytest.raises(ValueError, match="rate is 0"):
        StreamClock(0)


@pytest.mark.parametrize("extra", [0.0071, -0.002, 0.0])
def test_a_sound_check_is_added_to_the_stamps_and_so_is_what_it_is_unsure_by(extra: float):
    """Through a step, a hold and a second one: it is added once."""
    stream = Stream(went=[(2.0, 0.0116)])
    plain, checked = fed(stream, 4.0), fed(stream, 4.0, extra_sec=extra, extra_unsure_sec=0.0004)
    assert (plain.basis, checked.basis) == ("stamps", "checked")
    for _ in range(3):
        for sec in (1.0, 2.5, 4.0):
            longer = checked.round_trip_sec(at(sec)) - plain.round_trip_sec(at(sec))
            assert longer == pytest.approx(extra, abs=1e-12)
        assert checked.unsure_sec == pytest.approx(plain.unsure_sec + 0.0004)
        assert (checked.steps, checked.ready) == (plain.steps, True)
        checked.hold()
        plain.hold()


def test_drift_is_followed_with_a_sound_check_too():
    clock = fed(Stream(ppm=80.0), 30.0, extra_sec=0.010)
    clock.hold()
    assert clock.round_trip_sec(at(40.0)) == pytest.approx(TRIP + 0.010 + 80e-6 * 40.0, abs=2e-4)


def test_a_sound_check_adds_nothing_where_stamps_make_no_sense():
    clock = StreamClock(RATE, measured_sec=0.050, extra_sec=0.007, extra_unsure_sec=0.0004)
    wide = StreamClock(RATE, measured_sec=0.050, extra_unsure_sec=0.027)
    told = StreamClock(RATE, reported_sec=0.040, extra_sec=0.007, extra_unsure_sec=0.5)
    for position in range(0, RATE, BLOCK):
        for one in (clock, wide, told):
            one.feed(position, 0.0, 0.0)
    assert (clock.basis, clock.round_trip_sec(RATE), clock.unsure_sec) == ("measured", 0.050, MEASURED_SEC)
    assert (wide.basis, wide.unsure_sec) == ("measured", 0.027)
    assert (told.basis, told.round_trip_sec(RATE), told.unsure_sec) == ("reported", 0.040, REPORTED_SEC)


def test_last_stamps_and_a_sound_check_are_better_than_a_report():
    """Possible is what the stamps say; what is added to them may be less than nothing."""
    clock = StreamClock(RATE, reported_sec=0.040, extra_sec=-0.069)
    for position, adc, dac in Stream().callbacks(3.0):
        clock.feed(position, *((adc, dac) if position < RATE else (0.0, 0.0)))
    clock.hold()
    assert (clock.basis, clock.round_trip_sec(at(3.0))) == ("checked", pytest.approx(TRIP - 0.069, abs=2e-4))
