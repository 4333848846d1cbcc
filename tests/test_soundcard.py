"""The tests' own sound card, heard by a child that opens it through sounddevice as the program would."""

from __future__ import annotations

import os
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
import pytest

from tests.soundcard import CABLES, MODULES, SoundCard, card_fixture, missing

TONE_HZ = 700.0  # played by the child, at amplitude 0.1
LICK_HZ = 1500.0  # injected, at amplitude 0.2

# Plays a tone, keeps what it hears, and tells each 50 ms how often it was called. Its latency is long, as an
# xrun while a cable is unplugged ends the stream; os._exit, as PortAudio hangs once the daemon is dead.
CHILD = f"""
import os, sys, time
import numpy as np, sounddevice as sd

rate, sec, heard = int(sys.argv[1]), float(sys.argv[2]), []
count = 0

def callback(indata, outdata, frames, stamps, status):
    global count
    time = (256 * count + np.arange(frames)) / rate
    outdata[:] = 0.1 * np.sin(2 * np.pi * {TONE_HZ} * time)[:, None]
    heard.append(indata[:, 0].copy())
    count += 1

stream = sd.Stream(rate, 256, "live", (1, 2), latency=0.2, callback=callback)
stream.start()
deadline = time.monotonic() + sec
while time.monotonic() < deadline:
    print(count, flush=True)
    time.sleep(0.05)
np.save(sys.argv[3], np.concatenate(heard))
os._exit(0)
"""

soundcard = card_fixture()
needs_card = pytest.mark.skipif(missing() is not None, reason=str(missing()))


class Child:
    """A program with a stream on "live" for some seconds; `lines` are what it has told."""

    def __init__(self, card: SoundCard, sec: float) -> None:
        self.path = card.folder / "heard.npy"
        self.lines: list[str] = []
        words = [sys.executable, "-c", CHILD, str(card.rate), str(sec), str(self.path)]
        self.process = subprocess.Popen(words, env=card.env, stdout=subprocess.PIPE, text=True)
        self.reader = threading.Thread(target=self._read, daemon=True)
        self.reader.start()
        wait_for(lambda: self.calls() > 10 or self.process.poll() is not None)
        assert self.calls() > 10

    def _read(self) -> None:
        assert self.process.stdout is not None
        self.lines.extend(self.process.stdout)  # the list grows line by line, and is only read elsewhere

    def calls(self) -> int:
        """How often the callback was called, so far."""
        return int(self.lines[-1]) if self.lines else 0

    def heard(self) -> np.ndarray:
        """What came from the microphone, once the child has ended."""
        assert self.process.wait(10.0) == 0
        sound: np.ndarray = np.load(self.path)
        return sound


@pytest.fixture
def child() -> Iterator[Callable[..., Child]]:
    children = []

    def start(card: SoundCard, sec: float) -> Child:
        children.append(Child(card, sec))
        return children[-1]

    yield start
    for one in children:
        one.process.kill()
        one.process.wait()
        one.reader.join(5.0)


def wait_for(told: Callable[[], bool], sec: float = 8.0) -> None:
    """Wait until it is so, at most some seconds."""
    deadline = time.monotonic() + sec
    while not told() and time.monotonic() < deadline:
        time.sleep(0.01)


def sine(hz: float, amplitude: float, sec: float, rate: int) -> np.ndarray:
    """A sine, float64."""
    return amplitude * np.sin(2.0 * np.pi * hz * np.arange(round(sec * rate)) / rate)


