"""Moves: every lick to every key, how many are exact and playable, and what that takes.

    python -m tests.bench move [--licks N] [--seed N] [--tunings] [--folder F] [--processes N]

Each lick is moved to all twelve keys without a capo; with `--tunings` also to its own key in every tuning.
A row for each key (or tuning):

    capo       moves that have a capo answer, the same frets as written
    exact      fingerings in which every note is there, moved by the same half steps, at the same top tempo
    playable   fingerings that both hands can play at their top tempo
    both       exact and playable
    far        fingerings that go to the farther of the two octaves
    cost       mean of the playable ones, as `routines.hand` counts

then the time for all, on the clock and of the processor, what was altered, the ten moves that cost most, and
what no hand plays. `--folder` takes the licks of a folder instead of those that come with the program.
"""

from __future__ import annotations

import argparse
import time
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from feedback.errors import Usage
from routines.library import all_licks, load
from routines.lick import Lick
from routines.moving.answers import Fingering, Moved
from routines.moving.move import move
from routines.neck import OPEN_TUNINGS
from tests.bench.workers import Mapper, work_sec, workers

HELP = "every lick to every key: exact, playable, cost, time"

KEYS = ("C", "Db", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B")
"""The twelve keys, as they are named here."""

_HARDEST = 10
_TRITONE = 6


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Say what `move` takes."""
    parser.add_argument("--licks", type=int, metavar="N", help="so many, drawn by the seed (default all)")
    parser.add_argument("--seed", type=int, default=0, help="of the licks that are drawn (default 0)")
    parser.add_argument("--tunings", action="store_true", help="also to the own key in every tuning")
    parser.add_argument("--folder", metavar="F", help="licks of a folder instead of those of the program")
    parser.add_argument("--processes", type=int, default=2, metavar="N", help="at one time (default 2)")


def run(args: argparse.Namespace) -> int:
    """Print the tables."""
    if (args.licks is not None and args.licks < 1) or args.seed < 0 or args.processes < 1:
        raise Usage("1 lick or process or more and a seed of 0 or more are accepted")
    licks = drawn(_licks(args.folder), args.licks, args.seed)
    begin, worked = time.perf_counter(), work_sec()
    with workers(args.processes) as mapper:
        rows = _moved(licks, mapper)
    took_sec, worked = time.perf_counter() - begin, work_sec() - worked
    print(f"{len(licks)} licks to {len(KEYS)} keys, without a capo")
    print("\n".join(table(rows)))
    many = len(licks) * len(KEYS)
    print(
        f"all in {took_sec:.1f} s with {args.processes} at one time, the start with it; "
        f"{worked:.1f} s of the processor, {1e3 * worked / many:.1f} ms each\n"
    )
    if args.tunings:
        print("to the own key in each tuning")
        tuned = {t: [Row(one, t, move(one, one.key, tuning=t)) for one in licks] for t in OPEN_TUNINGS}
        print("\n".join(table(tuned)) + "\n")
    print("\n".join(remarks([row for each in rows.values() for row in each])))
    return 0


def _moved(licks: Sequence[Lick], mapper: Mapper) -> dict[str, list[Row]]:
    each = list(mapper(_everywhere, licks))
    return {key: [rows[at] for rows in each] for at, key in enumerate(KEYS)}


def _everywhere(lick: Lick) -> list[Row]:
    return [Row(lick, key, move(lick, key)) for key in KEYS]


@dataclass(frozen=True, slots=True)
class Row:
    """One move: the lick, where to (a key or a tuning), and what came of it."""

    lick: Lick
    to: str
    moved: Moved

    @property
    def fingering(self) -> Fingering:
        """The fingering."""
        return self.moved.fingering

    @property
    def told(self) -> str:
        """What was moved, where to and how far."""
        return f"{self.lick.id} ({self.lick.key}) to {self.to}, {self.fingering.direction}"


def drawn(licks: Sequence[Lick], count: int | None, seed: int) -> list[Lick]:
    """So many of the licks, in their order; all where no number is given."""
    if count is None or count >= len(licks):
        return list(licks)
    chosen = np.random.default_rng(seed).choice(len(licks), count, replace=False)
    return [licks[index] for index in sorted(chosen)]


def table(rows: dict[str, list[Row]]) -> Iterable[str]:
    """A line for each key or tuning, and one for all."""
    yield f"  {'to':<8}{'moves':>6}{'capo':>6}{'exact':>7}{'playable':>10}{'both':>6}{'far':>5}{'cost':>7}"
    for name, each in [*rows.items(), ("all", [row for one in rows.values() for row in one])]:
        found = [row.fingering for row in each]
        costs = [one.cost for one in found if one.playable]
        mean = f"{np.mean(costs):7.2f}" if costs else f"{'-':>7}"
        yield (
            f"  {name:<8}{len(each):>6}{sum(row.moved.capo is not None for row in each):>6}"
            f"{sum(one.exact for one in found):>7}{sum(one.playable for one in found):>10}"
            f"{sum(one.exact and one.playable for one in found):>6}"
            f"{sum(abs(one.half_steps) > _TRITONE for one in found):>5}{mean}"
        )


def remarks(rows: Sequence[Row]) -> Iterable[str]:
    """What was altered, the hardest moves, and those that no hand plays."""
    kinds = Counter(kind(row.fingering) for row in rows)
    yield "as " + ", ".join(f"{name}: {count}" for name, count in kinds.most_common())
    drones = Counter(row.fingering.drones.split(",")[0].split(":")[0] for row in rows)
    yield "drones " + ", ".join(f"{name or 'none'}: {count}" for name, count in drones.most_common())
    playable = [row for row in rows if row.fingering.playable]
    yield f"the hardest {_HARDEST} that can be played"
    for row in sorted(playable, key=lambda row: -row.fingering.cost)[:_HARDEST]:
        yield f"  {row.fingering.cost:6.1f}  {row.told}"
    yield "altered"
    for row in rows:
        if row.fingering.altered:
            yield f"  {row.told}: {'; '.join(altered(row.fingering))}"
    yield "no hand plays"
    for row in rows:
        if not row.fingering.playable:
            yield f"  {row.told}: {'; '.join(row.fingering.troubles)}"


def kind(fingering: Fingering) -> str:
    """In a word what a fingering is."""
    if not fingering.playable:
        return "not playable"
    if fingering.exact:
        return "exact"
    kinds = {
        "slower"
        if one.index is None
        else "left out"
        if one.after == "left out"
        else "another octave"
        if "octave" in one.why
        else "picked"
        if one.after.endswith("picked")
        else "another note"
        for one in fingering.altered
    }
    return " and ".join(sorted(kinds))


def altered(fingering: Fingering) -> list[str]:
    """Each alteration in a few words."""
    return [
        f"{'top' if one.index is None else f'note {one.index + 1}'} {one.before} -> {one.after}"
        for one in fingering.altered
    ]


def _licks(folder: str | None) -> Sequence[Lick]:
    if folder is None:
        return all_licks()
    return [load(str(path)) for path in sorted(Path(folder).glob("*.lick"))]
