"""The informed ear beside the blind one: better on every row, sooner, and never hearing what was not played.

    python -m tests.bench informed                                        every table
    python -m tests.bench informed --only blind --rows general fall --sounds fluid --seeds 4
    python -m tests.bench informed --only confirmations --count 150 --errors
    python -m tests.bench informed --takes FOLDER                         takes, or folders of such

Tables (`--only`):

    blind          general rolls and the rows of `notes`, each ear a line. What the informed ear is told is
                   the truth with a player's lean and unevenness, and one ask in ten is not met; with
                   `--as-played` every one is (`tests.bench.asking`). `< not above` marks a line on which F of
                   the informed ear is not above that of the blind one; where both are 1 it is not marked.
                   Withdrawn and doubtful are of a thousand played notes, or a minute.
    confirmations  what was asked for and not played (`tests.bench.confirmations`): so many notes left out,
                   and as many replaced, over all sounds but those that nothing may be fitted to; each of
                   these has a tenth as many of its own, to be looked at only.
    delays         how soon notes are said (`tests.bench.delays`), over the general rolls.
    reliability    whether an ear is right as often as it says (`tests.bench.reliability`), over the general
                   rolls, and over the performances of `confirmations`.

Takes of a folder are measured instead of all this; there are no confirmations then.
"""

from __future__ import annotations

import argparse
from collections.abc import Iterable, Iterator, Sequence
from functools import partial
from pathlib import Path

from feedback.errors import Usage
from tests.bench.cases import GENERAL_NPS
from tests.bench.confirmation_tables import errors, tables
from tests.bench.confirmations import claimed, plan
from tests.bench.counts import Count
from tests.bench.delays import delay_lines
from tests.bench.fluid import TEST_ONLY_FONTS
from tests.bench.note_scores import Tally
from tests.bench.reliability import Sure, diagram, sures
from tests.bench.renders import SIMULATED, Renders, default_folder
from tests.bench.rows import ROWS, Score, rows_named
from tests.bench.sounds import SOUNDS
from tests.bench.takes import taken
from tests.bench.two_ears import EARS, TwoEars, heard_roll, heard_row, heard_take
from tests.bench.workers import Mapper, usable, workers

HELP = "the informed ear beside the blind one; false confirmations; delays; reliability"

TABLES = BLIND, CONFIRMATIONS, DELAYS, RELIABILITY = ("blind", "confirmations", "delays", "reliability")
GENERAL = "general"
COUNT = 1500

