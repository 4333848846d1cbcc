"""`sevenfall listen`: what it shows, plays and writes; and how a loop is laid ahead in time."""

from __future__ import annotations

import argparse
import itertools
import json
import wave
from collections.abc import Iterator
from functools import partial
from pathlib import Path

import numpy as np
import pytest

from feedback import settings, speaking_out
from feedback.__main__ import main
from feedback.commands import listen
from feedback.commands.listen import FILE_RATE, ROUNDS, ROUNDS_IN_FILE
from feedback.modelling import looped, model
from feedback.practice_report import LOUDNESS
from feedback.session import COUNT_IN_BARS
from feedback.speaking_out import AHEAD_SEC, LEAD_SEC, Piece, rounds, speak
from feedback.tab_told import left_of_part, tab_told
from listener.errors import DeviceTrouble
from listener.files import SoundFile
from listener.speaking import Speaker
from routines.excerpt import change
from routines.library import load
from routines.lick import quarter_sec

RATE = 8_000  # enough for a click, quick to make
SUPPER = load("slab-wood-supper")
PART = change(SUPPER)
BAR_SEC = 4 * quarter_sec(80.0)


class Output:
    """Stands for `listener.speaking.Speaker`: time goes on only where it is waited for."""

    rate = RATE
    sink = "Phones"
    hung = False

    def __init__(self, *, stops_sec: float = np.inf, wrong: Exception | None = None) -> None:
        self.sec, self._stops_sec, self._wrong = 1.0, stops_sec, wrong
        self.laid: list[tuple[float, float, int]] = []  # when, where, how long
        self.sound = np.zeros(0, np.float32)
        self.running = False

    def start(self) -> None:
        if self._wrong is not None:
            raise self._wrong
        self.running = True

    def stop(self) -> None:
        self.running = False

    @property
    def now_sec(self) -> float:
        if self.sec > self._stops_sec:
            raise KeyboardInterrupt
        return self.sec

    def play(self, sound: np.ndarray, at_sec: float) -> None:
        self.laid.append((self.sec, at_sec, len(sound)))
        begin = round(at_sec * RATE)
        whole = np.zeros(max(len(self.sound), begin + len(sound)), np.float32)
        whole[: len(self.sound)] = self.sound
        whole[begin : begin + len(sound)] += sound
        self.sound = whole

    def wait(self, sec: float) -> None:
        self.sec += sec


@pytest.fixture
def output(monkeypatch: pytest.MonkeyPatch) -> Iterator[Output]:
    found = Output()
    monkeypatch.setattr(speaking_out, "speaker", lambda device, values: found)
    monkeypatch.setattr(speaking_out, "speak", partial(speak, wait=found.wait))
    monkeypatch.setattr("feedback.commands.listen.own_standard_error", lambda: None)
    yield found
    assert not found.running


def played(output: Output) -> np.ndarray:
    return output.sound[round((1.0 + LEAD_SEC) * RATE) :]


def test_pieces_are_laid_ahead_of_time_and_none_too_early() -> None:
    output = Output()
    pieces = [Piece(sound=np.ones(RATE, np.float32), begins_sec=3.0 * k) for k in range(5)]
    speak(output, pieces, wait=output.wait)
    assert [at for _, at, _ in output.laid] == pytest.approx([1.0 + LEAD_SEC + 3.0 * k for k in range(5)])
    assert all(0.0 < at - now <= AHEAD_SEC for now, at, _ in output.laid)
    assert output.sec >= output.laid[-1][1] + 1.0  # it waits until the last one is over


def test_each_piece_is_asked_for_while_the_one_before_it_sounds() -> None:
    output = Output()
    asked_sec = []

    def pieces() -> Iterator[Piece]:
        for k in range(4):
            asked_sec.append(output.sec)
            output.sec += 0.4  # so long it takes to make one
            yield Piece(sound=np.ones(3 * RATE, np.float32), begins_sec=3.0 * k)

    speak(output, pieces(), wait=output.wait)
    begins = [at for _, at, _ in output.laid]
    assert begins[0] == pytest.approx(1.0 + 0.4 + LEAD_SEC)
    assert all(sec < begin + 3.0 for sec, begin in zip(asked_sec[1:], begins, strict=False))
    assert all(now < at for now, at, _ in output.laid)


