"""The tempo ladder, pass by pass: where it begins, rises, falls and shrinks; worked by hand."""

from __future__ import annotations

from dataclasses import replace

import pytest

from routines.ladder.ladder import PassSeen
from routines.ladder.levels import Tried
from routines.ladder.standing import Standing
from tests.ladders import FOURS, KNOWN, begun

TWO_FALLS = replace(FOURS, falls_a_turn=2)


def test_nothing_known_begins_where_it_is_told() -> None:
    ladder = begun(82.4).ladder
    assert (ladder.tempo_half_bpm, ladder.unit, ladder.phase, ladder.said) == (82.0, "whole", "climbing", "")
    assert ladder.edge_half_bpm is None


def test_begins_at_85_percent_of_the_edge() -> None:
    ladder = begun(60.0, KNOWN).ladder
    assert ladder.tempo_half_bpm == 85.0
    assert ladder.said == "85 % of the edge, which was at 100"
    assert (ladder.home_half_bpm, ladder.edge_half_bpm, ladder.reach_half_bpm) == (93.0, 100.0, 104.0)


def test_where_no_edge_was_found_it_begins_under_what_was_clean() -> None:
    easy = Tried(tempo_half_bpm=80.0, clean=20, unclean=0, days_ago=1)
    clean = Standing(tried=(easy, replace(easy, tempo_half_bpm=110.0, clean=1, unclean=1)))
    assert begun(120.0, clean).ladder.tempo_half_bpm == 68.0
    unclean = Standing(tried=(Tried(tempo_half_bpm=80.0, clean=0, unclean=4, days_ago=1),))
    assert begun(120.0, unclean).ladder.tempo_half_bpm == 74.0
    assert begun(60.0, unclean).ladder.tempo_half_bpm == 60.0


@pytest.mark.parametrize(
    ("first", "marks", "tempo"),
    [
        (80.0, "CC", 80.0),
        (80.0, "CCC", 83.0),
        (80.0, "CCCC", 83.0),
        (80.0, "CCCU", 80.0),
        (80.0, "CCC?", 83.0),
        (80.0, "CUCC C", 83.0),
        (80.0, "CC?U CCU", 80.0),
        (80.0, "C?CC", 83.0),
        (40.0, "CCC", 42.0),
        (52.0, "CCC", 54.0),
        (24.0, "CCC", 26.0),
        (80.0, "UCUC UCUC", 80.0),
        (80.0, "UU", 74.0),
        (80.0, "U?U", 74.0),
        (80.0, "UCCU U", 74.0),
        (80.0, "UUCC", 74.0),
        (80.0, "UUUC", 74.0),
        (80.0, "UUUU", 74.0),
        (80.0, "UUUUUU", 74.0),
        (80.0, "CCCU U", 74.0),
        (21.0, "UU", 20.0),
        (20.0, "UU", 20.0),
    ],
)
def test_rises_and_falls(first: float, marks: str, tempo: float) -> None:
    assert begun(first).plays(marks).tempo_half_bpm == tempo


def test_what_is_said() -> None:
    assert begun().plays("CCC").said == "three clean in a row: up to 83"
    assert begun().plays("CCCU").said == "three clean, the next not: 80 once more"
    assert begun().plays("CC CCU").said == "four clean, the next not: 80 once more"
    assert begun().plays("UU").said == "two in a row not clean: down to 74"
    assert begun(rules=TWO_FALLS).plays("UUUU").said == "four in a row not clean: down to 68"
    assert begun().plays("CCC CC").said == ""
    assert begun(60.0, KNOWN).plays("CC").said == ""


def test_rows_begin_anew_at_another_tempo() -> None:
    sitting = begun()
    assert sitting.plays("CCCC").row == 0
    assert sitting.plays("CC").row == 2
    assert sitting.plays("C").tempo_half_bpm == 86.0


def test_rises_are_smaller_near_the_edge() -> None:
    sitting = begun(60.0, KNOWN)
    assert sitting.plays("CCC").tempo_half_bpm == 88.0
    assert sitting.plays("CCC CCC").tempo_half_bpm == 96.0
    assert sitting.plays("CCC").tempo_half_bpm == 98.0
    assert sitting.ladder.said == "three clean in a row, near the edge: up to 98"


