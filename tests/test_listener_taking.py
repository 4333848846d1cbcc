"""A microphone taken as it is: blocks in order, and news of losses among them."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import pytest

from listener.keeper import Back, Lost
from listener.playout import Playout
from listener.ring import Block, Ring
from listener.taking import Taking
from tests.keepers import SOON_SEC, FakeStream, looks_fixture

looks = looks_fixture()


class Stream(FakeStream):
    """A stream whose ring a test fills."""

    def __init__(self) -> None:
        super().__init__()
        self.ring, self.playout = Ring(8, 4), Playout()

    def come(self, *samples: float) -> None:
        self.ring.write(np.array(samples, np.float32), 0.0, 0.0, 0.0, 0)


@pytest.fixture
def opened() -> list[Stream]:
    return [Stream(), Stream()]


@pytest.fixture
def taking(opened: list[Stream]) -> Iterator[Taking]:
    waiting = list(opened)
    made = Taking(lambda: waiting.pop(0), lambda: None)  # type: ignore[arg-type, return-value]
    made.start()
    yield made
    made.stop()


def test_blocks_come_in_order_and_none_twice(taking: Taking, opened: list[Stream]) -> None:
    opened[0].come(1.0, 2.0)
    opened[0].come(3.0)
    blocks = taking.take(0.0)
    assert [block.samples.tolist() for block in blocks if isinstance(block, Block)] == [[1.0, 2.0], [3.0]]
    assert taking.take(0.0) == []
    assert taking.rate == FakeStream.rate


def test_zeros_are_counted_so_that_the_keeper_sees_them(taking: Taking, opened: list[Stream]) -> None:
    opened[0].come(0.0, 0.0)
    opened[0].come(0.0)
    taking.take(0.0)
    assert opened[0].zero_frames == 3
    opened[0].come(0.0, 0.5)
    taking.take(0.0)
    assert opened[0].zero_frames == 0


def test_what_is_played_lies_on_the_stream_that_runs(taking: Taking, opened: list[Stream]) -> None:
    taking.play(np.full(3, 0.25, np.float32), 2000)
    out = np.zeros(4, np.float32)
    opened[0].playout.mix(1999, out)
    assert out.tolist() == [0.0, 0.25, 0.25, 0.25]


def test_a_stream_that_stands_still_is_lost_and_another_one_taken(
    taking: Taking, opened: list[Stream]
) -> None:
    opened[0].stalled = True
    items: list[Block | Lost | Back] = []
    tries = 0
    while not any(isinstance(item, Back) for item in items):
        items += taking.take(SOON_SEC / 100)
        tries += 1
        assert tries < 200
    assert [type(item) for item in items] == [Lost, Back]
    assert taking.stream is opened[1]  # type: ignore[comparison-overlap]
    opened[1].come(4.0)
    assert [block.samples.tolist() for block in taking.take(0.1) if isinstance(block, Block)] == [[4.0]]
