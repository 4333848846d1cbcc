"""What holds of every ladder, whatever is played on it."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import given, settings
from hypothesis import strategies as st

from routines.ladder.ladder import Ladder, PassSeen
from routines.ladder.levels import Levels, Tried
from routines.ladder.rules import LADDER
from routines.ladder.rungs import LEAVE
from routines.ladder.standing import Standing
from routines.tempo import SLOWEST_HALF_BPM

Turn = list[bool | None]
Course = list[tuple[Turn, Ladder, Ladder]]
"""Of each turn: what became of its passes, the ladder before it and the one after it."""

TURNS = st.lists(
    st.lists(st.sampled_from((True, True, True, False, None)), min_size=4, max_size=4), max_size=30
)
UNTIMED = settings(deadline=None)
FASTEST = st.integers(20, 240).map(float)


@st.composite
def standings(draw: st.DrawFn) -> Standing:
    """Nothing known, or an edge with a day's passes about it and perhaps a week's best."""
    edge = draw(st.none() | st.floats(30.0, 180.0))
    if edge is None:
        return Standing()
    levels = Levels(
        home_half_bpm=round(0.93 * edge, 1),
        edge_half_bpm=round(edge, 1),
        reach_half_bpm=round(1.04 * edge + 1.0, 1),
        low_half_bpm=round(0.95 * edge, 1),
        high_half_bpm=round(1.05 * edge, 1),
        passes=60,
    )
    tried = tuple(
        Tried(tempo_half_bpm=float(round(share * edge)), clean=clean, unclean=20 - clean, days_ago=1)
        for share, clean in ((0.8, 19), (0.9, 18), (1.0, 16), (1.1, 3))
    )
    return Standing(
        levels=levels,
        tried=tried,
        week_best_half_bpm=draw(st.none() | st.just(float(round(edge)))),
        home_spread_ms=draw(st.none() | st.just(10.0)),
    )


def played(ladder: Ladder, turns: list[Turn], sec: float = 0.0, spread_ms: float = 11.0) -> Course:
    course = []
    for turn in turns:
        before = ladder
        marks = turn[: before.passes_next or len(turn)]
        for mark in marks:
            sec += 4.5
            ladder = ladder.after(
                PassSeen(
                    tempo_half_bpm=before.tempo_half_bpm,
                    clean=mark,
                    spread_ms=spread_ms,
                    unit=before.unit,
                    sitting_sec=sec,
                    lasted_sec=4.5,
                )
            )
        sec += 7.0
        ladder = ladder.turn_over(sec)
        course.append((marks, before, ladder))
    return course


def at_the_end(ladder: Ladder, turns: list[Turn]) -> Ladder:
    course = played(ladder, turns)
    return course[-1][2] if course else ladder


def begun(standing: Standing, fastest: float, *, can_shrink: bool = True) -> Ladder:
    return Ladder.begin(
        standing, first_half_bpm=80.0, can_shrink=can_shrink, fastest_half_bpm=fastest, rules=LADDER
    )


@UNTIMED
@given(standings(), FASTEST, TURNS, st.booleans())
def test_tempos_are_whole_and_within_all_limits(
    standing: Standing, fastest: float, turns: list[Turn], can_shrink: bool
) -> None:
    ladder = begun(standing, fastest, can_shrink=can_shrink)
    best = standing.week_best_half_bpm
    top = max(ladder.tempo_half_bpm, min(fastest, 1.05 * best if best else fastest))
    for _, _, after in played(ladder, turns):
        assert after.tempo_half_bpm == int(after.tempo_half_bpm)
        assert SLOWEST_HALF_BPM <= after.tempo_half_bpm <= top
        assert can_shrink or after.unit == "whole"


@UNTIMED
@given(standings(), TURNS)
def test_nothing_rises_before_two_minutes(standing: Standing, turns: list[Turn]) -> None:
    for _, before, after in played(begun(standing, 240.0), turns):
        if after.sitting_sec < LADDER.still_sec:
            assert after.tempo_half_bpm <= before.tempo_half_bpm


@UNTIMED
@given(standings(), TURNS, st.sampled_from((0.0, 300.0)), st.sampled_from((11.0, 16.0)))
def test_a_clean_row_rises_unless_a_named_reason_holds_it(
    standing: Standing, turns: list[Turn], sec: float, spread_ms: float
) -> None:
    for marks, before, after in played(begun(standing, 110.0), turns, sec, spread_ms):
        told = [mark for mark in marks if mark is not None]
        if before.phase != "climbing" or after.phase != "climbing" or told[-3:] != [True] * 3:
            continue
        if (False in told[:2] and before.rungs.unclean_row) or told[:2] == [False, False]:
            continue  # a fall stands for its turn
        if before.unit == "change":
            assert (after.unit, after.tempo_half_bpm) == ("whole", before.tempo_half_bpm)
        elif after.held:
            assert after.tempo_half_bpm == before.tempo_half_bpm
            unclear = "the last 4 passes could not be told"
            assert after.said == after.held or after.said.startswith(unclear)
        else:
            assert after.tempo_half_bpm > before.tempo_half_bpm
            assert f"up to {after.tempo_half_bpm:g}" in after.said


@UNTIMED
@given(standings(), TURNS)
def test_it_falls_or_shrinks_only_after_two_unclean_in_a_row(standing: Standing, turns: list[Turn]) -> None:
    row = 0
    for marks, before, after in played(begun(standing, 240.0), turns):
        if before.phase != "climbing" or after.phase != "climbing":
            return
        longest = row
        for mark in marks:
            row = row if mark is None else 0 if mark else row + 1
            longest = max(longest, row)
        if after.tempo_half_bpm < before.tempo_half_bpm or (before.unit, after.unit) == ("whole", "change"):
            assert longest >= LADDER.unclean_to_fall
        least = 0.92 * before.tempo_half_bpm - 2.0
        assert after.tempo_half_bpm >= least, "no more than one fall in one turn"


@UNTIMED
@given(standings(), TURNS)
def test_unclear_passes_change_nothing(standing: Standing, turns: list[Turn]) -> None:
    after = ladder = at_the_end(begun(standing, 240.0), turns[:8])
    for number in range(6):
        seen = PassSeen(
            tempo_half_bpm=ladder.tempo_half_bpm,
            clean=None,
            unit=ladder.unit,
            sitting_sec=ladder.sitting_sec + 4.5 * (number + 1),
            lasted_sec=4.5,
        )
        after = after.after(seen)
        assert replace(after.rungs, said="") == replace(ladder.rungs, said="")
        assert after.today == ladder.today


@UNTIMED
@given(standings(), FASTEST, TURNS)
def test_the_last_pass_is_at_home_and_at_ease_where_home_is_not_known(
    standing: Standing, fastest: float, turns: list[Turn]
) -> None:
    clean_turns: list[Turn] = [[True] * 4] * 8
    course = played(replace(begun(standing, fastest), spent_sec=480.0), [*turns[:5], *clean_turns])
    closing = next((after for _, _, after in course if after.phase == "closing"), None)
    if closing is None:
        assert next(after.said for _, _, after in course if after.phase == "over") == LEAVE
        return
    home, clean = closing.home_half_bpm, max(row.tempo_half_bpm for row in closing.today if row.clean)
    assert (closing.unit, closing.passes_next) == ("whole", 1)
    if home is not None:
        assert closing.tempo_half_bpm == min(max(20.0, round(home)), fastest)
        assert ("home tempo" in closing.said) == (max(20.0, round(home)) <= fastest)
        assert f"{closing.tempo_half_bpm:g}" in closing.said
    else:
        assert closing.tempo_half_bpm <= clean
        assert "home tempo" not in closing.said
    assert course[-1][2].phase == "over"
    assert course[-1][2].tempo_half_bpm == closing.tempo_half_bpm


@UNTIMED
@given(standings(), TURNS)
def test_the_same_passes_give_the_same_ladder(standing: Standing, turns: list[Turn]) -> None:
    assert played(begun(standing, 240.0), turns) == played(begun(standing, 240.0), turns)


@UNTIMED
@given(standings(), TURNS, st.floats(20.0, 240.0))
def test_after_another_tempo_is_chosen_it_goes_on_from_there(
    standing: Standing, turns: list[Turn], tempo: float
) -> None:
    ladder = at_the_end(begun(standing, 240.0), turns[:6])
    moved = ladder.at(tempo)
    assert moved.tempo_half_bpm == round(tempo, 1)
    assert (moved.row, moved.unit, moved.spent_sec) == (0, ladder.unit, ladder.spent_sec)
    assert moved.rungs.falls == ladder.rungs.falls
    assert moved.turn_over(moved.sitting_sec).tempo_half_bpm == moved.tempo_half_bpm
