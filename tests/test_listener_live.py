"""Listening to a microphone, with a stream that a test fills: what is said is what an ear says of a file.

The stand-in stream takes sound from the test, as fast as it comes, and stamps it as a sound card would.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Callable

import numpy as np
import pytest

import listener.live as live_module
from feedback.performance import perform
from feedback.player import render
from listener.ear import Ear
from listener.expecting import Expectation
from listener.keeper import Back, Lost
from listener.live import Live
from listener.notes import Report, standing
from listener.playout import Playout
from listener.ring import Ring
from listener.run import Heard
from routines.library import load

RATE = 44100
SIZE = 256
TRIP = 1000  # frames
WAIT_SEC = 10.0
MORE = np.full(SIZE * 8, 1e-5, np.float32)  # what follows, so that the last of what matters is handed on


class Stream:
    """Behaves as `listener.stream.Stream`; `push` is its callback."""

    def __init__(self, rate: int = RATE) -> None:
        self.rate, self.block, self.source, self.sink, self.latency_sec = rate, SIZE, "m", "o", 0.02
        self.ring, self.playout = Ring(20_000, SIZE), Playout()
        self.ended = False
        self.zero_frames = 0
        self.input_overflows = self.output_underflows = 0
        self.closed = False

    @property
    def beat_sec(self) -> float:
        return time.monotonic()

    @property
    def position(self) -> int:
        return self.ring.position

    def leave(self) -> None:
        self.playout.clear()

    def close(self) -> None:
        self.closed = True

    def push(self, sound: np.ndarray, flagged_at: int | None = None) -> None:
        for begin in range(0, len(sound) - SIZE + 1, SIZE):
            at = self.ring.position
            adc = 100.0 + at / self.rate
            self.ring.write(
                sound[begin : begin + SIZE], adc, adc + TRIP / self.rate, time.monotonic(), at == flagged_at
            )


@pytest.fixture
def streams() -> list[Stream]:
    return [Stream(), Stream()]


@pytest.fixture
def live(streams: list[Stream]):
    waiting = list(streams)
    made = Live(lambda: waiting.pop(0), lambda: None, keep=True)  # type: ignore[arg-type, return-value]
    made.start()
    yield made
    made.stop()


def _sound(seed: int = 4) -> np.ndarray:
    played = perform(load("slab-wood-supper"), tempo_half_bpm=90.0, seed=seed, start_sec=0.6)
    sound = render(played, seed=seed)
    return sound[: len(sound) // SIZE * SIZE]


def _until(live: Live, done: Callable[[list], bool]) -> list[Heard | Lost | Back]:
    until = time.monotonic() + WAIT_SEC
    items: list[Heard | Lost | Back] = []
    while not done(items):
        assert time.monotonic() < until, items[-3:]
        items += live.take(0.05)
    return items


def _heard_to(sec: float) -> Callable[[list], bool]:
    return lambda items: any(isinstance(item, Heard) and item.now_sec >= sec for item in items)


def _reports(items: list) -> list[Report]:
    return [report for item in items if isinstance(item, Heard) for report in item.reports]


def test_what_is_said_is_what_an_ear_says_a_round_trip_earlier(live: Live, streams: list[Stream]) -> None:
    sound = _sound()
    streams[0].push(np.concatenate([sound, MORE]))
    items = _until(live, _heard_to((len(sound) - TRIP) / RATE))
    offline = Ear(RATE)
    told = offline.feed(np.concatenate([sound[TRIP:], MORE]))
    assert len(told) > 10
    assert _reports(items) == told or _close(_reports(items), told)
    assert [item.deaf for item in items if isinstance(item, Heard) and item.deaf] == []
    assert all(item.round_trip_sec == pytest.approx(TRIP / RATE, abs=1e-4) for item in items[-3:])


def _close(found: list[Report], told: list[Report]) -> bool:
    """The same reports, within the rounding of a round trip to whole frames."""
    same = [(r.kind, r.number, r.note.midi) for r in found] == [(r.kind, r.number, r.note.midi) for r in told]
    pairs = zip(found, told, strict=False)
    return same and all(abs(a.note.onset_sec - b.note.onset_sec) < 1e-4 for a, b in pairs)


def test_what_is_expected_is_heard_sooner(live: Live, streams: list[Stream]) -> None:
    sound = _sound()
    blind, _ = standing(Ear(RATE).feed(sound[TRIP:]))
    live.expect([Expectation(onset_sec=n.onset_sec, spread_sec=0.02, midi=n.midi, weight=0.9) for n in blind])
    streams[0].push(np.concatenate([sound, MORE]))
    items = _until(live, _heard_to((len(sound) - TRIP) / RATE))
    notes, _ = standing(_reports(items))
    delays = [note.heard_sec - note.onset_sec for note in notes]
    assert [note.midi for note in notes] == [note.midi for note in blind]
    assert np.median(delays) < 0.8 * np.median([note.heard_sec - note.onset_sec for note in blind])


def test_the_tape_holds_the_sound_on_the_outputs_clock(live: Live, streams: list[Stream]) -> None:
    sound = _sound()
    live.tape.begin(0)
    streams[0].push(np.concatenate([sound, MORE]))
    _until(live, _heard_to((len(sound) - TRIP) / RATE))
    kept = live.tape.take()
    assert np.array_equal(kept[: len(sound) - TRIP], sound[TRIP:])


def test_what_is_played_lies_where_it_was_laid(live: Live, streams: list[Stream]) -> None:
    live.play(np.array([0.5, 0.25]), 300 / RATE)
    out = np.zeros(SIZE, np.float32)
    streams[0].playout.mix(SIZE, out)
    assert out[300 - SIZE : 303 - SIZE].tolist() == [0.5, 0.25, 0.0]
    live.hush()
    streams[0].playout.mix(SIZE, out)
    assert not out.any()


def test_a_flag_is_deaf(live: Live, streams: list[Stream]) -> None:
    sound = _sound()
    streams[0].push(np.concatenate([sound, MORE]), flagged_at=SIZE * 200)
    items = _until(live, _heard_to((len(sound) - TRIP) / RATE))
    stretches = [stretch for item in items if isinstance(item, Heard) for stretch in item.deaf]
    at = (SIZE * 200 - TRIP) / RATE
    assert stretches
    assert all(begin < at < end for begin, end in stretches)


def test_another_stream_begins_anew_and_the_counts_go_on(live: Live, streams: list[Stream]) -> None:
    sound = _sound()
    streams[0].push(sound)
    streams[0].input_overflows = 2
    _until(live, _heard_to(1.0))
    assert live.condition.overflows == 2
    streams[0].ended = True
    streams[1].input_overflows = 1
    streams[1].push(sound)  # heard as soon as it has taken the place of the other
    items = _until(live, lambda items: any(isinstance(item, Back) for item in items))
    kinds = [type(item) for item in items if not isinstance(item, Heard)]
    assert kinds == [Lost, Back]
    back = next(k for k, item in enumerate(items) if isinstance(item, Back))
    lost = next(k for k, item in enumerate(items) if isinstance(item, Lost))
    assert lost < back
    assert streams[0].closed
    assert live.condition.overflows == 3
    assert live.now_sec == len(sound) / RATE


def test_only_zeros_are_told_and_sound_brings_it_back(live: Live, streams: list[Stream]) -> None:
    streams[0].push(np.zeros(SIZE * 160, np.float32))  # 0.93 s
    items = _until(live, lambda items: any(isinstance(item, Lost) for item in items))
    (lost,) = [item for item in items if isinstance(item, Lost)]
    assert "zeros" in lost.line
    streams[0].push(_sound()[: SIZE * 40] + np.float32(1e-5))
    _until(live, lambda items: any(isinstance(item, Back) for item in items))
    assert not streams[0].closed


def test_items_without_room_are_counted_and_deaf(
    streams: list[Stream], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(live_module, "ITEMS", 3)
    waiting = list(streams)
    live = Live(lambda: waiting.pop(0), lambda: None)  # type: ignore[arg-type, return-value]
    live.start()
    try:
        streams[0].push(np.full(SIZE * 400, 1e-4, np.float32))
        until = time.monotonic() + WAIT_SEC
        while streams[0].ring.waiting and time.monotonic() < until:
            time.sleep(0.01)
        assert live.condition.dropped > 0
        live.take(0.1)
        streams[0].push(np.full(SIZE * 20, 1e-4, np.float32))
        items = _until(live, lambda items: any(getattr(item, "deaf", ()) for item in items))
        told = [stretch for item in items if isinstance(item, Heard) for stretch in item.deaf]
        assert max(end for _, end in told) - min(begin for begin, _ in told) > 1.0
    finally:
        live.stop()


def test_a_fault_of_the_analysis_is_told_where_it_can_be(live: Live, streams: list[Stream]) -> None:
    streams[0].ring.read = lambda: 1 / 0  # type: ignore[method-assign, assignment, return-value]
    with pytest.raises(RuntimeError, match="analysis") as told:
        _until(live, lambda items: False)
    assert isinstance(told.value.__cause__, ZeroDivisionError)


def test_what_cannot_be_opened_is_raised() -> None:
    def refuse() -> Stream:
        raise OSError("busy")

    live = Live(refuse, lambda: None)  # type: ignore[arg-type]
    with pytest.raises(OSError, match="busy"):
        live.start()
    live.stop()


def test_a_fresh_stream_takes_over_silently(live: Live, streams: list[Stream]) -> None:
    sound = _sound()
    streams[0].push(sound)
    _until(live, _heard_to(1.0))
    assert live.ready
    assert not live.grown
    live.freshen()
    assert not live.ready
    streams[1].push(sound)
    until = time.monotonic() + WAIT_SEC
    items = []
    while not live.ready and time.monotonic() < until:
        items += live.take(0.05)
    assert live.ready
    assert streams[0].closed
    assert all(isinstance(item, Heard) for item in items)


def test_a_round_trip_that_grew_is_told(live: Live, streams: list[Stream]) -> None:
    stream = streams[0]
    quiet = np.full(SIZE * 200, 1e-4, np.float32)
    stream.push(quiet)
    _until(live, lambda items: live.ready)
    for k in range(700):  # from here on what is played comes 50 ms later
        at = stream.ring.position
        adc = 100.0 + at / RATE
        stream.ring.write(quiet[:SIZE], adc, adc + TRIP / RATE + 0.05, time.monotonic(), 2 * (k == 0))
    _until(live, lambda items: live.grown)
    assert live.condition.round_trip_sec == pytest.approx(TRIP / RATE + 0.05, abs=0.003)


def test_what_sounds_now_is_told_on_the_streams_own_count(live: Live, streams: list[Stream]) -> None:
    stream, quiet = streams[0], np.full(SIZE, 1e-4, np.float32)
    assert live.sounding_sec() == live.now_sec == 0.0  # before the first block
    began = 7000.0  # by the monotonic clock
    latency, count = 0.03, RATE // SIZE
    for k in range(count):
        came = began + k * SIZE / RATE
        stream.ring.write(quiet, came - 0.01, came + latency, came, 0)
    _until(live, _heard_to((count * SIZE - 0.05 * RATE) / RATE - 0.05))
    until = time.monotonic() + WAIT_SEC
    while stream.ring.waiting and time.monotonic() < until:
        time.sleep(0.01)
    assert live.sounding_sec(began + 2.0) == pytest.approx(2.0 - latency, abs=1e-4)
    assert live.sounding_sec(began + 0.9) == pytest.approx(0.9 - latency, abs=1e-4)


def test_what_sounds_may_be_asked_while_the_sound_comes(live: Live, streams: list[Stream]) -> None:
    said: list[float] = []
    stop = threading.Event()

    def ask() -> None:
        while not stop.is_set():
            said.append(live.sounding_sec(1e6))
            time.sleep(0.0005)

    thread = threading.Thread(target=ask)
    thread.start()
    streams[0].push(np.full(SIZE * 400, 1e-4, np.float32))
    _until(live, _heard_to(2.0))
    stop.set()
    thread.join()
    assert len(said) > 10
    assert all(np.isfinite(said))
