"""The tempo ladder, pass by pass: what holds it, what counts neither way, the player's wish, and its end."""

from __future__ import annotations

from dataclasses import replace

import pytest

from routines.errors import BadRoutine
from routines.ladder.ladder import Ladder
from routines.ladder.levels import Tried
from routines.ladder.rules import LADDER
from routines.ladder.standing import Standing
from tests.ladders import FOURS, KNOWN, begun


def test_nothing_rises_in_the_first_two_minutes_and_each_turn_says_how_long_that_lasts() -> None:
    sitting = begun(80.0, rules=replace(FOURS, still_sec=120.0, held_rungs=1))
    held = sitting.plays("CCC")
    assert (held.tempo_half_bpm, sitting.sec) == (80.0, 20.5)
    assert held.said == held.held == "the first two minutes are for settling in: no rise yet, 1:40 to go"
    assert sitting.plays("CCC").said == "the first two minutes are for settling in: no rise yet, 1:19 to go"
    sitting.plays("CCC CCC CC")
    assert sitting.ladder.said.endswith("0:22 to go")
    assert (sitting.ladder.tempo_half_bpm, sitting.ladder.row) == (80.0, 14)
    sitting.sec = 121.0
    risen = sitting.ladder.turn_over(sitting.sec)
    assert (risen.tempo_half_bpm, risen.row, risen.held) == (83.0, 0, "")
    assert risen.said == "14 clean in a row: up to 83"


def test_a_held_row_is_worth_two_rungs_at_most() -> None:
    sitting = begun(80.0, rules=replace(FOURS, still_sec=120.0))
    sitting.plays("CCC CCC CCC")
    assert sitting.ladder.turn_over(121.0).tempo_half_bpm == 86.0


def test_nothing_rises_where_spread_is_wider_than_at_home_and_each_turn_says_so() -> None:
    stands = replace(KNOWN, home_spread_ms=10.0)
    sitting = begun(60.0, stands)
    sitting.spread_ms = 13.1
    assert sitting.plays("CCCC").said == "spread 13 ms, at home 10: no rise yet"
    sitting.spread_ms = 25.0
    assert [sitting.plays("CCC").said for _ in range(2)] == ["spread 25 ms, at home 10: no rise yet"] * 2
    assert sitting.ladder.tempo_half_bpm == 85.0
    sitting.spread_ms = 13.0
    assert sitting.plays("C").tempo_half_bpm == 85.0, "the middle of the last three is still wide"
    assert sitting.plays("C").tempo_half_bpm > 85.0


def test_spread_of_another_tempo_holds_nothing() -> None:
    sitting = begun(60.0, replace(KNOWN, home_spread_ms=10.0))
    sitting.spread_ms = 20.0
    assert sitting.plays("CCC").held
    sitting.ladder, sitting.spread_ms = sitting.ladder.at(86.0), None
    assert sitting.plays("CCC").tempo_half_bpm > 86.0


def test_at_most_5_percent_over_the_weeks_best() -> None:
    sitting = begun(60.0, replace(KNOWN, week_best_half_bpm=82.0))
    assert sitting.plays("CCC").tempo_half_bpm == 86.0
    line = "5 % over the week's best, 82: no faster than 86 this sitting"
    for _ in range(3):
        assert (sitting.plays("CCC").tempo_half_bpm, sitting.ladder.said) == (86.0, line)
    assert begun(60.0, replace(KNOWN, week_best_half_bpm=70.0)).ladder.said.startswith("5 % over")


def test_the_week_limits_an_item_whose_edge_was_never_found_by_choice_only() -> None:
    easy = Tried(tempo_half_bpm=80.0, clean=20, unclean=0, days_ago=1)
    stands = Standing(tried=(easy,), week_best_half_bpm=80.0)
    assert begun(60.0, stands).plays("CCC " * 8).tempo_half_bpm == 93.0
    always = replace(FOURS, week_where_unfound=True)
    assert begun(60.0, stands, rules=always).plays("CCC " * 8).tempo_half_bpm == 84.0


def test_it_rises_no_farther_than_the_lick_goes() -> None:
    assert begun(80.0, fastest=81.9).plays("CCC").tempo_half_bpm == 81.0
    at_top = begun(80.0, fastest=80.0)
    assert [at_top.plays("CCC").said for _ in range(2)] == ["80 is as fast as this one goes"] * 2
    over = begun(60.0, KNOWN, fastest=80.0)
    assert (over.ladder.tempo_half_bpm, over.ladder.said) == (80.0, "80 is as fast as this one goes")
    closing = replace(over.ladder, spent_sec=600.0).turn_over(0.0)
    assert (closing.tempo_half_bpm, closing.phase) == (80.0, "closing")
    assert closing.said == "10 minutes of this one: once more at 80, then leave it", "home is faster"


def test_what_the_player_chooses_over_the_top_stays_but_for_falls() -> None:
    sitting = begun(60.0, KNOWN, fastest=80.0)
    sitting.ladder = sitting.ladder.at(120.0)
    for marks in ("CUCC", "CCC", "CCCU"):
        assert sitting.plays(marks).tempo_half_bpm == 120.0
    assert sitting.plays("CCC").said == "80 is as fast as this one goes; 120 stays"
    assert sitting.plays("UUC").tempo_half_bpm == 110.0


def test_the_ceiling_of_a_warm_up() -> None:
    warm = begun(60.0, KNOWN, rules=replace(FOURS, ceiling_share=0.8))
    line = "80 % of home, 93: no faster than 74 here"
    assert (warm.ladder.tempo_half_bpm, warm.ladder.said) == (74.0, line)
    assert warm.plays("CCC").said == line


