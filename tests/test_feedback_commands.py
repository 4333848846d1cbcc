"""The command line as a user meets it: what it prints, its JSON, its one-line errors and exit codes."""

from __future__ import annotations

import io
import json
import os
import re
from contextlib import redirect_stdout
from datetime import datetime
from pathlib import Path

import numpy as np
import pytest
import soundfile

from feedback.__main__ import main
from feedback.commands import COMMANDS
from feedback.performance import perform
from feedback.player import render
from routines.journal.journal import Journal
from routines.library import load

pytestmark = pytest.mark.usefixtures("ears_remember")

LICK = "slab-wood-supper"
TEMPO = 100.0
RATE = 44100
START_SEC = 0.75
LASTS_SEC = START_SEC + 2 * 4 * 30.0 / TEMPO + 0.5
"""Two bars, and a little of what rings on."""


@pytest.fixture(autouse=True)
def _own_home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SEVENFALL_HOME", str(tmp_path / "home"))


@pytest.fixture(scope="module")
def takes(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with a faithful pass, one left hanging, and silence."""
    folder = tmp_path_factory.mktemp("takes")
    for name, mistakes in {"faithful": (), "hanging": ("left-hanging",)}.items():
        played = perform(load(LICK), tempo_half_bpm=TEMPO, mistakes=mistakes, seed=4, start_sec=START_SEC)
        sound = render(played, rate=RATE, duration_sec=LASTS_SEC)
        soundfile.write(folder / f"{name}.wav", sound, RATE)
    soundfile.write(folder / "silence.flac", np.zeros(2 * RATE, np.float32), RATE)
    (folder / "empty.wav").write_bytes(b"")
    (folder / "words.wav").write_text("not a sound, but a letter", encoding="utf-8")
    (folder / "words.mp3").write_text("a letter that calls itself a song", encoding="utf-8")
    whole = (folder / "faithful.wav").read_bytes()
    (folder / "cut.wav").write_bytes(whole[: len(whole) // 2])
    return folder


_SAID: dict[tuple[str, ...], str] = {}
"""What was said to words that several tests have; the takes stay as they are."""


def _json(capsys: pytest.CaptureFixture[str], *words: str) -> dict:
    if words not in _SAID:
        assert main([*words, "--json"]) == 0
        said = capsys.readouterr()
        assert said.err == ""
        assert said.out.count("\n") == 1
        _SAID[words] = said.out
    return json.loads(_SAID[words])


def _refused(capsys: pytest.CaptureFixture[str], code: int, *words: str) -> str:
    assert main(list(words)) == code
    said = capsys.readouterr()
    assert said.out == ""
    assert said.err.count("\n") == 1, said.err
    assert "Traceback" not in said.err
    assert "usage:" not in said.err
    return said.err


@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_has_help_with_an_example(capsys: pytest.CaptureFixture[str], command: str) -> None:
    assert main([command, "--help"]) == 0
    said = capsys.readouterr().out
    assert f"sevenfall {command}" in said
    assert "example" in said


def test_help_lists_every_command_and_cautions(capsys: pytest.CaptureFixture[str]) -> None:
    for words in ([], ["--help"]):
        assert main(words) == 0
        said = capsys.readouterr().out
        assert all(f"sevenfall {command} " in said for command in COMMANDS)
        assert "pain" in said


@pytest.fixture(scope="module")
def demo() -> str:
    """What it says."""
    said = io.StringIO()
    with redirect_stdout(said):
        assert main(["demo"]) == 0
    return said.getvalue()


def test_demo_names_the_seven_and_what_became_of_it(demo: str) -> None:
    said = demo
    assert "landed; resolved to" in said
    assert "left hanging" in said
    assert "pain" in said


def test_the_readme_shows_what_demo_says(demo: str) -> None:
    said = [line.rstrip() for line in demo.rstrip().split("\n")]
    readme = (Path(__file__).parents[1] / "README.md").read_text(encoding="utf-8").split("\n")
    first = readme.index("    " + said[0])
    shown = [line.removeprefix("    ") for line in readme[first : first + len(said)]]
    # Milliseconds may differ by one from one processor to the next.
    without_ms = [[re.sub(r"[+-]?\d+ ms", "ms", line) for line in lines] for lines in (shown, said)]
    assert without_ms[0] == without_ms[1]


def test_demo_hears_both_mistakes(capsys: pytest.CaptureFixture[str]) -> None:
    faithful, astray = _json(capsys, "demo")["passes"]
    assert faithful["clean"] is True
    assert [seven["resolution"] for seven in faithful["sevenths"] if seven["due"]] == ["resolved"]
    assert astray["clean"] is False
    assert [seven["resolution"] for seven in astray["sevenths"] if seven["due"]] == ["hanging"]
    assert sum(note["verdict"] == "wrong" for note in astray["notes"]) == 1


def test_hear_prints_the_notes_of_the_contract(capsys: pytest.CaptureFixture[str], takes: Path) -> None:
    heard = _json(capsys, "hear", str(takes / "faithful.wav"))
    assert list(heard) == ["file", "sample_rate", "duration_sec", "tuning_cents", "notes", "withdrawn"]
    assert heard["sample_rate"] == RATE
    asked = [note.midi for note in load(LICK).notes]
    assert [note["midi"] for note in heard["notes"]] == asked
    for note in heard["notes"]:
        assert list(note) == [
            "onset_sec", "midi", "cents", "level_db", "confidence", "heard_sec", "settled_sec", "path",
        ]  # fmt: skip
        assert note["onset_sec"] < note["heard_sec"] <= note["settled_sec"]


def test_hear_with_a_lick_in_mind_hears_it_sooner_and_names_what_is_doubtful(
    capsys: pytest.CaptureFixture[str], takes: Path
) -> None:
    take = str(takes / "faithful.wav")
    words = ["hear", take, "--lick", LICK, "--tempo", str(TEMPO), "--start", str(START_SEC)]
    blind, given = _json(capsys, "hear", take), _json(capsys, *words)
    assert list(given) == [*blind, "doubtful", "lick", "start_sec", "tempo_half_bpm"]
    assert (given["lick"], given["start_sec"], given["tempo_half_bpm"]) == (LICK, START_SEC, TEMPO)
    assert given["doubtful"] == given["withdrawn"] == []
    told = [[(note["midi"], note["onset_sec"]) for note in heard["notes"]] for heard in (blind, given)]
    assert told[0] == told[1]
    for one, other in list(zip(blind["notes"], given["notes"], strict=True))[1:]:
        assert other["heard_sec"] < one["heard_sec"] - 0.015
        assert list(other) == list(one)
    assert main(words) == 0
    said = capsys.readouterr().out
    assert f" s, {len(given['notes'])} notes, tuned " in said
    assert f"in mind, bar 1 at {START_SEC:.3f} s" in said


def test_a_lick_in_mind_that_was_not_played_changes_nothing(
    capsys: pytest.CaptureFixture[str], takes: Path
) -> None:
    for name, lick in (("silence.flac", LICK), ("hanging.wav", "off-the-green-chain")):
        blind = _json(capsys, "hear", str(takes / name))
        nowhere = {"doubtful": [], "lick": lick, "start_sec": None, "tempo_half_bpm": None}
        assert _json(capsys, "hear", str(takes / name), "--lick", lick) == blind | nowhere


def test_judge_with_and_without_the_start(capsys: pytest.CaptureFixture[str], takes: Path) -> None:
    words = ("judge", str(takes / "faithful.wav"), "--lick", LICK)
    given = _json(capsys, *words, "--tempo", str(TEMPO), "--start", str(START_SEC))
    assert (given["clean"], given["start_found"]) == (True, False)
    assert abs(given["timing"]["lean_ms"]) < 10
    found = _json(capsys, *words)
    assert (found["clean"], found["start_found"]) == (True, True)
    assert found["start_sec"] == pytest.approx(START_SEC, abs=0.02)
    assert found["tempo_half_bpm"] == pytest.approx(TEMPO, rel=0.01)
    assert found["timing"]["lean_ms"] is None
    silence = ("judge", str(takes / "silence.flac"), "--lick", LICK, "--start", str(START_SEC))
    quarters = _json(capsys, *silence, "--tempo", f"{2 * TEMPO:g}q")
    assert quarters["tempo_half_bpm"] == TEMPO


def test_judge_says_what_became_of_the_seven(capsys: pytest.CaptureFixture[str], takes: Path) -> None:
    assert main(["judge", str(takes / "hanging.wav"), "--lick", LICK, "--tempo", str(TEMPO)]) == 0
    said = capsys.readouterr().out
    assert "left hanging: no B came over G" in said
    assert said.splitlines()[-1].startswith("C over D7 was left hanging")


def test_the_end_of_a_recording_is_not_the_players_fault(
    capsys: pytest.CaptureFixture[str], takes: Path, tmp_path: Path
) -> None:
    sound, rate = soundfile.read(takes / "faithful.wav")
    bar_sec = 4 * 30.0 / TEMPO
    soundfile.write(tmp_path / "short.wav", sound[: round((START_SEC + bar_sec + 0.02) * rate)], rate)
    words = (str(tmp_path / "short.wav"), "--tempo", str(TEMPO), "--start", str(START_SEC))
    judged = _json(capsys, "judge", words[0], "--lick", LICK, *words[1:])
    (played,) = _json(capsys, "play", LICK, "--from", *words)["passes"]
    for found in (judged, played):
        assert found["clean"] is None
        assert {note["verdict"] for note in found["notes"]} == {"landed", "unclear"}
        assert [seven["resolution"] for seven in found["sevenths"]] == ["unclear"]
        assert "unclear" in found["sentence"]


def test_what_was_heard_but_not_found_is_told_from_silence(
    capsys: pytest.CaptureFixture[str], takes: Path
) -> None:
    heard = _json(capsys, "judge", str(takes / "faithful.wav"), "--lick", "off-the-green-chain")
    assert heard["sentence"].startswith("I heard 10 notes, but not this lick")
    silence = _json(capsys, "judge", str(takes / "silence.flac"), "--lick", LICK)
    assert silence["sentence"].startswith("I did not hear this lick")


def test_a_fault_of_the_program_is_one_line_and_goes_to_the_log(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    def broken(_: object) -> int:
        raise ZeroDivisionError("by nought")

    monkeypatch.setattr("feedback.commands.chord.run", broken)
    log = tmp_path / "inside.log"
    said = _refused(capsys, 1, "chord", "D7", "--log", str(log))
    assert "a fault of the program, ZeroDivisionError: by nought" in said
    assert "Traceback" in log.read_text(encoding="utf-8")


def test_interrupted(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> None:
    def stopped(_: object) -> int:
        raise KeyboardInterrupt

    monkeypatch.setattr("feedback.commands.chord.run", stopped)
    assert _refused(capsys, 130, "chord", "D7") == "interrupted\n"


def test_silence_and_another_tune_are_no_errors(capsys: pytest.CaptureFixture[str], takes: Path) -> None:
    silence = str(takes / "silence.flac")
    assert _json(capsys, "hear", silence)["notes"] == []
    for take, lick in ((silence, LICK), (str(takes / "faithful.wav"), "off-the-green-chain")):
        judged = _json(capsys, "judge", take, "--lick", lick)
        assert judged["start_sec"] is None
        assert {note["verdict"] for note in judged["notes"]} <= {"missed", "unclear"}
    assert main(["judge", silence, "--lick", LICK]) == 0
    assert "No start was found" in capsys.readouterr().out


def test_play_from_the_simulated_player(capsys: pytest.CaptureFixture[str]) -> None:
    turn = _json(capsys, "play", LICK, "--from", "sim", "--tempo", "200", "--mistake", "seven-missing")
    assert len(turn["passes"]) == 4
    assert all(seven["sounded"] is False for one in turn["passes"] for seven in one["sevenths"])
    assert "in 4 of 4 passes" in turn["sentence"]


def test_play_from_a_recording(capsys: pytest.CaptureFixture[str], takes: Path) -> None:
    take = str(takes / "faithful.wav")
    (found,) = _json(capsys, "play", LICK, "--from", take)["passes"]
    (given,) = _json(capsys, "play", LICK, "--from", take, "--start", str(START_SEC), "--tempo", str(TEMPO))[
        "passes"
    ]
    assert found["clean"] is given["clean"] is True


def test_a_recording_is_remembered_where_a_player_is_named_and_once(takes: Path, tmp_path: Path) -> None:
    take = takes / "faithful.wav"
    os.utime(take, (1_790_000_000, 1_790_000_000))
    play = [
        "play",
        LICK,
        "--from",
        str(take),
        "--start",
        str(START_SEC),
        "--tempo",
        str(TEMPO),
        "--passes",
        "1",
    ]
    for more in ((), ("--player", "Bo"), ("--player", "Bo")):
        assert main([*play, "--json", *more]) == 0
    with Journal.open(tmp_path / "home", now=lambda: datetime.now().astimezone(), writes=False) as journal:
        (kept,) = journal.passes()
    assert (kept.player, kept.source, kept.item.lick) == ("Bo", "file", LICK)
    assert kept.ended_at.timestamp() == 1_790_000_000


def test_play_prints_the_mark_after_each_pass(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["play", LICK, "--passes", "2", "--tempo", "200", "--no-window"]) == 0
    said = capsys.readouterr().out
    assert "pass 1: C landed, resolved\n  pass 2: C landed, resolved\n" in said


@pytest.mark.parametrize(
    ("code", "words", "names"),
    [
        (1, "hear {}/missing.wav", "missing.wav"),
        (1, "hear {}", "directory"),
        (2, "hear {}/empty.wav", "empty.wav"),
        (2, "hear {}/words.wav", "words.wav"),
        (2, "hear {}/cut.wav", "cut.wav"),
        (2, "hear {}/faithful.wav --tempo 96", "give --lick as well"),
        (2, "hear {}/faithful.wav --start 1", "give --lick as well"),
        (2, "hear {}/faithful.wav --lick slabwood-super", "slab-wood-supper"),
        (2, f"hear {{}}/faithful.wav --lick {LICK} --tempo 0", "20 to 240"),
        (2, f"hear {{}}/cut.wav --lick {LICK} --tempo 84 --start 1", "cut.wav"),
        (1, f"hear {{}}/missing.wav --lick {LICK}", "missing.wav"),
        (1, f"judge {{}}/missing.wav --lick {LICK}", "missing.wav"),
        (2, "judge {}/faithful.wav --lick slabwood-super", "slab-wood-supper"),
        (1, "judge {}/faithful.wav --lick {}/own.lick", "own.lick"),
        (2, f"judge {{}}/faithful.wav --lick {LICK} --tempo 0", "20 to 240"),
        (2, f"judge {{}}/faithful.wav --lick {LICK} --tempo -96", "20 to 240"),
        (2, f"judge {{}}/faithful.wav --lick {LICK} --tempo nan", "20 to 240"),
        (2, f"judge {{}}/faithful.wav --lick {LICK} --tempo fast", "20 to 240"),
        (2, f"judge {{}}/faithful.wav --lick {LICK} --start -1", "0 or more"),
        (2, f"judge {{}}/faithful.wav --lick {LICK} --start inf", "0 or more"),
        (2, f"judge {{}}/faithful.wav --lick {LICK} --start 100", "s long"),
        (2, "hear {}/words.mp3", "words.mp3"),
        (2, "judge {}/faithful.wav", "--lick"),
        (2, f"play {LICK} --from mic --click cowbell", "halves"),
        (2, f"play {LICK} --from {{}}/words.wav", "words.wav"),
        (1, f"play {LICK} --from {{}}/missing.wav --start 1", "missing.wav"),
        (2, f"play {LICK} --passes 0", "1 to 64"),
        (2, f"play {LICK} --mistake seven-mising", "seven-missing"),
        (2, f"play {LICK} --set window=huge", "usual, loose, tight"),
        (2, "chord H7", "H7"),
        (2, "licks {}/words.wav/x.lick --tempo 3", "--tempo"),
        (2, "tuned", "no command 'tuned'"),
        (2, "demo --seed -1", "0 or more"),
        (2, "hear", "file"),
    ],
)
def test_bad_input_gets_one_line(
    capsys: pytest.CaptureFixture[str], takes: Path, code: int, words: str, names: str
) -> None:
    assert names in _refused(capsys, code, *words.replace("{}", str(takes)).split())


def test_log_writes_a_file_and_a_bad_place_is_told(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    log = tmp_path / "inside.log"
    assert main(["chord", "D7", "--log", str(log)]) == 0
    capsys.readouterr()
    assert "chord" in log.read_text(encoding="utf-8")
    assert str(tmp_path / "no") in _refused(capsys, 1, "chord", "D7", "--log", str(tmp_path / "no" / "x.log"))
