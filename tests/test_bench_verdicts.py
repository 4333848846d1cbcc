"""A small share of the verdicts bench: from the sound of a lick to what became of its seven."""

from __future__ import annotations

import pytest

from feedback.errors import CannotDo
from feedback.mistakes import MISTAKES as PLAYER_MISTAKES
from routines.library import load
from routines.outcome import SeventhVerdict
from tests.bench.fluid import font_path
from tests.bench.verdicts import FAITHFUL, MISTAKES, Tally, compared, table

TOLD_APART = (FAITHFUL, "left-hanging", "seven-missing", "seven-swallowed", "seven-late")


def _font(font: str) -> str:
    if font != "sim":
        try:
            font_path(font)
        except CannotDo as error:
            pytest.skip(str(error))
    return font


def _due(sevens: tuple[SeventhVerdict, ...]) -> SeventhVerdict:
    return sevens[-1]


@pytest.mark.parametrize("font", ["sim", "fluid"])
@pytest.mark.parametrize("lick", ["slab-wood-supper", "tally-stick", "two-chalk-marks"])
def test_what_became_of_the_seven_is_told_apart(lick: str, font: str) -> None:
    said = {}
    for mistake in TOLD_APART:
        pair = compared(load(lick), _font(font), mistake, 80.0, 3)
        assert pair is not None
        truth, heard = pair
        seven = _due(heard.sevenths)
        said[mistake] = (seven.sounded, seven.landed, seven.swallowed, seven.resolution)
        played = _due(truth.sevenths)
        assert said[mistake] == (played.sounded, played.landed, played.swallowed, played.resolution), mistake
        assert heard.clean is (mistake == FAITHFUL)
    assert len(set(said.values())) == len(TOLD_APART)


def test_start_and_tempo_are_found_in_the_sound() -> None:
    pair = compared(load("slab-wood-supper"), "sim", "left-hanging", 84.0, 1, found=True)
    assert pair is not None
    truth, heard = pair
    assert heard.start_found
    assert heard.start_sec == pytest.approx(truth.start_sec, abs=0.02)
    assert heard.tempo_half_bpm == pytest.approx(84.0, rel=0.02)
    assert _due(heard.sevenths).resolution == "hanging"


def test_a_mistake_that_a_lick_has_no_place_for_is_left_out() -> None:
    assert compared(load("sawdust-in-the-coffee"), "sim", "left-hanging", 80.0, 0) is None


def test_the_table_has_a_row_for_each_mistake_and_one_for_all() -> None:
    asked = [FAITHFUL, "left-hanging"]
    rows = list(table([load("tally-stick")], "sim", range(1), mistakes=asked))
    assert [row.split()[0] for row in rows] == [*asked, "all"]


def test_every_mistake_of_the_table_is_one_that_the_player_can_make() -> None:
    assert set(MISTAKES) - {FAITHFUL} <= set(PLAYER_MISTAKES)


def test_the_tally_counts_what_differs() -> None:
    pair = compared(load("tally-stick"), "sim", "left-hanging", 80.0, 3)
    assert pair is not None
    truth, heard = pair
    same, other = Tally(), Tally()
    same.add(truth, heard)
    faithful = compared(load("tally-stick"), "sim", FAITHFUL, 80.0, 3)
    assert faithful is not None
    other.add(truth, faithful[1])
    assert same.counts["resolution"] == same.counts["sevens"] == 1
    assert other.counts["resolution"] == 0
    assert "where 0.000" in other.line("x")
