"""Views of a strike: where pitches stand on the axis, what tuning does, what loudness does not."""

from __future__ import annotations

import numpy as np
import pytest

from listener.framing import Past
from listener.strikes import Strike
from listener.views import (
    BANDS,
    BEFORE,
    EARLIER,
    FACTS,
    LONG,
    LOW_MIDI,
    NEW,
    RANGE_DB,
    SPANS,
    STEPS,
    VIEWS,
    Look,
    Looker,
)
from tests.in_turn import in_turn

STRIKE = 8000


def _look(
    sound: np.ndarray, *, rate: int = 44100, cents: float = 0.0, following: Strike | None = None
) -> Look | None:
    looker = Looker(rate)
    past = Past(16384)
    past.append(sound[: STRIKE + looker.ahead_samples].astype(np.float32))
    return looker.look(past, Strike(STRIKE, 0.5), following, cents)


def _seen(sound: np.ndarray, *, rate: int = 44100, cents: float = 0.0) -> Look:
    look = _look(sound, rate=rate, cents=cents)
    assert look is not None
    return look


def _tone(midi: float, *, rate: int = 44100, from_sample: int = STRIKE) -> np.ndarray:
    time = np.arange(16384) / rate
    tone = np.sin(2.0 * np.pi * 440.0 * 2.0 ** ((midi - 69.0) / 12.0) * time)
    return np.where(np.arange(16384) >= from_sample, 0.3 * tone, 0.0)


def _band(midi: float) -> int:
    return round((midi - LOW_MIDI) * STEPS)


@in_turn("rate", [44100, 48000])
@in_turn("midi", [55, 67, 74, 86, 98, 110])
def test_a_pitch_stands_at_its_band(midi: int, rate: int) -> None:
    look = _seen(_tone(midi, rate=rate), rate=rate)
    assert look.views.shape == (VIEWS, BANDS)
    assert look.views.dtype == np.float32
    assert look.facts.shape == (FACTS,)
    long = look.views[LONG]
    # Low down a band is narrower than what the window can tell apart: it lies in the middle of the lobe.
    widest = np.flatnonzero(long >= long.max() - 0.02)
    assert abs(0.5 * (widest[0] + widest[-1]) - _band(midi)) <= 1.0
    assert long.max() == pytest.approx(1.0, abs=0.15)


def test_before_the_strike_there_is_nothing_of_it() -> None:
    look = _seen(_tone(67))
    assert look.views[BEFORE].max() == 0.0
    assert look.views[EARLIER].max() == 0.0


def test_what_rings_on_is_before_and_after_and_not_new() -> None:
    look = _seen(_tone(67, from_sample=0))
    assert look.views[BEFORE][_band(67)] == pytest.approx(look.views[LONG][_band(67)], abs=0.03)
    assert look.views[NEW][_band(67)] < 0.4  # 36 dB under what sounds


def test_on_the_axis_of_a_sharp_instrument_a_sharp_pitch_stands_at_its_half_step() -> None:
    sharp = _tone(79.4)
    plain, tuned = _seen(sharp), _seen(sharp, cents=40.0)
    assert int(tuned.views[LONG].argmax()) == _band(79)
    assert int(plain.views[LONG].argmax()) > _band(79)


def test_a_look_retuned_is_the_look_at_that_tuning() -> None:
    looker, past, sound = Looker(44100), Past(16384), _tone(64.3)
    past.append(sound[: STRIKE + looker.ahead_samples].astype(np.float32))
    look = looker.look(past, Strike(STRIKE, 0.5), None, 0.0)
    assert look is not None
    assert looker.retuned(look, 30.0).views == pytest.approx(_seen(sound, cents=30.0).views)


@pytest.mark.parametrize("factor", [0.03, 0.1, 3.0])
def test_loudness_is_no_view(factor: float) -> None:
    noise = 1e-3 * np.random.default_rng(0).standard_normal(16384)
    plain, other = _seen(_tone(60) + noise), _seen(factor * (_tone(60) + noise))
    assert other.views == pytest.approx(plain.views, abs=1e-3)


def test_a_tone_so_far_under_the_loudest_is_silent() -> None:
    loud, soft = _tone(79), 10.0 ** (-RANGE_DB / 20.0) * _tone(60)
    assert _seen(loud + 3.0 * soft).views[LONG][_band(60)] > 0.1
    assert _seen(loud + 0.1 * soft).views[LONG][_band(60)] < 0.1


def test_silence_is_not_looked_at() -> None:
    assert _look(np.zeros(16384)) is None


def test_facts_tell_of_the_neighbours_and_of_the_loudest_of_late() -> None:
    looker, past = Looker(44100), Past(32768)
    past.append(np.concatenate([_tone(67), 0.1 * _tone(67, from_sample=0)]).astype(np.float32))
    first = looker.look(past, Strike(STRIKE, 0.5), Strike(STRIKE + 441, 0.25), 0.0)
    for _ in range(4):
        looker.look(past, Strike(STRIKE, 0.5), None, 0.0)  # a memory is not lifted by one strike alone
    second = looker.look(past, Strike(STRIKE + 16384, 0.5), None, 0.0)
    assert first is not None
    assert second is not None
    assert first.facts[1] == 0.0  # itself the loudest
    assert first.facts[2] == 1.0  # nothing before it
    assert first.facts[4] == pytest.approx(0.1)  # a tenth of a tenth of a second
    assert first.facts[5] < 0.0  # the next is weaker
    assert second.facts[1] == pytest.approx(-2.0 / 3.0, abs=0.02)  # 20 dB under it
    looker.reset()
    again = looker.look(past, Strike(STRIKE, 0.5), Strike(STRIKE + 441, 0.25), 0.0)
    assert again is not None
    assert np.array_equal(again.facts, first.facts)


def test_what_follows_a_bump_is_not_held_against_it() -> None:
    looker, past = Looker(44100), Past(49152)
    past.append(np.concatenate([0.1 * _tone(67), 10.0 * _tone(67), 0.1 * _tone(67)]).astype(np.float32))
    for _ in range(4):
        looker.look(past, Strike(STRIKE, 0.5), None, 0.0)
    bump = looker.look(past, Strike(16384 + STRIKE, 0.9), None, 0.0)
    after = looker.look(past, Strike(32768 + STRIKE, 0.5), None, 0.0)
    assert bump is not None
    assert after is not None
    assert bump.facts[1] == 0.0
    assert after.facts[1] == pytest.approx(-0.5, abs=0.02)  # 15 dB, not 40


def test_no_window_reaches_beyond_what_is_promised() -> None:
    looker = Looker(48000)
    assert looker.ahead_samples == round(48000 * max(span.end_sec for span in SPANS))
    sound = np.random.default_rng(1).standard_normal(16384)
    changed = sound.copy()
    changed[: STRIKE - looker.back_samples] = 0.0
    one, other = _seen(sound, rate=48000), _seen(changed, rate=48000)
    assert np.array_equal(one.views, other.views)
    changed[STRIKE - looker.back_samples + 40] = 9.0
    assert not np.array_equal(one.views, _seen(changed, rate=48000).views)
