"""Candidates: every strike is among them, at its time, and silence has none."""

from __future__ import annotations

import numpy as np
import pytest

from listener.framing import Hops, Past
from listener.strikes import Strike, StrikeFinder, StrikeSettings
from tests.plucks import ROLL, plucked


def _found(sound: np.ndarray, rate: int) -> list[tuple[Strike, int]]:
    """Strikes, each with the end of the hop at which it was known."""
    finder, past, hops = StrikeFinder(rate), Past(8192), Hops(StrikeSettings().hop_samples)
    assert finder.look_back_samples < 8192
    found = []
    for hop in hops.feed(sound):
        past.append(hop)
        strike = finder.feed(past)
        if strike is not None:
            found.append((strike, past.end))
    return found


@pytest.mark.parametrize("rate", [44100, 48000])
def test_each_pick_of_a_roll_is_a_candidate_within_two_milliseconds(rate: int) -> None:
    found = _found(plucked(rate, ROLL, duration_sec=1.5), rate)
    for onset_sec, _, _ in ROLL:
        nearest = min(abs(strike.sample / rate - onset_sec) for strike, _ in found)
        assert nearest < 0.002


def test_a_candidate_is_known_within_thirty_milliseconds() -> None:
    found = _found(plucked(44100, ROLL, duration_sec=1.5), 44100)
    assert all(0 < known - strike.sample < 0.030 * 44100 for strike, known in found)


def test_candidates_rise_and_keep_their_distance() -> None:
    found = _found(plucked(44100, ROLL, duration_sec=1.5), 44100)
    gaps = np.diff([strike.sample for strike, _ in found])
    assert gaps.min() >= StrikeSettings().apart_sec * 44100


def test_a_pick_stands_out_from_what_hiss_offers() -> None:
    found = _found(plucked(44100, [(0.5, 62, 0.2)], duration_sec=1.0), 44100)
    strongest = max(found, key=lambda row: row[0].strength)[0]
    assert strongest.sample / 44100 == pytest.approx(0.5, abs=0.002)


@pytest.mark.parametrize("level", [0.0, 1e-6, 0.3])
def test_nothing_is_struck_in_silence_or_a_steady_level(level: float) -> None:
    strikes = [strike for strike, _ in _found(np.full(44100, level, np.float32), 44100)]
    assert all(strike.sample < 100 for strike in strikes)  # where the level begins, at most


def test_a_reset_finder_finds_the_same_again() -> None:
    sound = plucked(44100, ROLL[:3], duration_sec=0.8)
    finder, past = StrikeFinder(44100), Past(8192)
    runs = []
    for _ in range(2):
        finder.reset()
        past.reset()
        found = []
        for hop in Hops(128).feed(sound):
            past.append(hop)
            found.append(finder.feed(past))
        runs.append(found)
    assert runs[0] == runs[1]
    assert any(runs[0])
