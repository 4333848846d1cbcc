"""Streams of the sound card: what its own thread does, and what others may ask of it.

PortAudio's thread runs `_called`: it copies into memory that exists, mixes what lies ready, and returns; it
never waits. What it writes (`ring`, `beat_sec`, `position`, the counters) only it writes. A stream that was
given up may still be called; it plays nothing and asks to be ended (`leave`). The sound library itself is an
argument: only `listener.device` knows it.
"""

from __future__ import annotations

import time
from typing import Any

import numpy as np

from listener.devices import BLOCK, Asked, Device
from listener.playout import Playout
from listener.ring import INPUT_LOST, OUTPUT_GAP, Ring

RING_SEC = 8.0
LONGEST_BLOCK = 8192

BEGUN_OF = 64
"""Of so many callbacks an output's beginning is the median: 0.37 s at blocks of 256 frames."""

LONGEST_AHEAD_SEC = 2.0
"""No sound card keeps more ahead; a time stamp that says so makes no sense."""


class Stream:
    """A running stream; made by `open_stream`.

    Parameters
    ----------
    asked : Asked
    devices : (Device, Device)
        Microphone and output.
    rate : int
    library : module
        sounddevice.

    Attributes
    ----------
    rate, block : int
    devices : (Device, Device)
        Microphone and output.
    source, sink : str
        Their names.
    latency_sec : float
        Round trip as the system reports it.
    ring : Ring
        What came in.
    playout : Playout
        What goes out.
    beat_sec : float
        When the callback was called last, by the monotonic clock.
    ended : bool
        Whether the system ended the stream by itself.
    zero_frames : int
        How many frames on end were exactly 0; written by whoever empties the ring. Not 0 from the start, but
        only once something was heard.
    input_overflows, output_underflows : int
        Callbacks before which the system lost sound of the microphone, or had none to play.
    """

    def __init__(self, asked: Asked, devices: tuple[Device, Device], rate: int, library: Any) -> None:
        source, sink = self.devices = devices
        self.rate, self.block = rate, asked.block
        self.source, self.sink = source.name, sink.name
        self.ring = Ring(int(RING_SEC * rate / (asked.block or BLOCK)) + 1, asked.block or LONGEST_BLOCK)
        self.playout = Playout()
        self.ended = False
        self.zero_frames = 1
        self.input_overflows = self.output_underflows = 0
        self._left = False
        self._abort = library.CallbackAbort
        self._mono = np.zeros(LONGEST_BLOCK, np.float32)
        self._channel = asked.channel - 1
        self.beat_sec = time.monotonic()
        self._stream = library.Stream(
            samplerate=rate,
            blocksize=asked.block,
            device=(source.number, sink.number),
            channels=(asked.channel, min(2, sink.outputs)),
            dtype="float32",
            latency=asked.latency,
            callback=self._called,
            finished_callback=self._finished,
        )
        self.latency_sec = float(sum(self._stream.latency))
        try:
            self._stream.start()
        except library.PortAudioError:
            self.close()
            raise

    @property
    def position(self) -> int:
        """Frames that were played and taken in so far."""
        return self.ring.position

    @property
    def active(self) -> bool:
        """Whether the system says that the stream runs; it may say so of one that stands still."""
        return bool(self._stream.active)

    def leave(self) -> None:
        """Have the callback play nothing and ask for its end; never waits."""
        self._left = True
        self.playout.clear()

    def close(self) -> None:
        """Stop and close; may hang where the sound server has died.

        There is no stop before it: PortAudio takes a stream off its list first thing in closing, and so can
        be started anew though the closing hangs; one that hangs in stopping stays there and hangs that, too.
        """
        self.leave()
        self._stream.close(ignore_errors=True)

    def _called(self, taken: np.ndarray, given: np.ndarray, frames: int, at: Any, status: Any) -> None:
        came = time.monotonic()
        if self._left or frames > len(self._mono):
            given[:] = 0.0
            raise self._abort
        mono = self._mono[:frames]
        self.playout.mix(self.ring.position, mono)
        for channel in range(given.shape[1]):
            given[:, channel] = mono
        flags = 0
        if status:
            # An input underflow has had zeros put in: where input and output are different devices.
            lost = status.input_overflow or status.input_underflow
            self.input_overflows += lost
            self.output_underflows += status.output_underflow
            flags = INPUT_LOST * lost + OUTPUT_GAP * status.output_underflow
        stamps = at.inputBufferAdcTime, at.outputBufferDacTime
        self.ring.write(taken[:, self._channel], *stamps, came, flags, mono)
        self.beat_sec = came

    def _finished(self) -> None:
        self.ended = True


class Output:
    """A running stream that only plays; made by `listener.device.open_output`.

    Parameters
    ----------
    asked : Asked
    sink : Device
    rate : int
    library : module
        sounddevice.

    Attributes
    ----------
    rate : int
    sink : str
        The output's name.
    playout : Playout
        What goes out.
    position : int
        Frames that were played so far.
    latency_sec : float
        How late what is played sounds, as the system reports it.
    ended : bool
        Whether the system ended the stream by itself.
    """

    def __init__(self, asked: Asked, sink: Device, rate: int, library: Any) -> None:
        self.rate, self.sink = rate, sink.name
        self.playout = Playout()
        self.position = self._calls = 0
        self._begun = np.zeros(BEGUN_OF)
        self.ended = False
        self._left = False
        self._abort = library.CallbackAbort
        self._mono = np.zeros(LONGEST_BLOCK, np.float32)
        self._stream = library.OutputStream(
            samplerate=rate,
            blocksize=asked.block,
            device=sink.number,
            channels=min(2, sink.outputs),
            dtype="float32",
            latency=asked.latency,
            callback=self._called,
            finished_callback=self._finished,
        )
        self.latency_sec = float(self._stream.latency)
        try:
            self._stream.start()
        except library.PortAudioError:
            self.close()
            raise

    @property
    def begun_sec(self) -> float | None:
        """When the frame at position 0 was heard, by the monotonic clock; None before the first callback.

        By the latest callbacks: where the system had nothing to play for a moment, it is later afterwards.
        """
        known = self._begun[: min(self._calls, BEGUN_OF)]
        return float(np.median(known)) if len(known) else None

    def leave(self) -> None:
        """Have the callback play nothing and ask for its end; never waits."""
        self._left = True
        self.playout.clear()

    def close(self) -> None:
        """Stop and close; may hang where the sound server has died (see `Stream.close`)."""
        self.leave()
        self._stream.close(ignore_errors=True)

    def _called(self, given: np.ndarray, frames: int, at: Any, status: Any) -> None:
        came = time.monotonic()
        if self._left or frames > len(self._mono):
            given[:] = 0.0
            raise self._abort
        mono = self._mono[:frames]
        self.playout.mix(self.position, mono)
        for channel in range(given.shape[1]):
            given[:, channel] = mono
        ahead = at.outputBufferDacTime - at.currentTime
        if not 0.0 < ahead < LONGEST_AHEAD_SEC:  # stamps that make no sense
            ahead = self.latency_sec
        self._begun[self._calls % BEGUN_OF] = came + ahead - self.position / self.rate
        self._calls += 1
        self.position += frames

    def _finished(self) -> None:
        self.ended = True
