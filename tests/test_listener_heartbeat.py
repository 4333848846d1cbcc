"""Whether a stream is well, by hand: each sign at its boundary, what zeros mean and for how long, and what is
remembered of a microphone from stream to stream."""

from __future__ import annotations

from dataclasses import dataclass

import pytest
from hypothesis import given
from hypothesis import strategies as st

from listener.heartbeat import PERMISSION, Heartbeat, Trouble

SLEPT = Trouble(line="the system slept: the sound starts anew", reopen=True)
ENDED = Trouble(line="the sound device was unplugged, or its stream was ended", reopen=True)
STALLED = Trouble(line="the sound system no longer answers", reopen=True)
ZEROS = Trouble(line=PERMISSION, reopen=False)
ZEROS_REOPEN = Trouble(line=PERMISSION, reopen=True)


@dataclass
class Beats:
    """A stream at 1000 frames a second, so that frames are milliseconds."""

    rate: int = 1000
    beat_sec: float = 100.0
    ended: bool = False
    zero_frames: int = 0


def _after(heartbeat: Heartbeat, *zero_ms: int) -> list[Trouble | None]:
    """What each look says where so many zeros had come by then."""
    return [heartbeat.look(Beats(zero_frames=frames), 100.0, 200.0) for frames in zero_ms]


@pytest.mark.parametrize(
    ("now_sec", "trouble"), [(100.0, None), (100.5, None), (100.501, STALLED), (99.0, None), (900.0, STALLED)]
)
def test_a_stream_that_is_not_called_for_half_a_second_stands_still(
    now_sec: float, trouble: Trouble | None
) -> None:
    assert Heartbeat().look(Beats(), now_sec, now_sec) == trouble


def test_a_stream_that_was_ended_is_told() -> None:
    assert Heartbeat().look(Beats(ended=True), 100.0, 100.0) == ENDED


@pytest.mark.parametrize(
    ("gained_sec", "trouble"), [(0.0, None), (1.0, None), (1.25, SLEPT), (-5.0, None), (3600.0, SLEPT)]
)
def test_a_system_that_slept_is_told_once(gained_sec: float, trouble: Trouble | None) -> None:
    heartbeat, stream = Heartbeat(), Beats()
    assert heartbeat.look(stream, 100.0, 5000.0) is None
    assert heartbeat.look(stream, 100.25, 5000.25 + gained_sec) == trouble
    assert heartbeat.look(stream, 100.5, 5000.5 + gained_sec) is None


def test_clocks_that_run_apart_bit_by_bit_are_no_sleep() -> None:
    heartbeat, stream = Heartbeat(), Beats()
    for step in range(10):
        assert heartbeat.look(stream, 100.0, 200.0 + step) is None


def test_a_sleep_before_a_stream_began_does_not_concern_it() -> None:
    heartbeat = Heartbeat()
    assert heartbeat.look(Beats(), 100.0, 200.0) is None
    heartbeat.begin()
    assert heartbeat.look(Beats(), 100.0, 900.0) is None
    assert heartbeat.look(Beats(), 100.0, 1900.0) == SLEPT


def test_the_first_cause_is_told() -> None:
    heartbeat, stream = Heartbeat(), Beats(ended=True, zero_frames=5000)
    assert heartbeat.look(Beats(), 100.0, 200.0) is None
    assert heartbeat.look(stream, 105.0, 305.0) == SLEPT
    assert heartbeat.look(stream, 105.0, 305.0) == ENDED
    stream.ended = False
    assert heartbeat.look(stream, 105.0, 305.0) == STALLED
    stream.beat_sec = 105.0
    assert heartbeat.look(stream, 105.0, 305.0) == ZEROS_REOPEN


def test_zeros_are_told_after_a_while_and_the_stream_is_opened_anew_after_a_longer_one() -> None:
    assert _after(Heartbeat(), 1, 799, 800, 1999, 2000) == [None, None, ZEROS, ZEROS, ZEROS_REOPEN]


def test_the_line_for_zeros_says_where_to_look_on_each_system() -> None:
    assert all(system in PERMISSION for system in ("macOS", "Windows", "Linux"))
    assert "\n" not in PERMISSION


def test_each_further_time_it_waits_twice_as_long_up_to_a_limit() -> None:
    heartbeat = Heartbeat()
    for patience_ms in (2000, 4000, 8000, 16000, 16000, 16000):
        assert _after(heartbeat, 1, patience_ms - 1, patience_ms) == [None, ZEROS, ZEROS_REOPEN]
        heartbeat.begin()


def test_once_something_is_heard_it_is_as_patient_as_at_first() -> None:
    heartbeat = Heartbeat()
    assert _after(heartbeat, 2000) == [ZEROS_REOPEN]
    heartbeat.begin()
    assert _after(heartbeat, 1, 0, 1999, 2000) == [None, None, ZEROS, ZEROS_REOPEN]


def test_a_microphone_that_comes_back_by_itself_may_rest_for_long() -> None:
    heartbeat = Heartbeat()
    assert _after(heartbeat, 900, 0, 900, 19999, 20000) == [ZEROS, None, None, None, ZEROS_REOPEN]
    heartbeat.begin()
    assert _after(heartbeat, 1, 5000, 0) == [None, None, None]  # known of the next stream, too


def test_one_that_came_back_between_two_looks_may_rest_for_long_though_it_rests_again() -> None:
    assert _after(Heartbeat(), 900, 40, 900) == [ZEROS, None, None]


def test_a_rest_too_short_to_be_told_shows_no_gate() -> None:
    assert _after(Heartbeat(), 799, 0, 800) == [None, None, ZEROS]


def test_one_that_comes_back_because_it_was_opened_anew_is_no_gate() -> None:
    heartbeat = Heartbeat()
    assert _after(heartbeat, 900, 2000) == [ZEROS, ZEROS_REOPEN]
    heartbeat.begin()
    assert _after(heartbeat, 1, 0, 800) == [None, None, ZEROS]


def test_one_that_comes_back_after_another_trouble_is_no_gate() -> None:
    heartbeat = Heartbeat()
    assert _after(heartbeat, 900) == [ZEROS]
    assert heartbeat.look(Beats(ended=True, zero_frames=900), 100.0, 200.0) == ENDED
    heartbeat.begin()
    assert _after(heartbeat, 1, 0, 800) == [None, None, ZEROS]


@given(st.lists(st.tuples(st.floats(0.0, 2.0), st.floats(0.0, 0.5), st.integers(0, 799)), max_size=30))
def test_a_stream_that_is_well_is_left_alone(looks: list[tuple[float, float, int]]) -> None:
    heartbeat, now_sec = Heartbeat(), 100.0
    for passed_sec, since_beat_sec, zero_frames in looks:
        now_sec += passed_sec
        stream = Beats(beat_sec=now_sec - 0.99 * since_beat_sec, zero_frames=zero_frames)
        assert heartbeat.look(stream, now_sec, now_sec + 7.0) is None
