"""The bench of a fortnight: the same seed leaves the same journal; what is known of the player is true."""

from __future__ import annotations

import argparse
import math
import random
from dataclasses import replace
from datetime import date, timedelta
from itertools import pairwise
from pathlib import Path

import pytest

from feedback.errors import Usage
from routines.journal.journal import Journal
from routines.ladder.levels import HOME_CLEAN, chance_clean
from routines.library import load
from tests.bench import fortnight
from tests.bench.fortnight_days import PLAYER, REPERTOIRE, ZONE, Fortnight, missed_days, practised
from tests.bench.fortnight_player import HURRY, LAPSE, SLIPS, SLOPE, Invented, home_over_edge
from tests.bench.fortnight_practice import Practised
from tests.bench.fortnight_sentence import held
from tests.bench.fortnight_tables import spoilt

LAST = date(2026, 11, 29)
LITTLE = 0.05


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("fortnight")


@pytest.fixture(scope="module")
def practices(folder: Path) -> list[Practised]:
    return list(practised(Fortnight(folder=folder, seed=4, days=2, last=LAST, share=LITTLE)))


def kept(folder: Path) -> tuple[list[object], ...]:
    """All that a journal holds, but for what is drawn to tell passes and sittings apart."""
    with Journal.open(folder, now=Fortnight(folder=folder, last=LAST).ended, writes=False) as journal:
        passes = [replace(one, id="", sitting=one.sitting.partition(" ")[0]) for one in journal.passes()]
        totals = journal.tempo_days(PLAYER), journal.guide_days(PLAYER), journal.levels_days(PLAYER)
        return (list(passes), *(list(rows) for rows in totals))


def test_the_same_seed_leaves_the_same_journal(
    practices: list[Practised], folder: Path, tmp_path: Path
) -> None:
    here = kept(folder)
    assert len(here[0]) == sum(len(one.done) for one in practices) > 40
    again = list(practised(Fortnight(folder=tmp_path / "a", seed=4, days=2, last=LAST, share=LITTLE)))
    assert kept(tmp_path / "a") == here
    assert [one.done[0].truth for one in again] == [one.done[0].truth for one in practices]
    list(practised(Fortnight(folder=tmp_path / "b", seed=5, days=1, last=LAST, share=LITTLE)))
    assert kept(tmp_path / "b")[0] not in (here[0], [])


def test_passes_stand_in_order_on_the_days_of_the_player(folder: Path, practices: list[Practised]) -> None:
    with Journal.open(folder, now=Fortnight(folder=folder, last=LAST).ended, writes=False) as journal:
        records = list(journal.passes())
    assert all(one.ended_at < after.ended_at for one, after in pairwise(records))
    assert {one.ended_at.utcoffset() for one in records} == {ZONE.utcoffset(None)}
    assert {one.day for one in records} == {(LAST - timedelta(days=ago)).isoformat() for ago in (0, 1)}
    assert {one.routine for one in records} >= {"", "open-strings"}
    assert [one.day for one in practices] == sorted(one.day for one in practices)


def test_days_are_missed_and_never_the_first_or_the_last() -> None:
    for seed in range(50):
        missed = missed_days(14, random.Random(seed))
        assert len(missed) == 2
        assert not missed & {0, 13}
    assert missed_days(2, random.Random(0)) == set()


def test_edges_rise_by_the_plan_and_the_curve_is_the_journals_own() -> None:
    for known in REPERTOIRE:
        first, last = (known.edge_half_bpm(100.0, come) for come in (0.0, 1.0))
        assert last == pytest.approx(first * (1.0 + known.gain))
    assert chance_clean(math.log(home_over_edge()), SLOPE, LAPSE) == pytest.approx(HOME_CLEAN)


def test_a_slip_is_not_clean_and_a_pass_without_one_is() -> None:
    player, lick = Invented(random.Random(1), 0.0), load("tally-stick")
    slow, fast = ([player.plays(lick, 60.0, edge_half_bpm=edge) for _ in range(30)] for edge in (200.0, 20.0))
    heard = [(judged.outcome.clean, truth) for judged, _, truth in slow + fast if not truth.deaf]
    assert all((clean is True) == (not truth.slips) for clean, truth in heard)
    assert sum(not truth.slips for _, truth in heard[:25]) > 20
    assert len({slip for _, truth in heard for slip in truth.slips} & set(SLIPS)) > 4


def test_habits_fade() -> None:
    for name, habit, edge in (
        ("slab-wood-supper", "seven-swallowed", 30.0),
        ("kiln-door-ajar", HURRY, 200.0),
    ):
        made = []
        for come in (0.0, 1.0):
            player, lick = Invented(random.Random(2), come), load(name)
            truths = [player.plays(lick, 60.0, edge_half_bpm=edge, habit=habit)[2] for _ in range(24)]
            made.append(sum(habit in truth.slips for truth in truths))
        assert made[0] > 2 * made[1]


def test_what_is_said_is_held_against_the_truth(practices: list[Practised]) -> None:
    known = next(one.known for one in practices if one.known is not None)
    half = [replace(one, day="2026-11-01") for one in practices if one.known == known]
    title = load(known.lick).title
    name = f"{title} in {load(known.lick).key}"
    lower = [replace(one, edge_half_bpm=one.edge_half_bpm * 0.9) for one in half]
    now = [replace(one, day="2026-11-29") for one in half]
    part = {"": "", "change": ", the change", "traffic": ", in traffic"}[known.loop or known.way]
    edge = f"{name}{part} has its edge at 80 half notes a minute this week, at 70 in the four weeks before."
    for before, supported in ((lower, True), (half, False)):
        assert held(edge, [*before, *now], LAST, {known.lick: title}).supported is supported
    none = held("Nothing got better this week that it can tell: ...", [*half, *now], LAST, {})
    assert none.supported is None
    sevens = held("Flat sevens landed 40 of 50 times this week, 30 of 50 in ...", [*half, *now], LAST, {})
    assert sevens.supported is False  # the same chances both times


def test_the_bench_prints_its_tables_and_where_to_look(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    def ran(*words: str) -> int:
        parser = argparse.ArgumentParser()
        fortnight.add_arguments(parser)
        return fortnight.run(parser.parse_args(words))

    typed = ["--folder", str(tmp_path), "--days", "1", "--share", "0.02", "--last-day", "2026-11-29"]
    assert ran(*typed, "--by-ear", "1") == 0
    told = capsys.readouterr().out.splitlines()
    assert sum(line.startswith("2026-11-29 ") for line in told) == 1
    assert any(line.startswith("heard by the ear: 1 passes") for line in told)
    assert any(line.startswith("progress took ") for line in told)
    assert told[-2:] == [
        f"SEVENFALL_HOME={tmp_path} sevenfall progress",
        f"SEVENFALL_HOME={tmp_path} sevenfall progress -o fortnight.pdf",
    ]
    with pytest.raises(Usage, match="there is a journal already"):
        ran(*typed)


def test_what_is_spoilt_is_what_has_a_slip_that_the_judges_blame(practices: list[Practised]) -> None:
    done = [one for practice in practices for one in practice.done]
    assert {spoilt(one) for one in done} == {True, False}
    harmless = replace(done[0], truth=replace(done[0].truth, slips=(HURRY,)))
    assert not spoilt(harmless)
