"""`play --from sim` in the terminal: heard where there is a loudspeaker, and otherwise as it was."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from functools import partial
from pathlib import Path

import numpy as np
import pytest

from feedback import performing, playing_simulated, simulated_in_terminal, speaking_out
from feedback.__main__ import main
from feedback.commands import demo
from feedback.practice_report import LOUDNESS
from feedback.setting_rows import SETTINGS
from listener.errors import NoDevice, WrongDevice
from routines.library import load

pytestmark = pytest.mark.usefixtures("ears_remember")

PLAY = ["play", "slab-wood-supper", "--from", "sim", "--tempo", "200", "--passes", "2", "--no-window"]
PLAY += ["--mistake", "seven-swallowed"]
WRONG_DEVICE = WrongDevice("--device, output 'trumpet': none such; there are 1 'Horn' (ALSA)")


class Speaker:
    """Stands for `listener.speaking.Speaker`."""

    rate, now_sec, begun_sec, latency_sec = 44_100, 0.0, 0.0, 0.01

    def __init__(
        self, wrong: BaseException | None = None, cut_short: bool = False, hung: bool = False
    ) -> None:
        self._wrong, self._cut_short, self.hung = wrong, cut_short, hung
        self.calls: list[str] = []
        self.asked: list[str | None] = []

    def __call__(self, device: str | None, values: object) -> Speaker:
        self.asked.append(device)
        return self

    def start(self) -> None:
        self.calls.append("start")
        if isinstance(self._wrong, Exception):
            raise self._wrong

    def play(self, sound: np.ndarray, at_sec: float) -> None:
        self.calls.append("play")
        if self._cut_short:
            raise KeyboardInterrupt

    def silence(self) -> None:
        self.calls.append("silence")

    def stop(self) -> None:
        self.calls.append("stop")


class Clock:
    """Goes on when it is waited for."""

    sec = 0.0

    def __call__(self) -> float:
        return self.sec

    def wait(self, sec: float) -> None:
        self.sec += sec


Plug = Callable[[Speaker], Speaker]


@pytest.fixture
def plug(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Plug:
    """Put a loudspeaker in the place of the sound card's, and time that need not be waited for."""
    clock = Clock()
    monkeypatch.setenv("SEVENFALL_HOME", str(tmp_path / "home"))
    monkeypatch.setenv("SEVENFALL_HEARD", "on")
    monkeypatch.setattr(simulated_in_terminal, "own_standard_error", lambda: None)
    in_no_time = partial(performing.simulated, clock=clock, wait=clock.wait)
    monkeypatch.setattr(playing_simulated, "simulated", in_no_time)

    def plugged(speaker: Speaker) -> Speaker:
        monkeypatch.setattr(speaking_out, "speaker", speaker)
        return speaker

    return plugged


def test_heard_it_says_the_same_and_the_caution_once(plug: Plug, capsys: pytest.CaptureFixture[str]) -> None:
    speaker = plug(Speaker())
    assert main([*PLAY, "--set", "heard=off"]) == 0
    silent, _ = capsys.readouterr()
    assert speaker.calls == []
    assert main([*PLAY, "--device", "Horn"]) == 0
    out, err = capsys.readouterr()
    lines = out.splitlines(keepends=True)
    assert lines.pop(1) == f"  {LOUDNESS}\n"
    assert "".join(lines) == silent
    assert err == ""
    assert speaker.asked == ["/Horn"]  # the output alone
    assert [call for call in speaker.calls if call != "silence"] == ["start", "play", "stop"]


def test_without_a_loudspeaker_it_is_as_it_was_and_one_line_says_so(
    plug: Plug, capsys: pytest.CaptureFixture[str]
) -> None:
    plug(Speaker(wrong=NoDevice("no sound device: plug one in, or start the sound server")))
    assert main([*PLAY, "--set", "heard=off"]) == 0
    silent, _ = capsys.readouterr()
    assert main(PLAY) == 0
    assert capsys.readouterr() == (silent, "no loudspeaker: not heard\n")


def test_json_and_pictures_never_sound(
    plug: Plug, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    speaker = plug(Speaker())
    assert main([*PLAY, "--json"]) == 0
    shot = tmp_path / "a.png"
    words = [word for word in PLAY if word != "--no-window"]
    assert main([*words, "--screenshot", str(shot), "--at", "1"]) == 0
    assert shot.exists()
    assert (speaker.asked, speaker.calls) == ([], [])
    assert capsys.readouterr().err == ""


def test_a_wrong_device_is_told_as_listen_tells_it(plug: Plug, capsys: pytest.CaptureFixture[str]) -> None:
    plug(Speaker(wrong=WRONG_DEVICE))
    assert main([*PLAY, "--device", "trumpet"]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert str(WRONG_DEVICE) in err


def test_of_a_recording_a_device_is_not_taken(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["play", "slab-wood-supper", "--from", "take.wav", "--device", "Horn"]) == 2
    assert capsys.readouterr().err == "--device is for --from mic and --from sim\n"


@pytest.mark.parametrize("hung", [False, True])
def test_interrupted_it_is_silent_and_says_so(
    plug: Plug, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, hung: bool
) -> None:
    left: list[int] = []
    monkeypatch.setattr(simulated_in_terminal, "leave_at_once", left.append)
    speaker = plug(Speaker(cut_short=True, hung=hung))
    assert main(PLAY) == 130
    assert capsys.readouterr().err == "interrupted\n"
    assert speaker.calls[speaker.calls.index("play") + 1 :][:2] == ["silence", "stop"]
    assert left == [130] * hung


def test_the_demo_sounds_as_it_is_set_and_judges_as_it_always_does(plug: Plug, monkeypatch) -> None:
    monkeypatch.setenv("SEVENFALL_WINDOW", "loose")
    monkeypatch.setenv("SEVENFALL_MODEL_DB", "-40")
    values = demo._asked(argparse.Namespace(seed=1), load(demo.DEMO_LICK)).values
    assert (values["heard"], values["model_db"]) == ("on", -40.0)
    assert values["window"] == SETTINGS["window"].default
