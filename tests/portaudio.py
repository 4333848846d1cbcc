"""A sound library in software that stands for sounddevice: three devices, streams that are called by hand."""

from __future__ import annotations

from types import ModuleType, SimpleNamespace
from typing import Any


class PortAudioError(Exception):
    """Text, then PortAudio's number."""


class CallbackAbort(Exception):
    """Ends a stream."""


class SoundDevice(ModuleType):
    """Stands for sounddevice: a microphone, speakers, and the streams that were opened on them."""

    PortAudioError, CallbackAbort = PortAudioError, CallbackAbort

    def __init__(self, rate: float = 44100.0) -> None:
        super().__init__("sounddevice")
        self.default = SimpleNamespace(device=[0, 1])
        self.rate = rate
        self.refused: dict[int, int] = {}  # PortAudio's number for each rate that does not open
        self.does_not_start: set[int] = set()
        self.tried: list[int] = []
        self.opened: list[PortAudioStream] = []
        self.started = 1
        self.broken = False

    def query_hostapis(self) -> list[dict[str, Any]]:
        return [{"name": "OSS"}, {"name": "ALSA"}]

    def query_devices(self) -> list[dict[str, Any]]:
        shared = {"hostapi": 1, "default_samplerate": self.rate}
        return [
            {"name": "Mic", "max_input_channels": 2, "max_output_channels": 0, **shared},
            {"name": "Speakers", "max_input_channels": 0, "max_output_channels": 6, **shared},
            {"name": "Horn", "max_input_channels": 0, "max_output_channels": 1, **shared},
        ]

    def Stream(self, **asked: Any) -> PortAudioStream:
        self.tried.append(asked["samplerate"])
        if asked["samplerate"] in self.refused:
            raise PortAudioError("Error opening Stream", self.refused[asked["samplerate"]])
        self.opened.append(PortAudioStream(self, asked))
        return self.opened[-1]

    def OutputStream(self, **asked: Any) -> PortAudioStream:
        opened = self.Stream(**asked)
        opened.latency = opened.latency[1]
        return opened

    def _terminate(self) -> None:
        if self.started < 1:
            raise PortAudioError("PortAudio not initialized", -10000)
        self.started -= 1

    def _initialize(self) -> None:
        if self.broken:
            raise PortAudioError("Error initializing\nPortAudio", -9999)
        self.started += 1


class PortAudioStream:
    """Is called by hand, and closed without being stopped before (see `listener.stream.Stream.close`)."""

    latency: Any = (0.01, 0.0125)

    def __init__(self, library: SoundDevice, asked: dict[str, Any]) -> None:
        self.library, self.asked = library, asked
        self.active = self.closed = False

    def start(self) -> None:
        if self.asked["samplerate"] in self.library.does_not_start:
            raise PortAudioError("Error starting stream", -9985)
        self.active = True

    def close(self, ignore_errors: bool = False) -> None:
        self.active, self.closed = False, True