def test_nothing_to_play_is_over_at_once() -> None:
    output = Output()
    speak(output, [], wait=output.wait)
    assert (output.sec, output.laid) == (1.0, [])


def test_an_endless_loop_ends_when_it_is_interrupted() -> None:
    output = Output(stops_sec=20.0)
    with pytest.raises(KeyboardInterrupt):
        speak(output, rounds(PART, tempo_half_bpm=80.0, rate=RATE), wait=output.wait)
    begins = [at for _, at, _ in output.laid]
    assert np.allclose(np.diff(begins), BAR_SEC)
    assert 20.0 - AHEAD_SEC < begins[-1] <= 20.0 + AHEAD_SEC


def test_rounds_follow_each_other_and_the_last_one_rings_out() -> None:
    once = looped(PART, tempo_half_bpm=80.0, rate=RATE)
    found = list(rounds(PART, tempo_half_bpm=80.0, rate=RATE, count=3))
    assert [piece.begins_sec for piece in found] == pytest.approx([0.0, BAR_SEC, 2 * BAR_SEC])
    assert [len(piece.sound) for piece in found] == [len(s) for s in (once.sound, once.sound, once.last)]
    endless = itertools.islice(rounds(PART, tempo_half_bpm=80.0, rate=RATE), 5)
    assert {len(piece.sound) for piece in endless} == {len(once.sound)}


def test_with_a_click_rounds_are_counted_in_and_it_goes_on() -> None:
    first, second, _ = rounds(PART, tempo_half_bpm=80.0, rate=RATE, count=2, click="halves", click_db=-30.0)
    assert first.begins_sec == 0.0
    # The pickup begins in the last bar of the count-in.
    assert second.begins_sec == pytest.approx(COUNT_IN_BARS * BAR_SEC - BAR_SEC / 2)
    assert len(first.sound) / RATE < COUNT_IN_BARS * BAR_SEC
    bare = looped(PART, tempo_half_bpm=80.0, rate=RATE).sound
    clicks = np.abs(second.sound - bare) > 1e-3
    downbeat = round(BAR_SEC / 2 * RATE)
    assert not np.any(clicks[: downbeat - 1])
    assert np.any(clicks[downbeat : downbeat + 40])
    assert np.any(clicks[2 * downbeat : 2 * downbeat + 40])