def amplitude(sound: np.ndarray, hz: float, rate: int) -> float:
    """The largest amplitude of a sine of that frequency in any tenth of a second."""
    size = rate // 10
    pieces = sound[: len(sound) // size * size].reshape(-1, size)
    return float(2.0 / size * np.abs(pieces @ np.exp(2j * np.pi * hz * np.arange(size) / rate)).max())


@needs_card
@pytest.mark.parametrize("rate", [44100, 48000])
def test_what_is_injected_is_heard_and_what_is_played_is_recorded(
    child: Callable[..., Child], rate: int, tmp_path: Path
) -> None:
    with SoundCard(rate) as card:
        listening = child(card, 1.0)
        assert card.inject(sine(LICK_HZ, 0.2, 0.4, rate)).wait(5.0) == 0
        played = card.record(tmp_path / "played.wav", 0.4)
        heard = listening.heard()
    assert 0.19 < amplitude(heard, LICK_HZ, rate) < 0.21
    assert amplitude(heard, TONE_HZ, rate) < 0.01
    assert played.shape == (round(0.4 * rate), 2)
    assert 0.095 < amplitude(played[:, 0], TONE_HZ, rate) < 0.105
    assert (tmp_path / "played.wav").exists()


def test_hum_and_loopback_have_the_level_asked_for(soundcard: SoundCard, child: Callable[..., Child]) -> None:
    soundcard.hum(-40.0)
    number = soundcard.loopback(0.25)
    listening = child(soundcard, 1.0)
    time.sleep(0.4)
    soundcard.unload(number)
    heard = listening.heard()
    assert 0.022 < amplitude(heard, TONE_HZ, 44100) < 0.028
    assert -41.0 < 20.0 * np.log10(heard[-4410:].std()) < -39.0


def test_a_killed_daemon_stops_the_callbacks_and_a_new_one_is_heard_again(
    soundcard: SoundCard, child: Callable[..., Child]
) -> None:
    stalled = child(soundcard, 30.0)
    soundcard.kill()
    time.sleep(0.1)
    before = stalled.calls()
    time.sleep(0.3)
    assert stalled.calls() == before
    with pytest.raises(RuntimeError, match=r"spk\.monitor"):
        soundcard.record(None, 0.1)
    soundcard.restart()
    again = child(soundcard, 0.7)
    soundcard.inject(sine(LICK_HZ, 0.2, 0.4, 44100))
    assert amplitude(again.heard(), LICK_HZ, 44100) > 0.19


def test_a_microphone_that_is_unplugged_gives_digital_silence(
    soundcard: SoundCard, child: Callable[..., Child]
) -> None:
    soundcard.hum(-40.0)
    listening = child(soundcard, 1.8)
    soundcard.unplug("inj")
    unplugged = listening.calls()
    time.sleep(0.5)
    soundcard.plug("inj")
    soundcard.hum(-40.0)
    heard = listening.heard().reshape(-1, 256)
    silent = np.abs(heard).max(axis=1) == 0.0
    assert listening.calls() > unplugged + 100
    assert np.sum(silent[unplugged:]) > 40
    assert not np.any(silent[-20:])


@pytest.mark.parametrize("gone", [("spk", "inj"), ("inj", "spk"), ("mic", "spk"), ("mic", "inj")])
def test_cables_are_unplugged_in_any_order_and_come_back(soundcard: SoundCard, gone: tuple[str, str]) -> None:
    for cable in gone:
        soundcard.unplug(cable)
        assert not {cable, f"{cable}.monitor"} & sources(soundcard)
        with pytest.raises(ValueError, match=f"'{cable}' is not plugged"):
            soundcard.unplug(cable)
    for cable in sorted(set(gone) - ({"mic"} if "inj" in gone else set())):
        soundcard.plug(cable)
    assert {"mic", "inj.monitor", "spk.monitor"} <= sources(soundcard)
    for cable in (*CABLES, "nowhere"):
        with pytest.raises(ValueError, match=f"'{cable}' is no unplugged cable"):
            soundcard.plug(cable)


@needs_card
def test_two_cards_stand_beside_each_other_and_leave_nothing_behind() -> None:
    environment = dict(os.environ)
    with SoundCard() as one, SoundCard(48000) as other:
        one.unplug("mic")
        assert "mic" not in sources(one)
        assert "mic" in sources(other)
        hums = [card.hum() for card in (one, other)]
        folders = [card.folder for card in (one, other)]
        assert all(folder.exists() for folder in folders)
    assert all(hum.poll() is not None for hum in hums)
    assert not any(folder.exists() for folder in folders)
    assert dict(os.environ) == environment


@needs_card
def test_a_daemon_that_does_not_start_shows_its_log(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(MODULES, "mic", "module-of-no-kind")
    with pytest.raises(RuntimeError, match=r"(?s)does not start.*module-of-no-kind"):
        SoundCard()


def test_a_folder_too_long_for_a_socket_is_refused(tmp_path: Path) -> None:
    with pytest.raises(ValueError, match="at most 107 bytes"):
        SoundCard(folder=tmp_path / ("x" * 100))


def test_what_is_missing_is_named(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("PATH", str(tmp_path))
    reason = missing()
    assert reason is not None
    assert "no pulseaudio" in reason


def sources(card: SoundCard) -> set[str]:
    """Names of what can be recorded from."""
    words = ["pactl", "list", "short", "sources"]
    listed = subprocess.run(words, env=card.env, capture_output=True, text=True, timeout=5.0, check=True)
    return {line.split("\t")[1] for line in listed.stdout.splitlines()}
