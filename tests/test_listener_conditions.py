"""What a recording is like, on sounds made by rule."""

from __future__ import annotations

import numpy as np
import pytest

from listener.conditions import conditions

RATE = 44100


def _sine(amplitude: float, sec: float = 2.0) -> np.ndarray:
    return (amplitude * np.sin(2 * np.pi * 220.0 * np.arange(int(sec * RATE)) / RATE)).astype(np.float32)


@pytest.mark.parametrize("sound", [np.zeros(0, np.float32), np.zeros(RATE, np.float32)])
def test_silence_is_as_soft_as_can_be_and_not_clipped(sound: np.ndarray) -> None:
    found = conditions(sound, RATE)
    assert (found.peak_db, found.noise_db, found.clipped) == (pytest.approx(-120.0), pytest.approx(-120.0), 0)


def test_a_full_sine_is_not_clipped_and_one_cut_at_the_top_is() -> None:
    assert conditions(_sine(1.0), RATE).clipped == 0
    cut = conditions(np.clip(_sine(1.4), -1.0, 1.0), RATE)
    assert cut.peak_db == pytest.approx(0.0, abs=0.01)
    assert cut.clipped > RATE // 2  # of two seconds: a sine is over 1/1.4 half of the time
    assert conditions(0.3 * np.clip(_sine(1.4), -1.0, 1.0), RATE).clipped == cut.clipped  # turned down after


def test_noise_is_that_of_the_quiet_places() -> None:
    hiss = 1e-3 * np.random.default_rng(0).standard_normal(4 * RATE).astype(np.float32)
    hiss[RATE : 3 * RATE] += _sine(0.5)
    found = conditions(hiss, RATE)
    assert found.noise_db == pytest.approx(-60.0, abs=1.0)
    assert found.peak_db == pytest.approx(-6.0, abs=0.2)
