"""A small share of the verdicts bench: from the sound of a lick to what became of its seven."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path

import numpy as np
import pytest

from feedback.errors import CannotDo
from listener.expecting import Expectation
from listener.files import Hearing
from routines.outcome import SeventhVerdict
from tests.bench import verdicts
from tests.bench.__main__ import main
from tests.bench.fluid import font_path
from tests.bench.hearers import listener
from tests.bench.performances import FAITHFUL, Planned
from tests.bench.renders import Renders
from tests.bench.verdict_scores import Compared
from tests.bench.verdicts import compared

TOLD_APART = (FAITHFUL, "left-hanging", "seven-missing", "seven-swallowed", "seven-late")


NOTHING_HEARD = Hearing(sample_rate=44100, duration_sec=1.0, tuning_cents=0.0, notes=(), withdrawn=())


def _font(font: str) -> str:
    if font != "sim":
        try:
            font_path(font)
        except CannotDo as error:
            pytest.skip(str(error))
    return font


def _one(lick: str, sound: str, mutation: str, tempo: float, seed: int, **how: bool) -> Compared:
    planned = Planned(lick=lick, tempo_half_bpm=tempo, mutation=mutation, sound=sound, seed=seed)
    return compared(planned, renders=Renders(folder=None), **how)


def _due(sevens: tuple[SeventhVerdict, ...]) -> SeventhVerdict:
    return sevens[-1]


@pytest.mark.parametrize(("lick", "font"), [("rivets-in-a-lard-pail", "sim"), ("a-nail-in-the-oak", "fluid")])
def test_what_became_of_the_seven_is_told_apart(lick: str, font: str) -> None:
    said = {}
    for mutation in TOLD_APART:
        one = _one(lick, _font(font), mutation, 120.0, 3080)
        seven = _due(one.said.outcome.sevenths)
        said[mutation] = (seven.sounded, seven.landed, seven.swallowed, seven.resolution)
        played = _due(one.truth.outcome.sevenths)
        assert said[mutation] == (played.sounded, played.landed, played.swallowed, played.resolution), (
            mutation
        )
        assert one.said.outcome.clean is (mutation == FAITHFUL)
    assert len(set(said.values())) == len(TOLD_APART)


def test_start_and_tempo_are_found_in_the_sound() -> None:
    one = _one("slab-wood-supper", "sim", "left-hanging", 84.0, 1084, found=True)
    said, truth = one.said.outcome, one.truth.outcome
    assert said.start_found
    assert said.start_sec == pytest.approx(truth.start_sec, abs=0.02)
    assert said.tempo_half_bpm == pytest.approx(84.0, rel=0.02)
    assert _due(said.sevenths).resolution == "hanging"


def test_where_the_start_is_found_a_tempo_that_rises_is_no_fault_in_truth_either(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(verdicts, "listener", lambda sound, rate: lambda expected: NOTHING_HEARD)
    given, found = (
        _one("tally-stick", "sim", "rising-tempo", 84.0, 5, found=found) for found in (False, True)
    )
    assert {note.verdict for note in given.truth.outcome.notes} > {"landed"}
    assert {note.verdict for note in found.truth.outcome.notes} == {"landed"}


def test_the_ear_is_told_the_lick_unless_it_is_to_be_blind(monkeypatch: pytest.MonkeyPatch) -> None:
    told: list[Sequence[Expectation]] = []
    heard: list[Hearing] = []

    def telling(sound: np.ndarray, rate: int) -> Callable[[Sequence[Expectation]], Hearing]:
        if not heard:  # the same performance each time
            heard.append(listener(sound, rate)(()))

        def hear(expected: Sequence[Expectation]) -> Hearing:
            told.append(expected)
            return heard[0]

        return hear

    monkeypatch.setattr(verdicts, "listener", telling)
    for how in ({}, {"blind": True}, {"found": True}):
        _one("tally-stick", "sim", FAITHFUL, 80.0, 3, **how)
    lick = verdicts.lick_of(Planned(lick="tally-stick", tempo_half_bpm=80.0, mutation="", sound="", seed=0))
    assert {one.midi for one in told[0]} >= {note.midi for note in lick.notes}
    assert {one.midi for one in told[3]} >= {note.midi for note in lick.notes}
    assert [len(some) for some in told[1:3]] == [0, 0]
    assert len(told) == 4


def test_a_run_prints_tables_and_keeps_sounds(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    cache = str(tmp_path / "kept")
    asked = [
        "--font",
        "sim",
        "--licks",
        "tally-stick",
        "--mistakes",
        FAITHFUL,
        "left-hanging",
        "--count",
        "2",
    ]
    whole = ["verdicts", *asked, "--processes", "1", "--cache", cache, "--blind", "--errors"]
    printed = []
    for _ in range(2):
        assert main(whole) == 0
        printed.append(capsys.readouterr().out.splitlines())
    first, again = printed
    assert first[0].startswith("sim: 2 performances of 1 lick in D at ")
    assert "made 2" in first[1]
    assert "kept 2" in again[1]
    assert first[2:] == again[2:]
    assert [line.split()[0] for line in first if " sevens " in line] == ["left-hanging", "all"]
    assert len(list(Path(cache).iterdir())) == 2


def test_what_cannot_be_asked_is_one_line(capsys: pytest.CaptureFixture[str]) -> None:
    for asked, line in (
        (["--count", "0"], "0 performances"),
        (["--processes", "0"], "0 processes"),
        (["--licks", "tally-stik"], "no lick 'tally-stik'"),
        (["--mistakes", "left"], "no mistake 'left'"),
        (
            ["--licks", "sawdust-in-the-coffee", "--mistakes", "left-hanging"],
            "none of these licks has a place",
        ),
        (["--one", "sim", "tally-stick", "fast", FAITHFUL, "1"], "tempo 'fast'"),
    ):
        assert main(["verdicts", "--font", "sim", "--count", "2", "--cache", "none", *asked]) == 2
        told = capsys.readouterr()
        assert told.err.startswith(line)
        assert told.err.count("\n") == 1
        assert told.out == ""
