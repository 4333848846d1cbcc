"""Both ears beside each other: what the informed one is told, what is marked, and a small run."""

from __future__ import annotations

import json
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
import soundfile

from listener.files import Hearing
from listener.notes import NoteEvent
from tests.bench.__main__ import main
from tests.bench.asking import NEVER_CAME, NOT_ASKED, OTHER_PITCH, asked_of, asked_of_nobody
from tests.bench.counts import Count, watched_heard
from tests.bench.hearers import heard, hearing
from tests.bench.informed import both_lines, is_above
from tests.bench.note_scores import Played, Tally, matched
from tests.bench.passages import Hand
from tests.bench.rows import Score
from tests.bench.sounds import SOUNDS
from tests.bench.takes import Take
from tests.bench.two_ears import TwoEars, heard_take

FORWARD = ((3, 0), (2, 1), (1, 2), (5, 0), (2, 1), (1, 2), (5, 0), (1, 2))
TRUTH = tuple(Played(onset_sec=1.0 + 0.2 * k, midi=60 + k, watched=k < 2) for k in range(4))


@pytest.fixture(scope="module")
def take() -> Take:
    hand = Hand(11, 5.0, 5.0)
    for eighth, place in enumerate(FORWARD):
        hand.play(eighth, place)
    return SOUNDS["simulated"].take(hand.passage())


def event(onset_sec: float, midi: int) -> NoteEvent:
    return NoteEvent(
        onset_sec=onset_sec,
        midi=midi,
        cents=0.0,
        level_db=-20.0,
        confidence=0.9,
        heard_sec=onset_sec + 0.03,
        settled_sec=onset_sec + 0.1,
    )


def both(blind: int, informed: int, truth: tuple[Played, ...] = TRUTH) -> TwoEars:
    """Two ears that hear so many of the notes; the informed one takes one back and calls two doubtful."""
    notes = [event(note.onset_sec, note.midi) for note in TRUTH]
    hearings = [
        Hearing(
            sample_rate=1000,
            duration_sec=30.0,
            tuning_cents=0.0,
            notes=tuple(notes[:many]),
            withdrawn=tuple(notes[:gone]),
            doubtful=tuple(notes[: 2 * gone]),
        )
        for many, gone in ((blind, 0), (informed, 1))
    ]
    silence = Take(nps=5.0, truth=truth, sound=np.zeros(30_000, np.float32), rate=1000)
    counts = (Count(label="watched", of=watched_heard),)
    return TwoEars(
        nps=5.0,
        truth=truth,
        hearings=tuple(hearings),
        scores=tuple(Score.of(silence, one.notes, counts) for one in hearings),
        took_sec=1.0,
    )


def asked(truth: tuple[Played, ...], seed: int) -> np.ndarray:
    """How far from its note each ask lies, where all that is played is asked for."""
    told = [one for one in asked_of(truth, nps=8.0, seed=seed, as_played=True) if one.weight > 0.5]
    assert [one.midi for one in told] == [note.midi for note in truth]
    return np.array([one.onset_sec for one in told]) - [note.onset_sec for note in truth]


def test_what_was_played_is_asked_for_give_or_take_a_lean_and_some_unevenness() -> None:
    many = tuple(Played(onset_sec=0.2 * k, midi=60) for k in range(400))
    off_ms = [1e3 * asked(many, seed) for seed in range(40)]
    leans = np.array([float(off.mean()) for off in off_ms])
    assert np.std(leans) == pytest.approx(8.0, rel=0.35)
    assert np.mean([np.std(off) for off in off_ms]) == pytest.approx(12.0, rel=0.05)
    assert np.array_equal(off_ms[3], 1e3 * asked(many, 3))


def test_nobody_plays_just_what_was_asked() -> None:
    many = tuple(Played(onset_sec=0.2 * k, midi=60) for k in range(200))
    notes = met = other = said = 0
    for seed in range(20):
        told = [(one.onset_sec, one.midi) for one in asked_of(many, nps=8.0, seed=seed) if one.weight > 0.5]
        notes, said = notes + len(many), said + len(told)
        met += len(matched([(note.onset_sec, note.midi) for note in many], told, 0.05))
        other += sum(midi != 60 for _, midi in told)
    assert met / notes == pytest.approx(1.0 - OTHER_PITCH - NOT_ASKED, abs=0.012)
    assert other / notes == pytest.approx(OTHER_PITCH + NEVER_CAME, abs=0.012)
    assert said == pytest.approx(notes, rel=0.02)
    assert 2 * met / (notes + said) < 0.91  # what an ear gets that says what it was told


def test_a_slip_to_the_drone_is_expected_at_the_pitch_of_its_own_fifth_string() -> None:
    drones = [
        {one.midi for one in asked_of(TRUTH[:1], nps=8.0, seed=0, **how)} - {58, 59, 60, 61, 62, 48, 72}
        for how in ({}, {"drone_midi": 69})
    ]
    assert drones == [{67}, {69}]


def test_where_nobody_plays_a_roll_is_asked_for_from_end_to_end() -> None:
    told = [one for one in asked_of_nobody(3, 18.5) if one.weight > 0.5]
    assert asked_of_nobody(3, 18.5) == asked_of_nobody(3, 18.5)
    onsets = sorted(one.onset_sec for one in told)
    assert onsets[0] < 1.5
    assert 17.5 < onsets[-1] < 18.7
    assert max(after - before for before, after in pairwise(onsets)) < 1.5
    assert 4.0 < len(told) / 18.5 < 12.0


