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


def _begins(sound: np.ndarray, rate: int) -> float:
    """When the first strong strike after the beginning of the hiss came, in seconds."""
    return next(s.sample / rate for s, _ in _found(sound, rate) if s.strength > 0.3 and s.sample > 0.1 * rate)


@pytest.mark.parametrize("rate", [44100, 48000])
@pytest.mark.parametrize("under_db", [20.0, 24.0, 28.0])
def test_out_of_silence_a_string_is_struck_where_it_is_let_go(rate: int, under_db: float) -> None:
    begin, length = round(0.3 * rate), round(0.009 * rate)
    sound = plucked(rate, [(0.3, 57, 0.2)], duration_sec=0.6)
    assert _begins(sound, rate) == pytest.approx(0.3, abs=0.002)
    touch = np.random.default_rng(3).standard_normal(length + 47)
    touch = np.convolve(touch, np.ones(48), "valid") * np.hanning(length)  # duller than the string
    loudness = np.sqrt(np.mean(sound[begin : begin + length] ** 2) / np.mean(touch**2))
    sound[begin - length : begin] += (touch * loudness * 10 ** (-under_db / 20)).astype(np.float32)
    assert _begins(sound, rate) == pytest.approx(0.3, abs=0.002)


@pytest.mark.parametrize("louder_db", [-3.0, 0.0, 3.0, 6.0])
def test_a_pinch_that_is_spread_is_timed_by_its_first_voice(louder_db: float) -> None:
    notes = [(0.3, 55, 0.1), (0.309, 67, 0.1 * 10 ** (louder_db / 20))]
    assert _begins(plucked(44100, notes, duration_sec=0.6), 44100) == pytest.approx(0.3, abs=0.002)
