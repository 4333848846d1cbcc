"""Rolls made of single notes: what is said to begin there does, and a string sounds one note at a time."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest

from listener.composing import Roll, composed, cut
from listener.hand import LEAD_SEC, Cut, Hand

RATE = 44100
NONE = np.zeros(0, np.float32)


def _flat(midi: int, string: int, value: float) -> Cut:
    return Cut(midi, string, np.full(int(1.1 * RATE), value, np.float32))


def _roll(seed: int, cuts: list[Cut], noise: np.ndarray = NONE, sec: float = 5.0) -> Roll:
    return composed(np.random.default_rng(seed), cuts, RATE, noise=noise, duration_sec=sec)


def test_a_cut_begins_before_its_onset_and_is_over_before_the_next_note() -> None:
    sound = np.ones(2 * RATE, np.float32)
    note = cut(sound, RATE, 0.5, 1.3)
    assert note is not None
    assert len(note) == pytest.approx((1.3 - 0.5 + LEAD_SEC) * RATE, abs=0.02 * RATE)
    assert note[0] == 0.0
    assert note[round(LEAD_SEC * RATE)] == 1.0
    assert note[-1] == pytest.approx(0.0, abs=1e-6)
    assert sound.min() == 1.0  # the take is left as it was


@pytest.mark.parametrize(("onset_sec", "next_sec"), [(0.5, 0.79), (1.8, 9.0), (0.001, 1.0)])
def test_what_is_too_short_or_begins_with_the_take_is_not_cut(onset_sec: float, next_sec: float) -> None:
    assert cut(np.ones(2 * RATE, np.float32), RATE, onset_sec, next_sec) is None


def test_on_one_string_only_the_last_stroke_sounds() -> None:
    turned = 0
    for seed in range(8):
        roll, before = _roll(seed, [_flat(60, 2, 0.5), _flat(80, 2, -0.5)]), 0.0
        for note, after in pairwise(roll.notes):
            middle = roll.sound[int(0.5 * (note.onset_sec + after.onset_sec) * RATE)]
            if middle == 0.0:  # a dead stroke, or a hand that stops the string, lies between
                continue
            assert np.sign(middle) == (1.0 if note.midi < 70 else -1.0)
            turned += np.sign(middle) * before < 0.0
            before = middle
    assert turned >= 3


def test_before_the_first_stroke_there_is_only_noise() -> None:
    noise = np.full(RATE // 3, 0.01, np.float32)
    roll = _roll(5, [_flat(60, 2, 0.5), _flat(55, 3, 0.5)], noise)
    quiet = roll.sound[: int((roll.notes[0].onset_sec - 2 * LEAD_SEC) * RATE)]
    assert len(quiet) > 0
    assert np.ptp(quiet) == 0.0
    assert quiet[0] > 0.0


def test_a_roll_is_full_of_notes_by_onset_within_full_scale_and_the_same_again() -> None:
    cuts = [_flat(midi, string, 0.9) for string, midi in ((4, 50), (3, 57), (2, 59), (1, 62), (5, 67))]
    roll, again = _roll(1, cuts), _roll(1, cuts)
    assert np.array_equal(roll.sound, again.sound)
    assert roll.notes == again.notes
    assert float(np.abs(roll.sound).max()) <= 1.0
    onsets = [note.onset_sec for note in roll.notes]
    assert onsets == sorted(onsets)
    assert len(onsets) > 15
    assert {note.midi for note in roll.notes} - {50, 57, 59, 62, 67}  # pitches between are there, too
    assert min(onsets) > 0.0
    assert max(onsets) < 5.0


def test_hands_differ_by_seed_and_play_pinches_and_slurs() -> None:
    cuts = [
        _flat(midi, string, 0.5) for string, midi in ((4, 50), (4, 52), (3, 55), (3, 57), (2, 59), (2, 60))
    ]
    rolls = [_roll(seed, cuts, sec=8.0) for seed in range(4)]
    assert len({roll.notes for roll in rolls}) == 4
    notes = [note for roll in rolls for note in roll.notes]
    assert any(note.slurred for note in notes)
    gaps = [b.onset_sec - a.onset_sec for roll in rolls for a, b in pairwise(roll.notes)]
    assert any(gap < 0.02 for gap in gaps)


def test_one_single_note_can_be_rolled() -> None:
    hand = Hand(np.random.default_rng(0), [_flat(60, 1, 0.5)])
    hand.play(3.0)
    assert {stroke.string for stroke in hand.strokes} == {1}
