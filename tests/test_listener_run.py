"""One stream with all that listens to it: what is played is taken out of what is heard, where it is heard."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

from feedback.clicking import Stroke
from feedback.sound.click import render
from listener.bleed import QUIETEST_DB
from listener.playout import Playout
from listener.ring import Block
from listener.run import MeasuredTrip, Run

RATE, SIZE = 44100, 256
TRIP = 2000  # frames
SEC = 7.0
CLICK = render(
    [Stroke(sec=0.5 * k, sort="beat") for k in range(14)], rate=RATE, level_db=-12.0, quiet_sec=0.0
)


def _listened(
    gain: float, *, late: int = 300, drop: tuple[int, int] = (0, 0)
) -> tuple[np.ndarray, np.ndarray, Run]:
    """What came in and what the ear was given, laid beside each other, of a stream that plays a click.

    The click comes back, later than the round trip that the stamps tell.
    """
    stream = SimpleNamespace(rate=RATE, latency_sec=0.05, playout=Playout(), zero_frames=0, position=0)
    stream.playout.add(CLICK, 4000)
    run = Run(stream, None, None)  # type: ignore[arg-type]
    played = np.zeros(round(SEC * RATE) // SIZE * SIZE, np.float32)
    stream.playout.mix(0, played)
    rng = np.random.default_rng(3)
    taken = 1e-4 * rng.standard_normal(len(played))
    taken[TRIP + late :] += gain * played[: -TRIP - late]
    taken = taken.astype(np.float32)
    for position in range(0, len(played), SIZE):
        if drop[0] <= position < drop[1]:
            continue
        sec = 100.0 + position / RATE
        block = Block(
            position=position,
            samples=taken[position : position + SIZE],
            adc_sec=sec,
            dac_sec=sec + TRIP / RATE,
            came_sec=sec,
            flags=0,
            given=played[position : position + SIZE],
        )
        stream.position = position + SIZE
        run.listen(block, keep=True)
        if position == 0:
            run.tape.begin(0)
    given = run.tape.take()
    return taken[TRIP : TRIP + len(given)], given, run


def _left(taken: np.ndarray, given: np.ndarray, from_sec: float) -> float:
    late = slice(round(from_sec * RATE), None)
    return float(np.var(given[late]) / np.var(taken[late]))


def test_what_comes_back_is_taken_out_of_what_the_ear_is_given() -> None:
    taken, given, run = _listened(0.5)
    assert run.known.bleed_db == pytest.approx(-6.0, abs=3.0)
    assert _left(taken, given, 5.0) < 0.05


def test_after_blocks_that_were_lost_it_is_taken_out_where_it_is() -> None:
    lost = 4 * RATE // SIZE * SIZE
    taken, given, _ = _listened(0.5, drop=(lost, lost + 9216))
    assert _left(taken, given, 5.5) < 0.1


def test_with_headphones_the_microphone_stays_as_it_is() -> None:
    taken, given, run = _listened(0.0)
    assert np.array_equal(given, taken)
    assert run.known.bleed_db == QUIETEST_DB


def test_a_measured_trip_is_what_the_clock_goes_by() -> None:
    stream = SimpleNamespace(rate=RATE, latency_sec=0.05, playout=Playout(), zero_frames=0, position=0)
    run = Run(stream, None, MeasuredTrip(trip_sec=0.08, extra_sec=0.01, unsure_sec=0.0004))  # type: ignore[arg-type]
    for position in range(0, RATE, SIZE):
        sec = 100.0 + position / RATE
        block = Block(
            position=position,
            samples=np.full(SIZE, 0.1, np.float32),
            adc_sec=sec,
            dac_sec=sec + TRIP / RATE,
            came_sec=sec,
            flags=0,
        )
        run.listen(block, keep=False)
    assert run.known.round_trip_sec == pytest.approx(TRIP / RATE + 0.01, abs=2e-4)
    assert run.known.basis == "checked"


@pytest.mark.parametrize("stamped", [True, False])
def test_what_sounds_now_goes_by_the_stamps_and_without_them_by_half_the_round_trip(stamped: bool) -> None:
    stream = SimpleNamespace(rate=RATE, latency_sec=0.05, playout=Playout(), zero_frames=0, position=0)
    run = Run(stream, None, MeasuredTrip(trip_sec=0.08))  # type: ignore[arg-type]
    for position in range(0, 2 * RATE, SIZE):
        sec = 100.0 + position / RATE
        wall = 1e9 * stamped  # another clock than the monotonic one
        block = Block(
            position=position,
            samples=np.full(SIZE, 0.1, np.float32),
            adc_sec=(wall + sec - 0.01) * stamped,
            dac_sec=(wall + sec + 0.03) * stamped,
            came_sec=sec,
            flags=0,
        )
        run.listen(block, keep=False, clocks=(5.0, 1e9))
    assert run.playhead.at(102.0) == pytest.approx(2.0 - (0.03 if stamped else 0.04), abs=2e-4)
