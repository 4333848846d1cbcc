"""What is played, taken out of the microphone's sound: nothing else is touched, no sample waits."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from listener.bleed import QUIETEST_DB, Bleed, BleedSettings
from tests.bench.bleed_takes import RATE, cleaned_by, come_back, output, turn, under
from tests.bench.hearers import hearing
from tests.bench.note_scores import Tally
from tests.bench.renders import SIMULATED, Renders
from tests.bench.takes import Take

SMALL_RATE = 8000
SMALL = BleedSettings(block_samples=64, lasts_sec=0.1)
TWO_PASSES_SEC = 8.6  # the count-in before them
QUIET = 1e-3  # of full scale: a microphone's noise


def _bursts(sec: float, *, seed: int = 0, rate: int = SMALL_RATE) -> np.ndarray:
    """Short bursts of noise every third of a second, as a click is: mostly silence."""
    rng = np.random.default_rng(seed)
    sound = np.zeros(round(sec * rate), np.float32)
    for begin in range(0, len(sound) - rate // 20, rate // 3):
        sound[begin : begin + rate // 20] = rng.standard_normal(rate // 20) * 0.1
    return sound


def _noise(samples: int, size: float = QUIET, seed: int = 1) -> np.ndarray:
    return (np.random.default_rng(seed).standard_normal(samples) * size).astype(np.float32)


def _response(seed: int, *, late: int = 40) -> np.ndarray:
    """A direct sound and a tail, 60 ms long."""
    rng = np.random.default_rng(seed)
    tail = rng.standard_normal(480) * 10.0 ** (-3.0 * np.arange(480) / 480) * 0.1
    tail[0] = 0.5
    return np.concatenate([np.zeros(late), tail])


def _back(played: np.ndarray, response: np.ndarray) -> np.ndarray:
    back: np.ndarray = np.convolve(played, response)[: len(played)].astype(np.float32)
    return back


def _left_db(cleaned: np.ndarray, else_: np.ndarray, bleed: np.ndarray, since: int, until: int) -> float:
    """What is left of the bleed, against the bleed, in decibels."""
    left = np.sum((cleaned - else_)[since:until].astype(np.float64) ** 2)
    return float(10.0 * np.log10(left / np.sum(bleed[since:until].astype(np.float64) ** 2)))


def test_bleed_is_taken_out_beside_something_louder() -> None:
    played = _bursts(12.0)
    bleed = _back(played, _response(3))
    beside = _noise(len(played), 0.05)
    beside[: 2 * SMALL_RATE] *= 0.02  # a count-in
    cleaned = cleaned_by(Bleed(SMALL_RATE, SMALL), beside + bleed, played)
    assert _left_db(cleaned, beside, bleed, 2 * SMALL_RATE, len(played)) < -12.0


@pytest.mark.parametrize("early", [0.012, -0.025])
def test_a_response_may_begin_before_its_time_or_after_it(early: float) -> None:
    played = _bursts(6.0)
    bleed = np.roll(_back(played, _response(4, late=0)), -round(early * SMALL_RATE))
    beside = _noise(len(played))
    cleaned = cleaned_by(Bleed(SMALL_RATE, SMALL), beside + bleed, played)
    assert _left_db(cleaned, beside, bleed, 3 * SMALL_RATE, 5 * SMALL_RATE) < -18.0


@settings(max_examples=15, deadline=None)
@given(cuts=st.lists(st.integers(0, 700), min_size=1, max_size=12))
def test_nothing_depends_on_how_the_sound_is_cut(cuts: list[int]) -> None:
    played = _bursts(1.5)
    taken = _back(played, _response(5)) + _noise(len(played))
    whole = Bleed(SMALL_RATE, SMALL).feed(taken, played)
    bleed, at, pieces = Bleed(SMALL_RATE, SMALL), 0, []
    for cut in [*cuts, len(taken)]:
        pieces.append(bleed.feed(taken[at : at + cut], played[at : at + cut]))
        at += cut
    together = np.concatenate(pieces)
    assert len(together) == len(taken)
    assert np.array_equal(together, whole)
    assert not np.array_equal(whole, taken)


def test_a_sample_is_cleaned_in_the_call_that_brings_it() -> None:
    bleed = Bleed(SMALL_RATE, SMALL)
    for count in (1, 0, 63, 200):
        assert len(bleed.feed(_noise(count), np.zeros(count, np.float32))) == count


def test_where_nothing_was_played_samples_stay_to_the_bit() -> None:
    bleed = Bleed(SMALL_RATE, SMALL)
    played = _bursts(4.0)
    taken = _back(played, _response(6)) + _noise(len(played))
    assert not np.array_equal(cleaned_by(bleed, taken, played), taken)
    lasts = round(SMALL.lasts_sec * SMALL_RATE) + 3 * SMALL.block_samples
    silence = np.zeros(lasts, np.float32)
    bleed.feed(silence, silence)
    assert not bleed.active
    rest = _noise(SMALL_RATE, 0.3)
    assert np.array_equal(bleed.feed(rest, np.zeros(len(rest), np.float32)), rest)


def test_with_nothing_ever_played_nothing_is_changed_and_nothing_told() -> None:
    bleed = Bleed(SMALL_RATE, SMALL)
    rest = _noise(2 * SMALL_RATE, 0.3)
    assert np.array_equal(bleed.feed(rest, np.zeros(len(rest), np.float32)), rest)
    assert bleed.heard_db is None
    assert not bleed.active


def test_silence_stays_silence() -> None:
    bleed = Bleed(SMALL_RATE, SMALL)
    played = _bursts(2.0)
    assert not np.any(bleed.feed(np.zeros(len(played), np.float32), played))
    bleed.feed(played[:400], played[:400])
    assert bleed.active


def test_after_a_reset_all_is_as_at_the_beginning() -> None:
    played = _bursts(3.0)
    taken = _back(played, _response(7)) + _noise(len(played))
    bleed = Bleed(SMALL_RATE, SMALL)
    first = bleed.feed(taken, played)
    bleed.feed(taken[:1001], played[:1001])
    bleed.reset()
    assert bleed.heard_db is None
    assert np.array_equal(bleed.feed(taken, played), first)


def test_a_moved_loudspeaker_is_followed() -> None:
    played = _bursts(14.0)
    half = len(played) // 2
    bleed = _back(played, _response(8))
    bleed[half:] = _back(played, _response(9, late=90))[half:]
    beside = _noise(len(played), 0.01)
    cleaned = cleaned_by(Bleed(SMALL_RATE, SMALL), beside + bleed, played)
    assert _left_db(cleaned, beside, bleed, half - 2 * SMALL_RATE, half) < -12.0
    assert _left_db(cleaned, beside, bleed, len(played) - 2 * SMALL_RATE, len(played)) < -12.0


@pytest.mark.parametrize("gain_db", [-20.0, 0.0, 10.0])
def test_it_is_told_how_loud_it_comes_back(gain_db: float) -> None:
    played = _bursts(6.0)
    response = _response(10)
    response *= 10.0 ** (gain_db / 20.0) / np.sqrt(np.sum(response**2))
    bleed = Bleed(SMALL_RATE, SMALL)
    cleaned_by(bleed, _back(played, response) + _noise(len(played), 1e-4), played)
    assert bleed.heard_db == pytest.approx(gain_db, abs=2.0)


def test_through_headphones_nothing_comes_back_and_nothing_is_changed() -> None:
    played = _bursts(10.0)
    beside = _noise(len(played), 0.05)
    beside[: 2 * SMALL_RATE] *= 0.002
    bleed = Bleed(SMALL_RATE, SMALL)
    cleaned = cleaned_by(bleed, beside, played)
    assert np.array_equal(cleaned, beside)
    assert bleed.heard_db == QUIETEST_DB


def test_a_loudspeaker_that_comes_after_headphones_is_learnt_when_a_turn_begins() -> None:
    played = _bursts(16.0)
    bleed = _back(played, _response(3))
    middle = 6 * SMALL_RATE
    bleed[:middle] = 0.0
    beside = _noise(len(played), 0.02)
    out = Bleed(SMALL_RATE, SMALL)
    ahead = np.concatenate([played[out.ahead_samples :], np.zeros(out.ahead_samples, np.float32)])
    first = out.feed(beside[:middle] + bleed[:middle], ahead[:middle])
    assert np.array_equal(first, beside[:middle])  # nothing comes back: not a bit is changed
    assert out.heard_db == QUIETEST_DB
    out.renew()
    rest = out.feed((beside + bleed)[middle:], ahead[middle:])
    left = _left_db(rest, beside[middle:], bleed[middle:], 6 * SMALL_RATE, 10 * SMALL_RATE)
    assert left < -10.0
    assert out.heard_db is not None
    assert out.heard_db > -15.0


def test_what_is_known_stays_when_a_turn_begins_and_goes_where_it_is_not_true_any_more() -> None:
    played = _bursts(16.0)
    bleed = _back(played, _response(3))
    bleed[10 * SMALL_RATE :] = 0.0  # headphones are plugged in later
    beside = _noise(len(played), 0.005)
    taken, out = beside + bleed, Bleed(SMALL_RATE, SMALL)
    ahead = np.concatenate([played[out.ahead_samples :], np.zeros(out.ahead_samples, np.float32)])
    done = [out.feed(taken[: 6 * SMALL_RATE], ahead[: 6 * SMALL_RATE])]
    out.renew()
    done.append(out.feed(taken[6 * SMALL_RATE :], ahead[6 * SMALL_RATE :]))
    cleaned = np.concatenate(done)
    assert _left_db(cleaned, beside, bleed, 6 * SMALL_RATE, 8 * SMALL_RATE) < -12.0
    late = slice(14 * SMALL_RATE, None)
    assert float(np.var(cleaned[late] - beside[late])) < 0.05 * float(np.var(beside[late]))


def test_silence_that_stands_for_what_was_lost_unlearns_nothing() -> None:
    played = _bursts(12.0)
    bleed = _back(played, _response(3))
    beside = _noise(len(played), 0.01)
    taken = beside + bleed
    taken[5 * SMALL_RATE : 5 * SMALL_RATE + 3000] = 0.0
    cleaned = cleaned_by(Bleed(SMALL_RATE, SMALL), taken, played)
    assert _left_db(cleaned, beside, bleed, 6 * SMALL_RATE, 7 * SMALL_RATE) < -10.0


def test_what_a_loudspeaker_no_longer_plays_is_no_longer_taken_off() -> None:
    played = _bursts(14.0)
    half = len(played) // 2
    bleed = _back(played, _response(8))
    silent = bleed.copy()
    silent[half:] = 0.0  # headphones were plugged in
    beside = _noise(len(played), 0.01)
    cleaned = cleaned_by(Bleed(SMALL_RATE, SMALL), beside + silent, played)
    assert _left_db(cleaned, beside, bleed, half + SMALL_RATE, half + 2 * SMALL_RATE) < -12.0


def test_a_measured_response_is_there_from_the_first_sample() -> None:
    played = _bursts(1.5)
    response = _response(11)
    bleed, beside = _back(played, response), _noise(len(played), 1e-4)
    filter_ = Bleed(SMALL_RATE, SMALL)
    filter_.start(np.concatenate([np.zeros(7), response]), zero=7)
    assert _left_db(cleaned_by(filter_, beside + bleed, played), beside, bleed, 0, len(played)) < -30.0
    late = Bleed(SMALL_RATE, SMALL)
    late.start(response, zero=response.size + SMALL_RATE)  # wholly out of reach
    taken = beside[:64] + bleed[:64]
    assert np.array_equal(late.feed(taken, played[:64]), taken)


def test_what_is_no_number_harms_nothing() -> None:
    played = _bursts(2.0)
    taken = _noise(len(played))
    taken[500], taken[501], played[700] = np.nan, np.inf, np.nan
    assert np.all(np.isfinite(Bleed(SMALL_RATE, SMALL).feed(taken, played)))


def test_what_is_given_is_not_changed() -> None:
    played = _bursts(2.0)
    taken = _back(played, _response(12)) + _noise(len(played))
    before = taken.copy(), played.copy()
    Bleed(SMALL_RATE, SMALL).feed(taken, played)
    assert np.array_equal(taken, before[0])
    assert np.array_equal(played, before[1])


def test_errors_say_what_was_wrong() -> None:
    bleed = Bleed(SMALL_RATE, SMALL)
    with pytest.raises(ValueError, match=r"taken of shape \(3,\), played of shape \(4,\)"):
        bleed.feed(np.zeros(3, np.float32), np.zeros(4, np.float32))
    with pytest.raises(ValueError, match=r"shape \(2, 2\)"):
        bleed.feed(np.zeros((2, 2), np.float32), np.zeros((2, 2), np.float32))
    with pytest.raises(ValueError, match="finite"):
        bleed.start(np.array([1.0, np.nan]))
    with pytest.raises(ValueError, match="rate 4000"):
        Bleed(4000)
    for wrong in ({"block_samples": 100}, {"looks": 3}, {"before_sec": 0.5}, {"lasts_sec": 3.0}):
        with pytest.raises(ValueError, match="accepted"):
            Bleed(SMALL_RATE, BleedSettings(**wrong))


def test_a_click_costs_the_ear_no_note() -> None:
    one = turn(SIMULATED, 4, Renders(folder=None))
    end = round(TWO_PASSES_SEC * RATE)
    played, out = one.take.sound[:end], output("halves", one).sound[:end]
    truth = tuple(note for note in one.take.truth if note.onset_sec < TWO_PASSES_SEC)
    taken = played + under(come_back(out, 4), played, 6.0)
    bleed = Bleed(RATE)
    scores = []
    for sound in (played, cleaned_by(bleed, taken, out)):
        take = Take(nps=one.take.nps, truth=truth, sound=sound, rate=RATE)
        tally = Tally()
        tally.add(take.truth, hearing(take).notes)
        scores.append(tally.f_measure())
    assert scores[1] >= scores[0] - 0.02
    assert bleed.heard_db is not None
    assert bleed.heard_db > -10.0
