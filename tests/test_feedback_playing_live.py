"""`play --from mic` from the command line to what is printed, with a stand-in for the microphone."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest

import feedback.onscreen as onscreen
import feedback.play_onscreen as play_onscreen
import feedback.playing_live as playing_live
import feedback.soundcard as soundcard
from feedback.__main__ import main
from feedback.practice import LEAD_SEC, Practice
from feedback.settings import load as settings
from listener.errors import DeviceTrouble
from listener.keeper import Back, Lost
from listener.run import Heard
from tests.rooms import LICK, RATE, TEMPO, Room

PLAY = ["play", LICK.id, "--from", "mic", "--tempo", "120", "--passes", "2", "--turns", "1", "--no-window"]
PLAY += ["--set", "rest_sec=0"]


class Microphone(Room):
    """The room, as `listener.live.Live`: it starts, it stops, it may hang."""

    def __init__(self, *, trouble: str | None = None, interrupt_at: float | None = None) -> None:
        super().__init__(lambda part: ((), ("left-hanging",)))
        self.trouble, self.interrupt_at = trouble, interrupt_at
        self.stopped = 0
        self.hung = False

    def start(self) -> None:
        if self.trouble:
            raise DeviceTrouble(self.trouble)

    def stop(self) -> None:
        self.stopped += 1

    def take(self, wait_sec: float) -> list[Heard | Lost | Back]:
        if self.interrupt_at is not None and self.now_sec > self.interrupt_at:
            raise KeyboardInterrupt
        before = round(self.now_sec * RATE)
        items = super().take(wait_sec)
        self.tape.write(before, np.full(max(0, round(self.now_sec * RATE) - before), 0.1, np.float32))
        return items


@pytest.fixture
def plug(monkeypatch: pytest.MonkeyPatch, tmp_path: Path):
    """Put a microphone in the place of the sound card's."""
    monkeypatch.setenv("SEVENFALL_HOME", str(tmp_path / "home"))
    monkeypatch.setattr(onscreen, "own_standard_error", lambda: None)

    def plugged(room: Microphone) -> Microphone:
        monkeypatch.setattr(soundcard, "microphone", lambda *args, **more: room)
        monkeypatch.setattr(
            playing_live,
            "Practice",
            lambda request, live, **more: Practice(request, live, clock=room.clock, **more),
        )
        return room

    return plugged


def test_lines_while_playing_then_the_report(plug, capsys: pytest.CaptureFixture[str]) -> None:
    room = plug(Microphone())
    assert main(PLAY) == 0
    out, err = capsys.readouterr()
    assert err == ""
    lines = out.splitlines()
    assert lines[0].startswith(LICK.title)
    marks = [line for line in lines if line.startswith("  pass ")]
    assert [mark[:9] for mark in marks] == ["  pass 1:", "  pass 2:"]  # one each, though 1 was told early
    assert "resolved" in marks[0]
    assert "left hanging" in marks[1]
    sentence = next(k for k, line in enumerate(lines) if "left hanging in" in line)
    assert lines.index(marks[1]) < sentence < lines.index("turn 1, pass 1")
    assert out.count("80 dBA") == 1
    assert room.stopped == 1


def test_json_is_alone_and_the_same(plug, capsys: pytest.CaptureFixture[str]) -> None:
    plug(Microphone())
    assert main([*PLAY, "--json"]) == 0
    out, err = capsys.readouterr()
    assert err == ""
    found = json.loads(out)
    assert [one["sevenths"][0]["resolution"] for one in found["passes"]] == ["resolved", "hanging"]
    assert found["tempo_half_bpm"] == TEMPO
    assert found["sound"]["microphone"] == "m"


