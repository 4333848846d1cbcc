"""What the keeper tells of a stream: that it went, why, and when the sound is there again, on the same stream
or another one."""

from __future__ import annotations

import itertools
import threading
import time
from collections.abc import Callable
from types import SimpleNamespace
from typing import Any

import pytest

from listener import keeper as module
from listener.heartbeat import PERMISSION
from listener.keeper import running_clock_sec
from tests.keepers import FakeStream, House, Looks, house_fixture, looks_fixture, wait_for

looks, house = looks_fixture(), house_fixture()


def test_a_stream_that_is_well_is_kept_until_it_is_stopped(house: Callable[..., House], looks: Looks) -> None:
    stream = FakeStream()
    kept = house(stream)
    looks.wait()
    assert kept.stream is stream
    assert not stream.left
    kept.keeper.stop()
    assert stream.closed.is_set()
    assert threading.current_thread() in stream.left_by  # at once, whatever the keeper is at
    assert (kept.opened, kept.renewed, kept.news.qsize(), kept.keeper.hung) == (1, 0, 0, 0)


@pytest.mark.parametrize(
    ("harm", "line"),
    [
        ({"stalled": True}, "the sound system no longer answers"),
        ({"ended": True}, "the sound device was unplugged, or its stream was ended"),
        ({"zero_frames": 2000}, PERMISSION),
    ],
)
def test_a_stream_that_goes_is_closed_and_another_one_is_opened(
    house: Callable[..., House], harm: dict[str, Any], line: str
) -> None:
    first, second = FakeStream(), FakeStream()
    kept = house(first, second)
    vars(first).update(harm)
    assert kept.lost() == line
    assert kept.back() is second
    assert kept.stream is second
    assert first.closed.is_set()
    assert not second.left
    assert (kept.opened, kept.renewed, kept.keeper.hung) == (2, 1, 0)


def test_it_comes_back_as_often_as_it_goes(house: Callable[..., House]) -> None:
    streams = [FakeStream() for _ in range(4)]
    kept = house(*streams)
    for gone, back in itertools.pairwise(streams):
        gone.stalled = True
        assert kept.lost() == "the sound system no longer answers"
        assert kept.back() is back


def test_after_a_sleep_the_stream_is_opened_anew_once(house: Callable[..., House], looks: Looks) -> None:
    second = FakeStream()
    kept = house(FakeStream(), second)
    looks.wait()
    looks.jump_sec = 60.0
    assert kept.lost() == "the system slept: the sound starts anew"
    assert kept.back() is second
    looks.wait()
    assert (kept.opened, kept.news.qsize()) == (2, 0)


def test_a_sleep_while_the_sound_is_lost_is_not_told_besides(
    house: Callable[..., House], looks: Looks
) -> None:
    first, second = FakeStream(), FakeStream()

    def sleep_then_open() -> FakeStream:
        looks.jump_sec = 60.0
        return second

    kept = house(first, sleep_then_open)
    looks.wait()
    first.ended = True
    kept.lost()
    assert kept.back() is second
    looks.wait()
    assert (kept.opened, kept.news.qsize()) == (2, 0)


def test_zeros_are_told_and_a_microphone_that_gates_its_noise_is_left_alone(
    house: Callable[..., House], looks: Looks
) -> None:
    stream = FakeStream(zero_frames=799)
    kept = house(stream)
    looks.wait()
    assert kept.news.empty()
    stream.zero_frames = 800
    assert kept.lost() == PERMISSION
    looks.wait()
    assert kept.news.empty()  # told once, and not back as long as there is nothing else
    stream.zero_frames = 0
    assert kept.back() is stream
    stream.zero_frames = 19999
    looks.wait()
    assert kept.news.empty()
    assert (kept.opened, stream.left) == (1, False)


def test_a_stream_that_brings_zeros_only_is_not_back_until_something_is_heard(
    house: Callable[..., House], looks: Looks
) -> None:
    second = FakeStream(zero_frames=1)
    kept = house(FakeStream(zero_frames=2000), second)
    assert kept.lost() == PERMISSION
    for zero_frames in (1, 700, 900):
        second.zero_frames = zero_frames
        looks.wait()
        assert kept.news.empty()
    second.zero_frames = 0
    assert kept.back() is second


