"""The sound card's stream, against a sound library in software: what the callback takes in and plays, which
rates are tried, and what each failure says."""

from __future__ import annotations

import sys
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from listener import stream as streams
from listener.device import devices, open_stream
from listener.devices import Asked
from listener.errors import DeviceTrouble
from listener.stream import Stream
from tests.portaudio import CallbackAbort, PortAudioError, SoundDevice

QUIET = SimpleNamespace(input_overflow=False, input_underflow=False, output_underflow=False)


@pytest.fixture
def library(monkeypatch: pytest.MonkeyPatch) -> SoundDevice:
    library = SoundDevice()
    monkeypatch.setitem(sys.modules, "sounddevice", library)
    monkeypatch.setattr(streams, "time", SimpleNamespace(monotonic=lambda: 42.0))
    return library


def _called(stream: Stream, taken: np.ndarray, *, status: Any = None, adc: float = 0.0) -> np.ndarray:
    """Call as PortAudio does; what is to be played."""
    opened = stream._stream
    given = np.full((len(taken), opened.asked["channels"][1]), 0.75, np.float32)
    at = SimpleNamespace(inputBufferAdcTime=adc, outputBufferDacTime=adc + 0.5)
    try:
        opened.asked["callback"](taken, given, len(taken), at, status)
    except CallbackAbort:
        opened.active = False
        assert not given.any()
    return given


def _taken(*frames: float, channels: int = 1) -> np.ndarray:
    taken = np.zeros((len(frames), channels), np.float32)
    taken[:, -1] = frames
    return taken


def test_the_stream_is_opened_and_started_as_asked(library: SoundDevice) -> None:
    stream = open_stream(Asked(device="mic/horn", rate=48000, block=128, latency=0.05, channel=2))
    asked = library.opened[0].asked
    assert (asked["samplerate"], asked["blocksize"], asked["latency"]) == (48000, 128, 0.05)
    assert (asked["device"], asked["channels"], asked["dtype"]) == ((0, 2), (2, 1), "float32")
    assert (stream.rate, stream.block, stream.source, stream.sink) == (48000, 128, "Mic", "Horn")
    assert (stream.latency_sec, stream.active, stream.ended) == (0.0225, True, False)
    assert (stream.position, stream.beat_sec) == (0, 42.0)
    assert stream.zero_frames > 0  # nothing is known to be heard


def test_the_callback_takes_in_the_microphones_channel_with_its_stamps(
    library: SoundDevice, monkeypatch: pytest.MonkeyPatch
) -> None:
    stream = open_stream(Asked(channel=2))
    taken = _taken(0.25, -0.5, 1.0, channels=2)
    _called(stream, taken, adc=7.0)
    taken[:] = 0.0  # PortAudio's memory
    monkeypatch.setattr(streams, "time", SimpleNamespace(monotonic=lambda: 43.0))
    _called(stream, _taken(0.5, channels=2), adc=8.0)
    first, second = stream.ring.read(), stream.ring.read()
    assert first is not None
    assert second is not None
    assert (first.position, first.samples.tolist(), first.flagged) == (0, [0.25, -0.5, 1.0], False)
    assert (first.adc_sec, first.dac_sec, first.came_sec) == (7.0, 7.5, 42.0)
    assert (second.position, second.samples.tolist(), second.came_sec) == (3, [0.5], 43.0)
    assert (stream.position, stream.beat_sec) == (4, 43.0)


@pytest.mark.parametrize(("sink", "channels"), [("horn", 1), ("speakers", 2)])
def test_what_is_laid_is_played_at_its_position_on_all_channels(
    library: SoundDevice, sink: str, channels: int
) -> None:
    stream = open_stream(Asked(device=f"mic/{sink}"))
    stream.playout.add(np.array([0.25, 0.5, -0.5]), 1)
    heard = np.concatenate([_called(stream, _taken(0.0, 0.0)) for _ in range(3)])
    assert heard.tolist() == [[sample] * channels for sample in (0.0, 0.25, 0.5, -0.5, 0.0, 0.0)]


@pytest.mark.parametrize(
    ("overflow", "zeros", "gap", "flags"),
    [(0, 0, 0, 0), (1, 0, 0, 1), (0, 1, 0, 1), (1, 1, 0, 1), (0, 0, 1, 2), (1, 0, 1, 3), (0, 1, 1, 3)],
)
def test_what_the_system_lost_is_counted_and_flagged(
    library: SoundDevice, overflow: int, zeros: int, gap: int, flags: int
) -> None:
    stream = open_stream(Asked())
    _called(stream, _taken(1.0))
    for _ in range(2):
        status = SimpleNamespace(
            input_overflow=bool(overflow), input_underflow=bool(zeros), output_underflow=bool(gap)
        )
        _called(stream, _taken(1.0), status=status)
    assert (stream.input_overflows, stream.output_underflows) == (2 * max(overflow, zeros), 2 * gap)
    blocks = [stream.ring.read() for _ in range(3)]
    assert [block.flags for block in blocks if block is not None] == [0, flags, flags]


