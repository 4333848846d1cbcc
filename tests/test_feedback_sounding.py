"""What is played in a part of a turn: click, backing, model, each at its place and level, in one sound."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from feedback.backing import BassNote, backing, render_backing
from feedback.clicking import strokes
from feedback.grid import Grid
from feedback.judges.limits import Limits
from feedback.modelling import plan_model
from feedback.practice_request import PracticeRequest
from feedback.session import after_count_in
from feedback.sound.click import render
from feedback.sound.mixing import CEILING_DB
from feedback.sounding import backing_notes, mixed, turn_sound
from routines.library import load
from tests.few import few_licks
from tests.in_turn import in_turn

RATE = 11025
LICK = load("the-edgers-nod")
PLAN = after_count_in(LICK, 100.0, passes=2)
REQUEST = PracticeRequest(lick=LICK, tempo_half_bpm=100.0)


def test_the_click_alone_is_the_click() -> None:
    sound, own = turn_sound(REQUEST, PLAN, RATE, first=False)
    click = render(strokes(PLAN, "halves"), rate=RATE, level_db=REQUEST.click_db, quiet_sec=0.0)
    assert np.array_equal(sound, click)
    assert own == ()


def test_the_first_count_in_begins_softly() -> None:
    first, _ = turn_sound(REQUEST, PLAN, RATE, first=True)
    later, _ = turn_sound(REQUEST, PLAN, RATE, first=False)
    begin = round(PLAN.first_start_sec * RATE)
    assert np.abs(first[: begin // 2]).max() < 0.8 * np.abs(later[: begin // 2]).max()
    assert np.array_equal(first[begin:], later[begin:])


def test_backing_and_model_lie_over_the_click_to_the_sample() -> None:
    sound, own = turn_sound(replace(REQUEST, backing=True, model=True), PLAN, RATE, first=False)
    parts = [
        turn_sound(REQUEST, PLAN, RATE, first=False)[0],
        render_backing(PLAN, rate=RATE, level_db=REQUEST.backing_db),
        plan_model(PLAN, rate=RATE, level_db=REQUEST.model_db)[0],
    ]
    whole = np.zeros(max(map(len, parts)))
    for part in parts:
        whole[: len(part)] += part
    np.testing.assert_allclose(sound, whole, rtol=0.0, atol=1e-6)
    assert {midi for _, midi in own} >= {note.midi for note in LICK.notes}


def test_levels_are_their_own() -> None:
    plain, _ = turn_sound(REQUEST, PLAN, RATE, first=False)
    softer, _ = turn_sound(replace(REQUEST, backing=True, backing_db=-46.0), PLAN, RATE, first=False)
    louder, _ = turn_sound(replace(REQUEST, backing=True, backing_db=-26.0), PLAN, RATE, first=False)
    padded = np.zeros(len(louder))
    padded[: len(plain)] = plain
    np.testing.assert_allclose(louder - padded, 10.0 * (softer - padded), rtol=0.0, atol=1e-5)


@in_turn("lick", few_licks(), ids=lambda lick: lick.id)
def test_the_model_has_every_target_of_every_pass_at_its_place(lick) -> None:
    plan = after_count_in(lick, 60.0, passes=2)
    _, own = plan_model(plan, rate=8000)
    for start in plan.starts_sec:
        grid = Grid(lick=lick, tempo_half_bpm=60.0, start_sec=start, limits=Limits())
        for note in lick.notes:
            due = grid.due_sec(note.onset_quarters)
            assert any(midi == note.midi and abs(sec - due) < 0.05 for sec, midi in own), note


def test_what_would_be_too_loud_is_turned_down_as_a_whole() -> None:
    one, other = np.full(4, 0.4, np.float32), np.full(6, 0.4, np.float32)
    both = mixed([one, other])
    assert float(both.max()) == pytest.approx(10.0 ** (CEILING_DB / 20.0))
    assert both[:4] == pytest.approx(2.0 * both[4])
    assert mixed([one]) is one


def test_what_an_ear_may_hear_of_the_backing_is_known_and_nothing_without_one() -> None:
    assert backing_notes(REQUEST, PLAN) == ()
    found = backing_notes(replace(REQUEST, backing=True), PLAN)
    assert list(found) == sorted(found)
    played = backing(PLAN)
    bass = next(one for one in played if isinstance(one, BassNote))
    assert {(bass.sec, bass.midi), (bass.sec, bass.midi + 12), (bass.sec, bass.midi + 19)} <= set(found)
    chop = next(one for one in played if not isinstance(one, BassNote) and one.midis)
    assert {(chop.sec, midi) for midi in chop.midis} <= set(found)
