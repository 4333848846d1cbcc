"""`tune` from the command line to what is printed: recordings, and a stand-in for the microphone."""

from __future__ import annotations

import json
import re
from pathlib import Path

import numpy as np
import pytest
import soundfile

import feedback.commands.tune as tune
import feedback.soundcard as soundcard
import feedback.tuning_live as tuning_live
from feedback.__main__ import main
from feedback.errors import CannotDo
from feedback.tuning_live import QUIET_SEC, LiveTune
from listener.errors import DeviceTrouble
from listener.keeper import Back, Lost
from listener.ring import Block
from routines.neck import Neck
from tests.plucks import plucked

RATE = 44100
GAP_SEC = 0.75
OPEN = {5: 67.0, 4: 50.0, 3: 55.0, 2: 59.0, 1: 62.0}
SIZE = 2048


def strings(*midis: float) -> np.ndarray:
    """Single plucks one after the other, each silenced by the next."""
    return np.concatenate([plucked(RATE, [(0.15, midi, 0.2)], duration_sec=GAP_SEC) for midi in midis])


class Microphone:
    """Blocks of a sound, as `listener.taking.Taking`; then silence, or whatever stands in `after`."""

    def __init__(self, sound: np.ndarray, after: list | None = None, *, trouble: str = "") -> None:
        self.rate, self.hung, self.stopped = RATE, False, 0
        self._left: list = [self._block(sound[k : k + SIZE]) for k in range(0, len(sound), SIZE)]
        self._left += after or []
        self._trouble = trouble

    def start(self) -> None:
        if self._trouble:
            raise DeviceTrouble(self._trouble)

    def stop(self) -> None:
        self.stopped += 1

    def take(self, wait_sec: float) -> list:
        if not self._left:
            return [self._block(np.zeros(RATE, np.float32))]
        item = self._left.pop(0)
        if item is KeyboardInterrupt:
            raise KeyboardInterrupt
        return [item]

    @staticmethod
    def _block(samples: np.ndarray) -> Block:
        return Block(position=0, samples=samples, adc_sec=0.0, dac_sec=0.0, came_sec=0.0, flags=0)


@pytest.fixture(autouse=True)
def _own_home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SEVENFALL_HOME", str(tmp_path / "home"))
    monkeypatch.setattr(tune, "own_standard_error", lambda: None)


@pytest.fixture
def plug(monkeypatch: pytest.MonkeyPatch):
    def plugged(microphone: Microphone) -> Microphone:
        monkeypatch.setattr(soundcard, "taking", lambda asked: microphone)
        return microphone

    return plugged


