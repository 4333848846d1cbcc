"""The tempo ladder, proved on players whose ability is known.

    python -m tests.bench ladder [FOLDER] [--players N] [--seed N] [--processes N]

Each player has a true edge between 40 and 140 half notes a minute and is of one of ten kinds
(`tests.bench.ladder_players`), the first item of a sitting is played, from 0.5 to 1.5 of the true edge where
nothing is known of it, and from 85 % of what four days before had said, right or wrong. A row:

    found      share of the sittings whose tempo came within 6 % of the true edge in ten minutes
    min, 90 %  minutes until then, the middle one and that of nine in ten (of those that found it)
    stands     tempo against the true edge in the last third, in percent: the middle, and eight in ten
    back       changes of direction in ten passes of the last third
    swing      fastest over slowest tempo of the last third, less 1: the middle, and nine in ten
    clean      share of the passes
    above      share of the passes faster than the true reach
    loop       share of the passes that were the change by itself
    edge, home what the day's end says against the truth: middle, and half the width of the middle two thirds
    none       share of the sittings after which it could not be told
    left       share of the sittings in which the item was left for today before its ten minutes

With FOLDER, a picture of a sitting of each kind is left there.
"""

from __future__ import annotations

import argparse
import math
import random
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from feedback.errors import Usage
from routines.ladder.ladder import Ladder
from routines.ladder.rules import LADDER, LadderRules
from routines.ladder.standing import Standing, standing
from tests.bench.ladder_players import KINDS, Player
from tests.bench.ladder_sittings import (
    TODAY,
    Climbs,
    OneUpOneDown,
    Played,
    Sat,
    counted,
    days_of,
    remembered,
    sit,
)
from tests.bench.workers import Mapper, workers

HELP = "the tempo ladder on players of known ability; with a folder, plots"

STARTS = (0.5, 0.7, 0.85, 1.0, 1.2, 1.5)
WRONG = (-0.3, -0.15, 0.0, 0.15, 0.3)
SLOWEST_EDGE, FASTEST_EDGE = 40.0, 140.0
KEPT = 0.5
"""Of what a sitting taught, the next day."""

NEVER_LEFT = replace(LADDER, floor_share=None, change_falls=None, new_change_falls=None)
WORDS = replace(NEVER_LEFT, far_passes=None, held_rungs=1, shrinks_in_reach=False)
"""The rules with nothing added."""
NO_NEAR = replace(
    LADDER,
    near_rise_share=LADDER.rise_share,
    least_near_rise_half_bpm=LADDER.least_rise_half_bpm,
)
RULES: dict[str, LadderRules | None] = {
    "the ladder": LADDER,
    "the ladder, a later item": replace(LADDER, still_sec=0.0),
    "the bare rules": WORDS,
    "bare, turns of 3 far below": replace(WORDS, far_passes=LADDER.far_passes),
    "bare, shrinks in reach": replace(WORDS, shrinks_in_reach=True),
    "the ladder, never left": NEVER_LEFT,
    "bare, held rows worth 2": replace(WORDS, held_rungs=2),
    "the ladder, held rows worth 1": replace(LADDER, held_rungs=1),
    "the ladder, two falls a turn": replace(LADDER, falls_a_turn=2),
    "the ladder, near rule off": NO_NEAR,
    "the ladder, never shrinks": replace(LADDER, falls_to_shrink=10**6),
    "one up, one down, 4 %": None,
}
WEEK_ALWAYS = "the week's limit where no edge was found, too"
PEERS: dict[str, LadderRules | None] = {
    **RULES,
    WEEK_ALWAYS: replace(LADDER, week_where_unfound=True),
}
"""The ladder and its peers; None is the plain staircase. RULES are compared from every start."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Job:
    """One sitting.

    Attributes
    ----------
    kind : str
    edge_half_bpm : float
    start : float or None
        Share of the edge to begin at, nothing being known; None where days before are known.
    wrong : float
        How far those days lie off.
    rules : str
        A row of PEERS.
    week : bool
        Whether the week's limit holds.
    seed : int
    """

    kind: str
    edge_half_bpm: float
    start: float | None = None
    wrong: float = 0.0
    rules: str = "the ladder"
    week: bool = True
    seed: int


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Say what `ladder` takes."""
    parser.add_argument("folder", nargs="?", type=Path, metavar="FOLDER", help="plots go here")
    parser.add_argument("--players", type=int, default=60, metavar="N", help="in each row (default 60)")
    parser.add_argument("--seed", type=int, default=0, help="(default 0)")
    parser.add_argument("--processes", type=int, default=2, metavar="N", help="at one time (default 2)")


