"""`soundcheck` with a microphone as a player meets it: lines, what is stored, what is used from then on."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

import feedback.commands.soundcheck as soundcheck
from feedback import checking, checking_live, pairs, settings
from feedback import soundcard as cards
from feedback.__main__ import main
from feedback.checking_report import device_lines
from listener.devices import Asked, Device
from listener.errors import DeviceTrouble, LibraryMissing
from listener.run import MeasuredTrip
from tests.desks import RATE, Desk, laid_out
from tests.plucks import plucked


class Mic(Desk):
    """A desk that is started and stopped."""

    hung = False
    stopped = 0
    trouble: Exception | None = None

    def start(self) -> None:
        if self.trouble is not None:
            raise self.trouble

    def stop(self) -> None:
        self.stopped += 1


@pytest.fixture
def plug(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Callable[[Mic], Mic]:
    """Put a microphone in the place of the sound card's; the check is made short."""
    monkeypatch.setenv("SEVENFALL_HOME", str(tmp_path / "home"))
    monkeypatch.setattr(soundcheck, "own_standard_error", lambda: None)
    monkeypatch.setattr(checking, "STILL_SEC", 1.0)
    monkeypatch.setattr(checking, "PLAY_SEC", 1.0)
    monkeypatch.setattr(checking, "READY_SEC", 0.5)
    monkeypatch.setattr(checking, "SWEEPS_DB", (-42.0, -26.0))
    monkeypatch.setattr(checking, "PATTERN_SEC", (0.0, 0.6))
    monkeypatch.setattr(checking, "LONGEST_SEC", 0.4)
    monkeypatch.setattr(checking_live, "WAITS_SEC", 5.0)
    monkeypatch.setattr(checking_live, "QUIET_SEC", 3.0)

    def plugged(mic: Mic) -> Mic:
        monkeypatch.setattr(cards, "taking", lambda asked: mic)
        return mic

    return plugged


def _stream(block: int = 1024) -> object:
    return type("Stream", (), {"source": "Mic", "sink": "Speakers", "rate": RATE, "block": block})()


def test_what_is_measured_is_told_stored_and_used(plug, capsys: pytest.CaptureFixture[str]) -> None:
    mic = plug(Mic(trip_sec=0.0417, stamps_sec=0.030, bleed=0.2))
    assert main(["soundcheck"]) == 0
    said = capsys.readouterr()
    assert said.err == ""
    assert "microphone Mic, output Speakers, 44100 Hz" in said.out
    assert "41.7 ms, measured within" in said.out
    assert "5 of 5 sweeps agree" in said.out
    assert "time stamps say 30.0 ms" in said.out
    assert re.search(r"comes back -1[456] dB", said.out)
    assert mic.stopped == 1
    values = settings.load([])
    asked = cards.asked_stream(None, values)
    assert asked.usual == ("Mic", "Speakers")
    trip = cards.measured_trip(_stream(), asked, values)  # type: ignore[arg-type]
    assert trip is not None
    assert trip.trip_sec == pytest.approx(0.0417, abs=3e-4)
    assert trip.extra_sec == pytest.approx(0.0117, abs=4e-4)
    otherwise = cards.measured_trip(_stream(512), asked, values)  # type: ignore[arg-type]
    assert otherwise is not None
    assert (otherwise.trip_sec, otherwise.extra_sec) == (None, trip.extra_sec)
    assert otherwise.unsure_sec > trip.unsure_sec
    set_ms = {**values, "round_trip_ms": 55.0}
    assert cards.measured_trip(_stream(), asked, set_ms) == MeasuredTrip(trip_sec=0.055, unsure_sec=0.002)  # type: ignore[arg-type]