_REPORT_ONLY_SHARE = 10
_NAME_WIDTH = 10


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Say what `informed` takes."""
    parser.add_argument(
        "--only", nargs="+", metavar="TABLE", choices=TABLES, default=TABLES,
        help=f"these tables: {', '.join(TABLES)} (default: all)",
    )  # fmt: skip
    parser.add_argument(
        "--takes", metavar="FOLDER", help="takes with known notes, or a folder of such folders"
    )
    parser.add_argument(
        "--rows", nargs="+", metavar="NAME", default=[GENERAL, *ROWS],
        help=f"of the table of both ears: {GENERAL}, or rows of `notes`, as there (default: all)",
    )  # fmt: skip
    parser.add_argument(
        "--sounds", nargs="+", metavar="NAME", choices=list(SOUNDS), default=list(SOUNDS),
        help=f"instruments: {', '.join(SOUNDS)} (default: all)",
    )  # fmt: skip
    parser.add_argument("--seeds", type=int, default=2, help="of each row and instrument (default 2)")
    parser.add_argument(
        "--count", type=int, default=COUNT,
        help=f"notes left out, and notes replaced, over all instruments (default {COUNT})",
    )  # fmt: skip
    parser.add_argument("--errors", action="store_true", help="list every false confirmation")
    parser.add_argument(
        "--as-played", action="store_true", help="all that is played is asked for, and nothing else"
    )
    parser.add_argument(
        "--cache", metavar="FOLDER", help="where sounds are kept (default: in the user's cache), or none"
    )
    parser.add_argument("--processes", type=int, default=2, help="at once (default 2)")


def run(args: argparse.Namespace) -> int:
    """Print the tables."""
    if min(args.seeds, args.count, args.processes) < 1:
        raise Usage(
            f"{args.seeds} seeds, {args.count} omissions, {args.processes} processes: 1 and more are accepted"
        )
    if args.takes and CONFIRMATIONS in args.only and len(args.only) == 1:
        raise Usage("--takes and --only confirmations: of a folder of takes there are none")
    names = rows_named(word for word in args.rows if word != GENERAL)
    with workers(args.processes) as mapped:
        if args.takes:
            _takes(args, mapped)
            return 0
        sounds = list(usable(dict.fromkeys(args.sounds)))
        _general(args, sounds, mapped)
        if BLIND in args.only:
            _rows(names, sounds, args, mapped)
        if CONFIRMATIONS in args.only:
            _confirmations(args, sounds, mapped)
    return 0


def both_lines(takes: Sequence[TwoEars], counts: Iterable[Count] = ()) -> Iterator[str]:
    """What both ears made of some takes: a line for each ear, and one for each count.

    Parameters
    ----------
    takes : sequence of TwoEars
        At least one.
    counts : iterable of Count
        Those of their row.
    """
    scores = [Score.sum([take.scores[side] for take in takes]) for side in range(len(EARS))]
    blind, informed = (score.tally for score in scores)
    gone = sum(len(take.hearings[1].withdrawn) for take in takes)
    unsure = sum(len(take.hearings[1].doubtful) for take in takes)
    if informed.played:
        yield f"blind    {blind.row()}"
        yield (
            f"informed {informed.row()}  F {informed.f_measure() - blind.f_measure():+.4f}"
            f"{'' if is_above(blind, informed) else ' < not above'}"
        )
        thousand = informed.played / 1e3
        yield f"         of 1,000 notes withdrawn {gone / thousand:.1f}, doubtful {unsure / thousand:.1f}"
    else:
        minutes = sum(take.hearings[0].duration_sec for take in takes) / 60.0
        yield f"informed: withdrawn {gone / minutes:.1f}/min, doubtful {unsure / minutes:.1f}/min"
    for count in counts:
        told = (
            f"{ear} {count.told(score.counted[count.label])}" for ear, score in zip(EARS, scores, strict=True)
        )
        yield f"{count.label}: {', '.join(told)}"


def is_above(blind: Tally, informed: Tally) -> bool:
    """Whether F of the informed ear is above that of the blind one; so, too, where nothing can be above."""
    return informed.f_measure() > blind.f_measure() or informed.f_measure() == 1.0


def _general(args: argparse.Namespace, sounds: Sequence[str], mapped: Mapper) -> None:
    """Everything that is told of general rolls."""
    wanted = {table for table in (DELAYS, RELIABILITY) if table in args.only}
    if BLIND in args.only and GENERAL in args.rows:
        wanted.add(BLIND)
    if not wanted:
        return
    jobs = [(sound, n, nps) for sound in sounds for n in range(args.seeds) for nps in GENERAL_NPS]
    found = iter(mapped(partial(heard_roll, as_played=args.as_played), jobs))
    for sound in sounds:
        takes = [next(found) for _ in range(args.seeds * len(GENERAL_NPS))]
        _tell(f"{sound}: {SOUNDS[sound].meaning}", takes, wanted)


def _takes(args: argparse.Namespace, mapped: Mapper) -> None:
    for name, takes in taken(Path(args.takes)):
        jobs = [(take, seed) for seed, take in enumerate(takes)]
        _tell(
            name,
            list(mapped(partial(heard_take, as_played=args.as_played), jobs)),
            {table for table in args.only if table != CONFIRMATIONS},
        )


def _tell(title: str, takes: Sequence[TwoEars], wanted: set[str]) -> None:
    print(f"{title}; {len(takes)} takes, {sum(take.took_sec for take in takes):.0f} s of work")
    if BLIND in wanted:
        for nps in sorted({take.nps for take in takes}):
            print(f"  {nps:g} eighths a second")
            _show(both_lines([take for take in takes if take.nps == nps]), 4)
        print("  all")
        _show(both_lines(takes), 4)
    if DELAYS in wanted:
        print("  delays")
        _show(delay_lines(takes), 4)
    if RELIABILITY in wanted:
        print("  reliability")
        for side, ear in enumerate(EARS):
            _show(diagram(ear, [_sures(take, side) for take in takes]), 4)


def _rows(names: Sequence[str], sounds: Sequence[str], args: argparse.Namespace, mapped: Mapper) -> None:
    seeds = args.seeds
    lines = [(name, sound) for name in names for sound in sounds if sound in ROWS[name].sounds]
    hear = partial(heard_row, as_played=args.as_played)
    found = iter(mapped(hear, [(*line, number) for line in lines for number in range(seeds)]))
    not_above, counted, took_sec, before = [], 0, 0.0, ""
    for name, sound in lines:
        takes = [next(found) for _ in range(seeds)]
        took_sec += sum(take.took_sec for take in takes)
        if name != before:
            print(f"{name}: {ROWS[name].meaning}")
        before = name
        for number, line in enumerate(both_lines(takes, ROWS[name].counts)):
            print(f"  {sound if not number else '':{_NAME_WIDTH}} {line}", flush=True)
        blind, informed = (Tally().merged(t.scores[side].tally for t in takes) for side in range(len(EARS)))
        if informed.played:
            counted += 1
            if not is_above(blind, informed):
                not_above.append(f"{name} {sound} {informed.f_measure() - blind.f_measure():+.4f}")
    if lines:
        told = ", ".join(not_above) or "none"
        print(f"rows not above: {len(not_above)} of {counted}: {told}; {took_sec:.0f} s of work")


def _confirmations(args: argparse.Namespace, sounds: Sequence[str], mapped: Mapper) -> None:
    renders = Renders(folder=_folder(args.cache))
    fitted = [sound for sound in sounds if sound not in TEST_ONLY_FONTS]
    together = []
    for sound in sounds:
        name = SIMULATED if sound == "simulated" else sound
        share = len(fitted) if sound in fitted else _REPORT_ONLY_SHARE
        found = list(mapped(partial(claimed, renders=renders), plan(-(-args.count // share), sound=name)))
        if sound in fitted:
            together += found
        _show(tables(f"{sound}, asked and not played", found), 0)
        _show(errors(found) if args.errors else (), 4)
        if RELIABILITY in args.only:
            for side, ear in enumerate(EARS):
                _show(diagram(f"{ear}, these performances", [one.sures[side] for one in found]), 2)
    if len(fitted) > 1:
        _show(tables(f"{' and '.join(fitted)} together, asked and not played", together), 0)
    renders.trim()


def _sures(take: TwoEars, side: int) -> list[Sure]:
    return sures([(note.onset_sec, note.midi) for note in take.truth], take.hearings[side])


def _folder(given: str | None) -> Path | None:
    if given is None:
        return default_folder()
    return None if given == "none" else Path(given)


def _show(lines: Iterable[str], indent: int) -> None:
    for line in lines:
        print(f"{' ' * indent}{line}", flush=True)