def test_a_stream_is_back_when_it_has_brought_more_than_a_tenth_of_a_second(
    house: Callable[..., House], looks: Looks
) -> None:
    first, second = FakeStream(), FakeStream(position=100)
    kept = house(first, second)
    first.ended = True
    kept.lost()
    wait_for(lambda: kept.stream is second)
    looks.wait()
    assert kept.news.empty()
    second.position = 101
    assert kept.back() is second


def test_a_stream_that_takes_its_time_to_start_is_waited_for(house: Callable[..., House]) -> None:
    first, second = FakeStream(), FakeStream(position=0)
    kept = house(first, second)
    first.ended = True
    kept.lost()
    wait_for(lambda: kept.opened == 2)
    time.sleep(20 * module.LOOK_SEC)
    assert kept.stream is first
    second.position = 1000
    assert kept.back() is second
    assert not second.left


def test_a_first_stream_that_takes_its_time_to_start_is_not_lost(
    house: Callable[..., House], looks: Looks
) -> None:
    stream = FakeStream(position=0)
    kept = house(stream)
    time.sleep(20 * module.LOOK_SEC)
    stream.position = 1
    looks.wait()
    assert (kept.news.qsize(), kept.opened) == (0, 1)


def test_a_first_stream_that_is_never_called_is_lost(
    house: Callable[..., House], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(module, "STARTS_SEC", 0.01)
    second = FakeStream()
    kept = house(FakeStream(position=0), second)
    assert kept.lost() == "the sound system no longer answers"
    assert kept.back() is second


def test_the_clock_that_runs_on_is_the_systems_where_there_is_one(monkeypatch: pytest.MonkeyPatch) -> None:
    system = SimpleNamespace(
        CLOCK_BOOTTIME=7, CLOCK_MONOTONIC=6, clock_gettime=lambda clock: 10.0 * clock, monotonic=lambda: 1.0
    )
    monkeypatch.setattr(module, "time", system)
    assert running_clock_sec() == 70.0
    del system.CLOCK_BOOTTIME
    monkeypatch.setattr(module.sys, "platform", "darwin")
    assert running_clock_sec() == 60.0
    monkeypatch.setattr(module.sys, "platform", "win32")
    assert running_clock_sec() == 1.0


def test_another_cause_is_told_too(house: Callable[..., House]) -> None:
    first, second = FakeStream(), FakeStream(zero_frames=900)
    kept = house(first, second)
    first.stalled = True
    assert "no longer answers" in kept.lost()
    assert "only zeros" in kept.lost()
    second.zero_frames = 0
    assert kept.back() is second


def test_a_gated_microphone_is_back_though_it_is_silent(house: Callable[..., House]) -> None:
    first, second = FakeStream(zero_frames=900), FakeStream(zero_frames=100)
    kept = house(first, second)
    assert "only zeros" in kept.lost()
    first.zero_frames = 0  # by itself: from now on zeros say nothing
    assert kept.back() is first
    first.stalled = True
    assert "no longer answers" in kept.lost()
    assert kept.back() is second


def test_a_fresh_stream_is_opened_without_a_word(house: Callable[..., House], looks: Looks) -> None:
    first, second = FakeStream(), FakeStream()
    kept = house(first, second)
    kept.keeper.freshen()
    wait_for(lambda: kept.stream is second)
    looks.wait()
    assert first.closed.is_set()
    assert (kept.news.qsize(), kept.opened) == (0, 2)
    second.stalled = True  # from now on all is as ever
    assert "no longer answers" in kept.lost()


def test_what_is_lost_is_not_also_freshened(house: Callable[..., House], looks: Looks) -> None:
    first, second = FakeStream(zero_frames=900), FakeStream()
    kept = house(first, second)
    assert "only zeros" in kept.lost()
    kept.keeper.freshen()
    looks.wait()
    assert kept.opened == 1
    first.zero_frames = 0
    assert kept.back() is first