def test_without_expectations_it_hears_as_the_blind_ear_and_with_them_sooner(take: Take) -> None:
    blind = hearing(take)
    assert list(blind.notes) == heard(take)
    assert (blind.withdrawn, blind.doubtful) == ((), ())
    found = heard_take((take, 0))
    assert found.hearings[0] == blind
    tallies = [score.tally for score in found.scores]
    assert [tally.hits for tally in tallies] == [len(FORWARD)] * 2
    medians = [float(np.median(tally.delays_ms)) for tally in tallies]
    assert medians[1] < medians[0] - 10.0


def test_in_a_file_it_hears_the_same_notes(take: Take) -> None:
    told = asked_of(take.truth, nps=take.nps, seed=0)
    fed, filed = hearing(take, told), hearing(take, told, in_file=True)
    assert [note.midi for note in filed.notes] == [note.midi for note in fed.notes]
    assert filed.sample_rate == take.rate


def test_f_that_is_not_above_is_marked_but_not_where_both_are_one() -> None:
    marked = {
        (blind, informed): any("< not above" in line for line in both_lines([both(blind, informed)]))
        for blind in (3, 4)
        for informed in (2, 3, 4)
    }
    assert marked == {
        (3, 2): True,
        (3, 3): True,
        (3, 4): False,
        (4, 2): True,
        (4, 3): True,
        (4, 4): False,
    }
    assert not is_above(Tally(), Tally())


def test_lines_tell_both_ears_what_was_taken_back_and_every_count() -> None:
    counts = (Count(label="watched", of=watched_heard),)
    blind, informed, rest, watched = both_lines([both(1, 4)] * 2, counts)
    assert blind.split()[:7] == ["blind", "8", "P", "1.000", "R", "0.250", "F"]
    assert informed.split()[:7] == ["informed", "8", "P", "1.000", "R", "1.000", "F"]
    assert informed.endswith("F +0.6000")
    assert rest.strip() == "of 1,000 notes withdrawn 250.0, doubtful 500.0"
    assert watched == "watched: blind 0.500 (2 of 4), informed 1.000 (4 of 4)"


def test_where_nothing_is_played_counts_are_of_a_minute() -> None:
    lines = list(both_lines([both(0, 1, truth=())] * 4))
    assert lines == ["informed: withdrawn 2.0/min, doubtful 4.0/min"]


def test_a_run_prints_a_row_with_both_ears(capsys: pytest.CaptureFixture[str]) -> None:
    asked = ["--only", "blind", "--rows", "fall-G-F#", "--sounds", "simulated", "--seeds", "1"]
    assert main(["informed", *asked, "--processes", "1"]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert lines[0].startswith("fall-G-F#: F# struck half a step below")
    assert [line.split()[0] for line in lines[1:4]] == ["simulated", "informed", "of"]
    assert [line.split(":")[0].strip() for line in lines[4:6]] == ["falls", "seven again"]
    assert lines[6].startswith("rows not above: ")
    assert len(lines) == 7


def test_a_run_prints_false_confirmations_and_how_sure_the_ears_were(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    asked = ["--only", "confirmations", "--count", "1", "--sounds", "simulated", "--errors"]
    assert main(["informed", *asked, "--processes", "1", "--cache", str(tmp_path)]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert lines[0].startswith("simulated, asked and not played: ")
    assert {line[2:18].strip() for line in lines[2:] if line.startswith("  ")} >= {"left out", "all"}
    assert any(line.startswith("  of ") and "faithful notes confirmed" in line for line in lines)
    assert list(tmp_path.glob("*.take"))


def test_takes_of_a_folder_are_measured_by_tempo_delay_and_reliability(
    take: Take, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    notes = [{"onset": note.onset_sec, "midi": note.midi, "how": note.how} for note in take.truth]
    soundfile.write(tmp_path / "one.wav", take.sound, take.rate)
    (tmp_path / "one.json").write_text(json.dumps({"nps": take.nps, "notes": notes}))
    assert main(["informed", "--takes", str(tmp_path), "--processes", "1"]) == 0
    told = capsys.readouterr().out
    heads = ("5 eighths a second", "all", "delays", "reliability")
    assert [line.strip() for line in told.splitlines() if line.strip() in heads] == list(heads)
    assert "asked and not played" not in told


@pytest.mark.parametrize(
    ("asked", "line"),
    [
        (["--seeds", "0"], "0 seeds"),
        (["--count", "0"], "2 seeds, 0 omissions"),
        (["--processes", "0"], "2 seeds, 1500 omissions, 0 processes"),
        (["--rows", "dron"], "no row 'dron'"),
        (["--takes", "/no/such/folder"], "/no/such/folder"),
    ],
)
def test_what_cannot_be_asked_is_one_line(
    asked: list[str], line: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["informed", "--processes", "1", *asked]) in (1, 2)
    told = capsys.readouterr()
    assert told.err.startswith(line)
    assert told.err.count("\n") == 1
    assert told.out == ""
