"""A fortnight of practice of an invented player of known ability, and what the program makes of it.

    python -m tests.bench fortnight [--seed N] [--folder F] [--days 14] [--by-ear N] [--share S]

Everything is the program's own but the sound: ladder, warm-ups, memory, journal, progress, judges. Each pass
is played by the simulated hand with slips whose chance grows with the tempo over the player's own edge
(`tests.bench.fortnight_player`), and judged on what was played; with `--by-ear` some are heard as well. The
journal is left in the folder, for `sevenfall progress` to open.
"""

from __future__ import annotations

import argparse
import tempfile
import time
from collections.abc import Iterator
from datetime import date
from pathlib import Path

from feedback.errors import Usage
from routines.journal.journal import Journal
from routines.progress.progress import progress
from tests.bench.fortnight_days import PLAYER, Fortnight, practised
from tests.bench.fortnight_ear import by_ear
from tests.bench.fortnight_practice import Practised, troubles
from tests.bench.fortnight_sentence import said_each_week
from tests.bench.fortnight_tables import days_table, ladder_table, licks_table

HELP = "a fortnight of practice of a player of known ability; leaves a journal to look at"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Say what `fortnight` takes."""
    parser.add_argument("--seed", type=int, default=0, help="(default 0)")
    parser.add_argument(
        "--folder", type=Path, metavar="F", help="the journal is left there (default: a new one)"
    )
    parser.add_argument("--days", type=int, default=14, metavar="N", help="(default 14)")
    parser.add_argument("--by-ear", type=int, default=0, metavar="N", help="so many passes are heard as well")
    parser.add_argument(
        "--share", type=float, default=1.0, metavar="S", help="of the usual time: less for a short look"
    )
    parser.add_argument("--last-day", type=_day, default=None, metavar="DAY", help="(default: today)")


def run(args: argparse.Namespace) -> int:
    """Practise, and print the tables."""
    if args.seed < 0 or args.days < 1 or args.by_ear < 0 or not 0.0 < args.share <= 1.0:
        raise Usage("accepted: a seed from 0, 1 day or more, 0 passes by ear or more, a share up to 1")
    folder = args.folder or Path(tempfile.mkdtemp(prefix="sevenfall-fortnight-"))
    last = args.last_day or date.today()
    fortnight = Fortnight(folder=folder, seed=args.seed, days=args.days, last=last, share=args.share)
    with Journal.open(folder, now=fortnight.ended, writes=False) as kept:
        if kept.count():
            raise Usage(f"{folder}: there is a journal already; give a folder without one")
    begun = time.perf_counter()
    practices = list(practised(fortnight))
    took_sec = time.perf_counter() - begun
    passes = sum(len(one.done) for one in practices)
    print(f"seed {args.seed}: {passes} passes in {args.days} days to {last}, made in {took_sec:.0f} s\n")
    for line in report(fortnight, practices):
        print(line, flush=True)
    if args.by_ear:
        print()
        for line in by_ear(practices, args.by_ear):
            print(line, flush=True)
    print(f"\nSEVENFALL_HOME={folder} sevenfall progress")
    print(f"SEVENFALL_HOME={folder} sevenfall progress -o fortnight.pdf")
    return 0


def report(fortnight: Fortnight, practices: list[Practised]) -> Iterator[str]:
    """The tables, line by line."""
    yield from days_table(practices)
    yield ""
    yield from licks_table(fortnight, practices)
    yield ""
    yield from ladder_table(practices)
    for said in said_each_week(fortnight, practices):
        support = {None: "nothing claimed", True: "supported", False: "NOT SUPPORTED"}[said.supported]
        yield f"\nto {said.day}: {said.sentence}\n  {support}; {said.truth}"
    yield ""
    yield f"progress took {_progress_ms(fortnight):.0f} ms"
    yield from (f"trouble: {line}" for line in troubles(practices))


def _progress_ms(fortnight: Fortnight) -> float:
    with Journal.open(fortnight.folder, now=fortnight.ended, writes=False) as kept:
        begun = time.perf_counter()
        progress(kept, PLAYER, fortnight.last)
        return 1e3 * (time.perf_counter() - begun)


def _day(text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise argparse.ArgumentTypeError(f"{text!r}: give a day such as 2026-11-29") from None
