"""The sound card: one full-duplex stream, played and heard on one count of frames.

This is the one place that knows the sound library (sounddevice, which is PortAudio). Which thread may do
what:

- PortAudio's own thread runs `Stream._called`: it copies into memory that exists, mixes what lies ready,
  and returns; it never waits. What it writes (`ring`, `beat_sec`, the counters) only it writes.
- Every other call here may take long, and may hang for good where a sound server has died: `open_stream`,
  `renew_library` and `Stream.close` are for the keeper's thread (`listener.keeper`), never for one that
  draws.
- `Stream.playout.add` and the attributes may be used from any thread.

A stream that was given up may still be called; it plays nothing and asks to be ended (`leave`).

Measured on a software sound card (PulseAudio 16, PortAudio 19.6): blocks of 256 frames are steady, a
block size of 0 is not; the latency 'low' is 17 or 23 ms round trip and differs from start to start.
"""

from __future__ import annotations

import atexit
import logging
import sys
import threading
import time
from contextlib import suppress
from typing import Any

import numpy as np

from listener.devices import BLOCK, REFUSED_RATE, Asked, Device, chosen, code_of, in_words, said, same
from listener.ear import RATES
from listener.errors import DeviceTrouble, LibraryMissing
from listener.playout import Playout
from listener.ring import INPUT_LOST, OUTPUT_GAP, Ring

RING_SEC = 8.0
LONGEST_BLOCK = 8192
MISSING = (
    "PortAudio is not installed, so there is no microphone (everything else works); "
    "Debian and Ubuntu: sudo apt install libportaudio2; Fedora: sudo dnf install portaudio; "
    "Arch: sudo pacman -S portaudio"
)

_LEAVING_SEC = 0.5
_LOG = logging.getLogger("sevenfall.device")


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
        self.ring.write(taken[:, self._channel], at.inputBufferAdcTime, at.outputBufferDacTime, came, flags)
        self.beat_sec = came

    def _finished(self) -> None:
        self.ended = True


class Opener:
    """Opens the stream that is asked for; from the second time on on the very devices of the first time.

    What is plugged in anew may get another number, and what the system prefers changes when a device goes: a
    stream that comes back must be the one that was lost.

    Parameters
    ----------
    asked : Asked
    """

    def __init__(self, asked: Asked) -> None:
        self._asked = asked
        self._known: tuple[Device, Device] | None = None

    def __call__(self) -> Stream:
        """Open it; errors as `open_stream`."""
        stream = open_stream(self._asked, self._known)
        self._known = stream.devices
        return stream


def open_stream(asked: Asked, known: tuple[Device, Device] | None = None) -> Stream:
    """Open and start a stream.

    Parameters
    ----------
    asked : Asked
    known : (Device, Device), optional
        The devices that are meant, by name; otherwise they are found by what is asked.

    Returns
    -------
    Stream

    Raises
    ------
    LibraryMissing
        If PortAudio is not installed; says what to install.
    DeviceTrouble
        If there is no device, or it is busy, refuses the rate, or cannot be opened.
    WrongDevice
        If what is asked for names no device.
    """
    library = _library()
    if known is None:
        source, sink = chosen(asked, devices(), tuple(library.default.device))
    else:
        source, sink = same(known, devices())
    own = [rate for rate in RATES if rate == round(source.rate)]
    rates = [asked.rate] if asked.rate else [*own, *(rate for rate in reversed(RATES) if rate not in own)]
    refused: Exception | None = None
    for rate in rates:
        try:
            return Stream(asked, (source, sink), rate, library)
        except library.PortAudioError as error:
            refused = error
            if code_of(error) != REFUSED_RATE:
                break
    assert refused is not None
    raise DeviceTrouble(in_words(refused, source, sink, rates)) from refused


def devices() -> list[Device]:
    """What the system lists, as it was when the library was started (`renew_library` looks again).

    Raises
    ------
    LibraryMissing
    """
    library = _library()
    systems = [system["name"] for system in library.query_hostapis()]
    return [
        Device(
            number=number,
            name=found["name"],
            system=systems[found["hostapi"]],
            inputs=found["max_input_channels"],
            outputs=found["max_output_channels"],
            rate=found["default_samplerate"],
        )
        for number, found in enumerate(library.query_devices())
    ]


def renew_library() -> None:
    """Start PortAudio anew, so that it sees what was plugged in; may hang where a sound server has died.

    Raises
    ------
    DeviceTrouble
    """
    library = _library()
    # Where it could not be started the last time, there is nothing to end.
    with suppress(library.PortAudioError):
        library._terminate()
    try:
        library._initialize()
    except library.PortAudioError as error:
        raise DeviceTrouble(f"the sound system cannot be started: {said(error)}") from error


def _library() -> Any:
    """sounddevice, loaded on first use."""
    if "sounddevice" in sys.modules:
        return sys.modules["sounddevice"]
    try:
        import sounddevice
    except OSError as error:
        raise LibraryMissing(MISSING) from error
    except Exception as error:  # its own error, which has no name before it is loaded
        raise DeviceTrouble(f"the sound system cannot be started: {said(error)}") from error
    # Its own way out hangs where a sound server has died.
    atexit.unregister(getattr(sounddevice, "_exit_handler", _leave))
    atexit.register(_leave, sounddevice)
    return sounddevice


def _leave(library: Any) -> None:
    """End PortAudio when the program ends; give up where it hangs."""

    def end() -> None:
        with suppress(library.PortAudioError):
            library._terminate()

    ending = threading.Thread(target=end, daemon=True)
    with suppress(RuntimeError):  # from Python 3.12 on no thread starts so late: left to the system
        ending.start()
        ending.join(_LEAVING_SEC)
