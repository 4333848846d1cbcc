"""The lick as a model: exact to the sample, even, heard as it is written, without a seam in a loop."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from feedback.clicking import strokes
from feedback.errors import Usage
from feedback.modelling import EXACT_HAND, LEVEL_DB, Looped, looped, model, model_notes
from feedback.performance import perform
from feedback.session import after_count_in
from feedback.sound.click import render as render_click
from listener.ear import Ear
from listener.notes import standing
from routines.errors import BadRoutine
from routines.excerpt import change
from routines.library import all_licks, load
from routines.lick import quarter_sec

RATE = 44_100
SUPPER = load("slab-wood-supper")
KICK_OFF = load("first-log-up")


@cache
def supper_loop() -> Looped:
    """The change of a lick as rounds of a loop."""
    return looped(change(SUPPER), tempo_half_bpm=80.0, rate=RATE)


def peak_db(sound: np.ndarray) -> float:
    return 20.0 * float(np.log10(np.max(np.abs(sound))))


def heard_in(sound: np.ndarray) -> list[tuple[float, int]]:
    ear = Ear(RATE)
    silence = np.zeros(RATE // 10, np.float32)  # an ear knows nothing of its first moments
    notes, _ = standing([*ear.feed(np.concatenate([silence, sound])), *ear.flush()])
    return [(note.onset_sec - 0.1, note.midi) for note in notes]


def test_the_hand_has_no_habits() -> None:
    for lick in all_licks():
        played = perform(lick, tempo_half_bpm=80.0, seed=1, start_sec=2.0, hand=EXACT_HAND)
        for note, target in zip(played.notes, lick.notes, strict=True):
            due = 2.0 + target.onset_quarters * quarter_sec(80.0)
            if target.technique != "slide" or target.finger:
                assert note.onset_sec == pytest.approx(due, abs=1e-9)
            assert note.level_db == (0.0 if note.picked else -2.0)


def test_a_note_begins_on_its_sample() -> None:
    part = change(KICK_OFF)  # half a quarter of rest comes first
    for tempo in (61.0, 97.3):
        sound = model(part, tempo_half_bpm=tempo, rate=RATE)
        begin = round(0.5 * quarter_sec(tempo) * RATE)
        loud = np.abs(sound) > 1e-5 * np.max(np.abs(sound))  # a transform leaves some dust
        assert begin <= np.flatnonzero(loud)[0] <= begin + 1


def test_what_sounds_is_what_is_written() -> None:
    quarter = quarter_sec(90.0)
    notes = model_notes(SUPPER, tempo_half_bpm=90.0, rounds=2, rest_bars=1)
    once = [(n.onset_quarters * quarter, n.midi) for n in SUPPER.notes]
    again = [(sec + 12 * quarter, midi) for sec, midi in once]
    assert [midi for _, midi in notes] == [midi for _, midi in once + again]
    assert np.allclose([sec for sec, _ in notes], [sec for sec, _ in once + again])
    counted = model_notes(SUPPER, tempo_half_bpm=90.0, counted_in=True)
    assert counted[0][0] == pytest.approx(8 * quarter)
    kick = model_notes(KICK_OFF, tempo_half_bpm=90.0)
    assert kick[0][0] == 0.0


@pytest.mark.parametrize("name", ["slab-wood-supper", "belt-dressing", "guide-tone-pinches"])
def test_an_ear_hears_each_note_of_it_once(name: str) -> None:
    part = change(load(name))
    tempo = 0.8 * part.top_tempo_half_bpm
    heard = heard_in(model(part, tempo_half_bpm=tempo, rate=RATE, rounds=2))
    asked = model_notes(part, tempo_half_bpm=tempo, rounds=2)
    assert sorted(midi for _, midi in heard) == sorted(midi for _, midi in asked)
    for sec, midi in asked:
        assert any(abs(sec - other) < 0.01 for other, pitch in heard if pitch == midi)


def test_it_has_the_level_that_is_asked_for_and_no_noise() -> None:
    sound = model(SUPPER, tempo_half_bpm=100.0, rate=RATE)
    assert sound.dtype == np.float32
    assert peak_db(sound) == pytest.approx(LEVEL_DB, abs=1e-3)
    louder = model(SUPPER, tempo_half_bpm=100.0, rate=RATE, level_db=-6.0)
    assert peak_db(louder) == pytest.approx(-6.0, abs=1e-3)
    assert np.max(np.abs(sound[-RATE // 20 :])) < 1e-2 * np.max(np.abs(sound))


def test_rounds_are_one_performance_that_rings_on() -> None:
    part = change(SUPPER)
    quarter = quarter_sec(80.0)
    one = model(part, tempo_half_bpm=80.0, rate=RATE)
    two = model(part, tempo_half_bpm=80.0, rate=RATE, rounds=2)
    assert len(two) - len(one) == pytest.approx(4 * quarter * RATE, abs=1)
    seam = round(4 * quarter * RATE)
    assert np.sqrt(np.mean(two[seam - 200 : seam] ** 2)) > 0.02 * np.max(np.abs(two))


def test_a_loop_laid_round_by_round_has_no_seam() -> None:
    part = change(SUPPER)
    once = supper_loop()
    assert once.apart_sec == pytest.approx(4 * quarter_sec(80.0))
    apart = round(once.apart_sec * RATE)
    whole = np.zeros(4 * apart + len(once.last), np.float32)
    for number in range(4):
        sound = once.sound if number < 3 else once.last
        whole[number * apart : number * apart + len(sound)] += sound
    assert peak_db(whole[apart : 3 * apart]) == pytest.approx(LEVEL_DB, abs=0.05)
    # Nothing at a seam jumps farther than within a round: no click.
    jumps = np.abs(np.diff(whole))
    for number in (1, 2, 3):
        seam = number * apart
        assert np.max(jumps[seam - 300 : seam - 1]) < 0.2 * np.max(jumps)
    heard = heard_in(whole)
    asked = model_notes(part, tempo_half_bpm=80.0, rounds=4)
    assert sorted(midi for _, midi in heard) == sorted(midi for _, midi in asked)


def test_a_round_of_a_loop_ends_its_strings_where_the_next_one_strikes_them() -> None:
    part = change(SUPPER)
    once = supper_loop()
    # The drone is struck last of all; the next round strikes it anew a bar after its first stroke.
    struck = min(sec for sec, midi in model_notes(part, tempo_half_bpm=80.0) if midi == 67) + once.apart_sec
    begin = round((struck + 0.02) * RATE)
    ringing, over = (np.sqrt(np.mean(s[begin : begin + 2000] ** 2)) for s in (once.last, once.sound))
    assert over < 0.2 * ringing
    before = round((struck - 0.1) * RATE)
    assert np.sqrt(np.mean(once.sound[before : before + 2000] ** 2)) > 0.8 * ringing


def test_with_a_click_it_is_counted_in() -> None:
    plain = model(SUPPER, tempo_half_bpm=80.0, rate=RATE)
    clicked = model(SUPPER, tempo_half_bpm=80.0, rate=RATE, click="halves", click_db=-30.0)
    plan = after_count_in(SUPPER, 80.0, passes=1, rest_bars=0)
    click = render_click(strokes(plan, "halves"), rate=RATE, level_db=-30.0, quiet_sec=0.0)
    begin = round(plan.first_start_sec * RATE)
    assert np.allclose(clicked[:begin], click[:begin], atol=1e-7)
    rest = clicked[begin:].copy()
    rest[: len(click) - begin] -= click[begin:]
    assert np.allclose(rest, plain, atol=2e-3 * np.max(np.abs(plain)))
    with pytest.raises(Usage, match="click 'drum'"):
        model(SUPPER, tempo_half_bpm=80.0, rate=RATE, click="drum")
    round_of_it = looped(SUPPER, tempo_half_bpm=80.0, rate=RATE, click="halves", click_db=-30.0)
    bare = looped(SUPPER, tempo_half_bpm=80.0, rate=RATE)
    added = round_of_it.sound - bare.sound
    within = click[begin:]
    assert np.allclose(added[: len(within)], within, atol=1e-6)


def test_what_cannot_be_played_is_refused() -> None:
    with pytest.raises(BadRoutine, match="tempo 0"):
        model(SUPPER, tempo_half_bpm=0.0, rate=RATE)
    with pytest.raises(BadRoutine, match="rate 100"):
        model(SUPPER, tempo_half_bpm=80.0, rate=100)


def test_a_lick_on_one_chord_rings_over_its_rounds() -> None:
    same = tuple(replace(span, chord=SUPPER.chords[-1].chord) for span in SUPPER.chords)
    one_chord = replace(SUPPER, chords=same, sevenths=(), thirds=())
    bound = model(one_chord, tempo_half_bpm=60.0, rate=RATE, rounds=2)
    lifted = model(SUPPER, tempo_half_bpm=60.0, rate=RATE, rounds=2)
    assert len(bound) == len(lifted)
    assert not np.array_equal(bound, lifted)
