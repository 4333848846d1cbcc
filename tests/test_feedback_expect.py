"""What a pass lets expect: asked pitches at their times, slips in their place, and who is told of them."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial
from pathlib import Path

import numpy as np
import pytest
import soundfile

from feedback.__main__ import main
from feedback.expect import ASKED, LAST, LATE, SLIP, asked_at, expectations
from feedback.grid import Grid, Habits
from feedback.judges.limits import Limits
from feedback.playing import TurnRequest, play_file, play_simulated
from feedback.session import TurnPlan
from listener.ear import Ear
from listener.expecting import Expectation, Expected
from listener.files import SoundFile
from listener.network import HIGH_PITCH, LOW_PITCH
from routines.library import all_licks
from routines.lick import Lick
from routines.neck import FifthString, Neck
from tests.scores import START_SEC, A, grid_of, lick, target_at

DRONE = 67
BENT = lick("3/2 2/1c3 3/2s3/4 . 2/1 s2/3 3/0 3/0h3/2", "D7 G")
"""A choke, a slide inside its eighth, a slide to an eighth of its own, a hammer-on inside its eighth."""


def _asked(found: Sequence[Expectation]) -> list[tuple[float, int]]:
    return [(one.onset_sec, one.midi) for one in found if one.weight == ASKED]


def _one(midi: int, *, eighth_sec: float = 0.1, drone_midi: int = DRONE) -> list[Expectation]:
    return list(asked_at(2.0, midi, eighth_sec=eighth_sec, drone_midi=drone_midi))


def test_each_target_is_asked_for_at_its_time_in_the_order_of_the_lick() -> None:
    found = _asked(expectations(grid_of(A)))
    assert [midi for _, midi in found] == [note.midi for note in A.notes]
    # eighths of 100 ms from one second on; the last bar's last eighth is silent
    assert [sec for sec, _ in found] == pytest.approx([1.0 + 0.1 * k for k in range(15)])


def test_one_asked_pitch_comes_in_time_or_half_an_eighth_late() -> None:
    on_time, late, *slips = _one(60)
    assert (on_time.onset_sec, on_time.midi, on_time.weight) == (2.0, 60, 0.9)
    assert (late.onset_sec, late.midi, late.weight) == (pytest.approx(2.05), 60, 0.1)
    assert late.spread_sec == pytest.approx(0.025)
    assert {slip.weight for slip in slips} == {SLIP} == {0.03}
    assert {(slip.onset_sec, slip.spread_sec) for slip in slips} == {(2.0, on_time.spread_sec)}
    assert LATE > SLIP


@pytest.mark.parametrize(
    ("eighth_sec", "spread_sec"),
    [(0.3, 0.035), (0.1944, 0.034992), (0.15, 0.027), (0.1001, 0.018018), (0.08, 0.018)],
)
def test_the_spread_is_a_share_of_an_eighth_within_bounds(eighth_sec: float, spread_sec: float) -> None:
    on_time, late, *slips = _one(60, eighth_sec=eighth_sec)
    assert on_time.spread_sec == pytest.approx(spread_sec)
    assert {slip.spread_sec for slip in slips} == {on_time.spread_sec}
    assert late.spread_sec == pytest.approx(0.25 * eighth_sec)
    assert late.onset_sec == pytest.approx(2.0 + 0.5 * eighth_sec)


@pytest.mark.parametrize(
    ("midi", "drone_midi", "slips"),
    [
        (60, 67, [48, 58, 59, 61, 62, 67, 72]),
        (66, 67, [54, 64, 65, 67, 68, 78]),  # the drone is a fret away, and comes once
        (67, 67, [55, 65, 66, 68, 69, 79]),  # the drone itself slips to no drone
        (55, 67, [43, 53, 54, 56, 57, 67]),  # its octave is the drone
        (60, 69, [48, 58, 59, 61, 62, 69, 72]),
    ],
)
def test_slips_are_frets_beside_octaves_and_the_drone(midi: int, drone_midi: int, slips: list[int]) -> None:
    assert [one.midi for one in _one(midi, drone_midi=drone_midi)[2:]] == slips


@pytest.mark.parametrize(
    ("neck", "drone"), [(Neck(), 67), (Neck(capo=2), 69), (Neck(fifth=FifthString(69, "spike")), 69)]
)
def test_the_drone_is_that_of_the_neck(neck: Neck, drone: int) -> None:
    found = expectations(grid_of(lick("2/1", "G", neck=neck)))
    assert [(one.midi, one.weight) for one in found if one.midi in (67, 69)] == [(drone, SLIP)]


def test_a_choke_and_a_slide_of_one_stroke_are_asked_for_at_both_pitches_where_they_are_struck() -> None:
    found = _asked(expectations(grid_of(BENT)))
    wanted = [
        (0, [57]), (1, [60, 62]), (2, [57, 59]), (4, [60]), (5, [62]), (6, [55]), (7, [55]), (7.5, [57]),
    ]  # fmt: skip
    pairs = [(1.0 + 0.1 * eighths, midi) for eighths, pitches in wanted for midi in pitches]
    assert [midi for _, midi in found] == [midi for _, midi in pairs]
    assert [sec for sec, _ in found] == pytest.approx([sec for sec, _ in pairs])


def test_both_voices_of_a_pinch_are_asked_for() -> None:
    found = _asked(expectations(grid_of(lick("5/0+1/0 2/1", "D7"))))
    assert found == [(pytest.approx(1.0), 62), (pytest.approx(1.0), 67), (pytest.approx(1.1), 60)]


def test_known_habits_move_what_is_expected() -> None:
    plain = expectations(grid_of(A))
    habits = Habits(lean_sec=-0.009, bounce_sec=0.018, slope=0.02, bend=0.01, about_sec=1.3)
    moved = expectations(grid_of(A), habits)
    assert len(moved) == len(plain)
    for one, other in zip(plain, moved, strict=True):
        assert (one.midi, one.weight, one.spread_sec) == (other.midi, other.weight, other.spread_sec)
    for (due, _), (sec, _) in zip(_asked(plain), _asked(moved), strict=True):
        even = round((due - START_SEC) / 0.1) % 2 == 1
        wanted = -0.009 + 0.018 * even + 0.02 * (due - 1.3) + 0.01 * (due - 1.3) ** 2
        assert sec - due == pytest.approx(wanted, abs=1e-9)
    assert expectations(grid_of(A), Habits()) == plain
    late = [one.onset_sec for one in moved if one.weight == LATE]
    assert late == pytest.approx([sec + 0.05 for sec, _ in _asked(moved)])


@pytest.mark.parametrize("tempo_half_bpm", [20.0, 96.0, 240.0])
def test_an_ear_takes_what_every_lick_lets_expect(tempo_half_bpm: float) -> None:
    for one in all_licks():
        grid = Grid(lick=one, tempo_half_bpm=tempo_half_bpm, start_sec=3.0, limits=Limits())
        expected = Expected(expectations(grid))
        for target in one.notes:
            assert LOW_PITCH <= target.midi <= HIGH_PITCH
            there = expected.at(grid.due_sec(target.onset_quarters))
            assert there[target.midi - LOW_PITCH] == pytest.approx(ASKED)


class TestWhoIsTold:
    """Every way of playing along listens with all its passes in mind."""

    def _plan(self, of: Lick, passes: int) -> TurnPlan:
        return TurnPlan(lick=of, tempo_half_bpm=150.0, first_start_sec=0.5, passes=passes)

    def _told(self, plan: TurnPlan) -> list[Expectation]:
        grids = [grid_of(plan.lick, start_sec=start) for start in plan.starts_sec]
        return [one for grid in grids for one in expectations(grid)]

    def test_a_recording(self, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
        soundfile.write(tmp_path / "take.wav", np.zeros(4410, np.float32), 44100)
        made: list[list[Expectation]] = []

        def heard_in(sound: SoundFile, *, ear: partial[Ear], block_frames: int) -> list:
            assert ear.func is Ear
            made.append(ear.keywords["expectations"])
            return []

        monkeypatch.setattr("listener.files.heard_in", heard_in)
        plan = self._plan(A, 3)
        assert list(play_file(tmp_path / "take.wav", plan, Limits())) == []
        assert made == [self._told(plan)]

    def test_the_simulated_player(self, monkeypatch: pytest.MonkeyPatch) -> None:
        made: list[list[Expectation]] = []

        def listened(sound: np.ndarray, rate: int, *, until_sec: float, expectations: list) -> list:
            made.append(expectations)
            return []

        monkeypatch.setattr("feedback.playing.listened", listened)
        monkeypatch.setattr("feedback.player.render", lambda played, *, rate, seed: np.zeros(10, np.float32))
        request = TurnRequest(lick=A, tempo_half_bpm=150.0, mistakes=((), ()))
        assert list(play_simulated(request)) == []
        assert made == [self._told(request.plan)]
        assert made[0][0].onset_sec == pytest.approx(request.plan.starts_sec[0])
        assert _asked(made[0])[target_at(A, "b1e8")][1] == 60

    def test_hearing_a_recording_with_a_lick_where_the_player_says_it_lies(
        self, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
    ) -> None:
        monkeypatch.setenv("SEVENFALL_HOME", str(tmp_path))
        told: list[object] = []

        def hear_take(path: str, of: Lick, limits: Limits, **where: float) -> None:
            told.extend([path, of.id, where])
            raise KeyboardInterrupt

        monkeypatch.setattr("feedback.takes.hear_take", hear_take)
        words = ["hear", "take.wav", "--lick", "slab-wood-supper", "--tempo", "168q", "--start", "1.5"]
        assert main(words) == 130
        assert told == [
            "take.wav",
            "slab-wood-supper",
            {"tempo_half_bpm": 84.0, "start_sec": 1.5, "ear": None},
        ]


def test_only_the_last_seven_before_a_change_is_expected_with_the_change() -> None:
    grid = grid_of(A)
    for where, count in (("b1e8", 1), ("b1e5", 0)):
        note = A.notes[target_at(A, where)]
        due = grid.due_sec(note.onset_quarters)
        late = [
            one
            for one in expectations(grid)
            if one.midi == note.midi and one.weight == LAST and one.onset_sec == pytest.approx(due + 0.08)
        ]
        assert len(late) == count