def run(args: argparse.Namespace) -> int:
    """Print the tables."""
    if args.players < 1 or args.seed < 0 or args.processes < 1:
        raise Usage("1 player or process or more and a seed of 0 or more are accepted")
    with workers(args.processes) as mapper:
        for line in tables(args.players, args.seed, mapper):
            print(line, flush=True)
    if args.folder is not None:
        from tests.bench.ladder_plots import leave_plots

        for path in leave_plots(args.folder, args.seed):
            print(path)
    return 0


def tables(players: int, seed: int, mapper: Mapper) -> Iterable[str]:
    """Give the tables, line by line."""
    people = _people(players, seed)
    alone = [replace(one, start=start) for start in STARTS for one in people]
    sat = list(zip(alone, mapper(outcome, alone), strict=True))
    yield f"{players} players a row, seed {seed}; nothing known, by where they begin"
    yield HEAD
    for start in STARTS:
        yield row(f"from {start:g} of the edge", [got for job, got in sat if job.start == start])
    yield "\nby kind, from 0.7 of the edge and up"
    yield HEAD
    for kind in KINDS:
        of_kind = [got for job, got in sat if job.kind == kind and job.start != STARTS[0]]
        if of_kind:
            yield row(kind, of_kind)
    yield "\nfour days known, by how far they lie off the edge of today"
    yield HEAD
    for week, wrong in ((week, wrong) for week in (True, False) for wrong in WRONG):
        name = f"{wrong:+.0%}{'' if week else ', no limit by the week'}"
        yield row(name, mapper(outcome, [replace(one, wrong=wrong, week=week) for one in people]))
    yield "\nside by side"
    for starts in ((0.5,), (0.7, 0.85), (1.0,), (1.2, 1.5)):
        yield f"from {' and '.join(f'{start:g}' for start in starts)} of the edge\n{HEAD}"
        for rules in RULES:
            jobs = [replace(one, start=start, rules=rules) for start in starts for one in people]
            yield row(rules, mapper(outcome, jobs))
    yield "\nday after day: where the tempo stands in the last third of each day, and the edge as known then"
    for start, rules in ((0.5, "the ladder"), (0.5, WEEK_ALWAYS), (0.85, "the ladder"), (1.2, "the ladder")):
        jobs = [replace(one, start=start, rules=rules) for one in people[: max(1, players // 3)]]
        yield from _days(f"begun at {start:g}: {rules}", list(mapper(fortnight, jobs)))


def outcome(job: Job) -> Sat:
    """Play one sitting and count it."""
    played, player, stands = sitting(job)
    return counted(played, player, stands.tried)


def sitting(job: Job) -> tuple[list[Played], Player, Standing]:
    """Play one sitting."""
    player = Player(KINDS[job.kind], job.edge_half_bpm, job.seed)
    if job.start is not None:
        ladder = _begun(job.rules, Standing(), job.start * job.edge_half_bpm)
        return sit(player, ladder), player, Standing()
    edge = job.edge_half_bpm * (1.0 + job.wrong)
    known = standing(remembered(player.kind, edge, random.Random(job.seed)), TODAY.isoformat())
    begins = known if job.week else replace(known, week_best_half_bpm=None)
    return sit(player, _begun(job.rules, begins, edge)), player, known


def fortnight(job: Job, days: int = 14) -> list[tuple[float, float | None]]:
    """Give where the tempo stands, and the known edge, against the true one, on each day."""
    edge, ends = job.edge_half_bpm, []
    before: list[tuple[int, list[Played]]] = []
    for day in range(days):
        known = standing(
            [row for when, that in before for row in days_of(that, day - when)], TODAY.isoformat()
        )
        player = Player(KINDS[job.kind], edge, job.seed + day)
        played = sit(player, _begun(job.rules, known, (job.start or 1.0) * job.edge_half_bpm))
        before.append((day, played))
        sat = counted(played, player, known.tried)
        ends.append((sat.stands, sat.edge_off))
        edge *= math.exp(KEPT * player.learned)
    return ends


def _begun(rules: str, known: Standing, first_half_bpm: float) -> Climbs:
    named = PEERS[rules]
    if named is None:
        first = float(round(first_half_bpm))
        return OneUpOneDown(tempo_half_bpm=first, next_half_bpm=first)
    return Ladder.begin(known, first_half_bpm=first_half_bpm, can_shrink=True, rules=named)


def _people(players: int, seed: int) -> list[Job]:
    rng, kinds = random.Random(seed), list(KINDS)
    low, high = math.log(SLOWEST_EDGE), math.log(FASTEST_EDGE)
    return [
        Job(kind=kinds[one % len(kinds)], edge_half_bpm=math.exp(rng.uniform(low, high)), seed=seed + one)
        for one in range(players)
    ]


def _days(name: str, people: Sequence[Sequence[tuple[float, float | None]]]) -> Iterable[str]:
    yield name
    for day in (1, 2, 3, 5, 8, 11, 14):
        tempos = [ends[day - 1][0] for ends in people]
        known = [off for ends in people if (off := ends[day - 1][1]) is not None]
        yield f"  day {day:2d}   stands {_range(tempos)}   edge {_range(known)}   none {_part(people, known)}"


HEAD = (
    f"{'':32s} found  min  90 %  {'stands':>18s}  back  {'swing':>10s}  clean above  loop"
    f"  {'edge':>11s}  {'home':>11s}  none  left"
)


def row(name: str, sat: Iterable[Sat]) -> str:
    """One line of a table."""
    rows = list(sat)
    found = [one.found_min for one in rows if one.found_min is not None]
    swings = [one.swing for one in rows]
    edges = [one.edge_off for one in rows if one.edge_off is not None]
    homes = [one.home_off for one in rows if one.home_off is not None]
    return (
        f"{name:32s} {len(found) / len(rows):5.0%} {quantile(found, 0.5):4.1f} {quantile(found, 0.9):5.1f}  "
        f"{_range([one.stands for one in rows])}  {_mean(one.turns_back for one in rows):4.2f}  "
        f"{quantile(swings, 0.5):4.0%} {quantile(swings, 0.9):5.0%}  {_mean(one.clean for one in rows):5.0%} "
        f"{_mean(one.above for one in rows):5.0%} {_mean(one.loop for one in rows):5.0%}  "
        f"{_off(edges)}  {_off(homes)} {_part(rows, edges)} {_mean(one.left for one in rows):5.0%}"
    )


def quantile(values: Iterable[float], share: float) -> float:
    """The value under which so many lie; NaN of none."""
    ordered = sorted(values)
    return ordered[min(int(share * len(ordered)), len(ordered) - 1)] if ordered else math.nan


def _mean(values: Iterable[float]) -> float:
    all_of_them = list(values)
    return sum(all_of_them) / len(all_of_them)


def _range(values: Sequence[float]) -> str:
    low, middle, high = (100.0 * quantile(values, share) for share in (0.1, 0.5, 0.9))
    return f"{middle:+5.1f} ({low:+4.0f} {high:+4.0f})"


def _off(values: Sequence[float]) -> str:
    half = (quantile(values, 5 / 6) - quantile(values, 1 / 6)) / 2.0
    return f"{100.0 * quantile(values, 0.5):+5.1f} +-{100.0 * half:3.0f}"


def _part(all_of_them: Sequence[object], told: Sequence[object]) -> str:
    return f"{1.0 - len(told) / len(all_of_them):5.0%}"
