"""What getting to know a banjo brings: rolls heard without, with its tuning known, and with what was learnt.

    python -m tests.bench banjos --notes FOLDER
    python -m tests.bench banjos --kinds far elsewhere --instruments 40 --seed 2000

For each instrument a sound check is played (`tests.bench.banjo_takes`), the listener gets to know it as
`sevenfall soundcheck` does, and four rolls are heard three times. Without `--notes`, the folder that
`tests.bench.train.fontnotes.build` filled, there are only simulated and modal instruments. What was chosen
(how it is learnt, from which gain on it is kept) was chosen on other instruments than these seeds.

Columns: instruments, of how many what was learnt was kept; notes, precision, recall, F within 50 ms, recall
of pinches and slurs. Differences are of each instrument's F against the ear as it comes: their mean, the 90 %
interval of that mean over instruments drawn again and again, and the least and the greatest.
"""

from __future__ import annotations

import argparse
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path

import numpy as np

from feedback.errors import Usage
from feedback.soundcheck import asked_notes
from listener.acquaint import Acquaintance, acquaint
from listener.ear import Ear, EarSettings
from listener.instrument import Profile
from listener.notes import standing
from tests.bench.banjo_takes import KINDS, LOOKED_AT, Outing
from tests.bench.note_scores import Tally
from tests.bench.workers import workers

HELP = "what half a minute of single notes brings on strange banjos"

HEARD = PLAIN, TUNED, KNOWN = ("as it comes", "tuning known", "all that was kept")

_AGAIN = 2000
_LEAST, _MOST = 5, 95
_NAME_WIDTH = 18


@dataclass(frozen=True, slots=True, kw_only=True)
class Result:
    """One instrument.

    Attributes
    ----------
    kind : str
    found, asked : int
        Of the list.
    kept : bool
        Whether what was learnt was kept.
    tallies : tuple of Tally
        In the order of `HEARD`.
    """

    kind: str
    found: int
    asked: int
    kept: bool
    tallies: tuple[Tally, ...]


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Say what `banjos` takes."""
    usual = [name for name in KINDS if name != LOOKED_AT]
    parser.add_argument(
        "--kinds", nargs="+", metavar="KIND", choices=list(KINDS), default=usual,
        help=f"of instruments: {', '.join(KINDS)} (default: all but {LOOKED_AT})",
    )  # fmt: skip
    parser.add_argument("--instruments", type=int, default=12, help="of each kind (default 12)")
    parser.add_argument("--seed", type=int, default=1000, help="of the first instrument (default 1000)")
    parser.add_argument("--notes", metavar="FOLDER", help="the font's notes (else simulated ones only)")
    parser.add_argument("--processes", type=int, default=2, help="at once (default 2)")


def run(args: argparse.Namespace) -> int:
    """Print a table for each kind."""
    if args.instruments < 1 or args.processes < 1 or args.seed < 0:
        raise Usage(
            f"{args.instruments} instruments from seed {args.seed}, {args.processes} processes: "
            "1 and more, from 0 on, are accepted"
        )
    folder = Path(args.notes) if args.notes else None
    with workers(args.processes) as mapped:
        for name in args.kinds:
            print(f"{name}: {KINDS[name].meaning}")
            seeds = range(args.seed, args.seed + args.instruments)
            results = list(mapped(partial(result, name, notes_folder=folder), seeds))
            for line in table(results):
                print(f"  {line}", flush=True)
    return 0


def result(name: str, seed: int, *, notes_folder: Path | None) -> Result:
    """Get to know one instrument, and hear its rolls.

    Parameters
    ----------
    name : str
        Of `KINDS`.
    seed : int
    notes_folder : pathlib.Path or None

    Returns
    -------
    Result
    """
    outing = KINDS[name].draw(seed, notes_folder)
    known = acquainted(outing)
    profile = known.profile
    tuned = replace(profile, arrays={}) if profile is not None else None
    tallies = [heard(outing, None), heard(outing, tuned)]
    kept = profile is not None and profile.learnt
    tallies.append(heard(outing, profile) if kept else tallies[-1])
    return Result(
        kind=outing.kind,
        found=sum(one is not None for one in known.found),
        asked=len(known.found),
        kept=kept,
        tallies=tuple(tallies),
    )


def acquainted(outing: Outing) -> Acquaintance:
    """Get to know an instrument by its sound check."""
    return acquaint(outing.asked, outing.takes[0].rate, asked_notes(outing.neck))


def heard(outing: Outing, profile: Profile | None) -> Tally:
    """Hear an instrument's rolls, by an ear that knows it or by one as it comes."""
    tally = Tally()
    for take in outing.takes:
        ear = Ear(take.rate, settings=profile.settings() if profile is not None else EarSettings())
        notes, _ = standing(ear.feed(take.sound) + ear.flush())
        tally.add(take.truth, notes)
    return tally


def table(results: Sequence[Result]) -> Iterable[str]:
    """The lines of one kind's results, at least one: each finer kind, then all."""
    kinds = sorted({one.kind for one in results})
    for kind in kinds if len(kinds) > 1 else []:
        yield from _block(kind, [one for one in results if one.kind == kind])
    yield from _block("all" if len(kinds) > 1 else kinds[0], results)


def difference(results: Sequence[Result], heard_as: str) -> tuple[float, float, float, float, float]:
    """Mean difference of F, the ends of its 90 % interval, the least and the greatest.

    Parameters
    ----------
    results : sequence of Result
        At least one.
    heard_as : str
        Of `HEARD`.
    """
    at = HEARD.index(heard_as)
    each = np.array([one.tallies[at].f_measure() - one.tallies[0].f_measure() for one in results])
    rng = np.random.default_rng(0)
    means = each[rng.integers(0, len(each), (_AGAIN, len(each)))].mean(axis=1)
    low, high = np.percentile(means, [_LEAST, _MOST])
    return float(each.mean()), float(low), float(high), float(each.min()), float(each.max())


def _block(name: str, results: Sequence[Result]) -> Iterable[str]:
    found = sum(one.found for one in results) / max(1, sum(one.asked for one in results))
    kept = sum(one.kept for one in results)
    yield f"{name}: {len(results)} instruments, {found:.3f} of the list found, learnt and kept on {kept}"
    for at, heard_as in enumerate(HEARD):
        tally = Tally().merged(one.tallies[at] for one in results)
        line = f"{heard_as:{_NAME_WIDTH}} {_figures(tally)}"
        if at:
            mean, low, high, least, most = difference(results, heard_as)
            line += f"  {mean:+.4f} [{low:+.4f} {high:+.4f}], {least:+.3f} to {most:+.3f}"
        yield f"  {line}"


def _figures(tally: Tally) -> str:
    pinch, slur = (float(np.mean(tally.found[kind] or [np.nan])) for kind in ("pinch", "slur"))
    return (
        f"{tally.played:5}  P {tally.precision():.3f} R {tally.recall():.3f} F {tally.f_measure():.4f}  "
        f"pinch {pinch:.3f} slur {slur:.3f}"
    )