def test_unclear_passes_count_neither_way_and_that_is_said_once() -> None:
    sitting = begun(80.0)
    sitting.plays("CC")
    said = [sitting.plays("??").said for _ in range(5)]
    line = "the last 4 passes could not be told: they count neither way, the tempo stays"
    assert said == ["", line, "", "", ""]
    assert (sitting.ladder.tempo_half_bpm, sitting.ladder.row) == (80.0, 2)
    assert sitting.plays("C").tempo_half_bpm == 83.0
    assert sitting.plays("????").said == line, "again, after passes that could be told"


def test_passes_of_the_change_alone_say_nothing_about_the_edge() -> None:
    sitting = begun()
    sitting.plays("UU UU CCC")
    assert sum(row.clean for row in sitting.ladder.today) == 0


def test_a_clock_that_goes_back_does_no_harm() -> None:
    sitting = begun()
    sitting.plays("C")
    again = sitting.ladder.turn_over(0.0)
    assert (again.sitting_sec, again.spent_sec) == (sitting.sec, sitting.ladder.spent_sec)


def test_the_player_may_choose_another_tempo_and_the_falls_stay() -> None:
    sitting = begun(80.0)
    sitting.plays("CC")
    sitting.ladder = sitting.ladder.at(96.0)
    assert (sitting.ladder.tempo_half_bpm, sitting.ladder.row) == (96.0, 0)
    assert sitting.plays("UUC").tempo_half_bpm == 88.0
    sitting.ladder = sitting.ladder.at(300.0)
    assert sitting.ladder.tempo_half_bpm == 240.0
    assert sitting.plays("UUC").unit == "change"


def test_passes_at_another_tempo_count_for_the_levels_and_in_no_row() -> None:
    sitting = begun(80.0)
    assert sitting.plays("CCC", tempo=60.0).tempo_half_bpm == 80.0
    assert sitting.ladder.row == 0
    assert sitting.ladder.today == (Tried(tempo_half_bpm=60.0, clean=3, unclean=0),)


def test_ten_minutes_then_one_pass_at_home_and_it_is_over() -> None:
    sitting = begun(60.0, KNOWN)
    while sitting.ladder.phase == "climbing":
        sitting.plays("CUCC")
    assert 600.0 <= sitting.sec < 630.0
    closing, home = sitting.ladder, sitting.ladder.home_half_bpm
    assert home is not None
    assert (closing.phase, closing.passes_next, closing.unit) == ("closing", 1, "whole")
    assert closing.tempo_half_bpm == round(home)
    assert closing.said == f"10 minutes of this one: {round(home)}, home tempo, then leave it"
    chosen = closing.at(70.0)
    assert (chosen.phase, chosen.tempo_half_bpm) == ("over", 70.0)
    over = sitting.plays("U")
    assert (over.phase, over.passes_next, over.tempo_half_bpm) == ("over", None, closing.tempo_half_bpm)
    assert sitting.plays("UUUU").tempo_half_bpm == closing.tempo_half_bpm


def test_where_home_is_not_known_the_last_pass_is_under_the_fastest_that_was_clean() -> None:
    sitting = begun(80.0, rules=replace(FOURS, item_sec=30.0))
    closing = sitting.plays("CCC CCC")
    assert (closing.phase, closing.tempo_half_bpm) == ("closing", float(round(0.85 * 83.0)))
    assert closing.said == "0 minutes of this one: once more at 71, then leave it"


def test_a_long_pause_is_no_practice_and_time_spent_before_counts() -> None:
    sitting = begun(80.0)
    sitting.plays("C")
    sitting.sec += 3600.0
    assert sitting.plays("C").spent_sec == pytest.approx(4.5 + 7.0 + 20.0 + 4.5 + 7.0)
    again = Ladder.begin(Standing(), first_half_bpm=80.0, can_shrink=True, sitting_sec=900.0, spent_sec=600.0)
    assert again.turn_over(900.0).phase == "closing"
    line = "its ten minutes of this sitting are over: once more at 80, then leave it"
    assert again.turn_over(900.0).said == line


def test_turns_are_of_three_far_under_the_edge() -> None:
    sitting = begun(60.0, KNOWN, rules=replace(LADDER, still_sec=0.0))
    assert sitting.ladder.passes_next == 3
    assert sitting.plays("CCC CCC CCC").tempo_half_bpm == 96.0
    assert sitting.ladder.passes_next is None
    fell = begun(60.0, KNOWN, rules=LADDER)
    assert fell.plays("UUC").passes_next is None
    new = begun(60.0, rules=LADDER)
    assert new.plays("CCC").passes_next == 3
    assert new.plays("CUC").passes_next is None


@pytest.mark.parametrize("fastest", [19.0, 241.0, float("nan")])
def test_a_fastest_tempo_out_of_range(fastest: float) -> None:
    with pytest.raises(BadRoutine, match="fastest tempo"):
        begun(80.0, fastest=fastest)


def test_a_tempo_that_is_none() -> None:
    with pytest.raises(BadRoutine, match="give a number"):
        begun(float("nan"))
    with pytest.raises(BadRoutine, match="give a number"):
        begun().ladder.at(float("inf"))


def test_that_passes_could_not_be_told_is_said_before_what_holds_a_rise() -> None:
    sitting = begun(80.0, rules=replace(FOURS, still_sec=120.0))
    assert sitting.plays("CCC").held
    assert sitting.plays("????").said.startswith("the last 4 passes could not be told")
    assert sitting.plays("?").said.startswith("the first two minutes")
