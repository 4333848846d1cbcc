"""The licks that come with the program: that they load, are found, and are what a hand can play."""

from __future__ import annotations

import itertools
from collections import Counter
from pathlib import Path

import pytest

from routines.errors import BadLickText, BadRoutine
from routines.library import (
    all_licks,
    changes_of,
    find,
    is_path,
    load,
    shape_changes_of,
    techniques_of,
)
from routines.lick import Lick
from routines.tab import write_tab

EACH = pytest.mark.parametrize("lick", all_licks(), ids=lambda lick: lick.id)
LICKS = [lick for lick in all_licks() if lick.kind == "lick"]
FALLING = [lick for lick in LICKS if any(ask.how != "colour" for ask in lick.sevenths)]


def ids(query: str) -> list[str]:
    return [lick.id for lick in find(query)]


def last_seven(lick: Lick) -> int:
    """Index of the last seven before the first change."""
    return max(a.note for a in lick.sevenths if a.change_quarters == lick.sevenths[0].change_quarters)


class TestLoading:
    @EACH
    def test_by_its_id_in_any_case(self, lick: Lick) -> None:
        assert load(lick.id.upper()) == lick
        assert Path(lick.file).name == f"{lick.id}.lick"

    def test_an_unknown_name_is_answered_with_the_nearest(self) -> None:
        with pytest.raises(BadRoutine, match="'foward-roll': the nearest is forward-roll"):
            load("foward-roll")

    def test_a_name_near_to_none_is_answered_with_all(self) -> None:
        with pytest.raises(BadRoutine, match=r"there are .*slab-wood-supper"):
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


class TestFinding:
    def test_nothing_asked_finds_all_licks_first_rolls_last(self) -> None:
        assert find("") == all_licks()
        assert [kind for kind, _ in itertools.groupby(lick.kind for lick in all_licks())] == [
            "lick",
            "drill",
            "roll",
        ]

    @pytest.mark.parametrize("query", ["A7-D", "a7-d", "A7–D", "  A7-D  "])
    def test_by_change(self, query: str) -> None:
        assert ids(query) == ["pond-mans-lean", "tally-stick", "the-edgers-nod", "index-led-roll"]

    def test_under_a_capo_by_what_sounds_and_by_shapes(self) -> None:
        assert "cant-hook-shuffle" in ids("E7-A")
        assert "cant-hook-shuffle" in ids("D7-G")

    def test_every_word_must_fit(self) -> None:
        assert ids("A7-D easy") == ["tally-stick"]
        assert ids("easy A7-D quick") == []

    def test_a_key_is_not_a_word_of_a_title(self) -> None:
        assert {lick.key for lick in find("A")} == {"A"}
        assert {lick.key for lick in find("b")} == {"B"}

    @pytest.mark.parametrize(
        ("query", "expected"),
        [
            ("choke", ["sawdust-in-the-coffee"]),
            ("waltz", ["log-deck-waltz"]),
            ("3/4", ["log-deck-waltz"]),
            ("chalk", ["two-chalk-marks"]),
            ("saw coffee", ["sawdust-in-the-coffee"]),
            ("drill", ["guide-tone-pinches"]),
            ("nothing-of-ours", []),
            ("sl", []),
        ],
    )
    def test_by_other_words(self, query: str, expected: list[str]) -> None:
        assert ids(query) == expected

    def test_by_hand_and_technique(self) -> None:
        assert set(ids("quick")) == {"off-the-green-chain", "trimmers-choice"}
        assert set(ids("slide")) == {"the-edgers-nod", "trimmers-choice"}


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
    """The house rules for licks that can be counted."""

    def test_what_there_must_be(self) -> None:
        changes = Counter(change for lick in LICKS for change in changes_of(lick))
        assert changes["A7-D"] >= 2
        assert changes["E7-A"] >= 2
        assert changes["D7-G"] >= 2
        assert changes["G7-C"] >= 1
        assert changes["C7-F"] >= 1
        assert len(LICKS) >= 10
        assert [lick.id for lick in LICKS if lick.meter == "3/4"]
        assert [lick.id for lick in LICKS if lick.pickup_quarters]
        assert [lick.id for lick in LICKS if lick.neck.capo == 2]
        assert {"easy", "ready", "quick"} == {lick.hand for lick in LICKS}
        used = {technique for lick in LICKS for technique in techniques_of(lick)}
        assert used == {"hammer", "pull", "slide", "choke", "pinch"}

    def test_no_string_has_more_than_two_fifths_of_the_sevens(self) -> None:
        strings = Counter(lick.notes[last_seven(lick)].string for lick in LICKS)
        assert max(strings.values()) <= 2 / 5 * len(LICKS)

    def test_no_place_in_the_bar_has_more_than_a_quarter_of_the_sevens(self) -> None:
        places = Counter(lick.notes[last_seven(lick)].onset_quarters % lick.quarters_a_bar for lick in LICKS)
        assert max(places.values()) <= len(LICKS) / 4

    def test_a_third_resolve_other_than_on_the_downbeat(self) -> None:
        off = [
            lick for lick in FALLING if lick.sevenths[-1].place_quarters != lick.sevenths[-1].change_quarters
        ]
        assert len(off) >= len(FALLING) / 3

    def test_all_titles_and_what_they_train_differ(self) -> None:
        assert len({lick.title for lick in all_licks()}) == len(all_licks())
        assert len({lick.trains for lick in all_licks()}) == len(all_licks())

    @EACH
    def test_each_file_is_laid_out_as_the_writer_writes(self, lick: Lick) -> None:
        assert Path(lick.file).read_text(encoding="utf-8") == write_tab(lick)

    @EACH
    def test_each_has_a_seven_that_is_core_and_goes_where_it_is_written(self, lick: Lick) -> None:
        assert lick.sevenths
        for ask in lick.sevenths:
            assert lick.notes[ask.note].core
            assert ask.due_note is None or lick.notes[ask.due_note].core

    @EACH
    def test_no_finger_picks_twice_within_a_quarter(self, lick: Lick) -> None:
        picked = [note for note in lick.notes if note.finger]
        for a, b in itertools.combinations(picked, 2):
            if a.finger == b.finger:
                assert b.onset_quarters - a.onset_quarters >= 1.0

    @EACH
    def test_the_middle_stays_off_the_fourth_string_and_the_thumb_off_the_first(self, lick: Lick) -> None:
        assert not {("M", 4), ("M", 5), ("I", 5), ("T", 1)} & {(n.finger, n.string) for n in lick.notes}

    @pytest.mark.parametrize("lick", FALLING, ids=lambda lick: lick.id)
    def test_a_tail_after_the_resolution_and_room_to_breathe(self, lick: Lick) -> None:
        last = lick.sevenths[-1].place_quarters
        assert sum(note.onset_quarters > (last or 0) for note in lick.notes) >= 3
        assert max(note.duration_quarters for note in lick.notes) >= 1.0

    @pytest.mark.parametrize("lick", LICKS, ids=lambda lick: lick.id)
    def test_the_left_hand_reaches_what_it_holds_within_a_half_bar(self, lick: Lick) -> None:
        stopped = [note for note in lick.notes if note.fret]
        for a, b in itertools.combinations(stopped, 2):
            if b.onset_quarters - a.onset_quarters <= 1.0 and a.string != b.string:
                assert abs(a.fret - b.fret) <= 4
