"""The ring between two threads: whole blocks in order, never more than it holds, drops counted and seen in
the positions; by hand, against a model, with a thread at either end, and with the other end coming in
between any two lines."""

from __future__ import annotations

import sys
import threading
import time
from collections import deque
from collections.abc import Callable, Iterator
from types import FrameType
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from listener.ring import Block, Ring

FRAMES = 1_000_000
SIZE = 250
NUMBERS = np.arange(FRAMES, dtype=np.float32)  # exact up to 2 ** 24


def _write(ring: Ring, *samples: float) -> bool:
    return ring.write(np.array(samples, np.float32), 0.0, 0.0, 0.0, False)


def _read(ring: Ring) -> tuple[int, list[float]] | None:
    block = ring.read()
    return None if block is None else (block.position, block.samples.tolist())


def test_a_block_comes_out_with_all_that_went_in() -> None:
    ring = Ring(4, 3)
    assert ring.write(np.array([0.25, -0.5, 1.0], np.float32), 1.5, 2.5, 3.5, False)
    assert ring.write(np.array([0.75], np.float32), 4.5, 5.5, 6.5, True)
    first, second = ring.read(), ring.read()
    assert first is not None
    assert second is not None
    assert (first.position, first.samples.tolist()) == (0, [0.25, -0.5, 1.0])
    assert (first.adc_sec, first.dac_sec, first.came_sec, first.flagged) == (1.5, 2.5, 3.5, False)
    assert (second.position, second.samples.tolist()) == (3, [0.75])
    assert (second.adc_sec, second.dac_sec, second.came_sec, second.flagged) == (4.5, 5.5, 6.5, True)
    assert first.samples.dtype == np.float32
    assert second.flagged is True


def test_nothing_comes_out_of_an_empty_ring() -> None:
    ring = Ring(2, 2)
    assert (ring.read(), ring.waiting, ring.position) == (None, 0, 0)
    _write(ring, 1.0)
    assert _read(ring) == (0, [1.0])
    assert (ring.read(), ring.waiting, ring.position) == (None, 0, 1)


def test_a_block_of_no_frames_goes_through() -> None:
    ring = Ring(1, 1)
    assert _write(ring)
    assert _read(ring) == (0, [])


def test_a_full_ring_drops_and_counts_and_the_positions_show_the_gap() -> None:
    ring = Ring(2, 2)
    assert [_write(ring, n, n) for n in range(4)] == [True, True, False, False]
    assert (ring.waiting, ring.dropped_blocks, ring.position) == (2, 2, 8)
    assert _read(ring) == (0, [0.0, 0.0])
    assert _write(ring, 4.0)
    assert [_read(ring), _read(ring), _read(ring)] == [(2, [1.0, 1.0]), (8, [4.0]), None]
    assert (ring.waiting, ring.dropped_blocks, ring.position) == (0, 2, 9)


def test_a_block_that_is_too_long_is_dropped_and_one_just_as_long_is_not() -> None:
    ring = Ring(2, 3)
    assert not _write(ring, 1.0, 2.0, 3.0, 4.0)
    assert _write(ring, 5.0, 6.0, 7.0)
    assert (ring.dropped_blocks, ring.waiting) == (1, 1)
    assert _read(ring) == (4, [5.0, 6.0, 7.0])


def test_neither_the_writers_memory_nor_the_rings_is_handed_out() -> None:
    ring = Ring(1, 2)
    memory = np.array([1.0, 2.0], np.float32)
    ring.write(memory, 0.0, 0.0, 0.0, False)
    memory[:] = 9.0
    block = ring.read()
    assert block is not None
    _write(ring, 3.0, 4.0)
    assert block.samples.tolist() == [1.0, 2.0]


@pytest.mark.parametrize(("blocks", "frames"), [(0, 1), (1, 0), (-1, 5)])
def test_a_ring_of_nothing_is_refused(blocks: int, frames: int) -> None:
    with pytest.raises(ValueError, match=f"ring of {blocks} blocks of {frames} frames; at least 1"):
        Ring(blocks, frames)


@given(st.integers(1, 4), st.integers(1, 5), st.lists(st.none() | st.integers(0, 6), max_size=60))
def test_it_does_as_a_queue_that_is_bounded(blocks: int, frames: int, steps: list[int | None]) -> None:
    ring, model = Ring(blocks, frames), deque[tuple[int, list[float]]]()
    position = dropped = 0
    for size in steps:
        if size is None:
            assert _read(ring) == (model.popleft() if model else None)
        else:
            samples = [float(n) for n in range(position, position + size)]
            fits = len(model) < blocks and size <= frames
            assert _write(ring, *samples) == fits
            if fits:
                model.append((position, samples))
            position, dropped = position + size, dropped + (not fits)
        assert (ring.waiting, ring.position, ring.dropped_blocks) == (len(model), position, dropped)


