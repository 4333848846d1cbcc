"""Sweeps that come back: where, how sure, and never where they did not."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from listener.chirp import (
    AGREE_SEC,
    CLEAR_DB,
    LEAST_UNSURE_SEC,
    SENT,
    Arrival,
    ChirpSettings,
    chirp,
    combined,
    found,
)
from listener.pressing import came_back_db
from tests.bench.returns import NOISES, Return
from tests.in_turn import in_turn

RATE = 44100
SWEEP = chirp(RATE)


def heard(*ways: tuple[float, float], noise: float = 1e-4, sec: float = 1.2, seed: int = 0) -> np.ndarray:
    """A recording in which the sweep comes back by ways of (samples, gain), between samples, too."""
    size = 1 << (round(sec * RATE) + len(SWEEP)).bit_length()
    turn = -2j * np.pi * np.arange(size // 2 + 1) / size
    answer = sum(gain * np.exp(turn * samples) for samples, gain in ways)
    back = np.fft.irfft(np.fft.rfft(SWEEP, size) * answer, size)[: round(sec * RATE)]
    return back + noise * np.random.default_rng(seed).standard_normal(len(back))


@pytest.mark.parametrize("rate", [22050, 44100, 48000, 96000])
def test_a_sweep_is_as_loud_and_long_as_asked_and_comes_from_silence(rate: int):
    made = chirp(rate, ChirpSettings(level_db=-40.0, lasts_sec=0.2))
    assert (made.dtype, len(made)) == (np.float32, round(0.2 * rate))
    assert 20.0 * np.log10(np.abs(made).max()) == pytest.approx(-40.0, abs=0.01)
    assert abs(made[0]) == abs(made[-1]) == 0.0
    power = np.abs(np.fft.rfft(made)) ** 2
    hz = np.fft.rfftfreq(len(made), 1.0 / rate)
    assert power[(hz > 500.0) & (hz < 8000.0)].sum() > 0.99 * power.sum()
    assert np.abs(np.diff(made[: rate // 200])).max() < 0.1 * np.abs(made).max()


@pytest.mark.parametrize(
    "wrong",
    [
        {"begin_hz": 50.0},
        {"begin_hz": 9000.0},
        {"end_hz": 25_000.0},
        {"lasts_sec": 0.01},
        {"level_db": 0.0},
        {"level_db": float("nan")},
        {"ends_share": 0.6},
    ],
)
def test_settings_out_of_range_are_refused(wrong: dict[str, float]):
    with pytest.raises(ValueError, match=r"accepted"):
        ChirpSettings(**wrong)


def test_a_rate_too_low_for_its_highest_frequency_is_refused():
    with pytest.raises(ValueError, match="8000 Hz at 16000"):
        chirp(16000)


@given(samples=st.floats(2.0, 30_000.0), gain=st.floats(0.01, 2.0), wired=st.sampled_from([-1.0, 1.0]))
@settings(max_examples=10, deadline=None)
def test_where_it_comes_back_is_found_between_samples(samples: float, gain: float, wired: float):
    arrival = found(heard((samples, gain * wired), noise=1e-5), SWEEP, RATE)
    assert arrival is not None
    assert arrival.delay_sec == pytest.approx(samples / RATE, abs=2e-6)
    assert arrival.over_db > 25.0


@in_turn("later_sec", [0.0008, 0.003, 0.012, 0.025])
@in_turn("louder", [0.5, 1.5, 3.0])
def test_the_straight_way_is_the_first_not_the_strongest(later_sec: float, louder: float):
    arrival = found(heard((2000.4, 1.0), (2000.4 + later_sec * RATE, louder), noise=1e-3), SWEEP, RATE)
    assert arrival is not None
    assert arrival.delay_sec == pytest.approx(2000.4 / RATE, abs=1e-4)


def test_what_is_much_weaker_and_ahead_is_no_way_of_the_sound():
    for weaker, way in ((0.3, 2000), (0.16, 2441)):
        arrival = found(heard((2000, weaker), (2441, 1.0), noise=1e-5), SWEEP, RATE)
        assert arrival is not None
        assert arrival.delay_sec == pytest.approx(way / RATE, abs=1e-4)


@pytest.mark.parametrize("noise", ["whistle", "banjo"])
def test_what_is_loud_in_a_part_of_the_band_does_not_drown_it(noise: str):
    row = Return(noise=noise, over_noise_db=-25.0)
    for seed in range(1):
        arrival = found(row.taken(SWEEP, RATE, 0.2, np.random.default_rng(seed)), SWEEP, RATE)
        assert arrival is not None
        assert arrival.delay_sec == pytest.approx(0.2, abs=2e-4)


@in_turn("noise", ["white", "pink", "talk", "banjo", "hum"])
@in_turn("over_noise_db", [10.0, -5.0])
def test_it_is_found_in_rooms_under_noise_and_through_small_loudspeakers(noise: str, over_noise_db: float):
    for seed, rate in ((1, 44100), (2, 48000)):
        row = Return(speaker="phone", direct_db=-3.0, noise=noise, over_noise_db=over_noise_db, clip_db=2.0)
        rng = np.random.default_rng(seed)
        taken = row.taken(chirp(rate), rate, 0.1234, rng)
        arrival = found(taken, chirp(rate), rate)
        assert arrival is not None
        assert arrival.delay_sec == pytest.approx(0.1234, abs=2e-4)
        assert abs(arrival.delay_sec - 0.1234) <= arrival.unsure_sec


@in_turn("noise", NOISES)
def test_nothing_is_found_where_it_did_not_come_back(noise: str):
    row = Return(noise=noise, over_noise_db=-np.inf)
    taken = [row.taken(SWEEP, RATE, 0.0, np.random.default_rng([3, number])) for number in range(SENT)]
    arrivals = [found(one, SWEEP, RATE) for one in taken]
    assert combined(arrivals) is None
    assert not any(arrivals) or noise == "talk"


def test_a_recording_without_anything_holds_no_sweep():
    assert found(np.zeros(RATE, np.float32), SWEEP, RATE) is None
    assert found(np.zeros(0), SWEEP, RATE) is None
    assert found(SWEEP[:-10], SWEEP, RATE) is None
    assert found(np.full(RATE, np.nan), SWEEP, RATE) is None


def test_numbers_that_are_none_are_silence():
    taken = heard((3000.0, 0.1))
    taken[100:200] = np.nan
    taken[300] = np.inf
    arrival = found(taken, SWEEP, RATE)
    assert arrival is not None
    assert arrival.delay_sec == pytest.approx(3000 / RATE, abs=1e-5)


def test_no_delay_beyond_the_longest_is_looked_for():
    taken = heard((0.4 * RATE, 0.1))
    assert found(taken, SWEEP, RATE, longest_sec=0.39) is None
    assert found(taken, SWEEP, RATE, longest_sec=0.41) is not None


def test_what_is_no_channel_or_no_sweep_is_refused():
    with pytest.raises(ValueError, match=r"taken of shape \(2, 5\)"):
        found(np.zeros((2, 5)), SWEEP, RATE)
    with pytest.raises(ValueError, match=r"sent of shape \(\)"):
        found(SWEEP, np.float32(1.0), RATE)
    with pytest.raises(ValueError, match="silence"):
        found(SWEEP, np.zeros(100), RATE)


@pytest.mark.parametrize("gain_db", [0.0, -20.0, -40.0])
def test_how_loud_it_came_back_is_told_through_noise_and_a_room(gain_db: float):
    gain = 10.0 ** (gain_db / 20.0)
    alone = heard((2000.4, gain), noise=1e-4)
    assert came_back_db(alone, SWEEP, RATE, 2000.4 / RATE) == pytest.approx(gain_db, abs=1.0)
    buried = heard((2000.4, gain), noise=0.1 * gain)
    assert came_back_db(buried, SWEEP, RATE, 2000.4 / RATE) == pytest.approx(gain_db, abs=1.5)
    twice = heard((2000.4, gain), (2700.0, -gain), noise=1e-4)
    assert came_back_db(twice, SWEEP, RATE, 2000.4 / RATE) == pytest.approx(gain_db + 3.0, abs=1.0)


def test_how_loud_it_came_back_has_a_floor():
    assert came_back_db(np.zeros(RATE), SWEEP, RATE, 0.1) == -120.0


def came(*delays_ms: float | None, unsure_sec: float = 0.0002) -> list[Arrival | None]:
    return [
        None if ms is None else Arrival(delay_sec=ms / 1e3, unsure_sec=unsure_sec, over_db=20.0)
        for ms in delays_ms
    ]


def test_sweeps_that_agree_give_their_median():
    measured = combined(came(30.0, 30.1, 29.9, 30.4, 30.2))
    assert measured is not None
    assert (measured.agreed, measured.sent, measured.over_db) == (5, 5, 20.0)
    assert measured.delay_sec == pytest.approx(0.0301)
    assert measured.unsure_sec == LEAST_UNSURE_SEC


def test_what_disagrees_is_left_out():
    measured = combined(came(30.0, 700.0, None, 30.8, 30.9))
    assert measured is not None
    assert (measured.agreed, measured.sent) == (3, 5)
    assert measured.delay_sec == pytest.approx(0.0308)
    assert measured.unsure_sec == pytest.approx(0.00045)


@pytest.mark.parametrize(
    "arrivals",
    [
        came(),
        came(30.0),
        came(None, None, None),
        came(30.0, 30.0, None, None, None),
        came(30.0, 30.0, None, None),
        came(30.0, 31.1, 32.2, 33.3, 34.4),
        came(30.0, 30.0, 700.0, 700.0, 200.0),
    ],
)
def test_unless_more_than_half_agree_nothing_is_measured(arrivals: list[Arrival | None]):
    assert combined(arrivals) is None


def test_arrivals_agree_up_to_the_limit_itself():
    near = [Arrival(delay_sec=sec, unsure_sec=0.0, over_db=20.0) for sec in (0.0, AGREE_SEC)]
    assert combined(near) is not None
    assert combined([near[0], replace(near[1], delay_sec=AGREE_SEC + 1e-6)]) is None


def test_faint_sweeps_are_less_sure_together_too():
    row = Return(over_noise_db=-16.0, noise="pink")
    taken = [row.taken(SWEEP, RATE, 0.2, np.random.default_rng([4, number])) for number in range(SENT)]
    arrivals = [found(one, SWEEP, RATE) for one in taken]
    faint = [one for one in arrivals if one is not None]
    assert faint
    assert all(CLEAR_DB <= one.over_db < 18.0 and one.unsure_sec == 0.002 for one in faint)
    measured = combined(faint)
    assert measured is None or measured.unsure_sec >= 0.002
