"""Sound slowed down: attacks at their places, once and sharp; tones at their pitch, steady."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from feedback.errors import Usage
from feedback.judges.limits import Limits
from feedback.performance import perform
from feedback.player import render
from feedback.sound.banjo import Banjo
from feedback.sound.stretch import slowed
from listener.ear import Ear
from listener.notes import NoteEvent, standing
from routines.library import load
from tests.in_turn import in_turn

RATE = 44_100


def pluck(hz: float, sec: float, decay: float = 4.0) -> np.ndarray:
    """A tone of six partials that begins at once and dies away."""
    t = np.arange(round(sec * RATE)) / RATE
    partials = [np.sin(2 * np.pi * k * hz * t + k) / k for k in range(1, 7)]
    return (0.2 * np.exp(-decay * t) * np.sum(partials, axis=0)).astype(np.float32)


def laid(plucks: list[tuple[float, np.ndarray]], sec: float) -> np.ndarray:
    whole = np.zeros(round(sec * RATE), np.float32)
    for begin, sound in plucks:
        at = round(begin * RATE)
        whole[at : at + len(sound)] += sound[: len(whole) - at]
    return whole


def pitch_hz(sound: np.ndarray, near_hz: float) -> float:
    """The spectral peak nearest a frequency."""
    size = 1 << 18
    magnitude = np.abs(np.fft.rfft(sound * np.hanning(len(sound)), size))
    low, high = (round(near_hz * share * size / RATE) for share in (0.97, 1.03))
    at = low + int(np.argmax(magnitude[low:high]))
    left, middle, right = np.log(magnitude[at - 1 : at + 2])
    return (at + 0.5 * (left - right) / (left - 2 * middle + right)) * RATE / size


def heard_in(sound: np.ndarray) -> list[NoteEvent]:
    ear = Ear(RATE)
    notes, _ = standing([*ear.feed(sound), *ear.flush()])
    return notes


def test_once_as_long_is_the_same() -> None:
    sound = pluck(220.0, 0.5)
    same = slowed(sound, RATE, 1.0)
    assert np.array_equal(same, sound)
    assert same is not sound


@pytest.mark.parametrize("factor", [0.5, 0.99, 4.01, float("nan")])
def test_other_factors_are_refused(factor: float) -> None:
    with pytest.raises(Usage, match="accepted: 1 to 4"):
        slowed(pluck(220.0, 0.1), RATE, factor)


def test_two_channels_are_refused() -> None:
    with pytest.raises(ValueError, match=r"shape \(10, 2\)"):
        slowed(np.zeros((10, 2)), RATE, 2.0)


@given(st.integers(0, 3000), st.floats(1.0, 4.0))
@settings(deadline=None, max_examples=25)
def test_it_becomes_so_much_longer_and_silence_stays_silent(count: int, factor: float) -> None:
    made = slowed(np.zeros(count, np.float32), RATE, factor)
    assert made.dtype == np.float32
    assert len(made) == round(count * factor)
    assert not np.any(made)


@given(st.integers(0, 3000), st.integers(0, 2**16))
@settings(deadline=None, max_examples=25)
def test_whatever_comes_stays_within_bounds(count: int, seed: int) -> None:
    noise = np.random.default_rng(seed).uniform(-1.0, 1.0, count).astype(np.float32)
    made = slowed(noise, RATE, 2.0)
    assert len(made) == 2 * count
    assert np.all(np.isfinite(made))
    assert np.max(np.abs(made), initial=0.0) < 6.0


@pytest.mark.parametrize("factor", [1.5, 2.0, 3.0])
def test_attacks_land_at_their_places_and_stay_as_sharp(factor: float) -> None:
    begins = (0.25, 0.40, 0.52, 0.60)
    sound = laid([(sec, pluck(hz, 0.6)) for sec, hz in zip(begins, (294, 392, 247, 587), strict=True)], 1.2)
    made = slowed(sound, RATE, factor)
    before, length = round(0.003 * RATE), round(0.009 * RATE)
    off = round((factor - 1.0) * 0.0025 * RATE)  # without a knock, an attack is found within so much
    for sec in begins:
        there, here = round(sec * RATE) - before, round(factor * sec * RATE) - before
        was = sound[there : there + length]
        alike = [
            float(np.corrcoef(was, made[at : at + length])[0, 1]) for at in range(here - off, here + off + 1)
        ]
        assert max(alike) > 0.9
        # Nothing of it comes sooner.
        at = here - off + int(np.argmax(alike))
        ahead, was_ahead = (np.sqrt(np.mean(s[:100] ** 2)) for s in (made[at:], sound[there:]))
        assert ahead < 1.5 * was_ahead + 1e-4


@in_turn("factor", [2.0, 4.0])
@in_turn("hz", [146.8, 246.9, 392.0, 698.5])
def test_the_pitch_stays_within_three_cents(hz: float, factor: float) -> None:
    sound = laid([(0.1, pluck(hz, 1.0, decay=2.0))], 1.1)
    made = slowed(sound, RATE, factor)
    body = made[round(factor * 0.2 * RATE) : round(factor * 0.9 * RATE)]
    for partial in (1, 2, 3):
        cents = 1200.0 * np.log2(pitch_hz(body, partial * hz) / (partial * hz))
        assert abs(cents) < 3.0


def test_a_tone_dies_away_as_much_in_twice_the_time_and_without_flutter() -> None:
    sound = laid([(0.1, pluck(330.0, 1.4))], 1.5)
    made = slowed(sound, RATE, 2.0)
    size = 512  # some four periods
    frames = made[round(0.6 * RATE) : round(2.6 * RATE)]
    frames = frames[: len(frames) // size * size].reshape(-1, size)
    level_db = 10.0 * np.log10(np.mean(frames.astype(float) ** 2, axis=1))
    t = np.arange(len(level_db)) * size / RATE
    slope, level = np.polyfit(t, level_db, 1)
    assert slope == pytest.approx(-2.0 * 20.0 * np.log10(np.e), rel=0.1)  # half of 4 nepers a second
    assert np.std(level_db - (slope * t + level)) < 0.7


def test_what_rings_on_is_not_struck_anew() -> None:
    ringing = pluck(294.0, 1.4, decay=1.0)
    sound = laid([(0.1, ringing), (0.6, 0.5 * pluck(988.0, 0.9))], 1.5)
    made = slowed(sound, RATE, 2.0)

    def phase(begin_sec: float) -> float:
        t = np.arange(round(begin_sec * RATE), round((begin_sec + 0.1) * RATE)) / RATE
        return float(
            np.angle(np.sum(made[round(begin_sec * RATE) :][: len(t)] * np.exp(-2j * np.pi * 294.0 * t)))
        )

    gone = (phase(1.26) - phase(1.09) + np.pi) % (2 * np.pi) - np.pi
    assert abs(gone) < 0.3


@pytest.mark.parametrize(
    ("name", "seed"),
    [("slab-wood-supper", 1), ("belt-dressing", 4)],
)
def test_every_note_of_a_lick_is_heard_once_at_half_speed(name: str, seed: int) -> None:
    lick = load(name)
    tempo = 0.9 * lick.top_tempo_half_bpm
    played = perform(lick, tempo_half_bpm=tempo, seed=seed)
    banjo = Banjo().varied(np.random.default_rng(seed))
    made = slowed(render(played, rate=RATE, seed=seed, instrument=banjo), RATE, 2.0)
    heard = [note for note in heard_in(made) if note.confidence >= Limits().blamed]
    assert sorted(note.midi for note in heard) == sorted(note.midi for note in played.notes)
    for note in played.notes:
        there = min(abs(e.onset_sec - 2.0 * note.sounds_sec) for e in heard if e.midi == note.midi)
        assert there < 0.010