@pytest.fixture
def restless() -> Iterator[None]:
    """Threads take turns as often as the interpreter can."""
    before = sys.getswitchinterval()
    sys.setswitchinterval(1e-6)
    yield
    sys.setswitchinterval(before)


def _numbered(ring: Ring, begin: int) -> bool:
    """Write the block that begins there: the frame at position n is n, the stamps tell the position."""
    odd = begin // SIZE % 2 == 1
    return ring.write(NUMBERS[begin : begin + SIZE], begin + 0.25, begin + 0.5, begin + 0.75, odd)


def _is_whole(block: Block) -> bool:
    at = block.position
    stamps = (block.adc_sec, block.dac_sec, block.came_sec, block.flagged)
    expected = (at + 0.25, at + 0.5, at + 0.75, at // SIZE % 2 == 1)
    return stamps == expected and np.array_equal(block.samples, NUMBERS[at : at + SIZE])


def _interrupted(method: Callable[..., object], turn: Callable[[], None]) -> Callable[..., Any]:
    """The method, with a turn before each of its lines: where another thread may come in."""

    def trace(frame: FrameType, event: str, _: object) -> Callable[..., Any] | None:
        if frame.f_code is not method.__code__:
            return None
        if event == "line":
            turn()
        return trace

    def called(*arguments: object) -> object:
        before = sys.gettrace()
        sys.settrace(trace)
        try:
            return method(*arguments)
        finally:
            sys.settrace(before)

    return called


def test_a_reader_that_comes_in_at_any_line_of_writing_gets_only_what_is_whole(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    ring, found = Ring(2, SIZE), []

    def read() -> None:
        while (block := ring.read()) is not None:
            assert _is_whole(block)
            found.append(block.position)

    monkeypatch.setattr(Ring, "write", _interrupted(Ring.write, read))
    assert all(_numbered(ring, begin) for begin in range(0, 5 * SIZE, SIZE))
    read()
    assert found == list(range(0, 5 * SIZE, SIZE))


def test_a_writer_that_comes_in_at_any_line_of_reading_does_not_spoil_what_is_read(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    ring, found, turns = Ring(2, SIZE), [], 0

    def write() -> None:
        nonlocal turns
        turns += 1
        _numbered(ring, ring.position)

    monkeypatch.setattr(Ring, "read", _interrupted(Ring.read, write))
    write()
    for _ in range(5):
        block = ring.read()
        assert block is not None
        assert _is_whole(block)
        found.append(block.position)
    assert turns > 5 * 5
    assert found == sorted(set(found))
    assert 5 + ring.waiting + ring.dropped_blocks == turns


def _write_all(ring: Ring, before: Callable[[int], None]) -> threading.Thread:
    """A thread that writes a million frames."""

    def run() -> None:
        for begin in range(0, FRAMES, SIZE):
            before(begin)
            _numbered(ring, begin)

    thread = threading.Thread(target=run, daemon=True)
    thread.start()
    return thread


def _read_all(ring: Ring, writer: threading.Thread) -> Iterator[int]:
    """Positions of the blocks that come until the writer is through, each found to be whole."""
    while True:
        over = not writer.is_alive()
        block = ring.read()
        if block is not None:
            assert _is_whole(block)
            yield block.position
        elif over:
            return
        else:
            time.sleep(0)


@pytest.mark.usefixtures("restless")
def test_a_million_frames_pass_from_thread_to_thread_whole_and_in_order() -> None:
    ring = Ring(4, SIZE)

    def until_there_is_room(_: int) -> None:
        while ring.waiting == 4:
            time.sleep(0)

    writer = _write_all(ring, until_there_is_room)
    assert list(_read_all(ring, writer)) == list(range(0, FRAMES, SIZE))
    assert (ring.dropped_blocks, ring.position) == (0, FRAMES)


@pytest.mark.usefixtures("restless")
def test_what_a_reader_that_falls_behind_does_not_get_is_counted_exactly() -> None:
    ring, full = Ring(4, SIZE), threading.Event()

    def never_waits(begin: int) -> None:
        if begin == 6 * SIZE:
            full.set()
        if begin % (32 * SIZE) == 0:
            time.sleep(0)  # the reader's turn

    writer = _write_all(ring, never_waits)
    assert full.wait(30.0)
    found = list(_read_all(ring, writer))
    assert found[:4] == [0, SIZE, 2 * SIZE, 3 * SIZE]
    assert found == sorted(set(found))
    assert ring.dropped_blocks >= 2
    assert len(found) + ring.dropped_blocks == FRAMES // SIZE
    assert ring.position == FRAMES
