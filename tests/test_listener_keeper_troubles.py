"""The keeper where the sound library is no help: what fails is tried again, what hangs is left behind, and it
ends soon whenever it is stopped."""

from __future__ import annotations

import threading
from collections.abc import Callable

import pytest

from listener import keeper as module
from listener.errors import DeviceTrouble
from tests.keepers import SOON_SEC, FakeStream, House, house_fixture, looks_fixture, wait_for

looks, house = looks_fixture(), house_fixture()


def test_what_fails_is_tried_until_it_works(house: Callable[..., House]) -> None:
    first, last = FakeStream(), FakeStream()
    kept = house(first, DeviceTrouble("busy"), OSError("gone"), RuntimeError("PortAudio's own"), last)
    fails = iter([DeviceTrouble("no sound system"), None, None, None, None])

    def renew() -> None:
        if (error := next(fails)) is not None:
            raise error

    kept.renews = renew
    first.stalled = True
    kept.lost()
    assert kept.back() is last
    assert (kept.renewed, kept.opened) == (5, 5)


def test_it_waits_longer_from_attempt_to_attempt_and_then_as_long_each_time(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    waits: list[float | None] = []

    class Impatient(threading.Event):
        def wait(self, timeout: float | None = None) -> bool:
            waits.append(timeout)
            return super().wait(timeout and timeout / 1e6)

    monkeypatch.setattr(module, "BACKOFF_SEC", (60.0, 70.0, 80.0))
    first, last = FakeStream(), FakeStream()
    kept = House(first, *[DeviceTrouble("busy")] * 4, last)
    kept.keeper._stopping = Impatient()
    kept.keeper.start()
    first.ended = True
    kept.lost()
    assert kept.back() is last
    kept.keeper.stop()
    assert [wait for wait in waits if wait is not None and wait > 1.0] == [60.0, 70.0, 80.0, 80.0, 80.0]


def test_a_stream_that_is_never_called_is_closed_and_another_one_is_opened(
    house: Callable[..., House], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(module, "STARTS_SEC", 0.01)
    first, dead, last = FakeStream(), FakeStream(position=0), FakeStream()
    shown: list[object] = []

    def open_last() -> FakeStream:
        shown.append(kept.stream)
        return last

    kept: House = house(first, dead, open_last)
    first.ended = True
    kept.lost()
    assert kept.back() is last
    assert dead.closed.is_set()
    assert shown == [first]  # the dead one was never shown


def test_a_close_that_hangs_is_left_behind(
    house: Callable[..., House], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(module, "CLOSING_SEC", 0.02)
    let_go = threading.Event()
    first, second = FakeStream(), FakeStream()
    first.closes = lambda: let_go.wait(SOON_SEC)
    kept = house(first, second)
    first.stalled = True
    kept.lost()
    assert kept.back() is second
    assert (kept.keeper.hung, first.left, first.closed.is_set()) == (1, True, False)
    let_go.set()
    assert first.closed.wait(SOON_SEC)


def test_a_close_that_fails_is_no_matter(
    house: Callable[..., House], monkeypatch: pytest.MonkeyPatch
) -> None:
    failures: list[object] = []
    monkeypatch.setattr(threading, "excepthook", failures.append)
    first, second = FakeStream(), FakeStream()

    def fail() -> None:
        raise RuntimeError("PortAudio's own")

    first.closes = fail
    kept = house(first, second)
    first.ended = True
    kept.lost()
    assert kept.back() is second
    assert (kept.keeper.hung, failures) == (0, [])


def test_a_first_stream_that_does_not_open_raises() -> None:
    kept = House(DeviceTrouble("busy"))
    with pytest.raises(DeviceTrouble, match=r"^busy$"):
        kept.keeper.start()
    kept.keeper.stop()
    assert (kept.keeper.stream, kept.opened, kept.news.qsize()) == (None, 1, 0)


def test_a_first_opening_that_hangs_is_told_and_closed_should_it_end(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(module, "OPENING_SEC", 0.02)
    let_go, late = threading.Event(), FakeStream()
    kept = House(lambda: (let_go.wait(SOON_SEC), late)[1])
    with pytest.raises(DeviceTrouble, match="the sound system did not answer within"):
        kept.keeper.start()
    let_go.set()
    assert late.closed.wait(SOON_SEC)
    assert kept.news.empty()


def test_stopped_while_the_sound_is_lost_it_ends(
    house: Callable[..., House], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(module, "BACKOFF_SEC", (3600.0,))
    first = FakeStream()
    kept = house(first)
    first.ended = True
    kept.lost()
    kept.keeper.stop()
    assert not kept.keeper._thread.is_alive()
    assert (kept.opened, kept.keeper.hung) == (1, 0)


def test_stopped_while_a_stream_has_yet_to_start_it_closes_that_one(
    house: Callable[..., House], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(module, "STARTS_SEC", 3600.0)
    monkeypatch.setattr(module, "CLOSING_SEC", SOON_SEC / 4)
    first, second = FakeStream(), FakeStream(position=0)
    kept = house(first, second)
    first.ended = True
    kept.lost()
    wait_for(lambda: kept.opened == 2)
    kept.keeper.stop()
    assert second.closed.is_set()
    assert not kept.keeper._thread.is_alive()


@pytest.mark.parametrize("where", ["open", "renew", "close"])
def test_stopped_while_the_library_hangs_it_does_not_wait(
    house: Callable[..., House], monkeypatch: pytest.MonkeyPatch, where: str
) -> None:
    monkeypatch.setattr(module, "CLOSING_SEC", 0.02)
    hangs, let_go = threading.Event(), threading.Event()

    def hang() -> FakeStream:
        hangs.set()
        let_go.wait(SOON_SEC)
        return FakeStream()

    first = FakeStream()
    kept = house(first, hang if where == "open" else FakeStream())
    if where == "renew":
        kept.renews = hang
    if where == "close":
        first.closes = hang
    else:
        first.ended = True
        assert hangs.wait(SOON_SEC)
    kept.keeper.stop()
    assert not let_go.is_set()
    assert kept.keeper.hung == 1
    let_go.set()
    kept.keeper._thread.join(SOON_SEC)


def test_stopped_before_it_was_started_it_does_nothing() -> None:
    kept = House()
    kept.keeper.stop()
    assert (kept.opened, kept.keeper.hung) == (0, 0)
