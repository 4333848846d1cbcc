"""The running tuning offset, in numbers worked out by hand."""

from __future__ import annotations

import numpy as np
import pytest

from listener.offset import GRID_CENTS, STROKE_CENTS, TuningOffset


def _fits(best_cents: int) -> np.ndarray:
    return np.array([1.0 if cents == best_cents else 0.5 for cents in GRID_CENTS])


def test_before_anything_was_heard_it_is_nought() -> None:
    tuning = TuningOffset()
    assert tuning.cents == 0.0
    assert tuning.wants_hints


def test_a_hint_is_taken_until_notes_come() -> None:
    tuning = TuningOffset()
    tuning.hint(_fits(-40), 1.0)
    assert tuning.cents == -40.0 - STROKE_CENTS  # what a stroke sounds sharper is taken off
    for _ in range(4):
        tuning.add(-33.0, 1.0)
    assert not tuning.wants_hints
    assert tuning.cents == pytest.approx(-33.0)


def test_a_loud_strike_outweighs_soft_ones() -> None:
    tuning = TuningOffset()
    tuning.hint(_fits(30), 0.01)
    tuning.hint(_fits(30), 0.01)
    tuning.hint(_fits(-20), 1.0)
    assert tuning.cents == -20.0 - STROKE_CENTS


def test_of_two_equally_good_tunings_the_one_nearer_to_440_hz_is_taken() -> None:
    tuning = TuningOffset()
    tuning.hint(np.array([1.0 if abs(cents) in (50, 40) else 0.5 for cents in GRID_CENTS]), 1.0)
    assert tuning.cents == 40.0 - STROKE_CENTS


@pytest.mark.parametrize(("loss", "taken"), [(0.1, 0.0), (0.2, 0.0), (0.22, 50.0), (0.5, 50.0)])
def test_a_tuning_near_the_next_half_step_must_fit_clearly_better(loss: float, taken: float) -> None:
    tuning = TuningOffset()
    tuning.hint(np.array([{50: 1.0, 0: 1.0 - loss}.get(cents, 0.0) for cents in GRID_CENTS]), 1.0)
    assert tuning.cents == taken - STROKE_CENTS


def test_a_choke_does_not_move_it() -> None:
    tuning = TuningOffset()
    for cents in (10.0, 12.0, 8.0, 10.0, 48.0, 10.0):
        tuning.add(cents, 1.0)
    assert tuning.cents == pytest.approx(10.0)


def test_a_deviation_counts_from_the_nearest_half_step() -> None:
    tuning = TuningOffset()
    for cents in (-40.0, -40.0, 60.0, -40.0):  # 60 above one half step is 40 below the next
        tuning.add(cents, 1.0)
    assert tuning.cents == pytest.approx(-40.0)


def test_unsure_notes_weigh_little() -> None:
    tuning = TuningOffset()
    tuning.add(20.0, 0.1)
    tuning.add(-10.0, 0.9)
    assert tuning.cents == pytest.approx(-10.0)


def test_past_half_a_half_step_it_turns_to_the_neighbour() -> None:
    tuning = TuningOffset()
    tuning.hint(_fits(-50), 1.0)
    for _ in range(6):
        tuning.add(-54.0, 1.0)
    assert tuning.cents == pytest.approx(46.0)
    tuning.add(-54.0, 1.0)
    assert tuning.cents == pytest.approx(46.0)


def test_reset_forgets() -> None:
    tuning = TuningOffset()
    tuning.hint(_fits(20), 1.0)
    tuning.add(20.0, 1.0)
    tuning.reset()
    assert tuning.cents == 0.0
    tuning.add(-5.0, 1.0)
    assert tuning.cents == pytest.approx(-5.0)


def test_a_known_instrument_begins_where_it_was_last() -> None:
    tuning = TuningOffset()
    tuning.start(-30.0)
    assert tuning.cents == -30.0
    tuning.add(-26.0, 1.0)
    assert tuning.cents == pytest.approx(-26.0)
    tuning.start(10.0)
    assert tuning.cents == pytest.approx(-26.0)  # too late


def test_a_hint_near_the_last_tuning_is_steadied_and_one_far_from_it_believed() -> None:
    tuning = TuningOffset()
    tuning.start(20.0)
    tuning.hint(_fits(20), 1.0)
    assert tuning.cents == pytest.approx((2 * 20.0 + 20.0 - STROKE_CENTS) / 3)
    tuning.reset()
    tuning.start(20.0)
    tuning.hint(_fits(-20), 1.0)
    assert tuning.cents == -20.0 - STROKE_CENTS


@pytest.mark.parametrize("sign", [1.0, -1.0])
def test_near_the_next_half_step_the_last_tuning_tells_which_is_meant(sign: float) -> None:
    tuning = TuningOffset()
    tuning.start(sign * 48.0)
    for cents in (54.0, -45.0, 55.0, 54.0, -46.0, 54.0):  # what rings 54 sharp is 46 flat of the next
        tuning.add(sign * cents, 1.0)
    assert tuning.cents == pytest.approx(sign * 54.3, abs=0.5)
    tuning.reset()
    tuning.start(sign * 48.0)
    tuning.hint(_fits(int(-sign * 50)), 1.0)
    assert 33.0 <= sign * tuning.cents <= 63.0


def test_notes_as_last_time_outweigh_a_hint_that_was_wrong() -> None:
    tuning = TuningOffset()
    tuning.start(48.0)
    tuning.hint(_fits(-20), 1.0)  # noise before the first note
    for _ in range(4):
        tuning.add(54.0, 1.0)  # nearer to -24 as 46 flat of the next half step
    assert tuning.cents == pytest.approx(54.0)


def test_an_instrument_tuned_anew_is_followed_and_turned_over_as_any_other() -> None:
    tuning = TuningOffset()
    tuning.start(50.0)
    for _ in range(6):
        tuning.add(-3.0, 1.0)
    assert tuning.cents == pytest.approx(-3.0)
    tuning.reset()
    tuning.hint(_fits(-50), 1.0)
    for _ in range(6):
        tuning.add(-54.0, 1.0)
    assert tuning.cents == pytest.approx(46.0)  # nothing of last time is left


def test_templates_at_another_tuning_must_fit_a_little_better_than_at_the_last() -> None:
    for better, taken in ((1.04, 30.0 - STROKE_CENTS), (1.06, -10.0 - STROKE_CENTS)):
        tuning = TuningOffset()
        tuning.start(30.0 - STROKE_CENTS)
        tuning.hint(np.array([{30: 1.0, -10: better}.get(cents, 0.0) for cents in GRID_CENTS]), 1.0)
        assert tuning.cents == pytest.approx(taken)
