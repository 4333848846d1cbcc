"""The tape: what comes between begin and take, each sample at its place, silence where there is none, and no
more than is kept at most."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from listener import tape as module
from listener.tape import Tape


@pytest.fixture(autouse=True)
def most(monkeypatch: pytest.MonkeyPatch) -> None:
    """A take has twelve samples at most: 1.5 s at 8 a second."""
    monkeypatch.setattr(module, "MOST_SEC", 1.5)


def _tape(begin: int | None, *writes: tuple[int, list[float]]) -> Tape:
    tape = Tape(8)
    if begin is not None:
        tape.begin(begin)
    for sample, samples in writes:
        tape.write(sample, np.array(samples, np.float32))
    return tape


@pytest.mark.parametrize(
    ("writes", "kept"),
    [
        ([], []),
        ([(10, [1, 2]), (12, [3])], [1, 2, 3]),
        ([(8, [8, 9, 1, 2])], [1, 2]),  # begins within a block
        ([(8, [8, 9])], []),  # ends where the take begins
        ([(10, [])], []),
        ([(10, [1]), (13, [4, 5])], [1, 0, 0, 4, 5]),  # a gap
        ([(12, [3, 4])], [0, 0, 3, 4]),  # a gap at the beginning
        ([(10, [1, 2, 3]), (11, [7, 7, 4])], [1, 2, 3, 4]),  # what comes twice
        ([(10, [1, 2, 3]), (10, [7, 7])], [1, 2, 3]),
        ([(14, []), (10, [1])], [1]),  # nothing makes no gap
    ],
)
def test_what_was_written_is_kept_at_its_place(
    writes: list[tuple[int, list[float]]], kept: list[float]
) -> None:
    found = _tape(10, *writes).take()
    assert found.tolist() == kept
    assert found.dtype == np.float32


@pytest.mark.parametrize(
    ("writes", "kept"),
    [
        ([(0, [1] * 12)], [1] * 12),
        ([(0, [1] * 13)], [1] * 12),
        ([(0, [1] * 11), (11, [2, 3, 4])], [1] * 11 + [2]),
        ([(0, [1] * 12), (12, [2])], [1] * 12),
        ([(0, [1]), (11, [2, 3])], [1] + [0] * 10 + [2]),
        ([(0, [1]), (12, [2]), (13, [3])], [1]),  # what comes after is not waited for
        ([(0, [1]), (900, [2])], [1]),
    ],
)
def test_a_take_has_its_greatest_length(writes: list[tuple[int, list[float]]], kept: list[float]) -> None:
    assert _tape(0, *writes).take().tolist() == kept
    moved = [(sample + 1000, samples) for sample, samples in writes]
    assert _tape(1000, *moved).take().tolist() == kept


def test_a_take_may_last_ten_minutes(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.undo()
    assert len(_tape(0, (0, [1.0]), (4799, [2.0, 3.0])).take()) == 600 * 8


def test_nothing_is_kept_unless_it_was_begun() -> None:
    tape = _tape(None, (0, [1, 2]))
    assert tape.take().tolist() == []
    tape.begin(2)
    tape.write(2, np.ones(1, np.float32))
    assert tape.take().tolist() == [1]
    tape.write(3, np.ones(1, np.float32))
    assert tape.take().tolist() == []


def test_begun_again_it_forgets_what_was_kept() -> None:
    tape = _tape(0, (0, [1, 2, 3]))
    tape.begin(2)
    tape.write(1, np.array([7, 8, 9], np.float32))
    assert tape.take().tolist() == [8, 9]


@given(
    st.integers(0, 8),
    st.lists(
        st.tuples(st.integers(0, 24), st.lists(st.integers(1, 9), max_size=6).map(list[float])), max_size=8
    ),
)
def test_each_sample_is_the_first_that_came_for_its_place(
    begin: int, writes: list[tuple[int, list[float]]]
) -> None:
    kept: list[float] = []
    for sample, samples in writes:
        for place, value in enumerate(samples, sample - begin):
            if len(kept) <= place < 12:
                kept += [0.0] * (place - len(kept)) + [value]
    assert _tape(begin, *writes).take().tolist() == kept
