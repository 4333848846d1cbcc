from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from listener.arrivals import VERDICT_SEC
from listener.clock import CONFIRM_SEC, StreamClock
from listener.steps import Steps
from tests.in_turn import in_turn
from tests.streams import RATE, TRIP, Stream, at, fed, heard, saw, steps_at

WANDER = saw(0.0149, 1.5)  # its stamps are believed from 19 ms on


def away(begin: float, end: float, by_sec: float):
    """Stamps that jump away and come back."""
    return lambda sec: by_sec if begin <= sec < end else 0.0


def busy(begin: float, end: float, by_sec: float = 0.020):
    """A spell in which every callback is late."""
    return away(begin, end, by_sec)


@pytest.mark.parametrize("block", [64, 256, 1024])
@pytest.mark.parametrize("lost", [0.0145, 0.0174])
def test_loss_within_the_wander_is_found_where_edge_and_stamps_agree(lost: float, block: int):
    stream = Stream(lost=[(10.3, lost)], came_wander=WANDER, block=block)
    (step,), later = steps_at(stream, 10.3 + VERDICT_SEC + 1.0, 20.0)
    assert abs(step.position - at(10.3)) < 0.15 * RATE
    assert step.moved_sec == pytest.approx(-lost, abs=0.004)
    assert fed(stream, 14.0).steps == ()
    assert len(later) == 1


@pytest.mark.parametrize("lost", [0.0145, 0.0174])
def test_hold_goes_by_a_loss_that_was_found_late(lost: float):
    """What was noted between the loss and the verdict is put right, too."""
    clock = heard(Stream(lost=[(10.3, lost)], came_wander=WANDER), 13.8)
    clock.hold()
    assert clock.round_trip_sec(at(13.8)) == pytest.approx(TRIP - lost, abs=0.004)
    assert clock.round_trip_sec(at(9.0)) == pytest.approx(TRIP, abs=0.004)
    clock = heard(Stream(lost=[(4.0, lost)], came_wander=WANDER), 40.0)
    clock.hold()
    assert clock.round_trip_sec(at(40.0)) == pytest.approx(TRIP - lost, abs=0.002)


def test_wander_alone_is_no_loss_nor_is_lateness_alone():
    for moved in (0.0145, -0.0145):
        assert (
            heard(Stream(came_wander=lambda sec, by=moved: WANDER(sec) + by * (sec > 10.3)), 20.0).steps == ()
        )
    assert heard(Stream(late=busy(10.3, 20.0)), 20.0).steps == ()


@pytest.mark.parametrize(("late", "moved"), [(0.050, 0.0145), (0.0115, 0.004), (0.0075, 0.0115)])
def test_lateness_of_another_size_confirms_no_loss(late: float, moved: float):
    stream = Stream(late=busy(10.3, 20.0, late), came_wander=lambda sec: WANDER(sec) + moved * (sec > 10.3))
    assert heard(stream, 20.0).steps == ()


def test_loss_of_less_than_ten_ms_is_left_to_the_stamps():
    assert heard(Stream(lost=[(10.3, 0.007)], came_wander=WANDER), 20.0).steps == ()


@pytest.mark.parametrize("moved", [0.025, -0.025])
@pytest.mark.parametrize("until", [10.9, 13.5, 99.0])
def test_jump_that_the_edge_denies_is_taken_back_where_it_was(moved: float, until: float):
    stream = Stream(came_wander=away(10.3, until, moved))
    assert fed(stream, 10.3 + CONFIRM_SEC + 0.03).steps[0].moved_sec == pytest.approx(-moved, abs=4e-4)
    before = heard(stream, 10.3 + VERDICT_SEC - 0.2).steps
    clock = heard(stream, 20.0)
    first, second = (step for step in clock.steps if step.position == at(10.3))
    assert before[0] == first
    assert first.moved_sec == -second.moved_sec
    for sec in (9.0, 10.5, 14.0, 20.0):
        assert clock.round_trip_sec(at(sec)) == pytest.approx(TRIP, abs=6e-4)


def test_hold_goes_by_what_was_taken_back():
    clock = heard(Stream(came_wander=away(10.3, 12.0, 0.025)), 20.0, hold=[10.8, 13.2])
    assert clock.round_trip_sec(at(20.0)) == pytest.approx(TRIP, abs=6e-4)
    clock.hold()
    assert clock.round_trip_sec(at(20.0)) == pytest.approx(TRIP, abs=6e-4)


@pytest.mark.parametrize("hold", [[11.5], [13.0], [11.5, 13.0]])
def test_hold_beside_a_jump_that_is_taken_back_goes_by_what_was_before(hold: list[float]):
    clock = heard(Stream(came_wander=away(10.3, 99.0, 0.025)), 14.0, hold=hold)
    assert clock.round_trip_sec(at(14.0)) == pytest.approx(TRIP, abs=6e-4)


def test_jump_of_which_too_little_is_known_before_stays():
    assert len(heard(Stream(came_wander=away(0.8, 99.0, 0.025)), 10.0).steps) == 1


def test_jump_found_late_is_taken_back_too_and_once():
    """Stamps that are away for so long that they are believed, and then come back."""
    stream = Stream(came_wander=lambda sec: saw(0.0075, 1.5)(min(sec, 9.0)) + away(10.3, 16.0, 0.0145)(sec))
    assert len(fed(stream, 13.0).steps) == 1
    steps = heard(stream, 16.0).steps
    assert len(steps) == 2
    assert sum(step.moved_sec for step in steps) == 0.0


