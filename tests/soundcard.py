"""A sound card in software: PulseAudio with two cables, for tests of the microphone and the loudspeaker.

    spk    what the program plays; `SoundCard.record` records it from spk.monitor
    inj    what a test injects; the program hears it as the microphone `mic`

The program opens device "live" (both), "default", "mic" or "spk", at the card's rate: resampled, it drifts.
What its stream sees (measured: PulseAudio 16.1, PortAudio 19.6, sounddevice 0.5.6):

    kill, duplex stream   callbacks stop at once, with no flag and no finished_callback; `active` stays True;
                          `time`, `close` and the program's normal end hang: a child has to end by os._exit.
                          Once in 35 times it ended as a stream of one direction does
    kill, one direction   finished_callback within 5 ms, `active` False, `close` returns
    unplug one cable      callbacks go on: digital zeros from the microphone, or what is played is lost; after
                          `plug` it is back by itself, later or sooner than before. An xrun meanwhile ends
                          the stream (finished_callback); opened anew meanwhile: PortAudioError
    unplug spk and inj    finished_callback, `active` False, `close` returns; after `plug` open anew

PulseAudio moves streams to any device that is left. That would be the other cable, and the program would hear
itself: a third sink, `nowhere`, takes them while one cable is unplugged.
"""

from __future__ import annotations

import atexit
import contextlib
import ctypes.util
import itertools
import os
import re
import shutil
import site
import subprocess
import tempfile
import time
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import soundfile as sf

PROGRAMS = ("pulseaudio", "pactl", "paplay", "pacat")
ALSA_PLUGIN = "alsa-lib/libasound_module_pcm_pulse.so"
SOCKET_BYTES = 107  # the longest path of a Unix socket; its closing zero is the 108th
SOON = "--latency-msec=20"
URANDOM_DB = -4.77  # RMS of noise that is uniform over the full scale

ASOUNDRC = """\
pcm.spk { type pulse device "spk" }
pcm.mic { type pulse device "mic" }
pcm.inj { type pulse device "inj" }
pcm.rtmon { type pulse device "spk.monitor" }
pcm.live { type asym playback.pcm "spk" capture.pcm "mic" }
pcm.!default { type asym playback.pcm "spk" capture.pcm "mic" hint { show on description "default" } }
ctl.!default { type pulse }
"""

CABLES = ("spk", "inj", "mic")
# Without norewinds most streams drift or die, often with no flag.
SINK = "module-null-sink rate={rate} norewinds=1 "
MODULES = {
    "spk": SINK + "sink_name=spk channels=2 sink_properties=device.description=Speaker",
    "inj": SINK + "sink_name=inj channels=1 channel_map=mono sink_properties=device.description=Injector",
    "mic": "module-remap-source source_name=mic master=inj.monitor channels=1 channel_map=mono "
    "master_channel_map=mono remix=no source_properties=device.description=Mic",
    "nowhere": SINK + "sink_name=nowhere channels=2",
}

Process = subprocess.Popen[bytes]
StrPath = str | os.PathLike[str]


def missing() -> str | None:
    """Why there can be no sound card here, in words for `pytest.skip`; None where there can be one."""
    for program in PROGRAMS:
        if shutil.which(program) is None:
            return f"no {program} (Debian: pulseaudio pulseaudio-utils)"
    if not any(any(Path("/usr").glob(f"{lib}/{ALSA_PLUGIN}")) for lib in ("lib", "lib64", "lib/*")):
        return f"no {ALSA_PLUGIN} (Debian: libasound2-plugins)"
    if ctypes.util.find_library("portaudio") is None:
        return "no PortAudio (Debian: libportaudio2)"
    return None


def card_fixture(rate: int = 44100) -> Any:
    """A fixture, `soundcard = card_fixture()`: a card for each test, or a skip with the reason."""

    @pytest.fixture
    def soundcard() -> Iterator[SoundCard]:
        if reason := missing():
            pytest.skip(reason)
        with SoundCard(rate) as card:
            yield card

    return soundcard