def test_json_has_the_same_facts(plug, capsys: pytest.CaptureFixture[str]) -> None:
    plug(Mic(trip_sec=0.05, stamps_sec=0.04, bleed=0.2))
    assert main(["soundcheck", "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert found["round_trip_ms"] == pytest.approx(50.0, abs=0.3)
    assert found["stamps_ms"] == pytest.approx(40.0, abs=0.2)
    assert (found["measured_by"], found["agreed"], found["sent"]) == ("chirp", 5, 5)
    assert (found["microphone"], found["output"], found["sample_rate"]) == ("Mic", "Speakers", RATE)
    assert found["noise_db"] == pytest.approx(-80.0, abs=1.0)
    assert found["notes_heard"] == 0
    assert Path(found["stored"]).exists()


def test_headphones_do_not_throw_away_what_was_measured(plug, capsys: pytest.CaptureFixture[str]) -> None:
    plug(Mic(bleed=0.2))
    assert main(["soundcheck"]) == 0
    before = list(pairs.load().values())
    capsys.readouterr()
    plug(Mic(bleed=0.0))
    assert main(["soundcheck"]) == 0
    said = capsys.readouterr().out
    assert "no sweep came back" in said
    assert "not measured" in said
    assert f"as it was: the round trip that was measured on {before[0].checked}" in said
    assert list(pairs.load().values()) == before


def test_where_nothing_could_be_measured_the_devices_are_kept_and_no_round_trip(
    plug, capsys: pytest.CaptureFixture[str]
) -> None:
    plug(Mic(bleed=0.0, stamps_sec=None))
    assert main(["soundcheck"]) == 0
    assert "not to be trusted" in capsys.readouterr().out
    values = settings.load([])
    asked = cards.asked_stream(None, values)
    assert asked.usual == ("Mic", "Speakers")
    assert cards.measured_trip(_stream(), asked, values) is None  # type: ignore[arg-type]


def test_with_a_name_the_list_is_played_and_learnt_from(
    plug, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    heard: dict[str, object] = {}

    def check_sound(raw: np.ndarray, rate: int, neck: object, *, file: str) -> object:
        heard.update(sec=len(raw) / rate, peak=float(np.abs(raw).max()))
        acquaintance = type("A", (), {"profile": None})()
        return type("C", (), {"acquaintance": acquaintance})()

    monkeypatch.setattr(checking_live, "check_sound", check_sound)
    monkeypatch.setattr(checking_live, "told", lambda checked, name, stored: [f"told of {name}, {stored}"])
    monkeypatch.setattr(checking_live, "as_json", lambda checked, name, stored: {})
    mic = plug(Mic(bleed=0.2))
    notes = plucked(RATE, [(0.5 * n, 55.0, 0.1) for n in range(8)], duration_sec=4.5)
    mic.hand = laid_out(notes, 9 * RATE)
    assert main(["soundcheck", "--instrument", "five"]) == 0
    said = capsys.readouterr().out
    assert "string 4 (D3): open 3 times" in said
    assert "told of five, None" in said
    assert heard["peak"] == pytest.approx(float(np.abs(notes).max()), rel=0.05)
    over = (mic.position / RATE) - 9.0 - 4.5
    assert over == pytest.approx(checking_live.QUIET_SEC, abs=3.0)


def test_a_list_that_nobody_plays_ends(plug, capsys: pytest.CaptureFixture[str]) -> None:
    mic = plug(Mic(bleed=0.2))
    assert main(["soundcheck", "--instrument", "five"]) == 0
    assert "nothing stored" in capsys.readouterr().out
    assert mic.position / RATE < 20.0


@pytest.mark.parametrize(
    "trouble", [LibraryMissing("PortAudio is not installed"), DeviceTrouble("no sound device")]
)
def test_what_cannot_be_opened_is_one_line(
    plug, capsys: pytest.CaptureFixture[str], trouble: Exception
) -> None:
    plug(Mic()).trouble = trouble
    assert main(["soundcheck"]) == 1
    said = capsys.readouterr()
    assert said.out == ""
    assert said.err == f"{trouble}\n"


def test_sound_that_goes_away_is_one_line(plug, capsys: pytest.CaptureFixture[str]) -> None:
    mic = plug(Mic())
    mic.lose_at = 2 * RATE
    assert main(["soundcheck"]) == 1
    assert capsys.readouterr().err == "the sound went away during the check: unplugged\n"
    assert mic.stopped == 1
    assert pairs.load() == {}


def test_devices_are_listed_with_those_that_are_taken() -> None:
    one = Device(number=0, name="Mic", system="ALSA", inputs=1, outputs=0, rate=48000.0)
    listed = [one, replace(one, number=3, name="Headset", outputs=2)]
    lines = list(device_lines(listed, ("Mic", "Headset")))
    assert lines == [
        "    0 Mic (ALSA; in; 48000 Hz)  <- in",
        "    3 Headset (ALSA; in and out; 48000 Hz)  <- out",
    ]


def test_a_usual_pair_that_is_not_there_is_passed_over() -> None:
    from listener.devices import chosen

    one = Device(number=0, name="Mic", system="ALSA", inputs=1, outputs=2, rate=48000.0)
    other = replace(one, number=1, name="Headset")
    asked = Asked(usual=("Headset", "Headset"))
    assert chosen(asked, [one, other], (0, 0)) == (other, other)
    assert chosen(asked, [one], (0, 0)) == (one, one)
    assert chosen(replace(asked, device="mic"), [one, other], (1, 1)) == (one, one)
    assert chosen(replace(asked, channel=2), [one, replace(other, inputs=2)], (0, 0))[0].name == "Headset"
