"""Notes heard against notes played: our ear, and a peer beside it in the same run.

    python -m tests.bench notes                                rolls, then the rows of their own
    python -m tests.bench notes --rows general fall rate-16000 --sounds timgm6mb --seeds 20
    python -m tests.bench notes --takes FOLDER                 takes (sound and JSON), or a folder of such

`general` is random rolls at 4 to 11 eighths a second, a table for each instrument of `tests.bench.sounds`;
every other row is one of `tests.bench.rows`, a line for each instrument. The peer is the plain chain of aubio
(`tests.bench.hearers`). What is not installed is skipped with a line.

Columns: notes, precision, recall, F within 50 and 25 ms; recall by kind; onset error and delay of picked
notes in milliseconds (median, 95 %); the curve of F by delay. F over seeds is the mean of the seeds' F, its
standard deviation, and the least and most of them. The figures are those of a scorer that pairs by general
assignment.
"""

from __future__ import annotations

import argparse
from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path

from feedback.errors import Usage
from tests.bench.cases import GENERAL_NPS, general_seed, roll
from tests.bench.hearers import heard, heard_by_peer
from tests.bench.note_scores import Spread, Tally
from tests.bench.rows import ROWS, Score, measured, rows_named
from tests.bench.sounds import SOUNDS
from tests.bench.takes import Take, taken
from tests.bench.workers import Mapper, usable, workers

HELP = "notes heard against notes played, beside a peer"

GENERAL = "general"
_NAME_WIDTH = 10


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Say what `notes` takes."""
    parser.add_argument(
        "--takes",
        metavar="FOLDER",
        help="takes with known notes, or a folder of such folders, and nothing else",
    )
    parser.add_argument(
        "--rows", nargs="+", metavar="NAME", default=[GENERAL, *ROWS],
        help=f"{GENERAL}, or rows by name or by how they begin: {', '.join(ROWS)} (default: all)",
    )  # fmt: skip
    parser.add_argument(
        "--sounds", nargs="+", metavar="NAME", choices=list(SOUNDS), default=list(SOUNDS),
        help=f"instruments: {', '.join(SOUNDS)} (default: all)",
    )  # fmt: skip
    parser.add_argument("--seeds", type=int, default=8, help="of each row and instrument (default 8)")
    parser.add_argument("--processes", type=int, default=2, help="at once (default 2)")


def run(args: argparse.Namespace) -> int:
    """Print a table for each folder or sound, then the rows."""
    if args.seeds < 1 or args.processes < 1:
        raise Usage(f"{args.seeds} seeds, {args.processes} processes: 1 and more are accepted")
    if args.takes:
        for name, takes in taken(Path(args.takes)):
            print(name)
            _show(table([(take.nps, scored(take)) for take in takes]))
        return 0
    names = rows_named(word for word in args.rows if word != GENERAL)
    sounds = list(usable(args.sounds))
    with workers(args.processes) as mapped:
        if GENERAL in args.rows:
            for sound in sounds:
                print(f"{sound}: {SOUNDS[sound].meaning}")
                jobs = [(sound, n, nps) for n in range(args.seeds) for nps in GENERAL_NPS]
                _show(general_table(list(zip(jobs, mapped(_general, jobs), strict=True))))
        _rows(names, sounds, args.seeds, mapped)
    return 0


def table(takes: Iterable[tuple[float, tuple[Tally, Tally]]]) -> Iterator[str]:
    """Lines for our ear by tempo, for all, for the peer, and both curves.

    Parameters
    ----------
    takes : iterable of (float, (Tally, Tally))
        Eighths a second, and what our ear and the peer made of a take.
    """
    ours: dict[float, Tally] = {}
    peers: list[Tally] = []
    for nps, (our, peer) in takes:
        ours[nps] = ours.get(nps, Tally()).merged([our])
        peers.append(peer)
    for nps in sorted(ours):
        yield f"{nps:4g}/s {ours[nps].row()}"
    every, peer = Tally().merged(ours.values()), Tally().merged(peers)
    yield f"all    {every.row()}"
    yield f"aubio  {peer.row()}"
    yield f"all    {every.curve()}"
    yield f"aubio  {peer.curve()}"


def general_table(found: Sequence[tuple[tuple[str, int, float], tuple[Tally, Tally]]]) -> Iterator[str]:
    """The same, and F over seeds: a seed is its takes at all tempos."""
    yield from table([(nps, tallies) for (_, _, nps), tallies in found])
    seeds = sorted({number for (_, number, _), _ in found})
    for side, name in enumerate(("all", "aubio")):
        each = [Tally().merged(t[side] for (_, n, _), t in found if n == number) for number in seeds]
        wide = Spread.of([tally.f_measure() for tally in each])
        narrow = Spread.of([tally.f_measure(narrow=True) for tally in each])
        yield f"{name:6} over {len(seeds)} seeds  F {wide}  F25 {narrow}"


def scored(take: Take) -> tuple[Tally, Tally]:
    """What our ear and the peer made of a take."""
    ours, peer = Tally(), Tally()
    ours.add(take.truth, heard(take))
    peer.add(take.truth, heard_by_peer(take))
    return ours, peer


def row_line(name: str, scores: Sequence[tuple[Score, Score]]) -> str:
    """One row on one instrument, over seeds, as a line."""
    ours, peer = (Score.sum([pair[side] for pair in scores]) for side in (0, 1))
    parts = []
    if ours.tally.played:
        spreads = [Spread.of([pair[side].tally.f_measure() for pair in scores]) for side in (0, 1)]
        parts.append(
            f"{ours.tally.played:5}  P {ours.tally.precision():.3f} R {ours.tally.recall():.3f} "
            f"F {spreads[0]}  aubio {spreads[1]}"
        )
    for count in ROWS[name].counts:
        told, of_peer = (count.told(side.counted[count.label]) for side in (ours, peer))
        parts.append(f"{count.label} {told}, aubio {of_peer.split(' ')[0]}")
    return "   ".join(parts)


def _rows(names: Sequence[str], sounds: Sequence[str], seeds: int, mapped: Mapper) -> None:
    lines = [(name, sound) for name in names for sound in sounds if sound in ROWS[name].sounds]
    found = iter(mapped(_row, [(*line, number) for line in lines for number in range(seeds)]))
    before = ""
    for name, sound in lines:
        scores = [next(found) for _ in range(seeds)]
        if name != before:
            print(f"{name}: {ROWS[name].meaning}")
        before = name
        print(f"  {sound:{_NAME_WIDTH}} {row_line(name, scores)}", flush=True)


def _general(job: tuple[str, int, float]) -> tuple[Tally, Tally]:
    sound, number, nps = job
    return scored(SOUNDS[sound].take(roll(general_seed(number, nps), nps=nps)))


def _row(job: tuple[str, str, int]) -> tuple[Score, Score]:
    return measured(*job)


def _show(lines: Iterable[str]) -> None:
    for line in lines:
        print(f"  {line}", flush=True)