class SoundCard:
    """A card of its own, started at once (0.1 s); end it with `stop`, or use it in a `with`.

    `env` is the environment for a program that shall see it; that of the tests stays as it is.

    Parameters
    ----------
    rate : int
        Sampling rate of the cables in Hz.
    folder : path, optional
        Where socket, log, settings and takes lie. Without it a folder is made, and taken away by `stop`.

    Raises
    ------
    ValueError
        When the folder's path is too long for a socket.
    RuntimeError
        When the daemon does not start; the message ends with its log's last lines.
    """

    def __init__(self, rate: int = 44100, folder: StrPath | None = None) -> None:
        self.rate = rate
        self._owned = folder is None
        self.folder = Path(folder or tempfile.mkdtemp(prefix="card", dir="/tmp")).absolute()
        home, config, runtime = (self.folder / name for name in ("home", "home/.config", "xdg"))
        self._socket = runtime / "pulse" / "native"
        if len(os.fsencode(self._socket)) > SOCKET_BYTES:
            raise ValueError(f"{self._socket}: a socket's path has at most {SOCKET_BYTES} bytes")
        self._started: list[tuple[str, Process]] = []  # each with its cable; the daemon has none
        self._takes = itertools.count(1)
        (config / "pulse").mkdir(parents=True, exist_ok=True)
        runtime.mkdir(mode=0o700, exist_ok=True)
        (home / ".asoundrc").write_text(ASOUNDRC, encoding="utf-8")
        # The volume of a hum must not move the sink's.
        (config / "pulse" / "daemon.conf").write_text("flat-volumes = no\n", encoding="utf-8")
        self.env = {name: value for name, value in os.environ.items() if not name.startswith("PULSE_")}
        self.env |= {"HOME": str(home), "XDG_CONFIG_HOME": str(config), "XDG_RUNTIME_DIR": str(runtime)}
        self.env |= {"PULSE_SERVER": f"unix:{self._socket}", "JACK_NO_START_SERVER": "1"}
        # Packages below the true HOME are still found.
        self.env |= {"SDL_VIDEODRIVER": "dummy", "PYTHONUSERBASE": site.getuserbase()}
        atexit.register(self.stop)  # for cards that nobody stopped, and starts that failed
        self.restart()

    def __enter__(self) -> SoundCard:
        return self

    def __exit__(self, *_: object) -> None:
        self.stop()

    def restart(self, timeout_sec: float = 10.0) -> None:
        """Start the daemon (after `kill`, anew): same folder, socket and cables; return when it answers."""
        self.kill()
        self._socket.unlink(missing_ok=True)
        self._modules: dict[str, int] = {}
        log = self.folder / "pulse.log"
        words = ["pulseaudio", "-n", "--daemonize=no", "--use-pid-file=no", "--exit-idle-time=-1"]
        words += [f"--log-target=file:{log}", "--log-level=info", "-L"]
        words += [f"module-native-protocol-unix auth-anonymous=1 socket={self._socket}"]
        for cable in CABLES:
            words += ["-L", MODULES[cable].format(rate=self.rate)]
        daemon = self._start("", words)
        deadline = time.monotonic() + timeout_sec
        while not self._modules.keys() >= set(CABLES):
            if daemon.poll() is not None or self._modules or time.monotonic() > deadline:
                tail = log.read_text(errors="replace").splitlines()[-15:] if log.exists() else ["no log"]
                raise RuntimeError("PulseAudio does not start:\n" + "\n".join(tail))
            time.sleep(0.02)
            with contextlib.suppress(RuntimeError):
                listed = self._pactl("list short modules")
                named = re.findall(r"^(\d+).*(?:sink|source)_name=(\w+)", listed, re.MULTILINE)
                self._modules = {name: int(number) for number, name in named}
        self._make_default()

    def kill(self) -> None:
        """End the daemon at once, as a crash would, and with it all that is injected, hums or loops back."""
        for cable, process in self._started:
            if not cable:
                process.kill()
                process.wait()

    def stop(self) -> None:
        """End the daemon and all helpers, and take away the folder that was made. It takes 1 s at most."""
        _end(process for _, process in self._started)
        if self._owned:
            shutil.rmtree(self.folder, ignore_errors=True)

    def unplug(self, cable: str) -> None:
        """Take a cable away: "spk", "inj" (and the microphone with it) or "mic" alone.

        What was injected into it, hummed, recorded or looped back is over.
        """
        if cable not in CABLES or cable not in self._modules:
            raise ValueError(f"{cable!r} is not plugged; there are {', '.join(self._modules) or 'no cables'}")
        _end(process for used, process in self._started if used == cable)
        if cable == "inj":
            self._modules.pop("mic", None)  # the daemon unloads it with its master
        gone = [str(self._modules.pop(cable))]
        if self._modules.keys() & {"spk", "inj"}:
            if "nowhere" not in self._modules:
                self._load("nowhere")
                self._pactl("set-sink-mute nowhere 1")  # or its monitor gives back what was meant for "spk"
            self._pactl("set-default-" + ("sink nowhere" if cable == "spk" else "source nowhere.monitor"))
        elif "nowhere" in self._modules:
            gone.append(str(self._modules.pop("nowhere")))
        for number in gone:
            self._pactl(f"unload-module {number}")

    def plug(self, cable: str) -> None:
        """Give a cable back; with "inj" comes the microphone. Hum, inject and loop back anew after it."""
        if cable not in CABLES or cable in self._modules:
            raise ValueError(f"{cable!r} is no unplugged cable; cables are {', '.join(CABLES)}")
        for name in ("inj", "mic") if cable == "inj" else (cable,):
            self._load(name)
        self._make_default()

    def inject(self, sound: StrPath | np.ndarray, rate: int | None = None) -> Process:
        """Play a file, or samples from -1 to 1 at a rate in Hz (else the card's), into the microphone.

        Several at once are mixed. What is returned ends by itself: `wait` for it, or `terminate` it.
        """
        if isinstance(sound, np.ndarray):
            samples, sound = sound, self.folder / f"take{next(self._takes)}.wav"
            sf.write(sound, samples, rate or self.rate, subtype="FLOAT")
        return self._start("inj", ["paplay", SOON, "--device=inj", os.fspath(sound)])

    def hum(self, level_db: float = -70.0) -> Process:
        """Endless white noise into the microphone, RMS in dB of full scale, as no real one is ever silent."""
        volume = f"--volume={_volume(10.0 ** ((level_db - URANDOM_DB) / 20.0))}"
        words = ["pacat", "--playback", SOON, "--device=inj", volume, "--raw", "--format=s16le"]
        return self._start("inj", [*words, "--channels=1", f"--rate={self.rate}", "/dev/urandom"])

    def record(self, path: StrPath | None, sec: float) -> np.ndarray:
        """Record for some seconds what the program plays: float32, frames x 2; a path gets it as wav, too.

        Raises RuntimeError where the daemon does not deliver that much in time.
        """
        raw, size = self.folder / f"take{next(self._takes)}.raw", 8 * round(sec * self.rate)
        raw.touch()
        words = ["pacat", "--record", SOON, "--device=spk.monitor", "--raw", "--format=float32le"]
        process = self._start("spk", [*words, "--channels=2", f"--rate={self.rate}", str(raw)])
        deadline = time.monotonic() + sec + 3.0
        while raw.stat().st_size < size and process.poll() is None and time.monotonic() < deadline:
            time.sleep(0.02)
        _end([process])
        if raw.stat().st_size < size:
            raise RuntimeError(f"spk.monitor did not give {sec} s in time")
        sound = np.fromfile(raw, dtype="<f4")[: size // 4].reshape(-1, 2)
        if path is not None:
            sf.write(path, sound, self.rate, subtype="FLOAT")
        return sound

    def loopback(self, gain: float = 1.0) -> int:
        """Let the microphone hear what is played, some 26 ms later, as in a room; `unload` ends it."""
        where = "source=spk.monitor sink=inj source_dont_move=true sink_dont_move=true"
        how = f"latency_msec=20 adjust_time=0 rate={self.rate}"  # else it moves by milliseconds
        number = int(self._pactl(f"load-module module-loopback {where} {how}"))
        for entry in self._pactl("list sink-inputs").split("Sink Input #")[1:]:
            if re.search(rf"Owner Module: {number}$", entry, re.MULTILINE):
                self._pactl(f"set-sink-input-volume {entry.split()[0]} {_volume(gain)}")
        return number

    def unload(self, number: int) -> None:
        """End a loopback."""
        self._pactl(f"unload-module {number}")

    def _load(self, name: str) -> None:
        self._modules[name] = int(self._pactl(f"load-module {MODULES[name].format(rate=self.rate)}"))

    def _make_default(self) -> None:
        for kind, name in (("sink", "spk"), ("source", "mic")):
            if name in self._modules:
                self._pactl(f"set-default-{kind} {name}")

    def _pactl(self, words: str) -> str:
        line, env = f"timeout --signal=KILL 5 pactl {words}", {**self.env, "LC_ALL": "C"}
        done = subprocess.run(line.split(), env=env, capture_output=True, text=True)
        if done.returncode:
            raise RuntimeError(f"{line}: {done.stderr.strip() or 'no answer'}")
        return done.stdout

    def _start(self, cable: str, words: list[str]) -> Process:
        quiet: dict[str, Any] = dict.fromkeys(("stdin", "stdout", "stderr"), subprocess.DEVNULL)
        # A session of its own: Ctrl-C is for the tests, which then end it in good order.
        process = subprocess.Popen(words, env=self.env, start_new_session=True, **quiet)
        self._started.append((cable, process))
        return process


def _end(processes: Iterable[Process]) -> None:
    """Ask all to end, and kill what has not within a second."""
    deadline = time.monotonic() + 1.0
    for process in (asked := list(processes)):
        process.terminate()
    for process in asked:
        with contextlib.suppress(subprocess.TimeoutExpired):
            process.wait(max(0.0, deadline - time.monotonic()))
        process.kill()
        process.wait()


def _volume(gain: float) -> int:
    """PulseAudio's number for a gain: 65536 is 1, on a cubic scale."""
    return round(65536 * float(np.cbrt(gain)))
