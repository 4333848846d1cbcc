"""The simulated players are what they say, and the ladder's table is counted as it says."""

from __future__ import annotations

import math

import pytest

from routines.ladder.levels import chance_clean
from routines.ladder.seen import PassSeen
from tests.bench.ladder import STARTS, Job, fortnight, outcome, quantile, sitting, tables
from tests.bench.ladder_players import KINDS, Player
from tests.bench.ladder_sittings import Played, counted


@pytest.mark.parametrize("kind", ["steady", "bounces", "flat"])
def test_four_in_five_are_clean_at_the_true_edge_and_nine_in_ten_at_home(kind: str) -> None:
    for level in (0.8, 0.9):
        clean = 0
        for seed in range(400):
            player = Player(KINDS[kind], 80.0, seed)
            tempo = player.edge_half_bpm if level == 0.8 else player.home_half_bpm
            clean += player.plays(tempo, "whole").clean is True
        assert clean / 400 == pytest.approx(level, abs=0.05)


def test_players_learn_tire_and_warm_up() -> None:
    learns, tires, cold = (Player(KINDS[name], 80.0, 1) for name in ("learns", "tires", "cold"))
    for _ in range(50):
        learns.plays(78.0, "whole")
    tires.waits(600.0)
    assert learns.edge_half_bpm > 82.0
    assert tires.edge_half_bpm == pytest.approx(80.0 * math.exp(-0.08))
    assert cold.edge_half_bpm == pytest.approx(80.0 * math.exp(-0.1))
    cold.waits(600.0)
    assert cold.edge_half_bpm == pytest.approx(80.0, abs=0.01)


def test_a_sitting_is_counted() -> None:
    def pass_at(tempo: float, minutes: float, clean: bool | None) -> Played:
        seen = PassSeen(tempo_half_bpm=tempo, clean=clean, sitting_sec=60.0 * minutes, lasted_sec=4.0)
        return Played(seen=seen, edge_half_bpm=80.0, closing=False)

    tempos = (60.0, 70.0, 76.0, 84.0, 80.0, 84.0)
    played = [pass_at(tempo, number + 1.0, number != 3) for number, tempo in enumerate(tempos)]
    sat = counted(played, Player(KINDS["steady"], 80.0, 1))
    assert sat.found_min == 3.0
    assert sat.stands == pytest.approx(math.log(84.0 / 80.0))
    assert sat.turns_back == pytest.approx(10.0 * 1 / 3)
    assert sat.swing == pytest.approx(0.05)
    assert sat.clean == pytest.approx(5 / 6)
    assert sat.above == pytest.approx(2 / 6)
    assert (sat.loop, sat.edge_off) == (0.0, None)


def test_sittings_last_ten_minutes_and_are_the_same_again() -> None:
    job = Job(kind="all of it", edge_half_bpm=90.0, start=0.85, seed=4)
    played, _, _ = sitting(job)
    assert 10.0 <= played[-1].minutes < 11.5
    assert played[-1].closing
    assert outcome(job) == outcome(job)


def test_most_steady_players_edges_are_found() -> None:
    jobs = [
        Job(kind="steady", edge_half_bpm=80.0, start=start, seed=seed)
        for start in STARTS[2:]
        for seed in (1, 2)
    ]
    sat = [outcome(job) for job in jobs]
    assert all(one.found_min is not None for one in sat)
    assert abs(quantile([one.stands for one in sat], 0.5)) < 0.06


def test_days_before_may_be_wrong() -> None:
    slow = Job(kind="steady", edge_half_bpm=100.0, wrong=-0.3, seed=2)
    played, _, known = sitting(slow)
    assert known.week_best_half_bpm == 70.0
    assert max(one.seen.tempo_half_bpm for one in played) == 73.0
    assert len(fortnight(Job(kind="steady", edge_half_bpm=80.0, start=1.0, seed=2), days=2)) == 2


def test_the_tables_hold_a_row_for_each_start() -> None:
    lines = []
    for line in tables(2, 0, map):
        lines.append(line)
        if line.startswith("\nby kind"):
            break
    assert [line.split()[1] for line in lines if line.startswith("from")] == [f"{one:g}" for one in STARTS]
    assert chance_clean(0.0, 0.1) == pytest.approx(0.8)
