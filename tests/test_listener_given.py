"""What is played around a moment: what went out, and what lies ready ahead of that."""

from __future__ import annotations

import numpy as np
from hypothesis import given as drawn
from hypothesis import strategies as st

from listener.given import REMEMBERS_SEC, Given
from listener.playout import Playout

RATE = 100
MOST = round(REMEMBERS_SEC * RATE)


def _numbers(begin: int, end: int) -> np.ndarray:
    return np.arange(begin, end, dtype=np.float32)


def test_what_went_out_is_given_back_and_what_was_before_is_silence() -> None:
    given = Given(RATE, Playout())
    given.note(0, _numbers(1, 11))
    assert given.between(-2, 4).tolist() == [0.0, 0.0, 1.0, 2.0, 3.0, 4.0]
    assert given.between(8, 8).tolist() == []


def test_ahead_lies_what_is_ready() -> None:
    playout = Playout()
    playout.add(np.full(4, 0.5, np.float32), 12)
    given = Given(RATE, playout)
    given.note(0, _numbers(1, 11))
    assert given.between(9, 15).tolist() == [10.0, 0.0, 0.0, 0.5, 0.5, 0.5]
    playout.clear()
    assert given.between(9, 15).tolist() == [10.0, 0.0, 0.0, 0.0, 0.0, 0.0]


def test_what_was_lost_between_two_blocks_is_silence() -> None:
    given = Given(RATE, Playout())
    given.note(0, _numbers(1, 4))
    given.note(5, _numbers(6, 8))
    assert given.between(0, 7).tolist() == [1.0, 2.0, 3.0, 0.0, 0.0, 6.0, 7.0]


def test_after_a_gap_longer_than_the_memory_there_is_only_what_follows() -> None:
    given = Given(RATE, Playout())
    given.note(0, np.ones(50, np.float32))
    given.note(20 * MOST, np.ones(5, np.float32))
    assert given.between(20 * MOST - 3, 20 * MOST + 5).tolist() == [0.0] * 3 + [1.0] * 5
    assert not given.between(0, 50).any()


@drawn(st.lists(st.integers(0, MOST), min_size=1, max_size=40))
def test_the_last_seconds_are_there_however_the_blocks_came(sizes: list[int]) -> None:
    given, end = Given(RATE, Playout()), 0
    for size in sizes:
        given.note(end, _numbers(end, end + size))
        end += size
        begin = max(0, end - MOST)
        assert np.array_equal(given.between(begin, end), _numbers(begin, end))
