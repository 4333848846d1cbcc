"""Starts: is the lick found in a take without a click, and its tempo, and are the verdicts then right.

    python -m tests.bench starts [--font sim] [--font fluid] [--takes N] [--kinds NAME ...] [--seed N]

Each kind of take (`tests/bench/start_kinds.py`) is drawn so many times for each sound, the licks taking
turns, tempos between half and 1.05 of a lick's top tempo, every other round with two small mistakes. An ear
that knows nothing of the lick listens; start and tempo are looked for in what it heard; one that is told the
lick listens again, and the pass is judged: all as `judge FILE` does. For each kind:

    found    takes in which a start was found within 50 ms of the meant one; the median distance of these
    tempo    takes whose tempo, over the pass, is found within 1 %
    course   bars of the tempo course within 2 % of the tempo that was played there; a pass that hurries to
             the change is left out, as its tempo is another there
    notes, sevens, clean   targets, flat sevens and passes of which the same is said as the judges say of a
             flawless hearing of the same pass at a steady tempo; a pass not found says nothing right

and for takes that hold no pass through the lick, in how many one was found.
"""

from __future__ import annotations

import argparse
import shutil
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, fields
from statistics import median
from zlib import crc32

import numpy as np

from feedback.errors import Usage
from feedback.grid import Grid
from feedback.judges.limits import Limits
from feedback.judges.whole import Circumstances, judge_pass
from feedback.played import as_heard
from routines.library import all_licks
from routines.outcome import PassOutcome, SeventhVerdict
from tests.bench.fluid import font_path
from tests.bench.start_kinds import KINDS, NOTHING, SAID
from tests.bench.start_sounds import SIMULATED, SYNTHESISER, judged
from tests.bench.start_takes import TEMPO_SHARES, Draw, Take
from tests.bench.workers import usable, workers

HELP = "find the lick and its tempo in takes without a click"

_HURRY = "hurry-at-change"

