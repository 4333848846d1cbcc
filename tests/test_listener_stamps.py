from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from listener.clock import CONFIRM_SEC, MEASURED_SEC, PERSIST_SEC, UNKNOWN_SEC, StreamClock
from tests.in_turn import in_turn
from tests.streams import BLOCK, RATE, TRIP, WALL, Stream, at, changed, fed, saw


@pytest.mark.parametrize("later", [0.0, 0.01])
def test_gap_is_one_where_a_side_wanders_or_shows_it_later(later: float):
    stream = Stream(came=[(6.5 + later, 0.0058)], went=[(6.5, 0.0058)], came_wander=saw(0.005, 1.1))
    clock = fed(stream, 8.0)
    clock.hold()
    assert clock.steps == ()
    assert clock.round_trip_sec(at(8.0)) == pytest.approx(TRIP, abs=1.5e-3)


@pytest.mark.parametrize("side", ["came_wander", "went_wander"])
def test_saw_moves_nothing_and_its_middle_is_the_level(side: str):
    """As a remapped microphone's stamps do: they run away by 6 ms a second and jump back."""
    clock = fed(Stream(**{side: saw(0.009, 1.5)}), 25.0)
    clock.hold()
    assert clock.steps == ()
    assert clock.round_trip_sec(at(25.0)) == pytest.approx(TRIP, abs=8e-4)
    assert 0.0037 < clock.unsure_sec < 0.0047
    assert clock.drift_ppm is None


@given(
    range_sec=st.floats(0.0, 0.0099),
    period_sec=st.floats(1.0, 3.0),
    side=st.sampled_from(["came_wander", "went_wander"]),
    turn=st.sampled_from([1.0, -1.0]),
    swing=st.booleans(),
)
@settings(max_examples=25, deadline=None)
def test_no_wander_under_ten_ms_moves_the_round_trip_between_holds(range_sec, period_sec, side, turn, swing):
    def wander(sec: float) -> float:
        if swing:
            return turn * range_sec / 2 * math.sin(2 * math.pi * sec / period_sec)
        return turn * saw(range_sec, period_sec)(sec)

    stream = Stream(**{side: wander})
    clock, given_out = StreamClock(RATE), set()
    for position, adc, dac in stream.callbacks(6.0):
        clock.feed(position, adc, dac)
        if clock.ready:
            given_out |= {clock.round_trip_sec(position), clock.round_trip_sec(0)}
    assert len(given_out) == 1
    assert clock.steps == ()


@pytest.mark.parametrize(("moved", "wander"), [(0.0174, 0.005), (-0.018, 0.005), (0.0232, 0.0149)])
def test_step_well_over_the_wander_is_found_at_once(moved: float, wander: float):
    (step,) = fed(Stream(came=[(10.3, moved)], came_wander=saw(wander, 1.5)), 10.3 + CONFIRM_SEC + 0.03).steps
    assert (step.position, step.moved_sec) == (at(10.3), pytest.approx(-moved, abs=1.5e-3))


def test_flag_speaks_for_a_step_within_the_wander():
    stream = Stream(went=[(10.3, 0.0058)], went_wander=saw(0.005, 1.5))
    assert fed(stream, 10.5).steps == ()
    (step,) = fed(stream, 10.5, flags=[10.3]).steps
    assert (step.position, step.moved_sec) == (at(10.3), pytest.approx(0.0058, abs=1e-3))
    assert fed(Stream(went_wander=saw(0.005, 1.5)), 10.5, flags=[9.2, 10.2]).steps == ()


def test_step_that_never_comes_back_into_the_wander_is_found_late():
    stream = Stream(went=[(10.3, 0.0103)])
    stream.went_wander = lambda sec: saw(0.0075, 1.5)(sec) if sec < 9.0 else 0.0
    assert fed(stream, 10.3 + PERSIST_SEC - 0.3).steps == ()
    (step,) = fed(stream, 10.3 + PERSIST_SEC + 0.5).steps
    assert abs(step.position - at(10.3)) < 0.2 * RATE
    assert step.moved_sec == pytest.approx(0.0103, abs=1e-3)


def test_step_that_was_found_late_does_not_count_as_wander():
    stream = Stream(went=[(10.3, 0.0103), (35.0, 0.0058)])
    stream.went_wander = lambda sec: saw(0.0075, 1.5)(sec) if sec < 9.0 else 0.0
    assert [round(1e3 * step.moved_sec) for step in fed(stream, 35.2).steps] == [10, 6]


def test_what_was_found_late_has_its_place_among_the_others():
    stream = Stream(went=[(10.3, 0.0103)], came=[(11.0, -0.0174), (11.4, -0.0232)])
    stream.went_wander = lambda sec: saw(0.0075, 1.5)(sec) if sec < 9.0 else 0.0
    clock = fed(stream, 20.0)
    assert [round(1e3 * step.moved_sec) for step in clock.steps] == [10, 17, 23]
    assert sorted(clock.steps, key=lambda step: step.position) == list(clock.steps)


def test_step_beyond_doubt_speaks_for_those_beside_it():
    stream = Stream(went=[(10.3, 0.0232), (10.45, 0.0058)], went_wander=saw(0.005, 1.5))
    assert [step.position for step in fed(stream, 11.0).steps] == [at(10.3), at(10.45)]


