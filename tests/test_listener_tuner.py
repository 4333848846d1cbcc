"""The tuner: tones and plucks of known pitch, what is no note, blocks of any size."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache

import numpy as np
import pytest

from listener.plucked import pitch_of
from listener.stiff import cents_between, fitted, partial_hz, spectrum_of
from listener.tuner import Reading, Tuner, hz_of
from tests.bench.tune_sounds import talk, thumps
from tests.in_turn import in_turn
from tests.plucks import plucked

RATE = 44100
OPEN_G = (67.0, 50.0, 55.0, 59.0, 62.0)
PLUCKED_SEC = 0.5


def tone(
    midi: float, heights: Sequence[float], *, stiffness: float = 0.0, seconds: float = 1.3
) -> np.ndarray:
    """Partials of one amplitude each, with noise at -40 dB."""
    rng = np.random.default_rng(3)
    time = np.arange(round(seconds * RATE)) / RATE
    numbers = np.arange(1, len(heights) + 1)
    places = partial_hz(hz_of(midi), stiffness, numbers)
    sound = np.array(heights) @ np.sin(2.0 * np.pi * places[:, None] * time + numbers[:, None])
    sound *= 0.1 / np.sqrt(np.mean(sound**2))
    return (sound + 1e-3 * rng.standard_normal(len(time))).astype(np.float32)


def pluck(midi: float, *, others: Sequence[tuple[float, float, float]] = (), rate: int = RATE) -> np.ndarray:
    notes = [*others, (PLUCKED_SEC, midi, 0.2)]
    return plucked(rate, notes, duration_sec=PLUCKED_SEC + 1.2)


def read(sound: np.ndarray, references: Sequence[float] = OPEN_G, rate: int = RATE) -> list[Reading]:
    return Tuner(rate, references).feed(sound)


@cache
def read_pluck(midi: float) -> tuple[Reading, ...]:
    return tuple(read(pluck(midi)))


@pytest.mark.parametrize(
    ("midi", "heights"),
    [
        (48.0, [1.0 / n for n in range(1, 13)]),
        (50.3, [0.02, *(1.0 / n for n in range(2, 13))]),  # weak fundamental
        (55.0, [0.0, 0.7, 1.0, 0.6, 0.4, 0.3]),  # none
        (62.0, [1.0]),
        (79.2, [1.0, 0.5, 0.2]),
    ],
)
def test_a_steady_tone_is_read_to_a_cent(midi: float, heights: list[float]) -> None:
    said = read(tone(midi, heights))
    assert said
    assert all(abs(one.midi - midi) < 0.05 for one in said)
    steady = [one for one in said if one.steady]
    assert steady
    assert max(abs(one.midi - midi) for one in steady) < 0.01
    assert min(one.sec for one in said) < 0.25


def test_a_stiff_string_is_read_where_its_first_partial_lies() -> None:
    said = read(tone(50.0, [0.1, *(1.0 / n for n in range(2, 13))], stiffness=2e-4))
    assert abs(said[-1].midi - 50.0) < 0.01


@in_turn("midi", [48.0, 50.0, 55.2, 59.0, 61.1, 67.0, 74.0, 79.0])
def test_a_pluck_is_named_soon_and_read_well_in_its_own_octave(midi: float) -> None:
    said = read_pluck(midi)
    assert PLUCKED_SEC < said[0].sec < PLUCKED_SEC + 0.25
    assert all(abs(one.midi - midi) < 0.1 for one in said)
    assert {round(one.plucked_sec, 1) for one in said} == {PLUCKED_SEC}
    settled = [one for one in said if one.steady and one.sec < PLUCKED_SEC + 1.1][-1]
    assert abs(settled.midi - midi) < 0.02
    assert abs(settled.midi - midi) * 100.0 < settled.unsure_cents + 0.5
    assert settled.unsure_cents <= 3.0
    index = int(np.abs(np.array(OPEN_G) - midi).argmin())
    assert settled.nearest == index
    assert settled.cents == pytest.approx(100.0 * (settled.midi - OPEN_G[index]))


def test_the_newest_string_is_named_while_others_ring() -> None:
    others = [(0.1, 62.0, 0.05), (0.25, 67.0, 0.05)]
    said = [one for one in read(pluck(50.0, others=others)) if one.plucked_sec > PLUCKED_SEC - 0.05]
    assert {one.nearest for one in said} == {OPEN_G.index(50.0)}
    assert any(one.steady and abs(one.cents) < 3.0 for one in said)


def test_each_of_two_plucks_is_read_after_the_other() -> None:
    sound = plucked(RATE, [(0.3, 55.0, 0.2), (1.2, 59.0, 0.2)], duration_sec=2.2)
    told = {round(one.plucked_sec, 1): one.nearest for one in read(sound) if one.steady}
    assert told == {0.3: OPEN_G.index(55.0), 1.2: OPEN_G.index(59.0)}


def test_the_same_string_struck_again_is_another_pluck() -> None:
    sound = plucked(RATE, [(0.3, 55.0, 0.2), (1.2, 55.3, 0.2)], duration_sec=2.2)
    told = {round(one.plucked_sec, 1): one.cents for one in read(sound) if one.steady}
    assert list(told) == [0.3, 1.2]
    assert told[1.2] - told[0.3] == pytest.approx(30.0, abs=3.0)


def test_a_peg_that_is_turned_is_followed_and_not_called_steady() -> None:
    time = np.arange(3 * RATE) / RATE
    midi = 55.0 + 0.8 * np.clip(time - 1.0, 0.0, 1.0)  # from 1 to 2 s up by 80 cents
    turned = 2.0 * np.pi * np.cumsum(440.0 * 2.0 ** ((midi - 69.0) / 12.0)) / RATE
    sound = sum(np.sin(n * turned) / n for n in range(1, 9)).astype(np.float32) * np.float32(0.1)
    said = read(sound)
    assert not [one for one in said if one.steady and 1.3 < one.sec < 2.0]
    before = [one.cents for one in said if one.steady and one.sec <= 1.0]
    after = [one.cents for one in said if one.steady and one.sec > 2.75]
    assert max(map(abs, before)) < 1.0
    assert after
    assert all(abs(cents - 80.0) < 1.0 for cents in after)
    assert {one.nearest for one in said} == {OPEN_G.index(55.0)}


@pytest.mark.parametrize("size", [1, 77, 4096])
def test_readings_do_not_depend_on_blocks(size: int) -> None:
    sound = pluck(59.0)[: round((1.0 if size == 1 else 1.4) * RATE)]
    whole = [one for one in read_pluck(59.0) if one.sec <= len(sound) / RATE]
    tuner = Tuner(RATE, OPEN_G)
    cut = [one for begin in range(0, len(sound), size) for one in tuner.feed(sound[begin : begin + size])]
    assert cut == whole
    assert whole


def test_after_a_reset_it_is_as_new() -> None:
    tuner, sound = Tuner(RATE, OPEN_G), pluck(62.0)
    first = tuner.feed(sound)
    tuner.reset()
    assert tuner.feed(sound) == first


def test_a_note_that_was_followed_ends_with_a_reset() -> None:
    tuner, sound = Tuner(RATE, OPEN_G), pluck(62.0)
    assert tuner.feed(sound[: round((PLUCKED_SEC + 0.4) * RATE)])
    tuner.reset()
    assert tuner.feed(sound[round((PLUCKED_SEC + 0.4) * RATE) :][: round(0.1 * RATE)]) == []


def test_what_glides_as_a_voice_does_is_no_string() -> None:
    time = np.arange(round(0.8 * RATE)) / RATE
    turned = 2.0 * np.pi * np.cumsum(196.0 * 2.0 ** (-4.0 * time / 12.0)) / RATE
    voice = sum(np.sin(n * turned) / n for n in range(1, 9)) * np.exp(-4.0 * time)
    sound = np.concatenate([np.zeros(round(0.3 * RATE)), 0.1 * voice]).astype(np.float32)
    assert read(sound + np.float32(1e-4) * np.random.default_rng(1).standard_normal(len(sound))) == []


def test_a_reading_needs_no_sound_after_it() -> None:
    whole = read_pluck(59.0)
    end = round(whole[3].sec * RATE)
    assert read(pluck(59.0)[:end]) == list(whole[:4])


def test_silence_noise_and_nothing_say_nothing() -> None:
    rng = np.random.default_rng(0)
    assert read(np.zeros(RATE, np.float32)) == []
    assert read((0.01 * rng.standard_normal(2 * RATE)).astype(np.float32)) == []
    assert read(np.zeros(0, np.float32)) == []
    assert read(np.full(RATE, np.nan, np.float32)) == []


def test_talk_and_a_hand_on_the_head_are_no_steady_string() -> None:
    for sound in (talk(0, 5.0), thumps(0, 4.0)):
        assert not [one for one in read(sound) if one.steady]


def test_it_listens_at_48_kilohertz() -> None:
    said = read(pluck(50.0, rate=48000), rate=48000)
    assert any(one.steady and abs(one.cents) < 2.0 for one in said)
    assert said[0].plucked_sec == pytest.approx(PLUCKED_SEC, abs=0.02)


def test_what_is_wrong_is_refused() -> None:
    with pytest.raises(ValueError, match="22050"):
        Tuner(22050, OPEN_G)
    with pytest.raises(ValueError, match="references"):
        Tuner(RATE, ())
    with pytest.raises(ValueError, match="references"):
        Tuner(RATE, (55.0, float("nan")))
    with pytest.raises(ValueError, match="one channel"):
        Tuner(RATE, OPEN_G).feed(np.zeros((4, 2), np.float32))


def test_a_string_is_laid_through_partials_though_one_is_pulled_aside() -> None:
    numbers = np.arange(1, 11)
    places = partial_hz(147.0, 9e-5, numbers)
    places[2] += 3.0  # another string's
    time = np.arange(round(0.7 * RATE)) / RATE
    sound = np.sin(2.0 * np.pi * places[:, None] * time + numbers[:, None]).sum(axis=0)
    fit = fitted(spectrum_of(0.05 * sound, RATE), 147.6)
    assert fit is not None
    assert cents_between(fit.hz, 147.0) == pytest.approx(0.0, abs=0.3)
    assert fit.stiffness == pytest.approx(9e-5, rel=0.1)
    assert fit.power == pytest.approx(10 * 0.05**2 / 2, rel=0.05)


def test_what_rang_before_is_not_named() -> None:
    time = np.arange(round(0.2 * RATE)) / RATE
    ringing = sum(np.sin(2.0 * np.pi * 196.0 * n * time) for n in range(1, 6))
    new = sum(np.sin(2.0 * np.pi * 329.6 * n * time) for n in range(1, 6))
    now, before = spectrum_of(0.1 * (ringing + 0.7 * new), RATE), spectrum_of(0.1 * ringing, RATE)
    limits = {"low_hz": 100.0, "high_hz": 900.0}
    alone = pitch_of(now, before=before, **limits)
    assert alone is not None
    assert cents_between(alone.hz, 329.6) == pytest.approx(0.0, abs=10.0)
    assert pitch_of(spectrum_of(np.zeros(9000), RATE), **limits) is None


def test_the_benchs_reference_finds_the_pitch_of_a_note_that_is_known() -> None:
    from tests.bench.tune_reference import reference_hz

    sound = pluck(55.0)
    first_hz = 440.0 * 2.0 ** ((55.0 - 69.0) / 12.0) * np.sqrt(1.0 + 4e-5)
    for off_cents in (-20.0, 0.0, 30.0):
        found = reference_hz(sound, RATE, PLUCKED_SEC, first_hz * 2.0 ** (off_cents / 1200.0))
        assert found is not None
        assert cents_between(found, first_hz) == pytest.approx(0.0, abs=0.2)
