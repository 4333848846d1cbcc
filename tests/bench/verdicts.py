"""Verdicts: the judges on what was heard, beside the judges on what was played.

    python -m tests.bench verdicts                                   3,000 performances, the ear told the lick
    python -m tests.bench verdicts --blind --count 300 --errors
    python -m tests.bench verdicts --font sim --licks tally-stick --mistakes faithful left-hanging --found
    python -m tests.bench verdicts --one sim tally-stick 84.3 left-hanging 12345 --errors

Performances are dealt out evenly over licks, tempos and mistakes (`tests.bench.performances`) and made into
sound by the simulated player (its instrument drawn anew each time) and by FluidSynth; each sound has tables
of its own. Truth is what the judges say about a flawless hearing of the same performance on the same grid.
The start is given, as with a click, or (`--found`) looked for in the take; the ear that judges is told the
lick, or (`--blind`) is not.
Sounds are kept from run to run (`tests.bench.renders`; some 240 kB each).

Words (`tests.bench.verdict_scores`): how often each word is true and is said; its precision and recall with
90 % intervals; of what it is true of, the share that was called unclear, and recall with that counted against
the ear; and how many of the errors are of a truth that lies at a limit. Under 0.98 stands `< under`. Then, by
mistake:

    sevens   flat sevens performed (all of them, not only the due ones)
    sounded, landed, swallowed, where   share of sevens of which the same is said, those unclear left out
    unclear  share of sevens that the listener could not tell
    clean    passes called clean, of how many truly are; and of those that are not, how many were called clean
    notes    share of targets with the same verdict, and of those called unclear
"""

from __future__ import annotations

import argparse
import time
from collections.abc import Sequence
from functools import partial
from pathlib import Path

from feedback.errors import Usage
from feedback.grid import Grid
from feedback.judges.limits import Limits
from feedback.judges.whole import Circumstances, judge_pass
from feedback.performance import as_heard
from feedback.placing import Placed, not_found, placed
from feedback.takes import judge_placed
from listener.expecting import Expectation
from listener.files import Hearing
from routines.library import load
from tests.bench.hearers import listener
from tests.bench.performances import MUTATIONS, Planned, lick_of, performed, plan
from tests.bench.renders import RATE, SIMULATED, Renders, default_folder
from tests.bench.verdict_errors import errors
from tests.bench.verdict_scores import Compared, items_of, nudged
from tests.bench.verdict_tables import tables
from tests.bench.workers import usable, workers

HELP = "judge what was heard beside what was played, word by word and mistake by mistake"

SOUNDS = (SIMULATED, "fluid")
COUNT = 3000


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Say what `verdicts` takes."""
    parser.add_argument(
        "--font", "--sounds", dest="sounds", action="extend", nargs="+", metavar="F",
        help="sim, or a sound font (a name that render knows, or a path); default sim fluid",
    )  # fmt: skip
    parser.add_argument("--count", type=int, default=COUNT, help=f"of all sounds together (default {COUNT})")
    parser.add_argument("--seed", type=int, default=0, help="of the plan (default 0)")
    parser.add_argument("--licks", nargs="+", metavar="ID", help="these only (default all)")
    parser.add_argument(
        "--mistakes", nargs="+", metavar="NAME", default=MUTATIONS,
        help="these only; faithful is one of them (default all that the plan knows)",
    )  # fmt: skip
    parser.add_argument(
        "--one", nargs=5, action="append", metavar=("SOUND", "LICK", "TEMPO", "MISTAKE", "SEED"),
        help="this performance, as --errors names it, instead of a plan; may be repeated",
    )  # fmt: skip
    parser.add_argument("--blind", action="store_true", help="the ear is not told the lick")
    parser.add_argument("--found", action="store_true", help="look for start and tempo in the take")
    parser.add_argument("--errors", action="store_true", help="list everything that was said amiss")
    parser.add_argument(
        "--cache", metavar="FOLDER", help="where sounds are kept (default: in the user's cache), or none"
    )
    parser.add_argument("--processes", type=int, default=2, help="at once (default 2)")


def run(args: argparse.Namespace) -> int:
    """Print the tables of each sound."""
    if args.processes < 1:
        raise Usage(f"{args.processes} processes: 1 and more are accepted")
    for name in args.licks or ():
        load(name)
    asked = list(dict.fromkeys(args.sounds or SOUNDS))
    if args.one:
        planned = tuple(Planned.of(words) for words in args.one)
        asked = list(dict.fromkeys(one.sound for one in planned))
    else:
        planned = plan(args.count, args.seed, sounds=asked, licks=args.licks, mutations=args.mistakes)
    if not planned:
        raise Usage("none of these licks has a place for any of these mistakes")
    renders = Renders(folder=_folder(args.cache))
    judge = partial(compared, renders=renders, blind=args.blind, found=args.found)
    with workers(args.processes) as mapped:
        for sound in asked:
            jobs = [one for one in planned if one.sound == sound]
            if not jobs or not (args.sounds or args.one or list(usable([sound]))):
                continue
            begun = time.perf_counter()
            found = list(mapped(judge, jobs))
            for line in tables(sound, found, time.perf_counter() - begun):
                print(line, flush=True)
            for line in errors(found) if args.errors else ():
                print(f"  {line}")
    renders.trim()
    if renders.folder is not None:
        print(f"{renders.folder}: {renders.size_bytes() / 1e6:.0f} MB of sounds are kept")
    return 0


def compared(planned: Planned, *, renders: Renders, blind: bool = False, found: bool = False) -> Compared:
    """Play one performance, listen to it, and judge both.

    Parameters
    ----------
    planned : Planned
    renders : Renders
    blind : bool
        Whether the ear is not told what to expect.
    found : bool
        Whether start and tempo are looked for in the take, by a blind ear. Truth keeps the true ones, but as
        no click is known of, drift is taken off there, too.

    Returns
    -------
    Compared

    Raises
    ------
    CannotDo
        If FluidSynth or the font is missing.
    """
    begun = time.perf_counter()
    sound, played, kept = renders.sounded(performed(planned), planned.sound)
    rendered = time.perf_counter()
    lick, limits = lick_of(planned), Limits()
    grid = Grid(lick=lick, tempo_half_bpm=planned.tempo_half_bpm, start_sec=played.start_sec, limits=limits)
    listen, hearings = listener(sound, RATE), list[Hearing]()

    def listened(expected: Sequence[Expectation]) -> Hearing:
        hearings.append(listen(() if blind else expected))
        return hearings[-1]

    place = placed(listened(()).notes, lick, limits) if found else Placed(grid=grid, about=Circumstances())
    if place is None:
        said = not_found(lick, limits, None, hearings[-1].notes)
    else:
        said = judge_placed(place, listened)
    heard = time.perf_counter()
    about = Circumstances(start_found=found)
    flawless = as_heard(played)
    truth = judge_pass(grid, flawless, about)
    nearly = [
        judge_pass(
            Grid(lick=lick, tempo_half_bpm=grid.tempo_half_bpm, start_sec=grid.start_sec, limits=hair),
            flawless,
            about,
        )
        for hair in nudged(limits, 1e3 * grid.window_sec)
    ]
    return Compared(
        planned=planned,
        grid=grid,
        truth=truth,
        said=said,
        played=tuple(flawless),
        heard=hearings[-1].notes,
        doubtful=hearings[-1].doubtful,
        items=items_of(truth, said, nearly),
        render_sec=rendered - begun,
        listen_sec=heard - rendered,
        kept=kept,
    )


def _folder(given: str | None) -> Path | None:
    if given is None:
        return default_folder()
    return None if given == "none" else Path(given)