@pytest.fixture(scope="module")
def takes(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("strings")
    soundfile.write(folder / "in-tune.wav", strings(*OPEN.values()), RATE)
    soundfile.write(folder / "off.flac", strings(66.9, 50.12, 53.4), RATE)
    soundfile.write(folder / "low-rate.wav", strings(55.2)[::2], RATE // 2)
    soundfile.write(folder / "silence.wav", np.zeros(RATE, np.float32), RATE)
    (folder / "words.wav").write_text("not a sound", encoding="utf-8")
    return folder


def found_in(capsys: pytest.CaptureFixture[str], *words: str) -> dict:
    assert main(["tune", *words, "--json"]) == 0
    out, err = capsys.readouterr()
    assert err == ""
    assert out.count("\n") == 1
    return json.loads(out)


def refused(capsys: pytest.CaptureFixture[str], code: int, *words: str) -> str:
    assert main(["tune", *words]) == code
    out, err = capsys.readouterr()
    assert out == ""
    assert err.count("\n") == 1
    return err


def test_a_recording_of_five_strings_in_tune(capsys: pytest.CaptureFixture[str], takes: Path) -> None:
    found = found_in(capsys, "--from", str(takes / "in-tune.wav"))
    assert found["in_tune"] is True
    assert found["twelfth"] is None
    assert [(one["string"], one["word"]) for one in found["strings"]] == [(s, "in tune") for s in OPEN]
    assert all(abs(one["cents"]) < 2.0 for one in found["strings"])
    assert main(["tune", "--from", str(takes / "in-tune.wav")]) == 0
    out = capsys.readouterr().out
    assert out.count("in tune (") == 5
    assert out.endswith("all five are in tune\n")


def test_strings_that_are_off_and_one_that_would_break(
    capsys: pytest.CaptureFixture[str], takes: Path
) -> None:
    take = str(takes / "off.flac")
    rows = {one["string"]: one for one in found_in(capsys, "--from", take)["strings"]}
    assert [rows[s]["word"] for s in (5, 4, 3, 2, 1)] == ["up", "down", "up", "not heard", "not heard"]
    assert rows[5]["cents"] == pytest.approx(-10.0, abs=2.0)
    assert rows[4]["cents"] == pytest.approx(12.0, abs=2.0)
    assert rows[2]["cents"] is rows[2]["hz"] is None
    assert [len(rows[s]["warnings"]) for s in (5, 4, 3)] == [0, 0, 1]
    assert main(["tune", "--from", take]) == 0
    out = capsys.readouterr().out
    assert re.search(r"string 5 \(G4\)  1[01] cents flat: up\n", out)
    assert out.count("strings break") == 1
    assert "all five" not in out


def test_another_rate_and_silence(capsys: pytest.CaptureFixture[str], takes: Path) -> None:
    low = found_in(capsys, "--from", str(takes / "low-rate.wav"))
    assert low["strings"][2]["cents"] == pytest.approx(20.0, abs=2.0)
    silence = found_in(capsys, "--from", str(takes / "silence.wav"))
    assert {one["word"] for one in silence["strings"]} == {"not heard"}


def test_the_twelfth_fret_in_a_recording(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    take = tmp_path / "twelfth.wav"
    soundfile.write(take, strings(62.0, 74.08, 59.0, 71.0), RATE)
    found = found_in(capsys, "--from", str(take), "--twelfth")
    assert [one["string"] for one in found["twelfth"]] == [1, 2]
    assert found["twelfth"][0]["cents"] == pytest.approx(8.0, abs=2.0)
    assert found["twelfth"][0]["bridge_mm"] == pytest.approx(3.1, abs=0.8)
    assert found["twelfth"][1]["true"] is True
    assert main(["tune", "--from", str(take), "--twelfth"]) == 0
    out = capsys.readouterr().out
    assert "toward the tailpiece" in out
    assert "next would have been string 3 (G3), open: that was not heard" in out


@pytest.mark.parametrize(
    ("words", "fifth"),
    [
        (["--fifth", "a"], (69, "spike")),
        (["--fifth", "bb", "spike"], (70, "spike")),
        (["--fifth", "f#"], (66, "peg")),
        (["--fifth", "69", "peg"], (69, "peg")),
        (["--fifth", "G"], (67, "plain")),
        (["--capo", "2"], (69, "spike")),
    ],
)
def test_how_the_fifth_string_is_given(
    capsys: pytest.CaptureFixture[str], takes: Path, words: list[str], fifth: tuple[int, str]
) -> None:
    found = found_in(capsys, *words, "--from", str(takes / "silence.wav"))
    assert (found["fifth"]["midi"], found["fifth"]["how"]) == fifth
    assert found["strings"][0]["midi"] == fifth[0]


def test_a_fifth_string_wound_too_far_is_warned_of_beforehand(
    capsys: pytest.CaptureFixture[str], takes: Path
) -> None:
    words = ["--fifth", "bb", "peg", "--from", str(takes / "silence.wav")]
    assert len(found_in(capsys, *words)["warnings"]) == 1
    assert main(["tune", *words]) == 0
    assert capsys.readouterr().out.splitlines()[1].startswith("strings break")


def test_errors_are_one_line(capsys: pytest.CaptureFixture[str], takes: Path) -> None:
    silence = str(takes / "silence.wav")
    assert "gDGBD" in refused(capsys, 2, "--tuning", "eADGB")
    assert "no capo at fret 13" in refused(capsys, 2, "--capo", "13")
    assert "--fifth h" in refused(capsys, 2, "--fifth", "h", "--from", silence)
    assert "peg or spike" in refused(capsys, 2, "--fifth", "a", "glue", "--from", silence)
    assert "MIDI 90" in refused(capsys, 2, "--fifth", "90", "--from", silence)
    assert "--device" in refused(capsys, 2, "--device", "1", "--from", silence)
    assert "words.wav" in refused(capsys, 2, "--from", str(takes / "words.wav"))
    assert "nowhere.wav" in refused(capsys, 1, "--from", str(takes / "nowhere.wav"))


def test_live_lines_until_all_five_are_in_tune(plug, capsys: pytest.CaptureFixture[str]) -> None:
    microphone = plug(Microphone(strings(54.9, *OPEN.values())))
    assert main(["tune"]) == 0
    out, err = capsys.readouterr()
    assert err == ""
    lines = out.splitlines()
    assert lines[0] == "gDGBD: 5 G4  4 D3  3 G3  2 B3  1 D4"
    assert lines[1].startswith("Pluck one string at a time")
    assert re.fullmatch(r"  string 3 \(G3\)  1[01] cents flat: up", lines[2])
    assert [line[2:10] for line in lines[3:-1]] == [f"string {s}" for s in OPEN]
    assert lines[-1] == "all five are in tune"
    assert microphone.stopped == 1


def test_live_json_is_alone(plug, capsys: pytest.CaptureFixture[str]) -> None:
    plug(Microphone(strings(*OPEN.values())))
    found = found_in(capsys)
    assert (found["file"], found["ended"], found["in_tune"]) == (None, "in tune", True)


def test_a_minute_of_nothing_ends_it(
    plug, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    assert QUIET_SEC == 60.0
    monkeypatch.setattr(tuning_live, "QUIET_SEC", 10.0)
    plug(Microphone(strings(55.0)))
    assert main(["tune"]) == 0
    assert capsys.readouterr().out.endswith("nothing heard for 10 s\n")


def test_who_plays_on_is_not_gone(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(tuning_live, "QUIET_SEC", 2.0)
    live = LiveTune(Microphone(strings(54.0, 54.5, *OPEN.values())), Neck(), twelfth=False, say=print)
    live.run()
    assert live.ended == "in tune"


def test_an_interruption(plug, capsys: pytest.CaptureFixture[str]) -> None:
    microphone = plug(Microphone(strings(55.0), [KeyboardInterrupt]))
    assert main(["tune", "--json"]) == 130
    out, err = capsys.readouterr()
    assert err == "interrupted\n"
    assert json.loads(out)["ended"] == "interrupted"
    assert microphone.stopped == 1


def test_no_microphone(plug, capsys: pytest.CaptureFixture[str]) -> None:
    plug(Microphone(np.zeros(0), trouble="no microphone was found"))
    assert refused(capsys, 1) == "no microphone was found\n"


def test_a_cable_that_comes_back_is_told_and_tuning_goes_on(plug, capsys: pytest.CaptureFixture[str]) -> None:
    first, second = strings(67.0, 50.0), strings(55.0, 59.0, 62.0)
    news = [Lost(line="the microphone is gone", at_sec=0.0), Back(stream=None, at_sec=1.0)]  # type: ignore[arg-type]
    blocks = [Microphone._block(second[k : k + SIZE]) for k in range(0, len(second), SIZE)]
    plug(Microphone(first, [*news, *blocks]))
    assert main(["tune"]) == 0
    out, err = capsys.readouterr()
    assert err == "the microphone is gone\nthe sound is back\n"
    assert out.endswith("all five are in tune\n")


def test_a_cable_that_stays_away_ends_it() -> None:
    class Gone:
        rate = RATE
        now_sec = 0.0
        said = False

        def take(self, wait_sec: float) -> list:
            self.now_sec += 1.0
            if self.said:
                return []
            self.said = True
            return [Lost(line="the microphone is gone", at_sec=0.0)]

    gone = Gone()
    live = LiveTune(gone, Neck(), twelfth=False, say=lambda line: None, clock=lambda: gone.now_sec)
    with pytest.raises(CannotDo, match="the microphone is gone; given up after 60 s"):
        live.run()
    assert gone.now_sec == pytest.approx(QUIET_SEC + 1.0)


def test_the_twelfth_fret_is_asked_for_string_by_string() -> None:
    notes = [midi for string in (1, 2, 3, 4, 5) for midi in (OPEN[string], OPEN[string] + 12.1)]
    said: list[str] = []
    live = LiveTune(Microphone(strings(*notes)), Neck(), twelfth=True, say=said.append)
    live.run()
    assert live.ended == "twelfth done"
    # D4 at the twelfth fret of the fourth string was not taken for the open first
    assert live.found.tuning.strings[-1].cents == pytest.approx(0.0, abs=2.0)
    assert said[0] == "play string 1 (D4), open"
    assert said[1] == "play string 1, fret 12, pressed as you play"
    assert said[2].startswith("  string 1: ")
    assert [line for line in said if line.startswith("  string")][-1].startswith("  string 5: ")
