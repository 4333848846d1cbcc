"""Hints at the tuning: the templates that fit a pluck best, and what the scorer makes of them."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pytest

from listener.framing import Past
from listener.hints import Hinter
from listener.network import PITCHES, Network
from listener.offset import GRID_CENTS, STROKE_CENTS, TuningOffset
from listener.scorer import NetworkScorer
from listener.strikes import Strike
from listener.views import Look, Looker
from tests.plucks import plucked

INNER = [cents for cents in GRID_CENTS if abs(cents) <= 40]
STRIKE_SEC = 0.4


def _past(notes: Sequence[tuple[float, float, float]], rate: int = 44100) -> Past:
    past = Past(round(0.6 * rate))
    past.append(plucked(rate, notes, duration_sec=0.6))
    return past


def _pluck(midi: int, cents: float, amplitude: float = 0.2) -> tuple[float, float, float]:
    return STRIKE_SEC, midi + cents / 100.0, amplitude


def _look(*notes: tuple[float, float, float], rate: int = 44100, cents: float = 0.0) -> Look:
    look = Looker(rate).look(_past(notes, rate), Strike(round(STRIKE_SEC * rate), 0.5), None, cents)
    assert look is not None
    return look


def _best_cents(look: Look, rate: int = 44100) -> int:
    fits, _ = Hinter(rate).fits(look)
    assert fits.shape == (len(GRID_CENTS),)
    assert 0.0 <= fits.min() < fits.max() <= 1.0
    return GRID_CENTS[int(fits.argmax())]


@pytest.mark.parametrize("rate", [44100, 48000])
@pytest.mark.parametrize("midi", [48, 62, 84])
def test_a_pluck_fits_best_at_its_own_tuning(midi: int, rate: int) -> None:
    for cents in INNER:
        assert _best_cents(_look(_pluck(midi, cents), rate=rate), rate) == cents


def test_half_a_half_step_off_is_two_tunings_at_once() -> None:
    fits, _ = Hinter(44100).fits(_look(_pluck(62, 50)))
    assert fits[0] == pytest.approx(fits[-1], rel=0.02)
    assert min(fits[0], fits[-1]) > max(fits[1:-1])


def test_what_rings_already_is_no_hint() -> None:
    ringing = [(0.1, 55.0 - 0.4, 0.2), (0.15, 50.0 - 0.4, 0.2)]
    assert _best_cents(_look(*ringing, _pluck(67, 20))) == 20


def test_loudness_is_the_weight_and_not_the_fit() -> None:
    (soft, little), (loud, much) = (Hinter(44100).fits(_look(_pluck(62, 10, a))) for a in (0.1, 0.2))
    assert soft == pytest.approx(loud, rel=0.02)
    assert much == pytest.approx(4.0 * little, rel=0.05)


def test_the_tuning_a_look_was_taken_at_does_not_matter() -> None:
    plain, tuned = (Hinter(44100).fits(_look(_pluck(62, -30), cents=cents)) for cents in (0.0, 25.0))
    assert np.array_equal(plain[0], tuned[0])
    assert plain[1] == tuned[1]


def test_a_strike_that_brings_nothing_weighs_next_to_nothing() -> None:
    _, power = Hinter(44100).fits(_look((0.05, 62.0, 0.2)))
    _, struck = Hinter(44100).fits(_look(_pluck(62, 0)))
    assert power < 1e-3 * struck


@pytest.fixture
def seen(monkeypatch: pytest.MonkeyPatch) -> list[Look]:
    """The looks that reach the network."""
    looks: list[Look] = []

    def noted(self: Network, look: Look) -> np.ndarray:
        looks.append(look)
        return np.full(PITCHES, -9.0, np.float32)

    monkeypatch.setattr(Network, "log_odds", noted)
    return looks


def _score(scorer: NetworkScorer, tuning: TuningOffset, cents: float) -> None:
    assert (
        scorer.struck(_past([_pluck(62, cents)]), Strike(round(STRIKE_SEC * 44100), 0.5), None, tuning) == []
    )


@pytest.mark.parametrize("cents", INNER)
def test_the_first_strike_is_seen_at_the_tuning_it_hints_at(cents: int, seen: list[Look]) -> None:
    tuning = TuningOffset()
    _score(NetworkScorer(44100), tuning, cents)
    # A stroke sounds sharper than the string rings on, and it is the ringing that a tuning is. Far off,
    # where the next half step is near, the offset is shy of the best fit by a place at most.
    shy = abs(cents) - abs(tuning.cents + STROKE_CENTS)
    assert shy in ((0, 10) if abs(cents) > 20 else (0,))
    assert (tuning.cents + STROKE_CENTS) * cents >= 0.0
    (look,) = seen
    assert np.array_equal(look.views, _look(_pluck(62, cents), cents=tuning.cents).views)


def test_once_enough_notes_came_hints_are_not_asked_for(
    seen: list[Look], monkeypatch: pytest.MonkeyPatch
) -> None:
    def asked(self: Hinter, look: Look) -> tuple[np.ndarray, float]:
        raise AssertionError("a hint was asked for")

    monkeypatch.setattr(Hinter, "fits", asked)
    tuning = TuningOffset()
    for _ in range(4):
        tuning.add(7.0, 1.0)
    _score(NetworkScorer(44100), tuning, 30.0)
    assert tuning.cents == pytest.approx(7.0)
    assert np.array_equal(seen[0].views, _look(_pluck(62, 30), cents=tuning.cents).views)


def test_silence_is_not_scored_and_hints_at_nothing(seen: list[Look]) -> None:
    tuning, past = TuningOffset(), Past(32768)
    past.append(np.zeros(32768, np.float32))
    assert NetworkScorer(44100).struck(past, Strike(20000, 0.5), None, tuning) == []
    assert tuning.cents == 0.0
    assert seen == []
