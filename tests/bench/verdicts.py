"""Verdicts: the judges on what was heard, beside the judges on what was played.

    python -m tests.bench verdicts [--font sim] [--font fluid] [--seeds N] [--licks ID ...] [--found]

Every lick is performed at three tempos, faithfully and with each of the mistakes that touch the flat seven.
It is made into sound by the simulated player (its instrument drawn anew each time) and by FluidSynth. Truth
is what the judges say about a flawless hearing of the same performance. A mistake that a lick has no place
for is left out. The start is given, as with a click, or (`--found`) looked for in the take. For each sound
and mistake:

    sevens   flat sevens performed (all of them, not only the due ones)
    sounded, landed, swallowed, where   share of sevens of which the same is said, those unclear left out
    unclear  share of sevens that the listener could not tell
    clean    passes called clean, of how many truly are; and of those that are not, how many were called clean
    notes    share of targets with the same verdict
"""

from __future__ import annotations

import argparse
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

import numpy as np

from feedback.grid import Grid
from feedback.judges.limits import Limits
from feedback.judges.whole import judge_pass
from feedback.performance import Performance, as_heard, perform
from feedback.player import render
from feedback.sound.banjo import Banjo
from feedback.sources import listened
from feedback.takes import judge_events
from listener.notes import standing
from routines.errors import BadRoutine
from routines.library import all_licks, load
from routines.lick import Lick, quarter_sec
from routines.outcome import PassOutcome, SeventhVerdict
from tests.bench.fluid import font_path, through_font, with_noise

HELP = "judge what was heard beside what was played, mistake by mistake"

FAITHFUL = "faithful"
MISTAKES = (
    FAITHFUL, "left-hanging", "seven-missing", "seven-swallowed", "seven-late", "resolution-late",
    "resolution-octave", "resolution-ahead", "filler-wrong",
)  # fmt: skip
TEMPO_SHARES = (0.6, 0.8, 1.0)
"""Tempos, as shares of a lick's top tempo."""

_RATE = 44100
_SIMULATED = "sim"
_NOISE_DBFS = -60.0
_FIELDS = ("sounded", "landed", "swallowed", "resolution")


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Say what `verdicts` takes."""
    parser.add_argument(
        "--font",
        action="append",
        metavar="F",
        help="sim, or a sound font (a name that render knows, or a path); may be repeated; default both",
    )
    parser.add_argument("--seeds", type=int, default=1, help="performances of each kind (default 1)")
    parser.add_argument("--licks", nargs="*", metavar="ID", help="these only (default all)")
    parser.add_argument("--mistakes", nargs="*", metavar="NAME", help="these only")
    parser.add_argument("--found", action="store_true", help="look for start and tempo in the take")


def run(args: argparse.Namespace) -> int:
    """Print a table for each sound."""
    licks = [load(name) for name in args.licks] if args.licks else list(all_licks())
    for font in args.font or [_SIMULATED, "fluid"]:
        print(f"{font}: {len(licks)} licks, {len(TEMPO_SHARES)} tempos, {args.seeds} seeds")
        for line in table(licks, font, range(args.seeds), mistakes=args.mistakes, found=args.found):
            print(line, flush=True)
    return 0


@dataclass(slots=True)
class Tally:
    """What was counted for one mistake."""

    counts: Counter[str] = field(default_factory=Counter)

    def add(self, truth: PassOutcome, heard: PassOutcome) -> None:
        """Count one performance."""
        self.counts["passes"] += 1
        for played, said in zip(truth.sevenths, heard.sevenths, strict=True):
            self.counts["sevens"] += 1
            self._compare(played, said)
        for note, other in zip(truth.notes, heard.notes, strict=True):
            self.counts["notes"] += 1
            self.counts["same notes"] += note.verdict == other.verdict
            self.counts["unclear notes"] += other.verdict == "unclear"
        self.counts[f"clean {truth.clean}"] += 1
        self.counts[f"clean {truth.clean} said"] += heard.clean is True

    def _compare(self, played: SeventhVerdict, said: SeventhVerdict) -> None:
        if said.sounded is None:
            self.counts["unclear"] += 1
            return
        for name in _FIELDS:
            self.counts[name] += getattr(played, name) == getattr(said, name)

    def line(self, name: str) -> str:
        """The row of the table."""
        told = max(1, self.counts["sevens"] - self.counts["unclear"])
        shares = "  ".join(f"{_SHORT[f]} {self.counts[f] / told:.3f}" for f in _FIELDS)
        return (
            f"  {name:<18} sevens {self.counts['sevens']:4}  {shares}  "
            f"unclear {self.counts['unclear'] / max(1, self.counts['sevens']):.3f}  "
            f"clean {self.counts['clean True said']:3}/{self.counts['clean True']:<3} "
            f"{self.counts['clean False said']:3}/{self.counts['clean False']:<3}  "
            f"notes {self.counts['same notes'] / max(1, self.counts['notes']):.4f} "
            f"unclear {self.counts['unclear notes'] / max(1, self.counts['notes']):.4f}"
        )


_SHORT = {"sounded": "sounded", "landed": "landed", "swallowed": "swallowed", "resolution": "where"}


def table(
    licks: Sequence[Lick],
    font: str,
    seeds: Sequence[int],
    *,
    mistakes: Sequence[str] | None = None,
    found: bool = False,
) -> Iterator[str]:
    """Measure one sound.

    Parameters
    ----------
    licks : sequence of Lick
    font : str
        "sim", or what `tests.bench.fluid.font_path` takes.
    seeds : sequence of int
    mistakes : sequence of str, optional
        By default all of `MISTAKES`.
    found : bool
        Whether start and tempo are looked for in the take.

    Yields
    ------
    str
        A row for each mistake, and one for all.
    """
    whole = Tally()
    for mistake in mistakes or MISTAKES:
        tally = Tally()
        for lick in licks:
            for seed in seeds:
                for share in TEMPO_SHARES:
                    pair = compared(lick, font, mistake, share * lick.top_tempo_half_bpm, seed, found=found)
                    if pair is not None:
                        tally.add(*pair)
        whole.counts.update(tally.counts)
        yield tally.line(mistake)
    yield whole.line("all")


def compared(
    lick: Lick, font: str, mistake: str, tempo: float, seed: int, *, found: bool = False
) -> tuple[PassOutcome, PassOutcome] | None:
    """Truth and what was heard of one performance; None where the lick has no place for the mistake."""
    seed = seed * 1000 + round(tempo)
    try:
        played = perform(
            lick,
            tempo_half_bpm=tempo,
            mistakes=() if mistake == FAITHFUL else (mistake,),
            seed=seed,
            start_sec=1.0 + lick.pickup_quarters * quarter_sec(tempo),
        )
    except BadRoutine:
        return None
    sound, played = _sounded(played, font, seed)
    limits = Limits()
    grid = Grid(lick=lick, tempo_half_bpm=tempo, start_sec=played.start_sec, limits=limits)
    source = listened(sound, _RATE, until_sec=len(sound) / _RATE)
    notes = standing(report for _, reports in source for report in reports)[0]
    heard = judge_events(notes, lick, limits) if found else judge_pass(grid, notes)
    return judge_pass(grid, as_heard(played)).outcome, heard.outcome


def _sounded(played: Performance, font: str, seed: int) -> tuple[np.ndarray, Performance]:
    rng = np.random.default_rng(seed)
    if font == _SIMULATED:
        return render(played, rate=_RATE, seed=seed, instrument=Banjo().varied(rng)), played
    sound, played, _ = through_font(played, font=font_path(font), rate=_RATE)
    return with_noise(sound, _NOISE_DBFS, rng), played
