"""Moves anywhere: whatever key, tuning and capo, what comes of it reads back, falls, and is told."""

from __future__ import annotations

import random

import pytest

from routines.checker.lick import faults
from routines.errors import BadRoutine
from routines.keys import CALLED
from routines.library import all_licks
from routines.lick import Lick
from routines.moving.answers import Moved
from routines.moving.move import move
from routines.neck import OPEN_TUNINGS
from routines.tab import parse_lick, write_tab
from tests.in_turn import in_turn

KEYS = (*CALLED, "Eb", "Ab", "Db", "F#")


def somewhere(seed: int) -> tuple[Lick, str, str, int]:
    rng = random.Random(seed)
    return rng.choice(all_licks()), rng.choice(KEYS), rng.choice(list(OPEN_TUNINGS)), rng.randint(0, 9)


def moved(seed: int) -> tuple[Lick, Moved]:
    lick, key, tuning, capo = somewhere(seed)
    try:
        return lick, move(lick, key, tuning=tuning, capo=capo)
    except BadRoutine as error:
        if "lies nowhere on this neck" not in str(error):
            raise
        pytest.skip(str(error))


@in_turn("seed", range(24))
def test_what_comes_of_it_reads_back_and_its_sevens_fall_as_they_did(seed: int) -> None:
    lick, found = moved(seed)
    answer = found.fingering
    there = answer.lick
    assert parse_lick(write_tab(there), there.file) == there
    assert answer.exact == (not answer.altered)
    by_source = {old: new for new, old in enumerate(answer.sources)}
    for ask in lick.sevenths:
        if ask.how == "resolve" and ask.due_note in by_source and ask.note in by_source:
            seven, due = there.notes[by_source[ask.note]], there.notes[by_source[ask.due_note]]
            assert due.midi - seven.midi == lick.notes[ask.due_note].midi - lick.notes[ask.note].midi
    if answer.exact:
        steps = {
            note.midi - lick.notes[old].midi
            for note, old in zip(there.notes, answer.sources, strict=True)
            if lick.notes[old].role != "drone"
        }
        assert steps == {answer.half_steps}


@in_turn("seed", range(100, 124))
def test_in_the_keys_that_jams_call_every_result_passes_the_checker(seed: int) -> None:
    rng = random.Random(seed)
    lick, key = rng.choice(all_licks()), rng.choice(CALLED)
    answer = move(lick, key).fingering
    own = {fault.check for fault in faults(lick)}
    assert answer.playable
    assert {fault.check for fault in faults(answer.lick)} <= own
