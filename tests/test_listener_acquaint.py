"""Getting to know an instrument from single notes: what is found, what is kept, and what is not believed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from listener.acquaint import AcquaintSettings, acquaint
from listener.adapting import MOVED, Descent
from listener.asked import Asked
from listener.composing import Begun, Roll, composed
from listener.hand import Cut
from listener.network import shipped
from listener.scorer import NetworkScorer
from listener.watching import f_measure
from tests.plucks import ROLL, plucked

RATE = 44100
STRINGS = {4: (50, 50, 52, 55), 3: (55, 55, 57, 60), 1: (62, 62, 64, 67)}
GAP_SEC = 0.36
ASKED = [Asked(midi, string) for string, pitches in STRINGS.items() for midi in pitches]
QUICK = AcquaintSettings(
    learnt_rolls=1, tried_rolls=1, roll_sec=1.6, least_notes=10, descent=Descent(steps=4, rows=64)
)


def _take(
    cents: float = 0.0, *, left_out: int | None = None, string_off: dict[int, float] | None = None
) -> np.ndarray:
    notes = [
        (0.5 + GAP_SEC * number, note.midi + (cents + (string_off or {}).get(note.string, 0.0)) / 100.0, 0.2)
        for number, note in enumerate(ASKED)
        if number != left_out
    ]
    return plucked(RATE, notes, duration_sec=0.6 + GAP_SEC * len(ASKED))


def test_every_asked_note_is_found_and_the_tuning_measured() -> None:
    known = acquaint(_take(14.0, string_off={1: 9.0}), RATE, ASKED, settings=QUICK)
    assert known.profile is not None
    assert known.tried is not None
    found = [one for one in known.found if one is not None]
    assert len(found) == len(ASKED)
    assert known.others == 0
    assert [one.onset_sec for one in found] == pytest.approx(
        [0.5 + GAP_SEC * n for n in range(len(ASKED))], abs=0.004
    )
    assert known.profile.tuning_cents == pytest.approx(14.0 - 4.0, abs=4.0)  # less what a stroke is sharp by
    off = known.profile.string_cents
    assert off[1] - off[4] == pytest.approx(9.0, abs=3.0)


def test_what_is_far_softer_than_the_rest_is_none_of_the_list(monkeypatch: pytest.MonkeyPatch) -> None:
    settings = replace(QUICK, least_notes=99)
    sound = _take()
    end = round((0.5 + GAP_SEC * (len(ASKED) - 1) - 0.03) * RATE)
    sound[end:] *= np.float32(10 ** (-30 / 20))
    known = acquaint(sound, RATE, ASKED, settings=settings)
    assert [one is not None for one in known.found] == [True] * (len(ASKED) - 1) + [False]


def test_what_does_not_help_on_the_other_half_is_not_kept() -> None:
    sound = _take()
    never = acquaint(sound, RATE, ASKED, settings=replace(QUICK, least_gain=2.0))
    always = acquaint(sound, RATE, ASKED, settings=replace(QUICK, least_gain=-2.0))
    assert never.profile is not None
    assert always.profile is not None
    assert never.tried == always.tried  # the same take gives the same figures
    assert not never.profile.arrays
    assert never.profile.weights() is shipped()
    assert always.profile.learnt
    assert any(not np.array_equal(always.profile.arrays[name], shipped()[name]) for name in MOVED)
    assert never.profile.tuning_cents == always.profile.tuning_cents


def test_what_is_learnt_from_is_never_tried_on(monkeypatch: pytest.MonkeyPatch) -> None:
    halves: list[list[tuple[int, int]]] = []

    def told(rng: np.random.Generator, cuts: Sequence[Cut], rate: int, **how: Any) -> Roll:
        halves.append([(len(one.sound), one.midi) for one in cuts])
        return composed(rng, cuts, rate, **how)

    monkeypatch.setattr("listener.acquaint.composed", told)
    acquaint(_take(), RATE, ASKED, settings=QUICK)
    learnt, tried = halves
    assert len(learnt) == len(tried) == len(ASKED) // 2
    assert sorted(midi for _, midi in learnt + tried) == sorted(note.midi for note in ASKED)
    assert [midi for _, midi in learnt] == [note.midi for note in ASKED[::2]]


def test_one_note_left_out_costs_that_note_alone_and_too_few_teach_nothing() -> None:
    known = acquaint(_take(left_out=7), RATE, ASKED, settings=replace(QUICK, least_notes=12))
    assert [number for number, one in enumerate(known.found) if one is None] == [7]
    assert known.tried is None
    assert known.profile is not None
    assert not known.profile.arrays


@pytest.mark.parametrize("cents", [46.0, 54.0])
def test_near_the_next_half_step_the_list_tells_which_is_meant(cents: float) -> None:
    known = acquaint(_take(cents), RATE, ASKED, settings=replace(QUICK, least_notes=99))
    assert sum(one is not None for one in known.found) >= len(ASKED) - 1
    assert known.profile is not None
    assert known.profile.tuning_cents == pytest.approx(cents - 4.0, abs=4.0)


def test_an_instrument_tuned_a_half_step_up_is_told_and_not_stored() -> None:
    known = acquaint(_take(100.0), RATE, ASKED, settings=QUICK)
    assert known.profile is None
    assert known.tuning_cents == pytest.approx(96.0, abs=5.0)


def test_another_tune_and_silence_are_no_sound_check() -> None:
    roll = plucked(RATE, ROLL, duration_sec=1.9)
    for sound in (np.tile(roll, 3), np.zeros(RATE, np.float32), roll[:100]):
        known = acquaint(sound, RATE, ASKED, settings=QUICK)
        assert known.profile is None
        assert known.tried is None


def test_f_of_a_roll_counts_misses_and_inventions_and_not_the_faint() -> None:
    sound = plucked(RATE, ROLL, duration_sec=1.9)
    notes = tuple(Begun(sec, midi, False, True) for sec, midi, _ in ROLL)

    def of(*told: Begun) -> tuple[int, float]:
        return f_measure([Roll(sound, told)], RATE, NetworkScorer)

    assert of(*notes) == (8, 1.0)
    assert of(*notes[:7], replace(notes[7], counts=False)) == (7, 1.0)
    assert of(*notes[:7]) == (7, pytest.approx(14 / 15))  # one heard that nobody played
    assert of(*notes, Begun(1.7, 50, False, True)) == (9, pytest.approx(16 / 17))
