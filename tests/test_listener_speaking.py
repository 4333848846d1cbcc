"""An output alone: sounds laid on its count of frames, and what is said when it goes."""

from __future__ import annotations

import sys
import threading
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from listener import speaking
from listener.device import open_output
from listener.devices import Asked
from listener.errors import DeviceTrouble, WrongDevice
from listener.speaking import STALLS_SEC, Speaker
from listener.stream import BEGUN_OF
from tests.portaudio import CallbackAbort, SoundDevice

QUIET = SimpleNamespace(output_underflow=False)


@pytest.fixture
def library(monkeypatch: pytest.MonkeyPatch) -> SoundDevice:
    library = SoundDevice()
    monkeypatch.setitem(sys.modules, "sounddevice", library)
    return library


def _speaker(clock: list[float], **asked: Any) -> Speaker:
    made = Speaker(lambda: open_output(Asked(**asked)), clock=lambda: clock[0])
    made.start()
    return made


def _called(library: SoundDevice, frames: int, ahead_sec: float = 0.01) -> list[float]:
    opened = library.opened[-1]
    given = np.full((frames, opened.asked["channels"]), 0.75, np.float32)
    try:
        stamps = SimpleNamespace(currentTime=7.0, outputBufferDacTime=7.0 + ahead_sec)
        opened.asked["callback"](given, frames, stamps, QUIET)
    except CallbackAbort:
        opened.active = False
    assert all((given[:, 0] == given[:, channel]).all() for channel in range(given.shape[1]))
    return [float(value) for value in given[:, 0]]


def test_sounds_lie_to_the_sample_on_every_channel(library: SoundDevice) -> None:
    speaker = _speaker([0.0])
    assert (speaker.sink, speaker.rate) == ("Speakers", 44100)
    assert library.opened[-1].asked["channels"] == 2
    speaker.play(np.array([0.5, 0.25]), 3 / 44100)
    assert _called(library, 4) == [0.0, 0.0, 0.0, 0.5]
    assert speaker.now_sec == 4 / 44100
    assert _called(library, 3) == [0.25, 0.0, 0.0]


def test_a_name_chooses_the_output_with_or_without_a_microphone(library: SoundDevice) -> None:
    assert _speaker([0.0], device="horn").sink == "Horn"
    assert _speaker([0.0], device="mic/horn").sink == "Horn"
    assert _speaker([0.0], usual=("Mic", "Horn")).sink == "Horn"
    assert _speaker([0.0], usual=("Mic", "gone")).sink == "Speakers"
    with pytest.raises(WrongDevice, match="'trumpet'"):
        _speaker([0.0], device="trumpet")


def test_a_refused_rate_is_followed_by_the_other_one(library: SoundDevice) -> None:
    library.refused = {44100: -9997}
    assert _speaker([0.0]).rate == 48000
    library.refused = {44100: -9985}
    with pytest.raises(DeviceTrouble, match="Speakers: busy or gone"):
        _speaker([0.0])


@pytest.mark.parametrize(("ahead_sec", "believed_sec"), [(0.25, 0.25), (0.0, 0.0125), (-3.0, 0.0125)])
def test_when_it_began_is_known_by_the_time_stamps_or_else_by_the_latency(
    library: SoundDevice, monkeypatch: pytest.MonkeyPatch, ahead_sec: float, believed_sec: float
) -> None:
    now = [100.0]
    monkeypatch.setattr("listener.stream.time", SimpleNamespace(monotonic=lambda: now[0]))
    speaker = _speaker([0.0])
    assert speaker.begun_sec is None
    for sec in (100.0, 100.1, 100.204):  # every 0.1 s, one of them late
        now[0] = sec
        _called(library, 4410, ahead_sec)
    assert speaker.begun_sec == pytest.approx(100.0 + believed_sec)
    for number in range(BEGUN_OF):  # it had nothing to play for 30 ms
        now[0] = 100.33 + 0.1 * number
        _called(library, 4410, ahead_sec)
    assert speaker.begun_sec == pytest.approx(100.03 + believed_sec)


def test_silenced_it_plays_nothing_of_what_was_laid(library: SoundDevice) -> None:
    speaker = _speaker([0.0])
    speaker.play(np.ones(8), 0.0)
    assert _called(library, 2) == [1.0, 1.0]
    speaker.silence()
    assert _called(library, 2) == [0.0, 0.0]
    speaker.play(np.ones(8), 5 / 44100)
    assert _called(library, 2) == [0.0, 1.0]


def test_an_output_that_stands_still_has_gone(library: SoundDevice) -> None:
    clock = [0.0]
    speaker = _speaker(clock)
    _called(library, 8)
    assert speaker.now_sec == 8 / 44100
    clock[0] = STALLS_SEC
    assert speaker.now_sec == 8 / 44100
    clock[0] = STALLS_SEC + 0.01
    with pytest.raises(DeviceTrouble, match="Speakers: the sound has gone"):
        _ = speaker.now_sec


def test_one_that_the_system_ended_has_gone(library: SoundDevice) -> None:
    speaker = _speaker([0.0])
    library.opened[-1].asked["finished_callback"]()
    with pytest.raises(DeviceTrouble, match="has gone"):
        _ = speaker.now_sec


def test_it_ends_and_plays_nothing_any_more(library: SoundDevice) -> None:
    speaker = _speaker([0.0])
    speaker.play(np.ones(8), 0.0)
    speaker.stop()
    assert library.opened[-1].closed
    assert not speaker.hung
    assert _called(library, 4) == [0.0] * 4


def test_one_that_hangs_in_closing_is_left_behind(
    library: SoundDevice, monkeypatch: pytest.MonkeyPatch
) -> None:
    speaker, go = _speaker([0.0]), threading.Event()
    monkeypatch.setattr(speaking, "CLOSING_SEC", 0.01)
    monkeypatch.setattr(library.opened[-1], "close", lambda ignore_errors: go.wait())
    speaker.stop()
    assert speaker.hung
    go.set()


def test_a_system_that_does_not_answer_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    go = threading.Event()
    monkeypatch.setattr(speaking, "OPENING_SEC", 0.01)
    speaker = Speaker(lambda: go.wait())  # type: ignore[arg-type, return-value]
    with pytest.raises(DeviceTrouble, match="did not answer"):
        speaker.start()
    assert speaker.hung
    go.set()
