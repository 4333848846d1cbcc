"""The sound card: one full-duplex stream, played and heard on one count of frames; or one that only plays.

This is the one place that knows the sound library (sounddevice, which is PortAudio). Which thread may do
what:

- PortAudio's own thread runs `Stream._called` (`listener.stream`).
- Every call here may take long, and may hang for good where a sound server has died: `open_stream`,
  `open_output`, `renew_library` and `Stream.close` are for the keeper's thread (`listener.keeper`) or one
  that may be left behind, never for one that draws.
- `Stream.playout.add` and the attributes may be used from any thread.

Measured on a software sound card (PulseAudio 16, PortAudio 19.6): blocks of 256 frames are steady, a
block size of 0 is not; the latency 'low' is 17 or 23 ms round trip and differs from start to start.
"""

from __future__ import annotations

import atexit
import logging
import sys
import threading
from collections.abc import Callable, Sequence
from contextlib import suppress
from typing import Any, TypeVar

from listener.devices import (
    REFUSED_RATE,
    Asked,
    Device,
    chosen,
    chosen_output,
    code_of,
    in_words,
    said,
    same,
)
from listener.ear import RATES
from listener.errors import DeviceTrouble, LibraryMissing
from listener.stream import Output, Stream

MISSING = (
    "PortAudio is not installed, so nothing can be played or listened to live (everything else works); "
    "Debian and Ubuntu: sudo apt install libportaudio2; Fedora: sudo dnf install portaudio; "
    "Arch: sudo pacman -S portaudio"
)

_LEAVING_SEC = 0.5
_LOG = logging.getLogger("sevenfall.device")


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
    source, sink = pair_for(asked) if known is None else same(known, devices())
    return _first_that_opens(
        asked, (source, sink), source.rate, lambda rate: Stream(asked, (source, sink), rate, library)
    )


def pair_for(asked: Asked) -> tuple[Device, Device]:
    """Microphone and output that are asked for, not opened; errors as `open_stream`."""
    return chosen(asked, devices(), tuple(_library().default.device))


def open_output(asked: Asked) -> Output:
    """Open and start a stream that only plays.

    Parameters
    ----------
    asked : Asked
        Of its device only the output counts: what stands behind the stroke, or all where there is none.

    Returns
    -------
    Output

    Raises
    ------
    LibraryMissing, DeviceTrouble, WrongDevice
        As `open_stream`.
    """
    library = _library()
    sink = chosen_output(asked, devices(), library.default.device[1])
    return _first_that_opens(asked, (sink, sink), sink.rate, lambda rate: Output(asked, sink, rate, library))


_Opened = TypeVar("_Opened")


def _first_that_opens(
    asked: Asked, pair: tuple[Device, Device], own_rate: float, opened: Callable[[int], _Opened]
) -> _Opened:
    """A stream at the rate that is asked for, else at the first that the devices take, their own before all.

    Raises
    ------
    DeviceTrouble
    """
    own = [rate for rate in RATES if rate == round(own_rate)]
    rates: Sequence[int] = (
        [asked.rate] if asked.rate else [*own, *(rate for rate in reversed(RATES) if rate not in own)]
    )
    refused: Exception | None = None
    for rate in rates:
        try:
            return opened(rate)
        except _library().PortAudioError as error:
            refused = error
            if code_of(error) != REFUSED_RATE:
                break
    assert refused is not None
    raise DeviceTrouble(in_words(refused, *pair, rates)) from refused


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
