"""What the live tests hold a card against must itself find what is lost, put in, or moved."""

from __future__ import annotations

import numpy as np
import pytest

from tests.arrivals import arrivals, whole
from tests.plucks import plucked

RATE = 44100
PLACES = [0.5, 0.75, 1.0, 1.25, 1.5]


@pytest.fixture(scope="module")
def played() -> np.ndarray:
    notes = [(place, midi, 0.3) for place, midi in zip(PLACES, (62.0, 66.0, 69.0, 72.0, 71.0), strict=True)]
    return plucked(RATE, notes, duration_sec=2.0)


def heard(played: np.ndarray, late: int, hum_db: float = -50.0) -> np.ndarray:
    noise = np.random.default_rng(1).standard_normal(len(played) + 4000)
    out = 10 ** (hum_db / 20) * float(np.abs(played).max()) * noise
    out[late : late + len(played)] += played
    return out


@pytest.mark.parametrize("late", [0, 441, 2000])
def test_all_pieces_lie_as_late_as_they_are(played: np.ndarray, late: int) -> None:
    found = arrivals(played, heard(played, late), RATE, PLACES, 0.0)
    assert [round(one.late_sec * RATE) for one in found] == [late] * 5
    assert whole(found)


def test_they_are_looked_for_where_they_should_be(played: np.ndarray) -> None:
    sound = np.concatenate([np.zeros(RATE), heard(played, 100)])
    found = arrivals(played, sound, RATE, PLACES, 1.0)
    assert [round(one.late_sec * RATE) for one in found] == [100] * 5
    early = arrivals(played, heard(played, 0)[RATE // 4 :], RATE, PLACES, -0.25)
    assert [one.late_sec for one in early] == pytest.approx([0.0] * 5, abs=1e-4)


@pytest.mark.parametrize("at", [0.52, 0.8, 1.01, 1.26])
@pytest.mark.parametrize("frames", [256, 512, -256, -900])
def test_frames_lost_or_put_in_are_found(played: np.ndarray, at: float, frames: int) -> None:
    sound = heard(played, 0)
    cut = round(at * RATE)
    if frames > 0:
        sound = np.concatenate([sound[:cut], sound[cut + frames :]])
    else:
        sound = np.concatenate([sound[:cut], np.zeros(-frames), sound[cut:]])
    assert not whole(arrivals(played, sound, RATE, PLACES, 0.0))


@pytest.mark.parametrize("place", PLACES)
def test_a_gap_is_found(played: np.ndarray, place: float) -> None:
    sound = heard(played, 0)
    sound[round(place * RATE) :][:512] = 0.0
    assert not whole(arrivals(played, sound, RATE, PLACES, 0.0))


def test_another_sound_and_silence_are_not_it(played: np.ndarray) -> None:
    assert not whole(arrivals(played, played[::-1], RATE, PLACES, 0.0))
    assert not whole(arrivals(played, np.zeros(len(played)), RATE, PLACES, 0.0))
    assert not whole(arrivals(np.zeros(len(played)), played, RATE, PLACES, 0.0))
    assert not whole(arrivals(played, np.zeros(10), RATE, PLACES, 0.0))
