"""The microphone's sound laid on the output's clock: sample k was taken in when frame k sounded.

The clock is a stand-in whose round trip the test sets; the sound counts its own frames, so that what came out
tells where it was taken in.
"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from listener.aligning import AROUND_SEC, SPLICE_SEC, WAITS_SEC, Aligner, shifted
from listener.clock import Step
from listener.notes import NoteEvent, Report
from listener.ring import Block

RATE = 1000  # a frame a millisecond
SIZE = 10


class Clock:
    """A round trip that is told, not found."""

    def __init__(self, trip_sec: float = 0.050, ready: bool = True) -> None:
        self.trip_sec, self.ready = trip_sec, ready
        self.steps: tuple[Step, ...] = ()
        self.held = 0
        self.fed: list[tuple[int, bool]] = []

    def feed(
        self, position: int, adc_sec: float, dac_sec: float, *, flags: int = 0, came_sec: float | None = None
    ) -> None:
        self.fed.append((position, flags != 0))

    def hold(self) -> None:
        self.held += 1

    def round_trip_sec(self, position: int) -> float:
        return self.trip_sec

    def step(self, position: int, moved_sec: float) -> None:
        self.trip_sec += moved_sec
        self.steps = (*self.steps, Step(position=position, moved_sec=moved_sec))


def _block(position: int, *, flagged: bool = False, size: int = SIZE) -> Block:
    """Sound whose sample says at which frame it was taken in, plus one: silence is 0."""
    return Block(
        position=position,
        samples=np.arange(position + 1, position + size + 1, dtype=np.float32),
        adc_sec=0.0,
        dac_sec=0.0,
        came_sec=0.0,
        flags=int(flagged),
    )


def _fed(aligner: Aligner, positions: range | list[int], flagged: int | None = None) -> list[float]:
    out = [part for at in positions for part in aligner.feed(_block(at, flagged=at == flagged))]
    return np.concatenate([np.zeros(0, np.float32), *out]).tolist()


def test_a_round_trip_is_left_out_at_the_beginning() -> None:
    aligner = Aligner(RATE, Clock(0.025))
    out = _fed(aligner, range(0, 60, SIZE))
    assert out == [float(k + 1) for k in range(25, 60)]
    assert aligner.fed == 35
    assert aligner.now_sec == pytest.approx(0.035)
    assert aligner.shift_sec == 0.0
    assert aligner.new_deaf() == []


def test_sound_waits_until_the_round_trip_is_known() -> None:
    clock = Clock(0.025, ready=False)
    aligner = Aligner(RATE, clock)
    assert _fed(aligner, range(0, 40, SIZE)) == []
    clock.ready = True
    assert _fed(aligner, [40]) == [float(k + 1) for k in range(25, 50)]
    assert clock.held == 1
    assert [position for position, _ in clock.fed] == [0, 10, 20, 30, 40]


def test_what_waited_too_long_stands_as_silence_for_the_count() -> None:
    clock = Clock(0.025, ready=False)
    aligner = Aligner(RATE, clock)
    last = round((WAITS_SEC + 1.0) * RATE)
    _fed(aligner, range(0, last, SIZE))
    clock.ready = True
    out = _fed(aligner, [last])
    assert aligner.fed == last + SIZE - 25
    assert out[-1] == last + SIZE  # the sample taken in last
    assert len(out) == aligner.fed
    assert out[: round(WAITS_SEC * RATE) // 4] == [0.0] * (
        round(WAITS_SEC * RATE) // 4
    )  # the oldest are gone
    assert len(aligner.new_deaf()) == 1


@pytest.mark.parametrize("moved", [0.017, -0.017])
def test_a_step_is_mended_by_a_cut(moved: float) -> None:
    clock = Clock(0.050)
    aligner = Aligner(RATE, clock)
    _fed(aligner, range(0, 200, SIZE))
    clock.step(180, moved)
    out = _fed(aligner, range(200, 400, SIZE))
    assert out[-1] == 400.0
    assert aligner.fed == 400 - 50 - round(1000 * moved)  # sample k was taken in at k + the new round trip
    assert out[:17] == ([0.0] * 17 if moved < 0 else [float(k) for k in range(218, 235)])
    ((begin, end),) = aligner.new_deaf()
    assert begin <= 0.180 - 0.067  # the step itself, whichever round trip held
    assert end >= 0.150 + AROUND_SEC
    assert aligner.new_deaf() == []


def test_a_cut_is_made_once_for_each_step() -> None:
    clock = Clock(0.050)
    aligner = Aligner(RATE, clock)
    _fed(aligner, range(0, 200, SIZE))
    clock.step(180, 0.017)
    _fed(aligner, range(200, 300, SIZE))
    assert len(aligner.new_deaf()) == 1
    _fed(aligner, range(300, 400, SIZE))
    assert aligner.new_deaf() == []


@pytest.mark.parametrize(("drifted", "cut"), [(0.5 * SPLICE_SEC, False), (SPLICE_SEC + 0.002, True)])
def test_a_drift_is_a_shift_until_it_is_worth_a_cut(drifted: float, cut: bool) -> None:
    clock = Clock(0.050)
    aligner = Aligner(RATE, clock)
    _fed(aligner, range(0, 200, SIZE))
    before = aligner.now_sec
    clock.trip_sec += drifted
    _fed(aligner, [200])
    assert bool(aligner.new_deaf()) is cut
    assert abs(aligner.shift_sec) <= SPLICE_SEC
    assert (aligner.shift_sec == 0.0) is cut or abs(aligner.shift_sec) < 1e-3
    assert aligner.now_sec == pytest.approx(before + SIZE / RATE - drifted)


def test_lost_blocks_are_silence_and_deaf() -> None:
    aligner = Aligner(RATE, Clock(0.020))
    _fed(aligner, range(0, 100, SIZE))
    out = _fed(aligner, [130])
    assert out == [0.0] * 30 + [float(k + 1) for k in range(130, 140)]
    assert aligner.fed == 140 - 20
    ((begin, end),) = aligner.new_deaf()
    assert begin == pytest.approx(0.080 - AROUND_SEC)
    assert end == pytest.approx(0.110 + AROUND_SEC)


def test_a_flag_is_deaf_though_nothing_is_missing() -> None:
    clock = Clock(0.020)
    aligner = Aligner(RATE, clock)
    out = _fed(aligner, range(0, 200, SIZE), flagged=100)
    assert out == [float(k + 1) for k in range(20, 200)]
    assert (100, True) in clock.fed
    ((begin, end),) = aligner.new_deaf()
    assert begin < 0.080 < end


@pytest.mark.parametrize("moved", [0.012, -0.012, 0.001])
def test_settling_takes_what_is_known_by_now(moved: float) -> None:
    clock = Clock(0.050)
    aligner = Aligner(RATE, clock)
    _fed(aligner, range(0, 200, SIZE))
    clock.trip_sec += moved
    aligner.settle()
    assert clock.held == 2
    out = _fed(aligner, range(200, 300, SIZE))
    assert aligner.fed == 300 - 50 - round(1000 * moved)
    assert out[-1] == 300.0
    assert aligner.new_deaf() == []  # nobody plays then


@settings(deadline=None, max_examples=60)
@given(
    trip=st.integers(0, 80),
    events=st.lists(
        st.tuples(st.sampled_from(["step", "lose", "settle", "plain"]), st.integers(-40, 40)), max_size=12
    ),
)
def test_whatever_happens_the_count_is_right(trip: int, events: list[tuple[str, int]]) -> None:
    clock = Clock(trip / RATE)
    aligner = Aligner(RATE, clock)
    position, handed = 0, 0
    for kind, by in [*events, ("plain", 0)]:
        if kind == "step" and clock.trip_sec + by / RATE >= 0 and by:
            clock.step(position, by / RATE)
        elif kind == "settle" and clock.trip_sec + by / RATE >= 0:
            clock.trip_sec += by / RATE
            aligner.settle()
        elif kind == "lose":
            position += abs(by)
        for _ in range(30):
            for part in aligner.feed(_block(position)):
                handed += len(part)
                last = part[-1]
            position += SIZE
        assert last == position  # the sample taken in last ...
        assert aligner.fed + round(clock.trip_sec * RATE) == position  # ... a round trip after it sounded
        assert handed == aligner.fed


def test_shifted_moves_every_time_and_nothing_else() -> None:
    note = NoteEvent(
        onset_sec=1.0,
        midi=60,
        cents=3.0,
        level_db=-20.0,
        confidence=0.9,
        heard_sec=1.05,
        settled_sec=1.2,
        path=((1.0, 0.0), (1.1, 100.0)),
    )
    moved = shifted(Report("settled", 4, note), 0.5)
    assert (moved.kind, moved.number) == ("settled", 4)
    assert (moved.note.onset_sec, moved.note.heard_sec, moved.note.settled_sec) == (1.5, 1.55, 1.7)
    assert moved.note.path == ((1.5, 0.0), (1.6, 100.0))
    assert (moved.note.midi, moved.note.cents, moved.note.level_db) == (60, 3.0, -20.0)
    same = Report("heard", 1, note)
    assert shifted(same, 0.0) is same