def test_an_interruption_reports_what_was_played(
    plug, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    room = plug(Microphone(interrupt_at=LEAD_SEC + 2 + LICK.bars + 1 + 0.8 * LICK.bars))
    assert main([*PLAY, "--json", "--keep", str(tmp_path / "takes")]) == 130
    out, err = capsys.readouterr()
    assert err == "interrupted\n"
    found = json.loads(out)
    assert [(one["pass"], one["complete"]) for one in found["passes"]] == [(1, True), (2, False)]
    assert [one["clean"] for one in found["passes"]] == [True, None]
    assert found["ended"] == "interrupted"
    assert len(found["takes"]) == 1
    assert Path(found["takes"][0]).exists()
    assert room.stopped == 1


def test_an_interruption_in_a_turn_has_its_sentence_and_in_a_count_in_none(
    plug, capsys: pytest.CaptureFixture[str]
) -> None:
    turn_sec = LEAD_SEC + 2 + 2 * LICK.bars + 1 + 0.5
    said = {}
    for name, at_sec in (("in pass 2", turn_sec - 2.0), ("in the next count-in", turn_sec + LEAD_SEC + 1.0)):
        command = [*PLAY, "--turns", "2"]
        plug(Microphone(interrupt_at=at_sec))
        assert main(command) == 130
        text = capsys.readouterr().out
        plug(Microphone(interrupt_at=at_sec))
        assert main([*command, "--json"]) == 130
        found = json.loads(capsys.readouterr().out)
        assert text.count(found["sentence"]) == 1
        assert [turn["turn"] for turn in found["turns"]] == [1]
        said[name] = found["sentence"]
    assert "left hanging" in said["in the next count-in"]
    assert all("did not hear" not in sentence for sentence in said.values())


def test_a_lean_is_told_only_beyond_what_the_round_trip_is_known_to(
    plug, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    for unsure_sec, told in ((0.003, True), (0.05, False)):
        room = Microphone()
        room.unsure_sec, room.behind_sec = unsure_sec, 0.03
        room._hand = lambda part: ((), (), ())
        plug(room)
        assert main([*PLAY, "--passes", "3", "--json", "--keep", str(tmp_path / "takes")]) == 0
        found = json.loads(capsys.readouterr().out)
        beside = json.loads(Path(found["takes"][0]).with_suffix(".json").read_text(encoding="utf-8"))
        assert ("behind the click" in found["sentence"]) is told
        assert beside["sentence"] == found["sentence"]


def test_a_delay_that_the_system_does_not_know_is_not_the_players(
    plug, capsys: pytest.CaptureFixture[str]
) -> None:
    room = Microphone()
    room.behind_sec = 0.2
    room._hand = lambda part: ((), (), ())
    plug(room)
    assert main([*PLAY, "--passes", "3", "--json"]) == 0
    assert "wire" in json.loads(capsys.readouterr().out)["sentence"]


def test_what_has_broken_leaves_the_json_of_what_was_played(plug, capsys: pytest.CaptureFixture[str]) -> None:
    room = Microphone()
    plain = room.take

    def take(wait_sec: float) -> list[Heard | Lost | Back]:
        if room.now_sec > LEAD_SEC + 2 + LICK.bars + 1.6:
            raise RuntimeError("the analysis thread ended")
        return plain(wait_sec)

    room.take = take  # type: ignore[method-assign]
    plug(room)
    assert main([*PLAY, "--json"]) == 1
    out, err = capsys.readouterr()
    assert [one["pass"] for one in json.loads(out)["passes"]] == [1]
    assert "analysis" in err


def test_a_take_is_kept_once(plug, capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    plug(Microphone())
    assert main([*PLAY, "--keep", str(tmp_path / "takes")]) == 0
    out, _ = capsys.readouterr()
    assert out.count("Kept: ") == 1
    assert len(list((tmp_path / "takes").glob("*.flac"))) == 1


def test_nothing_is_kept_unasked(
    plug, capsys: pytest.CaptureFixture[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    plug(Microphone())
    assert main(PLAY) == 0
    assert list(tmp_path.rglob("*.flac")) == []


def test_a_folder_that_cannot_be_written_is_told_before_anything_is_played(
    plug, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    (tmp_path / "file").write_text("x")
    room = plug(Microphone())
    assert main([*PLAY, "--json", "--keep", str(tmp_path / "file")]) == 1
    out, err = capsys.readouterr()
    assert (out, len(err.splitlines()), room.parts) == ("", 1, 0)
    assert main([*PLAY, "--keep", ""]) == 2


def test_a_take_that_cannot_be_stored_does_not_stop_the_playing(
    plug, capsys: pytest.CaptureFixture[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*args: object) -> Path:
        raise OSError(28, "No space left on device", "x.flac")

    monkeypatch.setattr(playing_live, "store", full)
    plug(Microphone())
    assert main([*PLAY, "--json", "--keep", str(tmp_path / "takes")]) == 1
    out, err = capsys.readouterr()
    assert err == "x.flac: no space left on device\n"
    found = json.loads(out)
    assert len(found["passes"]) == 2
    assert (found["takes"], found["faults"]) == ([], err.splitlines())


def test_faults_are_told_on_standard_error(plug, capsys: pytest.CaptureFixture[str]) -> None:
    room = Microphone()
    room.lose_at[room.clock_sec + LEAD_SEC + 2.5] = 1.0
    plug(room)
    assert main([*PLAY, "--json"]) == 0
    out, err = capsys.readouterr()
    assert err == "sound lost: unplugged\nthe sound is back\n"
    assert json.loads(out)["faults"] == err.splitlines()


def test_what_cannot_be_opened_is_one_line(plug, capsys: pytest.CaptureFixture[str]) -> None:
    plug(Microphone(trouble="no microphone: plug one in"))
    assert main([*PLAY, "--json"]) == 1
    assert capsys.readouterr() == ("", "no microphone: plug one in\n")


def test_sound_that_stays_away_is_an_error_and_what_was_played_is_told(
    plug, capsys: pytest.CaptureFixture[str]
) -> None:
    room = Microphone()
    room.lose_at[room.clock_sec + LEAD_SEC + 2 + LICK.bars + 1 + 1.0] = 1e6
    plug(room)
    assert main([*PLAY, "--json"]) == 1
    out, err = capsys.readouterr()
    assert "did not come back" in err.splitlines()[-1]
    assert [one["complete"] for one in json.loads(out)["passes"]] == [True, False]


def test_a_hanging_sound_system_is_left_at_once(
    plug, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    left: list[int] = []
    monkeypatch.setattr(play_onscreen, "leave_at_once", left.append)
    room = plug(Microphone())
    room.hung = True
    assert main(PLAY) == 0
    room = plug(Microphone(interrupt_at=1.0))
    room.hung = True
    main(PLAY)
    assert left == [0, 130]


@pytest.mark.parametrize(
    ("more", "names"),
    [
        (["--click", "cowbell"], "halves"),
        (["--turns", "0"], "1 or more"),
        (["--mistake", "left-hanging"], "--mistake"),
        (["--start", "1"], "--start"),
        (["--seed", "1"], "--seed"),
        (["--set", "rest_sec=-1"], "0 to 600"),
        (["--set", "latency=5"], "0.001 to 1"),
        (["--set", "rate=22050"], "44100 or 48000"),
        (["--set", "block=7"], "32 to 4096"),
        (["--set", "click_db=0"], "-60 to -6"),
        (["--set", "round_trip_ms=no"], "unknown"),
    ],
)
def test_what_is_wrong_is_said_in_one_line(
    plug, capsys: pytest.CaptureFixture[str], more: list[str], names: str
) -> None:
    room = plug(Microphone())
    assert main([*PLAY, *more]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert len(err.splitlines()) == 1
    assert names in err
    assert room.parts == 0


@pytest.mark.parametrize(
    "flag",
    [["--turns", "2"], ["--keep", "x"], ["--click", "off"], ["--backing"], ["--model"]],
)
def test_flags_of_the_microphone_are_for_it(flag: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["play", LICK.id, "--from", "sim", *flag]) == 2
    assert "--from mic" in capsys.readouterr().err


def test_settings_make_the_stream() -> None:
    asked = soundcard.asked_stream(
        "a/b", settings(["rate=48000", "block=128", "latency=0.05", "channel=2"], {})
    )
    assert (asked.device, asked.rate, asked.block, asked.latency, asked.channel) == (
        "a/b",
        48000,
        128,
        0.05,
        2,
    )
    plain = soundcard.asked_stream(None, settings([], {}))
    assert (plain.rate, plain.block, plain.latency, plain.channel) == (None, 256, "low", 1)


def test_one_place_round_and_round_with_all_that_sounds_along(
    plug, capsys: pytest.CaptureFixture[str]
) -> None:
    room = plug(Microphone())
    words = ["--loop", "change", "--backing", "--model", "--hear-last", "half", "--json"]
    assert main([*PLAY, *words]) == 0
    found = json.loads(capsys.readouterr().out)
    assert (found["backing"], found["model"]) == (True, True)
    assert found["loop"].endswith(", the change")
    assert (found["hear_last"], found["drifted"]) == (0.5, [])
    assert len(found["passes"]) == 2
    (at_sec, along), _again = room.laid
    assert len(along) / RATE > 4.0
    assert at_sec >= LEAD_SEC


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--loop", "9"], "accepted"),
        (["--hear-last", "quarter"], "half"),
        (["--set", "backing_db=0"], "-60 to -6"),
        (["--set", "bleed=off"], "out, in"),
    ],
)
def test_what_is_wrong_with_what_sounds_along_is_one_line(
    plug, capsys: pytest.CaptureFixture[str], words: list[str], said: str
) -> None:
    plug(Microphone())
    assert main([*PLAY, *words]) == 2
    err = capsys.readouterr().err
    assert err.count("\n") == 1
    assert said in err