def test_what_was_taken_back_is_known_for_wander_for_a_while():
    stream = Stream(came_wander=saw(0.024, 1.5))
    assert len(fed(stream, 20.0).steps) > 10
    clock = heard(stream, 20.0)
    assert 0 < len(clock.steps) <= 6
    clock.hold()
    assert clock.round_trip_sec(at(20.0)) == pytest.approx(TRIP, abs=0.013)


@in_turn("lost", [0.0058, 0.0116, 0.0174, 0.040])
@in_turn("block", [64, 256, 1024])
def test_true_loss_on_a_steady_side_counts_at_once_and_stays(lost: float, block: int):
    stream = Stream(lost=[(10.3, lost)], block=block)
    steps, later = steps_at(stream, 10.3 + CONFIRM_SEC + 4 * 1024 / RATE, 20.0)
    assert [step.position - at(10.3) < block for step in steps] == [True]
    assert later == steps


def test_frames_put_in_make_callbacks_early_and_are_not_taken_back():
    stream = Stream(lost=[(5.0, 0.018), (12.0, -0.025)])
    assert [step.position for step in heard(stream, 20.0).steps] == [at(5.0), at(12.0)]


def test_two_losses_close_together_stay():
    stream = Stream(lost=[(10.3, 0.0174), (11.0, 0.0232)])
    assert [step.position for step in heard(stream, 20.0).steps] == [at(10.3), at(11.0)]


@in_turn("begin", [8.0, 9.7, 10.2, 10.4, 11.0])
@in_turn("wander", [None, WANDER])
def test_busy_spell_alone_moves_nothing(begin: float, wander):
    stream = Stream(late=busy(begin, begin + 3.5), **({"came_wander": wander} if wander else {}))
    assert heard(stream, 20.0).steps == ()


@pytest.mark.parametrize("begin", [7.0, 9.0, 10.0, 10.6, 11.0])
def test_true_loss_stays_where_a_spell_of_a_second_is_near(begin: float):
    stream = Stream(lost=[(10.3, 0.0174)], late=busy(begin, begin + 1.0))
    assert len(heard(stream, 20.0).steps) == 1


def test_where_the_output_steps_the_arrivals_are_no_witness():
    """They are late by a gap of the output, which is no loss of the input that wanders beside it."""
    later = away(10.9, 99.0, 0.0145)
    stream = Stream(went=[(10.3, 0.0145)], came_wander=lambda sec: WANDER(sec) + later(sec))
    assert [step.position for step in heard(stream, 20.0).steps] == [at(10.3)]
    stream = Stream(went=[(9.8, 0.0174), (10.9, -0.0174)], came=[(10.3, 0.025)])
    assert len(heard(stream, 20.0).steps) == 3


def test_loss_of_what_was_queued_is_not_taken_back():
    """The output's gap left 100 ms of input waiting; to lose some of it makes no callback late."""
    stream = Stream(went=[(5.0, 0.1)], lost=[(12.0, 0.025)])
    steps = heard(stream, 20.0).steps
    assert [step.position for step in steps] == [at(5.0), at(12.0)]
    assert steps == fed(stream, 20.0).steps


def test_growth_counts_from_the_shortest_and_without_what_was_taken_back():
    steps = Steps()
    for position, moved in ((10, -0.25), (20, 0.5), (30, -1.0), (30, 1.0), (40, 0.125)):
        steps.insert(position, moved)
    assert [steps.grown_sec(position) for position in (10, 11, 21, 31, 41)] == [0.0, 0.0, 0.5, 0.5, 0.625]


@in_turn("came", [math.nan, math.inf, -math.inf, 0.0, 5000.0])
@in_turn("stream", [Stream(lost=[(6.3, 0.025)]), Stream(came_wander=away(6.3, 8.0, 0.025))])
def test_arrivals_that_make_no_sense_change_nothing(came: float, stream: Stream):
    clock = StreamClock(RATE)
    for position, adc, dac in stream.callbacks(12.0):
        clock.feed(position, adc, dac, came_sec=came)
    assert clock.steps == fed(stream, 12.0).steps != ()


def test_arrivals_known_now_and_then_do_no_harm():
    stream, clock = Stream(came_wander=away(10.3, 99.0, 0.025)), StreamClock(RATE)
    for position, adc, dac in stream.callbacks(20.0):
        clock.feed(position, adc, dac, came_sec=stream.came_sec(position) if position % 1024 else None)
    assert len(clock.steps) == 2
    assert clock.round_trip_sec(at(20.0)) == pytest.approx(TRIP, abs=6e-4)


def test_blocks_that_were_dropped_are_no_loss():
    """Positions count them; the stamps and the arrivals agree with the positions."""
    stream, clock = Stream(came_wander=WANDER), StreamClock(RATE)
    for position, adc, dac in stream.callbacks(20.0):
        if not at(10.0) <= position < at(10.7):
            clock.feed(position, adc, dac, came_sec=stream.came_sec(position))
    assert clock.steps == ()


@given(
    range_sec=st.floats(0.0, 0.015),
    period_sec=st.floats(1.0, 3.0),
    spells=st.lists(st.tuples(st.floats(1.0, 12.0), st.floats(0.0, 4.0), st.floats(0.0, 0.03)), max_size=3),
)
@settings(max_examples=20, deadline=None)
def test_no_saw_and_no_spells_move_the_round_trip(range_sec, period_sec, spells):
    def late(sec: float) -> float:
        return max((by for begin, long, by in spells if begin <= sec < begin + long), default=0.0)

    stream = Stream(came_wander=saw(range_sec, period_sec), late=late)
    assert heard(stream, 14.0).steps == fed(stream, 14.0).steps
