"""Hearing the last pass beside the model: which comes when, how loud, how slow, and that nothing is kept."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from feedback.errors import Usage
from feedback.modelling import model
from feedback.rehearing import LastPass
from feedback.sound.mixing import CEILING_DB
from feedback.sound.stretch import slowed
from routines.excerpt import change
from routines.library import load
from routines.lick import Lick, quarter_sec

RATE = 44_100
TEMPO = 75.0  # a quarter lasts 0.4 s
QUARTER = quarter_sec(TEMPO)
SUPPER = load("slab-wood-supper")
WALTZ = load("log-deck-waltz")


@cache
def modelled(lick: Lick) -> np.ndarray:
    sound = model(lick, tempo_half_bpm=TEMPO, rate=RATE)
    sound.flags.writeable = False
    return sound


def held(lick: Lick, sound: np.ndarray, begin_sec: float) -> LastPass:
    last = LastPass()
    last.hold(sound, RATE, lick=lick, tempo_half_bpm=TEMPO, begin_sec=begin_sec)
    return last


def played(lick: Lick, begin_sec: float, gain: float = 1.0) -> np.ndarray:
    """The model itself as what was played, so much into a take, noise around it."""
    ideal = modelled(lick)
    at = round((begin_sec - lick.pickup_quarters * QUARTER) * RATE)
    take = np.random.default_rng(1).normal(0.0, 1e-6, at + len(ideal) + RATE).astype(np.float32)
    take[at : at + len(ideal)] += gain * ideal
    return take


def places(whole: np.ndarray, lick: Lick, factor: float = 1.0) -> list[int]:
    """Where the model's first bar lies in a sound, as often as it is in it."""
    part = slowed(modelled(lick), RATE, factor)[: round(factor * 1.6 * RATE)]
    size = 1 << (len(whole) + len(part)).bit_length()
    alike = np.fft.irfft(np.fft.rfft(whole, size) * np.conj(np.fft.rfft(part, size)), size)[: len(whole)]
    best = []
    for _ in range(2):
        at = int(np.argmax(alike))
        best.append(at)
        alike[max(0, at - RATE) : at + RATE] = 0.0
    return sorted(best)


@pytest.mark.parametrize(
    ("lick", "apart_quarters"),
    [
        (SUPPER, 10.0),  # two bars and half a bar of silence
        (change(SUPPER), 8.0),  # half a bar, a bar, half a bar: the pickup fits
        (WALTZ, 15.0),  # four bars of three quarters, half a bar of silence at least: whole bars
    ],
)
def test_mine_comes_first_then_the_model_on_the_beat(lick: Lick, apart_quarters: float) -> None:
    whole = held(lick, played(lick, 3.0), 3.0).against_model()
    first, second = places(whole, lick)
    assert first == pytest.approx(QUARTER / 4 * RATE, abs=2)  # half an eighth before it is kept
    assert second - first == pytest.approx(apart_quarters * QUARTER * RATE, abs=2)


def test_both_are_as_loud() -> None:
    for gain in (0.03, 1.0, 5.0):
        whole = held(SUPPER, played(SUPPER, 3.0, gain), 3.0).against_model()
        begin, apart = round(QUARTER / 4 * RATE), round(10.0 * QUARTER * RATE)
        rms = [np.sqrt(np.mean(whole[at : at + RATE * 2] ** 2)) for at in (begin, begin + apart)]
        assert rms[0] == pytest.approx(rms[1], rel=0.02)
        assert np.max(np.abs(whole)) <= 10.0 ** (CEILING_DB / 20.0) + 1e-6


def test_a_loud_knock_turns_both_down_and_bends_nothing() -> None:
    take = played(SUPPER, 3.0)
    take[round(4.0 * RATE)] = 1.0
    whole = held(SUPPER, take, 3.0).against_model()
    assert np.max(np.abs(whole)) == pytest.approx(10.0 ** (CEILING_DB / 20.0), rel=1e-3)
    model_alone = whole[round(10.25 * QUARTER * RATE) :][: RATE * 2]
    ideal = modelled(SUPPER)[: len(model_alone)]
    assert np.corrcoef(model_alone, ideal)[0, 1] > 0.999


def test_half_speed_takes_twice_as_long_for_both() -> None:
    last = held(SUPPER, played(SUPPER, 3.0), 3.0)
    whole = last.against_model(0.5)
    first, second = places(whole, SUPPER, 2.0)
    assert first == pytest.approx(QUARTER / 2 * RATE, abs=400)
    assert second - first == pytest.approx(20.0 * QUARTER * RATE, abs=400)
    assert len(whole) == pytest.approx(2 * len(last.against_model()), abs=4)


def test_a_round_of_a_loop_is_heard_without_its_neighbours() -> None:
    part = change(SUPPER)
    take = model(part, tempo_half_bpm=TEMPO, rate=RATE, rounds=3)
    whole = held(part, take, 6.0 * QUARTER).against_model()  # the second round
    heard = round(4.125 * QUARTER * RATE)
    assert np.any(whole[heard - 600 : heard])
    assert not np.any(whole[heard : heard + round(1.9 * QUARTER * RATE)])


def test_silence_is_not_made_loud() -> None:
    whole = held(SUPPER, np.zeros(10 * RATE, np.float32), 3.0).against_model()
    assert not np.any(whole[: round(8.0 * QUARTER * RATE)])
    assert np.any(whole)


def test_a_pass_that_was_cut_short_is_heard_as_far_as_it_goes() -> None:
    whole = held(SUPPER, played(SUPPER, 0.1)[:RATE], 0.1).against_model()
    _, second = places(whole, SUPPER)
    assert second == pytest.approx((0.1 + 10.0 * QUARTER) * RATE, abs=2)


def test_only_one_pass_is_held_and_it_can_be_forgotten() -> None:
    last = LastPass()
    assert not last.held
    assert len(last.against_model()) == 0
    take = played(SUPPER, 3.0)
    last.hold(take, RATE, lick=SUPPER, tempo_half_bpm=TEMPO, begin_sec=3.0)
    before = last.against_model()
    take[:] = 0.0  # it is a copy that is held
    assert np.array_equal(last.against_model(), before)
    last.hold(take, RATE, lick=SUPPER, tempo_half_bpm=TEMPO, begin_sec=3.0)
    assert not np.array_equal(last.against_model(), before)
    assert last.held
    last.forget()
    assert not last.held
    assert len(last.against_model()) == 0


def test_what_cannot_be_heard_is_refused() -> None:
    with pytest.raises(Usage, match=r"speed 0\.7: accepted: 1 or 0\.5"):
        LastPass().against_model(0.7)
    with pytest.raises(ValueError, match=r"shape \(5, 2\)"):
        held(SUPPER, np.zeros((5, 2)), 0.0)
