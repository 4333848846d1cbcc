"""What sounds now: blocks that come in bursts, stamps that jitter, step, wander or make no sense."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from listener.playhead import AHEAD_SEC, Playhead, other_clocks

RATE, SIZE = 44100, 1024
BEGAN = 50.0  # when frame 0 is handed on, by the monotonic clock
LATENCY = 0.04  # and it sounds so much later
FRAME = 1.0 / 60.0
SEC = 6.0
COUNT = round(SEC * RATE / SIZE)
HANDED = BEGAN + np.arange(COUNT) * SIZE / RATE


def _in_bursts(most: int) -> np.ndarray:
    """When blocks come, of which so many come together, when the last one of them is there."""
    last = np.minimum(np.arange(COUNT) // most * most + most - 1, COUNT - 1)
    return HANDED[last]


def _asked(
    stamps: np.ndarray,
    came: np.ndarray,
    *,
    trip_sec: float = 0.0,
    others: Sequence[float] = (),
    late_sec: float = 0.0,
) -> tuple[np.ndarray, np.ndarray]:
    """What is said sixty times a second, of blocks that are fed as they come, or so much later."""
    playhead, k = Playhead(RATE, trip_sec), 0
    times, said = np.arange(came[0] + 0.1, came[-1], FRAME), []
    for now in times:
        while k < COUNT and came[k] + late_sec <= now:
            playhead.feed(k * SIZE, float(stamps[k]), float(came[k]), SIZE, others=others)
            k += 1
        said.append(playhead.at(float(now)))
    return times, np.array(said)


def _steady(times: np.ndarray, said: np.ndarray, after_sec: float = 1.0) -> float:
    """How far it is from going on as time does, between two frames, at most."""
    return float(np.abs(np.diff(said) - np.diff(times))[times[1:] > BEGAN + after_sec].max())


def _off(times: np.ndarray, said: np.ndarray, begin: float, end: float = SEC) -> tuple[float, float]:
    """Least and most that it lies ahead of the truth."""
    within = (times > BEGAN + begin) & (times < BEGAN + end)
    off = (said - (times - BEGAN - LATENCY))[within]
    return float(off.min()), float(off.max())


def test_by_stamps_it_is_what_they_say() -> None:
    times, said = _asked(HANDED + LATENCY, HANDED)
    assert _off(times, said, 1.0) == pytest.approx((0.0, 0.0), abs=1e-6)


@settings(max_examples=12, deadline=None)
@given(st.integers(1, 4), st.floats(0.0, 0.001), st.floats(0.0, AHEAD_SEC - 0.02), st.integers(0, 99))
def test_bursts_jitter_and_late_feeding_are_not_seen(
    burst: int, jitter: float, late_sec: float, seed: int
) -> None:
    rng = np.random.default_rng(seed)
    stamps = HANDED + LATENCY + rng.normal(0.0, jitter, COUNT)
    times, said = _asked(stamps, _in_bursts(burst), late_sec=late_sec)
    assert _steady(times, said) < 0.0005
    assert (np.diff(said) >= 0.0).all()
    assert max(map(abs, _off(times, said, 1.0))) < 0.002


def test_wild_stamps_do_nothing() -> None:
    stamps = HANDED + LATENCY
    stamps[3::20] += 0.3
    stamps[7::20] = 0.0
    stamps[13::20] = math.nan
    times, said = _asked(stamps, _in_bursts(2))
    assert _steady(times, said) < 1e-6
    assert _off(times, said, 1.0) == pytest.approx((0.0, 0.0), abs=1e-6)


@pytest.mark.parametrize(
    "stamp", [lambda s: 0.0 * s, lambda s: 0.0 * s + math.nan, lambda s: 0.0 * s + BEGAN + 1.0, lambda s: -s]
)
def test_nonsense_leaves_when_blocks_come_and_half_a_round_trip(
    stamp: Callable[[np.ndarray], np.ndarray],
) -> None:
    times, said = _asked(stamp(HANDED), _in_bursts(3), trip_sec=2.0 * LATENCY)
    assert _steady(times, said, 2.0) < 0.001
    late = SIZE / RATE  # blocks come that much late on average
    least, most = _off(times, said, 2.0)
    assert -late - 0.004 < least <= most < -late + 0.004


@pytest.mark.parametrize("ahead", [1.7e9, 3600.0])
def test_stamps_by_another_clock_are_known_for_it(ahead: float) -> None:
    stamps = HANDED + LATENCY + ahead
    times, said = _asked(stamps, _in_bursts(3), others=(12345.0, ahead))
    assert _off(times, said, 1.0) == pytest.approx((0.0, 0.0), abs=1e-5)
    times, said = _asked(stamps, _in_bursts(3), others=(12345.0, math.nan))
    assert _off(times, said, 1.0)[1] > 0.01  # by when they came, without what is known of the way


@pytest.mark.parametrize("step", [-0.03, 0.03, 0.1, 0.3])
def test_a_step_is_followed_within_a_second_and_time_never_goes_back(step: float) -> None:
    at = HANDED > BEGAN + 3.0  # from there on all sounds so much later
    stamps, came = HANDED + LATENCY + step * at, HANDED + max(0.0, step) * at
    times, said = _asked(stamps, came)
    assert (np.diff(said) >= 0.0).all()
    shifted = times - step
    before = _off(times, said, 1.0, 2.9)
    assert before == pytest.approx((0.0, 0.0), abs=1e-6)
    begin = 3.0 + LATENCY + max(0.0, step)
    least, most = _off(shifted, said, begin + 1.0 - step)
    assert max(-least, most) < 0.1 * abs(step)


def test_a_small_step_and_a_saw_move_it_by_less_than_a_millisecond_a_frame() -> None:
    saw = 0.010 * ((HANDED % 1.5) / 1.5 - 0.5)  # as smoothed stamps wander
    times, said = _asked(HANDED + LATENCY + saw, HANDED)
    assert _steady(times, said, 3.0) < 0.001
    assert max(map(abs, _off(times, said, 3.0))) < 0.008


def test_where_nothing_comes_any_more_time_goes_on() -> None:
    playhead = Playhead(RATE)
    for k in range(COUNT):
        step = 0.05 if k > COUNT - 8 else 0.0  # it catches up when the blocks end
        playhead.feed(k * SIZE, HANDED[k] + LATENCY + step, HANDED[k], SIZE)
    end = float(HANDED[-1]) + 1.0
    assert playhead.at(end + 10.0) - playhead.at(end) == pytest.approx(10.0)


def test_pieces_join_wherever_blocks_come_far_apart() -> None:
    playhead, said = Playhead(RATE), []
    for k in range(30):
        came = BEGAN + 0.21 * k
        before = playhead.at(came)
        playhead.feed(round(0.21 * k * RATE), came + LATENCY + 0.02 * (k % 3), came, round(0.21 * RATE))
        if k:
            assert playhead.at(came) == pytest.approx(before, abs=1e-9)
        said += [playhead.at(came + part * 0.07) for part in range(3)]
    assert (np.diff(said) >= 0.0).all()


def test_before_any_block_it_is_not_known() -> None:
    playhead = Playhead(RATE)
    assert not playhead.known
    assert playhead.at(123.0) == 0.0
    playhead.feed(0, BEGAN + LATENCY, BEGAN, SIZE)
    assert playhead.known


def test_a_rate_is_more_than_none() -> None:
    with pytest.raises(ValueError, match="rate is 0"):
        Playhead(0)


def test_other_clocks_are_told_against_the_monotonic_one() -> None:
    wall, _ = other_clocks()
    assert (
        wall > 1e8
    )  # the wall's clock counts from 1970, the monotonic one from when the machine was started
