"""The matcher against every possible assignment of small cases, and its rules one by one."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import combinations, permutations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from feedback.candidates import Pair, bends, last_sevens, together
from feedback.grid import Grid, Habits
from feedback.heard import Sound, sounds_of
from feedback.judges.limits import Limits
from feedback.matcher import match
from tests.in_turn import in_turn
from tests.scores import START_SEC, A, grid_of, lick, play, target_at

EIGHTH = 0.1
PLAIN = lick("3/0 2/0 3/0+1/0 2/0 . 1/0", "G")


def _sound(place_eighths: float, midi: int, *, sure: bool = True, event: int = 0) -> Sound:
    return Sound(
        onset_sec=START_SEC + EIGHTH * place_eighths, midi=midi, level_db=-20.0, sure=sure, event=event
    )


def _all_ways(grid: Grid, sounds: Sequence[Sound]) -> tuple[int, int, int, float]:
    """The value of the best assignment, found by trying all of them."""
    notes = grid.lick.notes

    def fits(target: int, sound: Sound) -> bool:
        off = abs(sound.onset_sec - grid.due_sec(notes[target].onset_quarters))
        return off < EIGHTH - 1e-9 if sound.midi == notes[target].midi else off <= EIGHTH / 2 + 1e-9

    strokes = _strokes_of(sounds)
    best = (0, 0, 0, 0.0)
    for size in range(1, min(len(notes), len(sounds)) + 1):
        for heard in combinations(range(len(sounds)), size):
            for targets in permutations(range(len(notes)), size):
                if not _in_order([strokes[s] for s in heard], [notes[t].onset_quarters for t in targets]):
                    continue
                if not all(fits(t, sounds[s]) for t, s in zip(targets, heard, strict=True)):
                    continue
                off = [
                    abs(sounds[s].onset_sec - grid.due_sec(notes[t].onset_quarters))
                    for t, s in zip(targets, heard, strict=True)
                ]
                right = sum(sounds[s].midi == notes[t].midi for t, s in zip(targets, heard, strict=True))
                best = max(best, (size, right, sum(sounds[s].sure for s in heard), -sum(off)))
    return best


def _strokes_of(sounds: Sequence[Sound]) -> list[tuple[int, int]]:
    """Of each sound the number of its stroke (sounds within 30 ms of its first), and its place in the take.

    More than three together keep their order: the place counts only there.
    """
    firsts: list[int] = []
    for number, sound in enumerate(sounds):
        fresh = not firsts or sound.onset_sec - sounds[firsts[-1]].onset_sec > 0.030 + 1e-9
        firsts.append(number if fresh else firsts[-1])
    return [(first, k if firsts.count(first) > 3 else 0) for k, first in enumerate(firsts)]


def _in_order(strokes: Sequence[tuple[int, int]], quarters: Sequence[float]) -> bool:
    """Whether targets rise with the strokes that answer them; within one stroke they need not."""
    pairs = list(zip(strokes, quarters, strict=True))
    return not any(a < b and q > r for a, q in pairs for b, r in pairs)


def _value(pairs: Sequence[Pair]) -> tuple[int, int, int, float]:
    off = -sum(abs(pair.rest_sec) for pair in pairs)
    return len(pairs), sum(p.right for p in pairs), sum(p.sure for p in pairs), off


@settings(max_examples=100, deadline=None)
@given(
    st.lists(
        st.tuples(st.integers(-5, 55), st.sampled_from([55, 59, 62, 64]), st.booleans()),
        max_size=5,
    )
)
def test_no_assignment_is_better(heard: list[tuple[int, int, bool]]) -> None:
    grid = grid_of(PLAIN)
    sounds = [_sound(tenth / 10, midi, sure=sure) for tenth, midi, sure in sorted(heard)]
    pairs = match(grid, sounds, Habits())
    assert _value(pairs) == pytest.approx(_all_ways(grid, sounds))
    assert [pair.target for pair in pairs] == sorted({pair.target for pair in pairs})
    assert len({pair.sound for pair in pairs}) == len(pairs)
    strokes = _strokes_of(sounds)
    assert _in_order([strokes[p.sound] for p in pairs], [PLAIN.notes[p.target].onset_quarters for p in pairs])


def test_a_seven_as_late_as_the_note_after_it_is_heard_with_it_whichever_is_higher() -> None:
    seven, fall = target_at(A, "b1e8"), target_at(A, "b2e1")
    other = replace(
        A, notes=tuple(replace(n, midi=n.midi - 7) if k == seven else n for k, n in enumerate(A.notes))
    )
    for of in (A, other):
        grid = grid_of(of)
        late = grid.due_sec(of.notes[fall].onset_quarters)
        sounds = [
            Sound(onset_sec=late, midi=of.notes[k].midi, level_db=-20.0, sure=True, event=k)
            for k in sorted((seven, fall), key=lambda k: of.notes[k].midi)
        ]
        assert {(p.target, p.right) for p in match(grid, sounds, Habits())} == {(seven, True), (fall, True)}


def test_nothing_heard_and_nothing_asked() -> None:
    assert match(grid_of(A), [], Habits()) == []
    assert match(grid_of(lick(". . . .", "G")), [_sound(0, 55)], Habits()) == []


def test_every_sound_of_a_faithful_pass_is_given_to_its_target() -> None:
    grid = grid_of(A)
    pairs = match(grid, sounds_of(play(A), grid.limits), Habits())
    assert [(pair.target, pair.sound) for pair in pairs] == [(k, k) for k in range(15)]
    assert all(pair.right and pair.sure and abs(pair.rest_sec) < 1e-9 for pair in pairs)


def test_habits_are_taken_off_before_distances_are_compared() -> None:
    grid = grid_of(PLAIN)
    sounds = [_sound(0.45, 59)]
    # Half an eighth late and of B3: wrong for the G on e1, too early for the B on e2.
    assert [(p.target, p.right) for p in match(grid, sounds, Habits())] == [(1, True)]
    late = Habits(lean_sec=0.6 * EIGHTH)
    assert [(p.target, p.right) for p in match(grid, sounds, late)] == [(0, False)]


@pytest.mark.parametrize("first", [55, 62])
def test_the_voices_of_a_pinch_speak_in_any_order(first: int) -> None:
    grid = grid_of(PLAIN)
    second = {55: 62, 62: 55}[first]
    pairs = match(grid, [_sound(2.0, first), _sound(2.25, second)], Habits())
    assert [(PLAIN.notes[p.target].midi, p.right) for p in pairs] == [(55, True), (62, True)]


def test_a_note_just_before_a_pinch_is_not_one_of_its_voices() -> None:
    # The hammered D comes 50 ms before the pinch of G and D: sooner than two voices may lie apart at all.
    of = lick("3/0 2/0 5/0 1/0 2/0 1/0h1/2 3/2+1/2 .", "G")
    grid = grid_of(of)
    pairs = match(grid, sounds_of(play(of), grid.limits), Habits())
    assert [(p.target, p.sound) for p in pairs] == [(k, k) for k in range(len(of.notes))]


def test_swapped_notes_are_two_wrong_ones() -> None:
    sounds = sounds_of(play(A, "b1e2 =1/0 +8ms; b1e3 =2/1 -8ms"), Limits())
    pairs = {p.target: p for p in match(grid_of(A), sounds, Habits())}
    assert not pairs[1].right
    assert not pairs[2].right
    assert len(pairs) == 15


def test_a_seven_far_late_needs_the_nearer_target_to_be_answered() -> None:
    seven, fall = target_at(A, "b1e8"), target_at(A, "b2e1")
    grid = grid_of(A)
    answered = match(grid, sounds_of(play(A, "b1e8 +0.7e"), grid.limits), Habits())
    assert {p.target for p in answered} == set(range(15))
    silent = match(grid, sounds_of(play(A, "b1e8 +0.7e; b2e1 out"), grid.limits), Habits())
    assert {p.target for p in silent} == set(range(15)) - {seven}
    assert not next(p for p in silent if p.target == fall).right


def test_only_the_last_seven_may_be_later_than_an_eighth() -> None:
    assert last_sevens(A.sevenths) == {target_at(A, "b1e8")}
    chain = lick("2/1 1/0 2/1 3/2 2/0 1/3 5/0 1/3 | 1/2 5/0 1/2 5/0", "(D7 G7) C")
    assert {chain.notes[k].onset_quarters for k in last_sevens(chain.sevenths)} == {1.0, 3.5}


def test_a_choke_serves_one_target_only() -> None:
    of = lick("3/2 1/0 5/0 3/2 1/0 5/0 3/4c5 2/1 | 3/4 1/0 5/0 3/0", "D7 G")
    choke, after = target_at(of, "b1e7"), target_at(of, "b1e8")
    grid = grid_of(of)
    sounds = sounds_of(play(of, "b1e8 out; b1e7 arrives 0.7e"), grid.limits)
    pairs = {p.target: p for p in match(grid, sounds, Habits())}
    assert pairs[choke].right
    assert not sounds[pairs[choke].sound].moved
    assert after not in pairs


def test_a_hammer_may_be_heard_as_one_moving_note() -> None:
    # The ear took the pick of B and the hammered C as one event whose pitch moved: it answers two targets.
    of = lick("3/2 1/0 5/0 3/2 1/0 5/0 2/0 h2/1 | 2/0 1/0 5/0 3/0", "D7 G")
    grid = grid_of(of)
    sounds = sounds_of(play(of, "b1e8 out; b1e7 arrives 1.0e peaks 100"), grid.limits)
    pairs = {p.target: p for p in match(grid, sounds, Habits())}
    first, second = pairs[target_at(of, "b1e7")], pairs[target_at(of, "b1e8")]
    assert first.right
    assert second.right
    assert sounds[second.sound].moved
    assert sounds[first.sound].event == sounds[second.sound].event


def test_bends_are_strokes_whose_pitch_moves() -> None:
    of = lick("3/2c3 3/2s3/4 3/2 s3/4 2/0 h2/1 1/0 .", "G")
    assert [bends(of.notes, k) for k in range(len(of.notes))] == [True, True, *[False] * 5]


def test_together_lists_pinches() -> None:
    assert together(PLAIN.notes) == [[0], [1], [2, 3], [4], [5]]


class TestSounds:
    """What becomes of the path of a note that moves."""

    @in_turn(
        ("cents", "reached"),
        [
            (100, 60),
            (65, 60),
            (135, 60),
            (64, None),
            (136, None),
            (200, 61),
            (-100, 58),
            (40, None),
            (30, None),
        ],
    )
    def test_where_it_arrives(self, cents: int, reached: int | None) -> None:
        (event,) = play(lick("3/4c5", "G"), f"b1e1 peaks {cents} arrives 0.4e")
        sounds = sounds_of([event], Limits())
        assert sounds[0].reaches_midi == reached
        assert [s.midi for s in sounds if s.moved] == ([] if reached is None else [reached])
        assert all(s.has_path and s.event == 0 for s in sounds)

    def test_when_it_arrives(self) -> None:
        (event,) = play(lick("3/4c5", "G"), "b1e1 arrives 0.4e")
        moved = next(s for s in sounds_of([event], Limits()) if s.moved)
        assert moved.onset_sec == pytest.approx(START_SEC + 0.4 * EIGHTH)

    def test_unsure_and_settings(self) -> None:
        events = play(A, "b1e1 sure 0.34; b1e2 sure 0.35")
        assert [s.sure for s in sounds_of(events, Limits())][:3] == [False, True, True]
        assert [s.sure for s in sounds_of(events, Limits(sure=0.2))][:1] == [True]

    def test_by_onset_then_pitch(self) -> None:
        events = play(lick("3/0+1/0 2/0", "G"))
        assert [s.midi for s in sounds_of(reversed(events), Limits())] == [55, 62, 59]
