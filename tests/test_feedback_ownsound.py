"""Notes of our own that the microphone hears: what coincides with one is unclear, and nothing else is."""

from __future__ import annotations

from dataclasses import replace

import pytest

from feedback.grid import Grid
from feedback.judges.limits import Limits
from feedback.judges.ownsound import HEARD_DB, NEAR_SEC, at_once, heard
from feedback.judges.whole import Circumstances, judge_pass
from feedback.performance import perform
from feedback.played import as_heard
from routines.library import load

LICK = load("the-edgers-nod")
TEMPO = 80.0
GRID = Grid(lick=LICK, tempo_half_bpm=TEMPO, start_sec=1.0, limits=Limits())
HEARD = as_heard(perform(LICK, tempo_half_bpm=TEMPO, seed=3, start_sec=1.0))
MODEL = tuple(sorted((GRID.due_sec(note.onset_quarters), note.midi) for note in LICK.notes))


def test_a_note_near_in_time_and_of_the_same_pitch_coincides() -> None:
    own = ((1.0, 60), (1.5, 62))
    assert at_once(own, 60, 1.0 + NEAR_SEC)
    assert at_once(own, 62, 1.5 - NEAR_SEC)
    assert not at_once(own, 61, 1.0)
    assert not at_once(own, 60, 1.0 + 1.01 * NEAR_SEC)
    assert not at_once(own, 62, 1.0)
    assert not at_once((), 60, 1.0)


def test_what_next_to_nothing_comes_back_of_is_not_heard() -> None:
    own = ((1.0, 60),)
    assert heard(own, None) == own
    assert heard(own, HEARD_DB + 1.0) == own
    assert heard(own, HEARD_DB - 1.0) == ()


@pytest.mark.parametrize("events", [HEARD, []])
def test_with_the_lick_itself_sounding_every_note_is_unclear(events: list) -> None:
    judged = judge_pass(GRID, events, Circumstances(own=MODEL))
    assert {note.verdict for note in judged.outcome.notes} == {"unclear"}
    assert judged.outcome.extras == ()
    assert judged.played == ()
    assert judged.outcome.clean is None
    for seven in judged.outcome.sevenths:
        assert (seven.sounded, seven.landed, seven.due) == (None, None, None)


def test_only_what_coincides_is_unclear() -> None:
    plain = judge_pass(GRID, HEARD).outcome
    one = LICK.notes[4]
    own = ((GRID.due_sec(one.onset_quarters), one.midi),)
    found = judge_pass(GRID, HEARD, Circumstances(own=own)).outcome
    told = {note.index: note.verdict for note in found.notes}
    assert told.pop(4) == "unclear"
    assert told == {note.index: note.verdict for note in plain.notes if note.index != 4}


def test_what_is_added_and_ours_is_not_said() -> None:
    between = GRID.due_sec(2.25)
    stray = replace(HEARD[0], onset_sec=between, midi=61)
    assert len(judge_pass(GRID, [*HEARD, stray]).outcome.extras) == 1
    assert judge_pass(GRID, [*HEARD, stray], Circumstances(own=((between, 61),))).outcome.extras == ()


def test_what_is_left_of_the_backing_is_not_added_and_changes_no_verdict() -> None:
    plain = judge_pass(GRID, HEARD).outcome
    between = GRID.due_sec(2.25)
    stray = replace(HEARD[0], onset_sec=between, midi=61)
    everything = tuple(sorted({(note.onset_sec, note.midi) for note in HEARD} | {(between, 61)}))
    found = judge_pass(GRID, [*HEARD, stray], Circumstances(beside=everything)).outcome
    assert found.extras == ()
    assert [note.verdict for note in found.notes] == [note.verdict for note in plain.notes]
    assert found.clean == plain.clean


def test_what_is_left_of_the_backing_takes_no_silent_target_s_place() -> None:
    index = next(k for k, note in enumerate(LICK.notes) if note.core and note.onset_quarters > 1.0)
    due = GRID.due_sec(LICK.notes[index].onset_quarters)
    silent = [note for note in HEARD if abs(note.onset_sec - due) > 0.05]
    ghost = replace(HEARD[0], onset_sec=due + 0.01, midi=44)
    told = judge_pass(GRID, [*silent, ghost]).outcome.notes[index].verdict
    assert told == "wrong"
    found = judge_pass(GRID, [*silent, ghost], Circumstances(beside=((due, 44),)))
    assert found.outcome.notes[index].verdict == "missed"
