"""What a strike brought: ringing strings are left out, a pitch struck again is not."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pytest

from listener.spectra import TRANSFORM, beyond_ringing, evened, hann

RATE = 44100
STRIKE = 8192
LENGTH, AHEAD, GAP, STEP = 1764, 1764, 88, 441
BIN = round(440.0 * TRANSFORM / RATE)


@dataclass(frozen=True)
class _Around:
    before: np.ndarray
    after: np.ndarray
    odd: np.ndarray
    new: np.ndarray


def _around(sound: np.ndarray) -> _Around:
    def spectrum(end: int) -> np.ndarray:
        return np.fft.rfft(sound[end - LENGTH : end] * hann(LENGTH), TRANSFORM)[:900].astype(np.complex64)

    earlier, before, after = (spectrum(STRIKE + end) for end in (-GAP - STEP, -GAP, AHEAD))
    odd, new = beyond_ringing(earlier, before, after, step=STEP, gap=AHEAD + GAP)
    return _Around(np.abs(before), np.abs(after), odd, new)


def _tone(hz: float, *, from_sample: int = 0, decay_per_sec: float = 0.0, phase: float = 0.0) -> np.ndarray:
    time = (np.arange(16384) - from_sample) / RATE
    tone = np.exp(-decay_per_sec * time) * np.sin(2.0 * np.pi * hz * time + phase)
    return np.where(time >= 0.0, tone, 0.0)


def test_a_sine_of_amplitude_one_has_magnitude_one_in_its_bin() -> None:
    around = _around(_tone(440.0))
    assert around.after[BIN] == pytest.approx(1.0, abs=0.02)
    assert around.before[BIN] == pytest.approx(1.0, abs=0.02)
    assert around.after.argmax() in (BIN - 1, BIN, BIN + 1)


@pytest.mark.parametrize("decay_per_sec", [0.0, 2.0, 8.0])
def test_a_tone_that_rings_on_is_not_new(decay_per_sec: float) -> None:
    around = _around(_tone(440.0, decay_per_sec=decay_per_sec))
    assert around.new.max() < 0.02


def test_a_tone_that_begins_at_the_strike_is_new() -> None:
    around = _around(_tone(440.0, from_sample=STRIKE))
    assert around.new[BIN] == pytest.approx(around.after[BIN], rel=0.05)


def test_a_new_tone_is_told_from_one_that_rings() -> None:
    around = _around(_tone(440.0) + 0.5 * _tone(660.0, from_sample=STRIKE))
    other = round(660.0 * TRANSFORM / RATE)
    assert around.new[other] > 0.4
    assert around.new[BIN] < 0.1 * around.new[other]


def test_a_ringing_tone_struck_again_is_new_by_what_it_grew() -> None:
    ringing = _tone(440.0, decay_per_sec=6.0)
    struck = np.where(np.arange(16384) < STRIKE, ringing, _tone(440.0, from_sample=STRIKE, phase=2.0))
    assert _around(struck).new[BIN] > 0.5
    assert _around(struck).odd[BIN] > 0.7


def test_a_tone_that_stops_brings_nothing() -> None:
    stopped = np.where(np.arange(16384) < STRIKE, _tone(440.0), 0.0)
    assert _around(stopped).new.max() < 0.05


def test_evening_takes_the_colour_off_and_keeps_silence_silent() -> None:
    peaks = np.where(np.arange(400) % 40 == 20, 1.0, 0.0)
    colour = np.geomspace(1.0, 30.0, 400)
    even = evened(peaks * colour, (peaks + 0.01) * colour)
    inner = even[[140, 180, 220, 260, 300]]
    assert inner.max() / inner.min() < 1.7  # the colour alone is a factor of 5 there
    assert evened(np.zeros(400), np.zeros(400)).max() == 0.0


def test_evening_does_not_hear_loudness() -> None:
    rng = np.random.default_rng(0)
    new, after = rng.random(300), 1.0 + rng.random(300)
    assert evened(100.0 * new, 100.0 * after) == pytest.approx(evened(new, after), rel=1e-5)
