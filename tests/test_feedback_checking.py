"""The sound check with a stand-in for the microphone: what it asks for, what it finds, how sure it is."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from feedback import checking as module
from feedback.checking import SWEEPS_DB, Checking
from feedback.checking_events import (
    CheckEvent,
    Ended,
    LevelFound,
    Meter,
    NoiseFound,
    PlayAlong,
    PlayAway,
    Still,
    Sweeping,
    TripFound,
)
from feedback.player import render
from feedback.session import after_count_in
from feedback.sources import simulated_turn
from listener.chirp import SENT
from listener.errors import DeviceTrouble
from routines.library import load
from tests.desks import RATE, Desk, laid_out


@pytest.fixture(autouse=True)
def _short(monkeypatch: pytest.MonkeyPatch) -> None:
    """What takes long in truth and tells no more for it."""
    monkeypatch.setattr(module, "STILL_SEC", 1.5)
    monkeypatch.setattr(module, "READY_SEC", 0.5)
    monkeypatch.setattr(module, "PLAY_SEC", 1.5)
    monkeypatch.setattr(module, "LONGEST_SEC", 0.6)


def _few_clicks(monkeypatch: pytest.MonkeyPatch) -> None:
    """Half as many clicks to play along with, for nobody who does."""
    monkeypatch.setattr(module, "PATTERN_SEC", module.PATTERN_SEC[:8])


def _checked(desk: Desk) -> tuple[Checking, list[CheckEvent]]:
    checking = Checking(desk)  # type: ignore[arg-type]
    return checking, [event for event in checking.events() if not isinstance(event, Meter)]


def _along(desk: Desk, late_sec: float, scatter_sec: float = 0.004) -> Callable[[int, int], np.ndarray]:
    """A hand that strikes after each stroke of the click, a round trip and so much later."""
    lick = load("forward-roll")
    played = simulated_turn(after_count_in(lick, 60.0, passes=1), mistakes=((),), seed=2)
    whole = render(played, rate=RATE, seed=2, instrument=None)
    begin = round(played.notes[0].onset_sec * RATE)
    stroke = whole[begin - 40 : begin + round(0.24 * RATE)]
    rng = np.random.default_rng(4)
    jitter: dict[int, int] = {}

    def hand(position: int, frames: int) -> np.ndarray:
        out = np.zeros(frames)
        for at, sound in desk.laid:
            if len(sound) > RATE // 8:  # a sweep
                continue
            if at not in jitter:
                jitter[at] = round((desk.trip_sec + late_sec + scatter_sec * rng.standard_normal()) * RATE)
            out += laid_out(stroke, at + jitter[at] - 40)(position, frames)
        return out

    return hand


@pytest.mark.parametrize("bleed", [0.5, 0.03])
def test_the_round_trip_is_found_where_the_loudspeaker_comes_back(bleed: float) -> None:
    desk = Desk(trip_sec=0.0417, stamps_sec=0.030, bleed=bleed)
    checking, events = _checked(desk)
    kinds = [type(event) for event in events]
    assert kinds[:2] == [Still, NoiseFound]
    assert kinds[-4:] == [TripFound, PlayAway, LevelFound, Ended]
    trip = checking.trip
    assert trip is not None
    assert (trip.how, trip.agreed, trip.sent) == ("chirp", SENT, SENT)
    assert trip.trip_sec == pytest.approx(0.0417, abs=2e-4)
    assert trip.stamps_sec == pytest.approx(0.030, abs=1e-4)
    assert trip.extra_sec == pytest.approx(0.0117, abs=3e-4)
    assert trip.unsure_sec < 0.001
    assert trip.bleed_db == pytest.approx(20.0 * np.log10(bleed), abs=1.0)
    assert trip.measured


def test_it_begins_softly_and_grows_only_where_nothing_is_found(monkeypatch: pytest.MonkeyPatch) -> None:
    _few_clicks(monkeypatch)
    loud = Desk(bleed=0.5)
    _, events = _checked(loud)
    assert [event.level_db for event in events if isinstance(event, Sweeping)] == [SWEEPS_DB[0]]
    assert max(float(np.abs(sound).max()) for _, sound in loud.laid) <= 10.0 ** (SWEEPS_DB[0] / 20.0) * 1.001
    buried = Desk(bleed=0.003, noise=0.0012)
    checking, events = _checked(buried)
    levels = [event.level_db for event in events if isinstance(event, Sweeping)]
    assert levels == list(SWEEPS_DB[: len(levels)])
    assert len(levels) > 1
    if checking.trip is not None and checking.trip.how == "chirp":
        assert checking.trip.trip_sec == pytest.approx(buried.trip_sec, abs=1e-3)


def test_where_the_stamps_make_no_sense_the_whole_way_is_known_and_nothing_beside_it() -> None:
    checking, _ = _checked(Desk(trip_sec=0.22, stamps_sec=None, bleed=0.2))
    trip = checking.trip
    assert trip is not None
    assert trip.trip_sec == pytest.approx(0.22, abs=2e-4)
    assert (trip.stamps_sec, trip.extra_sec) == (None, None)


def test_with_headphones_the_player_is_asked_to_play_along() -> None:
    desk = Desk(trip_sec=0.25, stamps_sec=0.030, bleed=0.0)
    desk.hand = _along(desk, late_sec=-0.015)
    checking, events = _checked(desk)
    assert sum(isinstance(event, PlayAlong) for event in events) == 1
    trip = checking.trip
    assert trip is not None
    assert trip.how == "played"
    assert trip.unsure_sec >= 0.02
    assert abs(trip.trip_sec - 0.25) < trip.unsure_sec
    assert trip.apart  # a wireless way that no stamp knows of
    assert trip.measured


def test_what_is_played_along_does_not_contradict_stamps_that_it_is_near() -> None:
    desk = Desk(trip_sec=0.035, stamps_sec=0.030, bleed=0.0)
    desk.hand = _along(desk, late_sec=-0.012)
    checking, _ = _checked(desk)
    trip = checking.trip
    assert trip is not None
    assert (trip.how, trip.apart, trip.measured) == ("played", False, False)


def test_where_nobody_plays_along_the_stamps_are_what_is_known(monkeypatch: pytest.MonkeyPatch) -> None:
    _few_clicks(monkeypatch)
    checking, _ = _checked(Desk(trip_sec=0.05, stamps_sec=0.04, bleed=0.0))
    trip = checking.trip
    assert trip is not None
    assert (trip.how, trip.measured) == ("stamps", False)
    assert trip.trip_sec == pytest.approx(0.04, abs=1e-4)


def test_noise_and_level_are_those_of_the_microphone(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(module, "PLAY_SEC", 5.0)
    lick = load("slab-wood-supper")
    plan = after_count_in(lick, 80.0, passes=1)
    take = render(simulated_turn(plan, mistakes=((),), seed=3), seed=3)[round(plan.first_start_sec * RATE) :]
    take = take[: round(4.5 * RATE)]
    desk = Desk(bleed=0.3, noise=10.0 ** (-60.0 / 20.0))
    sweeps = 1.5 + SENT * (0.3 + 0.25 + 0.6) + 0.5
    desk.hand = laid_out(take, round(sweeps * RATE))
    checking, events = _checked(desk)
    assert checking.noise_db == pytest.approx(-60.0, abs=0.5)
    (level,) = [event for event in events if isinstance(event, LevelFound)]
    assert level.peak_db == pytest.approx(20.0 * np.log10(np.abs(take).max()), abs=0.5)
    assert level.notes >= 8
    assert level.note_db is not None
    assert level.clipped == 0


def test_a_microphone_that_gives_zeros_is_told() -> None:
    with pytest.raises(DeviceTrouble, match="nothing but zeros"):
        _checked(Desk(bleed=0.0, noise=0.0))


def test_sound_that_goes_away_ends_it() -> None:
    desk = Desk()
    desk.lose_at = 3 * RATE
    with pytest.raises(DeviceTrouble, match="went away during the check: unplugged"):
        _checked(desk)


def test_it_records_until_it_is_said_to_be_enough() -> None:
    desk = Desk()
    checking = Checking(desk)  # type: ignore[arg-type]
    meters = list(checking.record(lambda sound: len(sound) >= 2 * RATE))
    assert len(checking.recorded) >= 2 * RATE
    assert len(meters) == 2