NEAR_SEC, NEAR_TEMPO, NEAR_COURSE = 0.050, 0.01, 0.02


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Say what `starts` takes."""
    parser.add_argument(
        "--font",
        action="append",
        metavar="F",
        help="sim, or a sound font (a name that render knows, or a path); may be repeated; default both",
    )
    parser.add_argument("--takes", type=int, default=12, help="of each kind and sound (default 12)")
    parser.add_argument("--kinds", nargs="+", choices=[*KINDS, *NOTHING], help="these only (default all)")
    parser.add_argument("--seed", type=int, default=0, help="of all that is drawn (default 0)")
    parser.add_argument("--processes", type=int, default=2, help="at once (default 2)")


def run(args: argparse.Namespace) -> int:
    """Print a table for each sound."""
    if args.takes < 1 or args.processes < 1 or args.seed < 0:
        raise Usage("1 take and 1 process or more, and a seed of 0 or more, are accepted")
    kinds = [kind for kind in args.kinds or [*KINDS, *NOTHING] if kind not in SAID or _speaks(kind)]
    fonts = args.font or list(usable([SIMULATED, "fluid"]))
    for font in set(fonts) - {SIMULATED}:
        font_path(font)
    with workers(args.processes) as mapped:
        for font in fonts:
            print(f"{font}: {args.takes} takes of each kind")
            jobs = [(kind, font, number, args.seed) for kind in kinds for number in range(args.takes)]
            scores = iter(mapped(_job, jobs))
            for kind in kinds:
                print(line(kind, [next(scores) for _ in range(args.takes)]), flush=True)
    return 0


def _speaks(kind: str) -> bool:
    if shutil.which(SYNTHESISER) is not None:
        return True
    print(f"{kind}: skipped, {SYNTHESISER} is not installed")
    return False


@dataclass(slots=True, kw_only=True)
class Score:
    """What came of one take; counts, and `off_sec` where the meant start was found."""

    found: int = 0
    meant: int = 0
    off_sec: float | None = None
    tempo: int = 0
    bars: int = 0
    bars_right: int = 0
    notes: int = 0
    notes_same: int = 0
    sevens: int = 0
    sevens_same: int = 0
    clean_same: int = 0


def drawn(kind: str, number: int, seed: int = 0) -> Take:
    """The take of a kind that has this number: licks take turns, every other round with small mistakes."""
    licks = all_licks()
    source = [seed, number, crc32(kind.encode())]
    rng = np.random.default_rng(source)
    lick = licks[(number + crc32(kind.encode())) % len(licks)]
    tempo = rng.uniform(*TEMPO_SHARES) * lick.top_tempo_half_bpm
    mistakes = (number + number // len(licks)) % 2 == 1
    draw = Draw(lick=lick, tempo_half_bpm=tempo, mistakes=mistakes, seed=int(rng.integers(2**31)), rng=rng)
    return {**KINDS, **NOTHING}[kind](draw)


def scored(take: Take, outcome: PassOutcome) -> Score:
    """Compare what was said of a take with what it is."""
    score = Score(found=int(outcome.start_sec is not None))
    if take.steady is None:
        return score
    truth = _truth(take)
    off = np.inf if outcome.start_sec is None else abs(outcome.start_sec - take.played_sec(0.0))
    first, last = (take.lick.notes[k].onset_quarters for k in (0, -1))
    tempo = take.tempo_between(first, last)
    score.notes, score.sevens = len(truth.notes), len(truth.sevenths)
    if off <= NEAR_SEC:
        score.meant, score.off_sec = 1, float(off)
        score.tempo = int(abs(outcome.tempo_half_bpm / tempo - 1.0) <= NEAR_TEMPO)
        off_course = [] if _HURRY in take.steady.mistakes else list(_off_course(take, outcome))
        score.bars, score.bars_right = len(off_course), sum(abs(o) <= NEAR_COURSE for o in off_course)
    if outcome.start_sec is not None:
        pairs = zip(truth.notes, outcome.notes, strict=True)
        score.notes_same = sum(one.verdict == other.verdict for one, other in pairs)
        sevens = zip(truth.sevenths, outcome.sevenths, strict=True)
        score.sevens_same = sum(_told(one) == _told(other) for one, other in sevens)
        score.clean_same = int(truth.clean == outcome.clean)
    return score


def line(kind: str, scores: Sequence[Score]) -> str:
    """One row of the table."""
    if kind in NOTHING:
        return f"  {kind:<14} found {sum(s.found for s in scores):3} of {len(scores)}"
    many = {f.name: sum(getattr(s, f.name) for s in scores) for f in fields(Score) if f.name != "off_sec"}
    off = [1e3 * s.off_sec for s in scores if s.off_sec is not None]
    near = f"{median(off):4.1f} ms" if off else "   -   "
    return (
        f"  {kind:<14} found {many['meant']:3} of {len(scores):<3} {near}   "
        f"tempo {many['tempo'] / len(scores):.3f}  course {_share(many['bars_right'], many['bars'])} "
        f"({many['bars']} bars)   notes {_share(many['notes_same'], many['notes'])}  "
        f"sevens {_share(many['sevens_same'], many['sevens'])}  clean {many['clean_same'] / len(scores):.3f}"
    )


def _share(many: int, of: int) -> str:
    return f"{many / of:.3f}" if of else "  -  "


def _job(job: tuple[str, str, int, int]) -> Score:
    kind, font, number, seed = job
    take = drawn(kind, number, seed)
    return scored(take, judged(take, font))


def _truth(take: Take) -> PassOutcome:
    """What the judges say of the meant pass, heard without flaw and played at a steady tempo."""
    assert take.steady is not None
    grid = Grid(
        lick=take.lick,
        tempo_half_bpm=take.steady.tempo_half_bpm,
        start_sec=take.steady.start_sec,
        limits=Limits(),
    )
    return judge_pass(grid, as_heard(take.steady), Circumstances(click_off=True)).outcome


def _off_course(take: Take, outcome: PassOutcome) -> Iterator[float]:
    """How far each bar's tempo is off, as a share, over the stretch in which notes are asked for."""
    bar = take.lick.quarters_a_bar
    for sec, half_bpm in outcome.timing.tempo_course:
        number = round((sec - (outcome.start_sec or 0.0)) * outcome.tempo_half_bpm / 30.0 / bar)
        inside = [
            n.onset_quarters
            for n in take.lick.notes
            if number * bar <= n.onset_quarters <= (number + 1) * bar
        ]
        if len(set(inside)) > 1:
            yield half_bpm / take.tempo_between(inside[0], inside[-1]) - 1.0


def _told(seven: SeventhVerdict) -> tuple[bool | None, bool | None, bool | None, str]:
    return seven.sounded, seven.landed, seven.swallowed, seven.resolution
