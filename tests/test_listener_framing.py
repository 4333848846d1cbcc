"""Blocks to hops, the memory of the past, and mending what is no sound."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from listener.framing import LOUDEST, Hops, Past, cleaned


@given(st.lists(st.integers(0, 23), max_size=20), st.integers(1, 9))
def test_hops_are_the_signal_in_order_whatever_the_blocks(sizes: list[int], hop: int) -> None:
    signal = np.arange(sum(sizes), dtype=np.float32)
    hops, found, at = Hops(hop), [], 0
    for size in sizes:
        found += [part.copy() for part in hops.feed(signal[at : at + size])]
        at += size
    whole = len(signal) // hop * hop
    assert np.array_equal(np.array(found).reshape(-1), signal[:whole])
    assert np.array_equal(hops.left_over(), signal[whole:])


def test_hops_forget_what_was_left_over() -> None:
    hops = Hops(4)
    assert list(hops.feed(np.ones(3, np.float32))) == []
    hops.reset()
    assert list(hops.feed(np.ones(3, np.float32))) == []
    assert len(hops.left_over()) == 3


def test_a_hop_of_no_samples_is_refused() -> None:
    with pytest.raises(ValueError, match="hop of 0 samples; at least 1"):
        Hops(0)


@given(st.lists(st.integers(1, 10), min_size=1, max_size=30), st.data())
def test_the_past_is_what_was_appended(sizes: list[int], data: st.DataObject) -> None:
    span = 10
    past = Past(span)
    signal = np.arange(1, sum(sizes) + 1, dtype=np.float32)
    at = 0
    for size in sizes:
        past.append(signal[at : at + size])
        at += size
    begin = data.draw(st.integers(at - span, at))
    end = data.draw(st.integers(begin, at))
    silent_before = np.concatenate([np.zeros(span, np.float32), signal])
    assert np.array_equal(past.between(begin, end), silent_before[begin + span : end + span])


@pytest.mark.parametrize(("begin", "end"), [(1, 4), (3, 13), (5, 4)])
def test_what_is_not_remembered_is_refused(begin: int, end: int) -> None:
    past = Past(10)
    past.append(np.ones(7, np.float32))
    past.append(np.ones(5, np.float32))
    with pytest.raises(ValueError, match="2 to 12 are remembered"):
        past.between(begin, end)


def test_a_reset_past_is_silent() -> None:
    past = Past(6)
    past.append(np.ones(6, np.float32))
    past.reset()
    assert past.end == 0
    assert not past.between(-6, 0).any()


def test_what_is_no_number_becomes_silence_and_the_rest_stays() -> None:
    mended = cleaned(np.array([0.5, np.nan, np.inf, -np.inf, 1e30, -1e300, -0.25]))
    assert mended.dtype == np.float32
    assert mended.tolist() == [0.5, 0.0, 0.0, 0.0, LOUDEST, 0.0, -0.25]


def test_sound_that_needs_no_mending_is_handed_on() -> None:
    sound = np.linspace(-1.0, 1.0, 50, dtype=np.float32)
    assert cleaned(sound) is sound
