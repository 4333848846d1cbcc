"""Passes with slips: what was taken away or moved, and that nothing else was touched."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from itertools import pairwise, product

import pytest

from feedback.candidates import last_sevens
from feedback.performance import perform
from feedback.played import PlayedNote
from routines.errors import BadRoutine
from routines.library import load
from tests.bench.unplayed import (
    DRONE,
    KINDS,
    LAST_EIGHTHS,
    LEAD_SEC,
    LEFT_OUT,
    ONE_OF_A_PINCH,
    REPLACED,
    Altered,
    altered,
    by_target,
    pinches,
)
from tests.few import few_licks

TEMPO = 80.0
SEEDS = range(2)


@cache
def made(lick: str, *kinds: str, seed: int = 0) -> Altered:
    return altered(load(lick), tempo_half_bpm=TEMPO, seed=seed, kinds=kinds)


@cache
def faithful(lick: str, seed: int) -> dict[int, PlayedNote]:
    start_sec = LEAD_SEC + load(lick).pickup_quarters * 30.0 / TEMPO
    return by_target(load(lick), perform(load(lick), tempo_half_bpm=TEMPO, seed=seed, start_sec=start_sec))


def struck(notes: tuple[PlayedNote, ...]) -> set[tuple[float, int, int]]:
    return {(note.onset_sec, note.midi, note.string) for note in notes}


@pytest.mark.parametrize("kind", KINDS)
def test_one_note_is_taken_away_or_moved_and_no_other(kind: str) -> None:
    for lick in few_licks():
        try:
            one = made(lick.id, kind)
        except BadRoutine:
            continue
        before = faithful(lick.id, 0)
        (slip,) = one.slips
        gone = struck(tuple(before.values())) - struck(one.performance.notes)
        new = struck(one.performance.notes) - struck(tuple(before.values()))
        was = before[slip.target]
        assert gone == {(was.onset_sec, was.midi, was.string)}
        assert was.struck_midi in slip.asked
        assert slip.due_sec == pytest.approx(was.sounds_sec, abs=0.05)
        if slip.played is None:
            assert new == set()
        else:
            assert new == {(was.onset_sec, slip.played.midi, slip.played.string)}
        last = slip.target in last_sevens(lick.sevenths)
        reach = (slip.until_sec - slip.due_sec) / one.grid.eighth_sec
        assert reach == pytest.approx(LAST_EIGHTHS if last else 0.5)


@pytest.mark.parametrize("kind", KINDS)
def test_the_asked_pitch_is_not_played_near_its_place(kind: str) -> None:
    for lick in few_licks():
        try:
            one = made(lick.id, kind, seed=1)
        except BadRoutine:
            continue
        (slip,) = one.slips
        near = [
            note
            for note in one.performance.notes
            if abs(note.sounds_sec - slip.due_sec) <= 0.5 * one.grid.eighth_sec
        ]
        assert not {note.midi for note in near} & set(slip.asked)
        assert not {note.struck_midi for note in near} & set(slip.asked)


@pytest.mark.parametrize("kind", [kind for kind in REPLACED if kind != ONE_OF_A_PINCH])
def test_a_replaced_note_is_as_far_off_as_its_kind_says(kind: str) -> None:
    steps = set()
    for lick, seed in product(few_licks(), SEEDS):
        one = made(lick.id, kind, seed=seed)
        (slip,) = one.slips
        assert slip.played is not None
        step = slip.played.midi - faithful(lick.id, seed)[slip.target].midi
        assert kind == DRONE or step in REPLACED[kind]
        assert kind != DRONE or (slip.played.string, slip.played.fret) == (5, 0)
        assert lick.neck.midi(slip.played.string, slip.played.fret) == slip.played.midi
        steps.add(step)
    assert len(steps) > 1


@pytest.mark.parametrize("kinds", list(zip(KINDS, (*KINDS[1:], LEFT_OUT), strict=True)))
def test_no_string_sounds_two_notes_and_no_slur_hangs_in_the_air(kinds: tuple[str, ...]) -> None:
    for lick in few_licks():
        try:
            notes = made(lick.id, *kinds).performance.notes
        except BadRoutine:
            continue
        for string in range(1, 6):
            line = [note for note in notes if note.string == string]
            assert not line or line[0].picked
            for note, after in pairwise(line):
                assert note.onset_sec + note.duration_sec <= after.onset_sec + 1e-9
                assert after.picked or after.midi != note.midi


def test_what_sounded_before_rings_on_under_a_note_that_was_left_out() -> None:
    longer = 0
    for seed in range(8):
        one = made("backward-roll", LEFT_OUT, seed=seed)
        before, (slip,) = faithful("backward-roll", seed), one.slips
        gone = before[slip.target]
        earlier = [n for n in before.values() if n.string == gone.string and n.onset_sec < gone.onset_sec]
        if earlier:
            last = max(earlier, key=lambda n: n.onset_sec)
            now = next(n for n in one.performance.notes if n.onset_sec == last.onset_sec)
            assert now.duration_sec >= last.duration_sec
            longer += now.duration_sec > last.duration_sec + 0.1
    assert longer


def test_only_notes_by_themselves_are_left_out_and_a_pinch_keeps_its_other_voice() -> None:
    drill = "guide-tone-pinches"
    assert pinches(load(drill)) == 17
    with pytest.raises(BadRoutine, match="guide-tone-pinches: no place for a note left out"):
        made(drill, LEFT_OUT)
    for seed in SEEDS:
        one = made(drill, ONE_OF_A_PINCH, seed=seed)
        near = [n for n in one.performance.notes if abs(n.onset_sec - one.slips[0].due_sec) < 0.03]
        assert len(near) == 1
    with pytest.raises(BadRoutine, match="no place for a note one of a pinch"):
        made("tally-stick", ONE_OF_A_PINCH)


def test_one_of_two_strings_at_a_pitch_cannot_be_missed() -> None:
    roll = load("backward-roll")
    drone = roll.notes[2]
    assert drone.string == 5
    double = replace(drone, string=1, fret=5)
    other = replace(drone, string=1, fret=4, midi=drone.midi - 1)
    for second, room in ((other, True), (double, False)):
        lick = replace(roll, notes=(*roll.notes[:2], drone, second))
        if room:
            assert altered(lick, tempo_half_bpm=TEMPO, seed=0, kinds=(ONE_OF_A_PINCH,)).slips
        else:
            with pytest.raises(BadRoutine):
                altered(lick, tempo_half_bpm=TEMPO, seed=0, kinds=(ONE_OF_A_PINCH,))


def test_a_pitch_is_moved_only_to_a_string_that_nobody_strikes_meanwhile() -> None:
    moved = 0
    for lick, seed in product(("first-log-up", "guide-tone-pinches"), range(9, 20)):
        one = made(lick, "half step off", seed=seed)
        new = one.slips[0].played
        assert new is not None
        if new.string != one.grid.lick.notes[one.slips[0].target].string:
            line = [note for note in one.performance.notes if note.string == new.string]
            gaps = [abs(note.onset_sec - new.onset_sec) for note in line if note.midi != new.midi]
            assert min(gaps, default=1.0) > 0.5 * one.grid.eighth_sec
            moved += 1
    assert moved


def test_two_slips_of_a_pass_lie_two_eighths_apart() -> None:
    for seed in range(8):
        one = made("forward-roll", LEFT_OUT, "half step off", seed=seed)
        first, second = (one.grid.lick.notes[slip.target].onset_quarters for slip in one.slips)
        assert abs(first - second) >= 1.0
        assert one.performance.mistakes == (LEFT_OUT, "half step off")


def test_a_pass_follows_from_what_was_planned() -> None:
    assert made("tally-stick", LEFT_OUT, DRONE, seed=5) == made("tally-stick", LEFT_OUT, DRONE, seed=5)
    assert len({made("tally-stick", LEFT_OUT, seed=seed).slips[0].target for seed in range(12)}) > 2
