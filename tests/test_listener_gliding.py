"""The pitch of one note followed: chokes and slides have a path, whatever else sounds; no other note has."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from listener.framing import Past
from listener.gliding import Glide, GlideSettings
from tests.in_turn import in_turn
from tests.plucks import ROLL, plucked

HOP = 128
ONSET_SEC, MIDI = 0.700, 64
LENGTH_SEC = 1.4
Course = Callable[[np.ndarray], np.ndarray]


def bent(rate: int, course: Course, *, midi: float = MIDI, amplitude: float = 0.2) -> np.ndarray:
    """One plucked note from `ONSET_SEC` on whose pitch goes as `course`: seconds after the onset to cents."""
    sound = np.zeros(round(LENGTH_SEC * rate))
    begin = round(ONSET_SEC * rate)
    time = np.arange(len(sound) - begin) / rate
    hz = 440.0 * 2.0 ** ((midi - 69.0 + course(time) / 100.0) / 12.0)
    turn = 2.0 * np.pi * np.cumsum(hz) / rate
    for number in range(1, 13):
        middle_hz = number * hz[0]
        body = (middle_hz / 400.0) ** 2 / (1.0 + (middle_hz / 400.0) ** 2) / (1.0 + (middle_hz / 2500.0) ** 2)
        fall = np.exp(-time * (3.0 + middle_hz / 400.0))
        sound[begin:] += amplitude * body * abs(np.sin(0.4 * number)) * fall * np.sin(number * turn + number)
    return sound.astype(np.float32)


def choke(by: float, takes_sec: float, *, later_sec: float = 0.0) -> Course:
    """Up by that many cents without a corner."""
    return lambda t: by * 0.5 * (1.0 - np.cos(np.pi * np.clip((t - later_sec) / takes_sec, 0.0, 1.0)))


def slide(steps: int, each_sec: float) -> Course:
    """Half step by half step, up or down."""
    return lambda t: 100.0 * np.sign(steps) * np.clip(np.floor(t / each_sec), 0, abs(steps))


def around(rate: int) -> np.ndarray:
    """A roll on other strings, two of whose notes are struck while the note is followed."""
    return plucked(rate, [n for n in ROLL if n[0] < 1.0], duration_sec=LENGTH_SEC)


def followed(
    sound: np.ndarray,
    rate: int = 44100,
    *,
    midi: int = MIDI,
    tuning_cents: float = 0.0,
    after_sec: float = 0.03,
) -> tuple[Glide, float]:
    """The glide of the note at `ONSET_SEC` as an ear feeds it, and how long after the onset it was done."""
    settings = GlideSettings()
    past, glide = Past(settings.back_samples(rate) + HOP), None
    begin = round(ONSET_SEC * rate)
    for at in range(0, len(sound) - HOP + 1, HOP):
        past.append(sound[at : at + HOP])
        if glide is None and past.end >= begin + after_sec * rate:
            glide = Glide(rate, begin, midi, tuning_cents, settings)
        if glide is not None:
            glide.feed(past)
            if glide.done:
                return glide, past.end / rate - ONSET_SEC
            assert glide.path == ()
    raise AssertionError("never done")


@in_turn("rate", [44100, 48000])
@in_turn("among", [False, True])
@in_turn(("by", "takes_sec"), [(70.0, 0.15), (100.0, 0.09), (150.0, 0.18), (200.0, 0.12)])
def test_a_choke_has_a_path_to_where_it_goes(rate: int, among: bool, by: float, takes_sec: float) -> None:
    sound = bent(rate, choke(by, takes_sec)) + (around(rate) if among else 0.0)
    glide, done_sec = followed(sound, rate)
    secs, cents = np.array(glide.path).T
    assert ONSET_SEC < secs[0] < ONSET_SEC + 0.025
    assert np.all(np.diff(secs) == pytest.approx(0.0087, abs=1e-3))
    assert abs(cents[0]) < 30.0
    assert cents[-1] == pytest.approx(by, abs=15.0)
    assert np.max(np.abs(cents - choke(by, takes_sec)(secs - ONSET_SEC))) < 35.0
    assert takes_sec < done_sec < 0.35


@in_turn("among", [False, True])
@in_turn("steps", [1, -1, 2, -2])
def test_a_slide_has_a_path_by_half_steps(among: bool, steps: int) -> None:
    sound = bent(44100, slide(steps, 0.035)) + (around(44100) if among else 0.0)
    glide, _ = followed(sound)
    assert abs(glide.path[0][1]) < 25.0
    assert glide.path[-1][1] == pytest.approx(100.0 * steps, abs=15.0)


def test_a_choke_that_is_cut_off_on_its_way_has_none() -> None:
    sound = bent(44100, choke(200.0, 0.1))
    assert followed(sound)[0].path != ()
    sound[round((ONSET_SEC + 0.07) * 44100) :] = 0.0
    assert followed(sound)[0].path == ()


def test_a_choke_that_is_let_down_comes_back() -> None:
    up = choke(150.0, 0.07)
    glide, _ = followed(bent(44100, lambda t: up(t) - up(t - 0.09)))
    cents = [c for _, c in glide.path]
    assert max(cents) == pytest.approx(150.0, abs=25.0)
    assert cents[-1] == pytest.approx(0.0, abs=15.0)


def test_a_slide_into_the_pitch_that_was_heard_begins_elsewhere_and_ends_there() -> None:
    glide, _ = followed(bent(44100, slide(1, 0.04), midi=MIDI - 1))
    cents = [c for _, c in glide.path]
    assert cents[0] == pytest.approx(-100.0, abs=20.0)
    assert cents[-1] == pytest.approx(0.0, abs=15.0)


@in_turn("rate", [44100, 48000])
@in_turn("number", range(len(ROLL) - 1))
def test_the_notes_of_a_roll_have_none_and_are_done_soon(rate: int, number: int) -> None:
    onset_sec, midi, _ = ROLL[number]
    early = [(sec - onset_sec + ONSET_SEC, pitch, size) for sec, pitch, size in ROLL]
    sound = plucked(rate, [n for n in early if 0.0 <= n[0] < 1.3], duration_sec=LENGTH_SEC)
    glide, done_sec = followed(sound, rate, midi=int(midi))
    assert glide.path == ()
    assert done_sec < 0.145


def test_a_stroke_that_starts_sharp_is_no_movement() -> None:
    glide, _ = followed(bent(44100, lambda t: 30.0 * np.exp(-t / 0.025)))
    assert glide.path == ()


def test_less_than_forty_cents_is_no_movement() -> None:
    assert followed(bent(44100, choke(30.0, 0.1)))[0].path == ()
    assert followed(bent(44100, choke(60.0, 0.1)))[0].path != ()


@in_turn("apart", [-2, -1, 1, 2])
@in_turn("later_sec", [0.0, 0.004, 0.07, 0.091, 0.125])
def test_a_note_close_by_on_another_string_does_not_take_it_along(apart: int, later_sec: float) -> None:
    note = plucked(44100, [(ONSET_SEC, MIDI, 0.2)], duration_sec=LENGTH_SEC)
    other = plucked(44100, [(ONSET_SEC + later_sec, MIDI + apart, 0.25)], duration_sec=LENGTH_SEC, seed=1)
    assert followed(note + other)[0].path == ()


@in_turn("apart", [-2, -1, 1, 2])
@in_turn("later_sec", [0.091, 0.125])
def test_nor_does_one_that_follows_on_its_own_string(apart: int, later_sec: float) -> None:
    note = plucked(44100, [(ONSET_SEC, MIDI, 0.2)], duration_sec=LENGTH_SEC)
    note[round((ONSET_SEC + later_sec) * 44100) :] = 0.0
    other = plucked(44100, [(ONSET_SEC + later_sec, MIDI + apart, 0.25)], duration_sec=LENGTH_SEC, seed=1)
    assert followed(note + other)[0].path == ()


def test_the_tuning_is_taken_off() -> None:
    sound = bent(44100, choke(100.0, 0.1), midi=MIDI - 0.4)
    assert followed(sound, tuning_cents=-40.0)[0].path[-1][1] == pytest.approx(100.0, abs=15.0)


def test_a_stiff_string_is_not_sharp() -> None:
    sound = np.zeros(round(LENGTH_SEC * 44100))
    time = np.arange(len(sound) - round(ONSET_SEC * 44100)) / 44100
    turn = np.cumsum(2.0 ** (choke(100.0, 0.1)(time) / 1200.0)) * 2.0 * np.pi * 349.23 / 44100
    for number in range(1, 13):
        stretch = np.sqrt((1.0 + 5e-4 * number**2) / (1.0 + 5e-4))
        sound[-len(time) :] += 0.02 * np.exp(-6.0 * time) * np.sin(turn * number * stretch)
    glide, _ = followed(sound.astype(np.float32), midi=65)
    assert abs(glide.path[0][1]) < 15.0
    assert glide.path[-1][1] == pytest.approx(100.0, abs=15.0)


def test_when_the_ear_begins_to_follow_makes_no_difference() -> None:
    sound = bent(44100, choke(100.0, 0.12)) + around(44100)
    paths = {followed(sound, after_sec=after_sec)[0].path for after_sec in (0.0, 0.03, 0.06, 0.099)}
    assert len(paths) == 1
    assert paths != {()}


def test_what_comes_after_it_is_done_makes_no_difference() -> None:
    sound = bent(44100, choke(100.0, 0.12)) + around(44100)
    glide, done_sec = followed(sound)
    cut = sound.copy()
    cut[round((ONSET_SEC + done_sec) * 44100) :] = 1.0
    assert followed(cut)[0].path == glide.path


def test_where_nothing_was_struck_it_is_done_at_once() -> None:
    for sound in (np.zeros(round(LENGTH_SEC * 44100), np.float32), bent(44100, choke(100.0, 0.1))):
        silent = sound.copy()
        silent[round(ONSET_SEC * 44100) :] = 0.0
        glide, done_sec = followed(silent)
        assert glide.path == ()
        assert done_sec < 0.05


def test_a_past_that_no_longer_holds_what_is_needed_is_refused() -> None:
    past = Past(4096)
    for _ in range(80):
        past.append(np.zeros(HOP, np.float32))
    with pytest.raises(ValueError, match="are remembered"):
        Glide(44100, 1000, MIDI, 0.0).feed(past)


def test_settings_are_named() -> None:
    with pytest.raises(TypeError):
        GlideSettings(0.036)  # type: ignore[misc]


def test_ended_on_its_way_it_has_no_path_and_ended_at_rest_it_has() -> None:
    sound, rate = bent(44100, choke(200.0, 0.12)), 44100
    for until_sec, moved in ((0.07, False), (0.25, True)):
        past, glide = Past(GlideSettings().back_samples(rate) + HOP), None
        for at in range(0, round((ONSET_SEC + until_sec) * rate) - HOP, HOP):
            past.append(sound[at : at + HOP])
            if past.end >= (ONSET_SEC + 0.03) * rate:
                glide = glide or Glide(rate, round(ONSET_SEC * rate), MIDI, 0.0)
                glide.feed(past)
        assert glide is not None
        glide.end()
        assert glide.done
        assert bool(glide.path) == moved