def test_the_output_is_a_speaker_that_is_not_started_yet(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("SEVENFALL_HOME", str(tmp_path))
    found = speaking_out.speaker("Horn", settings.load([], {}))
    assert isinstance(found, Speaker)
    assert not found.hung


def test_a_lick_is_shown_and_played_twice_with_a_rest(
    output: Output, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["listen", "slab-wood-supper"]) == 0
    said = capsys.readouterr().out
    assert said.startswith("Slab Wood Supper | key of G | 80 half notes a minute\n")
    assert "\n".join(["", *tab_told(SUPPER), ""]) in said
    assert LOUDNESS in said
    wanted = model(SUPPER, tempo_half_bpm=80.0, rate=RATE, rounds=ROUNDS, rest_bars=1)
    assert np.allclose(played(output)[: len(wanted)], wanted, atol=1e-6)


def test_a_loop_shows_its_part_and_goes_on_until_it_is_interrupted(
    output: Output, capsys: pytest.CaptureFixture[str]
) -> None:
    output._stops_sec = 12.0
    assert main(["listen", "slab-wood-supper", "--loop", "change", "--tempo", "60"]) == 130
    said = capsys.readouterr()
    assert "Slab Wood Supper, the change | key of G | 60 half notes a minute" in said.out
    assert "\n".join(["", *tab_told(PART, left_of_part(PART, SUPPER)), ""]) in said.out
    assert "round and round; Ctrl-C ends" in said.out
    assert said.err == "interrupted\n"
    assert len(output.laid) >= 5


def test_a_loop_of_so_many_rounds_ends_by_itself(output: Output, capsys: pytest.CaptureFixture[str]) -> None:
    words = ["listen", "slab-wood-supper", "--loop", "2", "--rounds", "3", "--click", "halves", "--json"]
    assert main(words) == 0
    found = json.loads(capsys.readouterr().out)
    assert (found["loop"], found["rounds"], found["click"], found["file"]) == ("2", 3, "halves", None)
    assert found["title"] == "Slab Wood Supper, bar 2"
    assert found["duration_sec"] is None
    assert len(found["notes"]) == 3 * sum(note.onset_quarters >= 4.0 for note in SUPPER.notes)
    assert found["notes"][0]["onset_sec"] == pytest.approx(COUNT_IN_BARS * BAR_SEC)
    assert len(output.laid) == 4  # the count-in, and three rounds


def test_an_output_that_does_not_open_is_one_line(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    broken = Output(wrong=DeviceTrouble("no output was found"))
    monkeypatch.setattr(speaking_out, "speaker", lambda device, values: broken)
    monkeypatch.setattr("feedback.commands.listen.own_standard_error", lambda: None)
    assert main(["listen", "slab-wood-supper"]) == 1
    assert capsys.readouterr().err == "no output was found\n"


@pytest.mark.parametrize("name", ["supper.wav", "supper.flac"])
def test_a_file_is_written_without_a_sound_card(
    name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(speaking_out, "speaker", None)
    path = tmp_path / name
    assert main(["listen", "slab-wood-supper", "--loop", "change", "-o", str(path)]) == 0
    assert f"Written: {path}" in capsys.readouterr().out
    wanted = model(PART, tempo_half_bpm=80.0, rate=FILE_RATE, rounds=ROUNDS_IN_FILE)
    with SoundFile(path) as sound:
        assert (sound.sample_rate, sound.frames) == (FILE_RATE, len(wanted))
        read = np.concatenate(list(sound.blocks()))
    assert np.max(np.abs(read - wanted)) < 1e-4
    assert [one.name for one in tmp_path.iterdir()] == [name]


def test_a_file_is_there_before_the_first_line_is_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Who reads only some lines of it ends the program by that."""
    path = tmp_path / "supper.wav"

    def told(*lines: object, **more: object) -> None:
        assert path.exists()
        raise BrokenPipeError

    monkeypatch.setattr("builtins.print", told)
    parser = argparse.ArgumentParser()
    listen.add_arguments(parser)
    with pytest.raises(BrokenPipeError):
        listen.run(parser.parse_args(["slab-wood-supper", "-o", str(path)]))
    assert path.stat().st_size > 10_000


def test_a_file_has_the_rate_and_the_click_that_are_set(tmp_path: Path) -> None:
    path = tmp_path / "out.WAV"
    words = ["listen", "slab-wood-supper", "--rounds", "1", "--click", "chop", "--set", "rate=48000"]
    assert main([*words, "--set", "click_db=-40", "-o", str(path), "--json"]) == 0
    with wave.open(str(path)) as file:
        assert (file.getframerate(), file.getnchannels(), file.getsampwidth()) == (48000, 1, 2)
        frames = np.frombuffer(file.readframes(file.getnframes()), "<i2") / 32768
    begin = round(COUNT_IN_BARS * BAR_SEC * 48000)
    assert 10 ** (-42 / 20) < np.max(np.abs(frames[: begin - 10])) < 10 ** (-38 / 20)


def test_a_file_that_cannot_be_written_leaves_nothing(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "none" / "a.wav"
    assert main(["listen", "slab-wood-supper", "-o", str(path)]) == 1
    assert capsys.readouterr().err == f"{path.parent}: no such folder\n"


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["slab-wood-super"], "no lick 'slab-wood-super': the nearest: slab-wood-supper"),
        (["slab-wood-supper", "--loop", "3-4"], "bars 3-4 of slab-wood-supper: accepted: a bar, 1 to 2"),
        (["sawdust-in-the-coffee", "--loop", "change"], "no change to loop"),
        (["slab-wood-supper", "--rounds", "0"], "--rounds 0: give 1 to 64"),
        (["slab-wood-supper", "--rounds", "65"], "--rounds 65: give 1 to 64"),
        (["slab-wood-supper", "--click", "drum"], "click 'drum': accepted: halves"),
        (["slab-wood-supper", "-o", "a.mp3"], "-o a.mp3: accepted: a name that ends in .wav or .flac"),
        (["slab-wood-supper", "-o", "a.wav", "--device", "Horn"], "--device is for playing"),
        (["slab-wood-supper", "--tempo", "5"], "tempo '5'"),
    ],
)
def test_what_is_not_accepted_is_one_line(
    words: list[str], said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["listen", *words]) == 2
    out = capsys.readouterr()
    assert out.out == ""
    assert said in out.err
    assert out.err.count("\n") == 1