def test_the_second_fall_shrinks_the_unit_and_the_change_leads_back_to_the_whole() -> None:
    sitting = begun()
    sitting.plays("UUCC")
    shrunk = sitting.plays("UUCU")
    assert (shrunk.tempo_half_bpm, shrunk.unit) == (74.0, "change")
    assert shrunk.said == "two in a row not clean again: the change by itself"
    back = sitting.plays("CCCU")
    assert (back.tempo_half_bpm, back.unit) == (74.0, "whole")
    assert back.said == "the change is clean: all of it again at 74"


def test_in_reach_each_second_fall_shrinks_the_unit() -> None:
    tried = tuple(
        Tried(tempo_half_bpm=tempo, clean=clean, unclean=unclean, days_ago=1)
        for tempo, clean, unclean in ((80.0, 60, 1), (90.0, 56, 4), (100.0, 40, 10), (110.0, 6, 40))
    )
    sitting = begun(60.0, replace(KNOWN, tried=tried))
    sitting.ladder = sitting.ladder.at(96.0)
    played = [(sitting.plays(marks).tempo_half_bpm, sitting.ladder.unit) for marks in ("UUC", "UUC", "CCC")]
    assert played == [(88.0, "whole"), (88.0, "change"), (88.0, "whole")]
    assert (sitting.plays("UUC").tempo_half_bpm, sitting.ladder.unit) == (81.0, "whole")
    assert (sitting.plays("UUC").tempo_half_bpm, sitting.ladder.unit) == (81.0, "change")


def test_two_falls_in_one_turn_count_as_one_toward_shrinking() -> None:
    sitting = begun(rules=TWO_FALLS)
    assert sitting.plays("UUUU").tempo_half_bpm == 68.0
    sitting = begun(rules=TWO_FALLS)
    assert (sitting.plays("UUUU").unit, sitting.plays("UU").unit) == ("whole", "change")
    assert sitting.ladder.tempo_half_bpm == 68.0


def test_a_turn_that_shrinks_the_unit_does_not_slow_it_too() -> None:
    shrunk = begun().plays("UU UUUU")
    assert (shrunk.tempo_half_bpm, shrunk.unit) == (74.0, "change")


def test_passes_of_the_next_turn_count_even_where_the_end_of_the_turn_was_not_told() -> None:
    ladder = begun().ladder
    for tempo in (80.0, 80.0, 80.0, 83.0, 83.0, 83.0):
        seen = PassSeen(tempo_half_bpm=tempo, clean=True, sitting_sec=9.0, lasted_sec=4.5)
        ladder = ladder.after(seen)
    assert ladder.tempo_half_bpm == 86.0


def test_a_change_that_fails_is_slowed() -> None:
    sitting = begun()
    sitting.plays("UU UU")
    assert sitting.ladder.unit == "change"
    slower = sitting.plays("UUC")
    assert (slower.tempo_half_bpm, slower.unit) == (68.0, "change")
    assert sitting.plays("CCC").unit == "whole"


def test_what_cannot_shrink_slows_each_time() -> None:
    sitting = begun(100.0, can_shrink=False)
    assert [sitting.plays("UUC").tempo_half_bpm for _ in range(3)] == [92.0, 85.0, 78.0]
    assert sitting.ladder.unit == "whole"


def test_far_over_reach_it_slows_where_it_has_shrunk_before() -> None:
    sitting = begun(60.0, KNOWN)
    sitting.ladder = sitting.ladder.at(140.0)
    assert sitting.plays("UUC").tempo_half_bpm == 129.0
    assert sitting.plays("UUC").unit == "change"
    sitting.plays("CCC UUC")
    assert (sitting.plays("UUC").unit, sitting.ladder.tempo_half_bpm) == ("whole", 109.0)


def test_in_reach_one_turn_holds_one_fall_only() -> None:
    assert begun(60.0, KNOWN, rules=TWO_FALLS).plays("UUUU").tempo_half_bpm == 78.0