def test_stamps_that_jump_to_and_fro_are_known_for_it():
    def wander(sec: float) -> float:
        return -0.004 if sec > 5.0 or sec % 0.2 < 0.012 else 0.0

    assert fed(Stream(came_wander=wander), 5.0 + PERSIST_SEC - 0.2).steps == ()


SENSELESS = {
    "zero": lambda sec, adc, dac: (0.0, 0.0),
    "input zero": lambda sec, adc, dac: (0.0, dac),
    "not a number": lambda sec, adc, dac: (math.nan, math.inf),
    "still": lambda sec, adc, dac: (WALL, WALL + TRIP),
    "output still": lambda sec, adc, dac: (adc, WALL + TRIP),
    "flipped": lambda sec, adc, dac: (adc + TRIP, dac - TRIP),
    "the same": lambda sec, adc, dac: (adc, adc),
    "backwards": lambda sec, adc, dac: (WALL - sec, WALL + TRIP - sec),
}


@in_turn("kind", SENSELESS)
def test_senseless_stamps_leave_what_was_measured(kind: str):
    clock = changed(Stream(), SENSELESS[kind])
    assert (clock.ready, clock.basis, clock.steps) == (True, "measured", ())
    clock.hold()
    assert (clock.basis, clock.round_trip_sec(at(2.0))) == ("measured", 0.050)
    assert clock.unsure_sec == MEASURED_SEC
    for position, adc, dac in Stream().callbacks(0.3):
        later = position + at(3.0)
        stamps = SENSELESS[kind](later / RATE, adc + later / RATE, dac + later / RATE)
        clock.feed(later, *stamps, flags=3 * (position == at(0.2)))
    clock.hold()
    assert clock.unsure_sec == pytest.approx(MEASURED_SEC + UNKNOWN_SEC)


def test_side_that_makes_sense_still_tells_its_steps():
    clock = changed(Stream(went=[(2.0, 0.0116)]), SENSELESS["input zero"])
    assert (clock.basis, clock.round_trip_sec(at(1.9))) == ("measured", 0.050)
    assert clock.round_trip_sec(at(2.0)) == pytest.approx(0.0616, abs=4e-4)


@in_turn("kind", SENSELESS)
@in_turn("until", [0.1, 1.0])
def test_stamps_may_come_to_their_senses(kind: str, until: float):
    change = SENSELESS[kind]
    clock = changed(Stream(), lambda sec, adc, dac: change(sec, adc, dac) if sec < until else (adc, dac))
    clock.hold()
    assert (clock.basis, clock.steps) == ("stamps", ())
    assert clock.round_trip_sec(at(3.0)) == pytest.approx(TRIP, abs=3e-4)


@pytest.mark.parametrize("wild", [math.nan, 0.0, -5.0, math.inf, WALL, WALL - 1e4, WALL + 1e4])
def test_single_wild_stamps_do_nothing(wild: float):
    clock = changed(
        Stream(),
        lambda sec, adc, dac: (
            wild if round(sec * RATE) % (40 * BLOCK) == 0 else adc,
            wild if round(sec * RATE) % (55 * BLOCK) == 0 else dac,
        ),
    )
    assert (clock.basis, clock.steps) == ("stamps", ())
    assert clock.round_trip_sec(at(3.0)) == pytest.approx(TRIP, abs=2e-4)


@in_turn("kind", SENSELESS)
def test_stamps_that_lost_their_senses_are_left(kind: str):
    change = SENSELESS[kind]
    clock = changed(Stream(), lambda sec, adc, dac: change(sec, adc, dac) if sec > 1.0 else (adc, dac))
    assert (clock.basis, clock.round_trip_sec(at(0.9))) == ("stamps", pytest.approx(TRIP, abs=2e-4))
    clock.hold()
    assert clock.basis == "measured"


def test_last_stamps_are_better_than_a_report():
    clock = StreamClock(RATE, reported_sec=0.040)
    for position, adc, dac in Stream().callbacks(3.0):
        clock.feed(
            position, *((adc, dac) if position < RATE else (0.0, 0.0)), flags=3 * (position == at(2.5))
        )
    clock.hold()
    assert (clock.basis, clock.round_trip_sec(at(3.0))) == ("stamps", pytest.approx(TRIP, abs=2e-4))


def test_stamps_that_are_zero_every_other_time_are_good_enough():
    clock = changed(Stream(), lambda sec, adc, dac: (adc if round(sec * RATE) % (2 * BLOCK) else 0.0, dac))
    assert (clock.basis, clock.steps) == ("stamps", ())


def test_stray_stamps_beside_a_step_do_not_move_it():
    """One that is wild just before it, one that is as before just after it."""
    stray = {at(2.0) - BLOCK: -1e4, at(2.0) + 3 * BLOCK: -0.0116}
    stream = Stream(went=[(2.0, 0.0116)])
    clock = changed(stream, lambda sec, adc, dac: (adc, dac + stray.get(round(sec * RATE), 0.0)))
    (step,) = clock.steps
    assert (step.position, step.moved_sec) == (at(2.0), pytest.approx(0.0116, abs=4e-4))
