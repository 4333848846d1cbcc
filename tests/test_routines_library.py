"""The licks that come with the program: that they load, are found, and are what a hand can play."""

from __future__ import annotations

import itertools
from pathlib import Path

import pytest

from routines.errors import BadLickText, BadRoutine
from routines.library import (
    all_licks,
    changes_of,
    is_path,
    load,
    shape_changes_of,
    techniques_of,
)
from routines.tab import write_tab


class TestLoading:
    def test_by_its_id_in_any_case(self) -> None:
        for lick in all_licks():
            assert load(lick.id.upper()) == lick, lick.id
            assert Path(lick.file).name == f"{lick.id}.lick"

    def test_an_unknown_name_is_answered_with_the_nearest(self) -> None:
        with pytest.raises(BadRoutine, match="'foward-roll': the nearest: forward-roll"):
            load("foward-roll")

    def test_a_name_near_to_none_is_answered_with_how_to_see_all(self) -> None:
        with pytest.raises(BadRoutine, match=rf"there are {len(all_licks())}, sevenfall licks lists them"):
            load("qqq")

    def test_a_file_of_the_players_own(self, tmp_path: Path) -> None:
        file = tmp_path / "mine.lick"
        file.write_text(write_tab(load("tally-stick")), encoding="utf-8")
        lick = load(str(file))
        assert (lick.id, lick.file) == ("mine", str(file))
        assert lick.notes == load("tally-stick").notes

    @pytest.mark.parametrize("name", ["nowhere.lick", "nowhere/forward-roll", "no\\where"])
    def test_a_file_that_is_missing(self, name: str) -> None:
        assert is_path(name)
        with pytest.raises(FileNotFoundError):
            load(name)

    def test_a_faulty_file_is_told_with_its_path(self, tmp_path: Path) -> None:
        file = tmp_path / "bad.lick"
        file.write_text("title: Nothing\n", encoding="utf-8")
        with pytest.raises(BadLickText) as error:
            load(str(file))
        assert error.value.file == str(file)

    def test_a_file_in_another_encoding_is_told_where(self, tmp_path: Path) -> None:
        file = tmp_path / "latin.lick"
        file.write_bytes(b"title: Tally\nkey: G\ntrains: caf\xe9\n")
        with pytest.raises(BadLickText, match="0xe9 is not UTF-8") as error:
            load(str(file))
        assert (error.value.line, error.value.column) == (3, 12)


class TestFacts:
    def test_changes_are_those_that_sound_and_the_shapes_stand_beside(self) -> None:
        lick = load("trimmers-choice")
        assert (changes_of(lick), shape_changes_of(lick)) == (("F#7-B",), ("D7-G",))

    def test_a_drill_has_several_changes(self) -> None:
        assert changes_of(load("guide-tone-pinches")) == ("E7-A7", "A7-D7", "D7-G7", "G7-C7", "C7-F")

    def test_colour_alone_is_a_change_too(self) -> None:
        assert changes_of(load("sawdust-in-the-coffee")) == ("C7-G",)

    def test_techniques(self) -> None:
        assert techniques_of(load("trimmers-choice")) == ("pull", "slide", "pinch")
        assert techniques_of(load("forward-roll")) == ()


class TestTheSet:
    def test_licks_first_rolls_last(self) -> None:
        assert [kind for kind, _ in itertools.groupby(lick.kind for lick in all_licks())] == [
            "lick",
            "drill",
            "roll",
        ]

    def test_all_titles_and_what_they_train_differ(self) -> None:
        assert len({lick.title for lick in all_licks()}) == len(all_licks())
        assert len({lick.trains for lick in all_licks()}) == len(all_licks())

    def test_each_file_is_laid_out_as_the_writer_writes(self) -> None:
        for lick in all_licks():
            assert Path(lick.file).read_text(encoding="utf-8") == write_tab(lick), lick.id