def test_a_full_ring_drops_and_the_playing_goes_on(
    library: SoundDevice, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(streams, "RING_SEC", 2 * 256 / 44100)
    stream = open_stream(Asked())
    stream.playout.add(np.array([0.5]), 4)
    assert [_called(stream, _taken(1.0))[0, 0] for _ in range(5)] == [0.0, 0.0, 0.0, 0.0, 0.5]
    assert (stream.ring.waiting, stream.ring.dropped_blocks, stream.position) == (3, 2, 5)


@pytest.mark.parametrize("block", [0, 256, 1000])
def test_the_ring_holds_eight_seconds(library: SoundDevice, block: int) -> None:
    stream, size = open_stream(Asked(block=block)), block or 256
    while stream.position < 8 * 44100:
        _called(stream, np.ones((size, 1), np.float32), status=QUIET)
    assert stream.ring.dropped_blocks == 0
    _called(stream, np.ones((size, 1), np.float32))
    assert stream.ring.dropped_blocks == 1


def test_where_no_size_is_asked_for_blocks_of_all_sizes_are_taken_in(library: SoundDevice) -> None:
    stream = open_stream(Asked(block=0))
    sizes = (1, streams.LONGEST_BLOCK, 300)
    for size in sizes:
        assert len(_called(stream, np.full((size, 1), size, np.float32))) == size
    for size in sizes:
        block = stream.ring.read()
        assert block is not None
        assert block.samples.tolist() == [float(size)] * size


@pytest.mark.parametrize("end", ["leave", "close"])
def test_once_left_the_callback_plays_nothing_takes_in_nothing_and_asks_for_its_end(
    library: SoundDevice, end: str
) -> None:
    stream = open_stream(Asked())
    stream.playout.add(np.array([0.5] * 9), 0)
    assert _called(stream, _taken(1.0))[0, 0] == 0.5
    getattr(stream, end)()
    assert library.opened[0].closed == (end == "close")
    stream.playout.add(np.array([0.5] * 9), 0)  # by somebody who does not know yet
    library.opened[0].active = True
    _called(stream, _taken(1.0))
    assert not stream.active
    assert (stream.position, stream.ring.waiting) == (1, 1)


def test_a_block_longer_than_any_ends_the_stream(library: SoundDevice) -> None:
    stream = open_stream(Asked(block=0))
    _called(stream, np.ones((streams.LONGEST_BLOCK + 1, 1), np.float32))
    assert (stream.active, stream.position) == (False, 0)


def test_a_stream_that_the_system_ended_says_so(library: SoundDevice) -> None:
    stream = open_stream(Asked())
    library.opened[0].asked["finished_callback"]()
    assert stream.ended


@pytest.mark.parametrize(
    ("own", "asked", "refused", "tried"),
    [
        (44100.0, None, [], [44100]),
        (44100.0, None, [44100], [44100, 48000]),
        (48000.0, None, [48000], [48000, 44100]),
        (44099.6, None, [], [44100]),
        (96000.0, None, [], [48000]),
        (96000.0, None, [48000], [48000, 44100]),
        (44100.0, 48000, [], [48000]),
    ],
)
def test_rates_are_tried_in_turn_the_microphones_own_first(
    library: SoundDevice, own: float, asked: int | None, refused: list[int], tried: list[int]
) -> None:
    library.rate, library.refused = own, dict.fromkeys(refused, -9997)
    assert open_stream(Asked(rate=asked)).rate == tried[-1]
    assert library.tried == tried


@pytest.mark.parametrize(
    ("asked", "refused", "tried", "line"),
    [
        (None, {44100: -9997, 48000: -9997}, [44100, 48000], "refuses 44100 and 48000 Hz"),
        (48000, {48000: -9997}, [48000], "refuses 48000 Hz"),
        (None, {44100: -9997, 48000: -9985}, [44100, 48000], "busy or gone: another program"),
        (None, {44100: -9998}, [44100], "has not the channels"),
        (None, {44100: -9996}, [44100], "is not there any more"),
        (None, {44100: -9993}, [44100], "cannot be opened together"),
        (None, {44100: -9985}, [44100], "busy or gone: another program"),
        (None, {44100: -9999}, [44100], "cannot be opened: Error opening Stream"),
    ],
)
def test_what_cannot_be_opened_is_one_line_and_only_a_refused_rate_is_tried_again(
    library: SoundDevice, asked: int | None, refused: dict[int, int], tried: list[int], line: str
) -> None:
    library.refused = refused
    with pytest.raises(DeviceTrouble) as caught:
        open_stream(Asked(rate=asked))
    assert str(caught.value).startswith(f"Mic and Speakers: {line}")
    assert isinstance(caught.value.__cause__, PortAudioError)
    assert library.tried == tried


def test_a_stream_that_does_not_start_is_closed(library: SoundDevice) -> None:
    library.does_not_start = {44100}
    with pytest.raises(DeviceTrouble, match=r"^Mic and Speakers: busy or gone"):
        open_stream(Asked())
    assert [one.closed for one in library.opened] == [True]


def test_devices_are_those_that_the_system_lists(library: SoundDevice) -> None:
    assert [(one.number, one.name, one.inputs, one.outputs) for one in devices()] == [
        (0, "Mic", 2, 0),
        (1, "Speakers", 0, 6),
        (2, "Horn", 0, 1),
    ]
    assert {(one.system, one.rate) for one in devices()} == {("ALSA", 44100.0)}
