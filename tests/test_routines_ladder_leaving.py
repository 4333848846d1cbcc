"""The tempo ladder, pass by pass: where an item is left for today."""

from __future__ import annotations

from dataclasses import replace

from routines.ladder.ladder import PassSeen
from tests.ladders import FOURS, KNOWN, begun


def test_what_is_not_clean_half_as_fast_either_is_left_for_today() -> None:
    sitting = begun(40.0, can_shrink=False)
    tempos = [sitting.plays("UUC").tempo_half_bpm for _ in range(9)]
    assert tempos == [37.0, 34.0, 31.0, 29.0, 27.0, 25.0, 23.0, 21.0, 20.0]
    assert sitting.ladder.phase == "climbing"
    assert sitting.plays("UUCC").phase == "over"
    assert sitting.ladder.said == "leave this one for today: listen to it, or check the sound"
    assert (sitting.ladder.tempo_half_bpm, sitting.plays("CCCC").tempo_half_bpm) == (20.0, 20.0)
    faster = begun(80.0, can_shrink=False)
    assert min(faster.plays("UUC").tempo_half_bpm for _ in range(20)) == 40.0
    assert faster.ladder.phase == "over"
    bare = begun(40.0, can_shrink=False, rules=replace(FOURS, floor_share=None, item_sec=1e6))
    assert bare.plays("UUC " * 40).phase == "over", "nothing is slower than 20"


def test_a_change_that_falls_twice_is_left_for_today_and_a_new_one_four_times() -> None:
    known = begun(60.0, KNOWN)
    assert [known.plays("UUC").phase for _ in range(4)] == ["climbing"] * 3 + ["over"]
    assert (known.ladder.unit, known.ladder.tempo_half_bpm) == ("whole", 72.0)
    new = begun(80.0)
    assert [new.plays("UUC").phase for _ in range(6)] == ["climbing"] * 5 + ["over"]
    again = begun(60.0, KNOWN)
    again.plays("UUC UUC UUC CCC UUC UUC")
    assert (again.ladder.unit, again.ladder.phase) == ("change", "climbing"), "it was clean in between"
    assert again.plays("UUC").phase == "over"


def test_the_first_fall_of_all_leaves_nothing() -> None:
    slow = begun(20.0, can_shrink=False)
    assert slow.plays("UUC").phase == "climbing"
    assert slow.ladder.said == "20 once more: the ladder goes no slower"
    assert slow.plays("UUC").phase == "over"


def test_a_chosen_tempo_in_the_turn_in_which_it_was_to_be_left_goes_on() -> None:
    sitting = begun(20.0, can_shrink=False)
    ladder = sitting.plays("UUC")
    for sec in (30.0, 39.0):
        seen = PassSeen(tempo_half_bpm=20.0, clean=False, sitting_sec=sec, lasted_sec=4.0)
        ladder = ladder.after(seen)
    assert ladder.turn_over(42.0).phase == "over"
    assert ladder.at(40.0).turn_over(42.0).phase == "climbing"


def test_the_floor_is_a_share_of_where_the_sitting_began() -> None:
    sitting = begun(60.0, KNOWN, can_shrink=False)
    assert min(sitting.plays("UUC").tempo_half_bpm for _ in range(12)) == 42.0


def test_what_the_player_chooses_under_the_floor_is_not_sped_up() -> None:
    sitting = begun(80.0, can_shrink=False)
    sitting.ladder = sitting.ladder.at(30.0)
    assert (sitting.plays("UUC").tempo_half_bpm, sitting.ladder.phase) == (30.0, "climbing")
    assert (sitting.plays("UUC").tempo_half_bpm, sitting.ladder.phase) == (30.0, "over")
