"""What our own program plays, taken out of what the microphone hears: what the ears make of a take with it.

    python -m tests.bench bleed                          every table
    python -m tests.bench bleed --quick                  click and backing together, 6 dB under, one seed
    python -m tests.bench bleed --only turns --kinds both --under 6 0 --seeds 4

How loud: X dB under is mean power of the bleed over its sounding frames (50 ms) against that of the banjo
over its own, see `tests.bench.bleed_takes`; so a click's peaks lie some 10 dB higher than this says.

Each line holds F within 50 ms with no bleed, with it, and with it taken out; how many notes were heard that
nobody played and that begin within 60 ms of a stroke of ours, the same way; onset errors, median and 95 % in
ms, the same way; and how much of the bleed was taken out, in dB, from the first pass on. `<` marks an F more
than 0.01 under the one with no bleed. Tables (`--only`):

    turns    kinds of `tests.bench.bleed_takes.KINDS`, each level, each instrument; both ears.
    none     nothing comes back (headphones): what the filter spoils, and how loud it says that it comes back.
    moved    both, 6 dB under: after the first pass the loudspeaker stands elsewhere; all comes 10 ms later.
    started  both, 6 dB under: the filter begins with the response, as a sound check would measure it.
    model    another player's rendering of the same lick sounds while the player plays it.
    alone    nobody plays: notes heard in a minute of click; in a minute of the model.
    cost     of one core, against the time that the sound lasts.
"""

from __future__ import annotations

import argparse
import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace
from functools import partial
from pathlib import Path
from types import MappingProxyType

import numpy as np

from feedback.errors import Usage
from listener.bleed import Bleed
from tests.bench.bleed_lines import Line, both_scored, heard_line, told
from tests.bench.bleed_takes import (
    KINDS,
    cleaned_by,
    come_back,
    delayed,
    model,
    output,
    turn,
    under,
)
from tests.bench.hearers import hearing
from tests.bench.renders import RATE, SIMULATED, Renders, default_folder
from tests.bench.workers import Mapper, usable, workers

HELP = "what we play ourselves, taken out of the microphone's sound"

SOUNDS = (SIMULATED, "fluid", "timgm6mb")
UNDER_DB = (24.0, 12.0, 6.0, 0.0)
_ZERO = 1000
_ALONE_SEC = 60.0
_QUIET_DBFS = -62.0
_ALONE_DBFS = -30.0


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Say what `bleed` takes."""
    for name, known in (("only", TABLES), ("kinds", KINDS), ("sounds", SOUNDS)):
        parser.add_argument(
            f"--{name}", nargs="+", metavar="NAME", choices=list(known), default=list(known),
            help=f"these alone: {', '.join(known)} (default: all)",
        )  # fmt: skip
    parser.add_argument("--under", nargs="+", type=float, default=UNDER_DB, metavar="DB", help="levels")
    parser.add_argument("--seeds", type=int, default=1, help="of each line (default 1)")
    parser.add_argument("--quick", action="store_true", help="one line an instrument")
    parser.add_argument("--cache", metavar="FOLDER", help="where sounds are kept, or none")
    parser.add_argument("--processes", type=int, default=2, help="at once (default 2)")


def run(args: argparse.Namespace) -> int:
    """Print the tables."""
    if min(args.seeds, args.processes) < 1:
        raise Usage(f"{args.seeds} seeds, {args.processes} processes: 1 and more are accepted")
    if args.quick:
        args.only, args.kinds, args.under, args.seeds = ["turns", "cost"], ["both"], (6.0,), 1
    args.sounds = list(usable(args.sounds))
    with workers(args.processes) as mapped:
        for name in args.only:
            print(name, flush=True)
            TABLES[name](args, mapped)
    return 0


def _turns(job: tuple[str, str, int], levels: Sequence[float], cache: Path | None) -> list[Line]:
    """All levels of one kind, instrument and seed; the turn by itself is heard once."""
    kind, sound, number = job
    one = turn(sound, number, Renders(folder=cache))
    out = output(kind, one)
    bleed = come_back(out.sound, number)
    clean = both_scored(one, one.take.sound, out)
    return [heard_line(one, out, under(bleed, one.take.sound, by), clean=clean) for by in levels]


def _other(job: tuple[str, str, int], cache: Path | None) -> Line:
    """One take of the tables `none`, `moved`, `started` and `model`."""
    name, sound, number = job
    one = turn(sound, number, Renders(folder=cache))
    out = model(one, Renders(folder=cache)) if name.startswith("model") else output("both", one)
    whole = come_back(out.sound, number)
    bleed = under(whole, one.take.sound, 6.0)
    change = round(one.plan.starts_sec[1] * RATE)
    if name.startswith("none"):
        bleed = np.zeros_like(bleed)
    elif name == "moved elsewhere":
        other = under(come_back(out.sound, number + 500), one.take.sound, 6.0)
        bleed = np.concatenate([bleed[:change], other[change:]])
    elif name == "moved 10 ms":
        bleed = np.concatenate([bleed[:change], delayed(bleed, 0.010)[change:]])
    filter_ = Bleed(RATE)
    if name.startswith("started"):
        pulse = np.zeros(2 * RATE, np.float32)
        pulse[RATE] = 1.0
        scale = float(bleed @ whole) / float(whole @ whole)
        filter_.start(scale * come_back(pulse, number)[RATE - _ZERO :], zero=_ZERO)
    return heard_line(one, out, bleed, filter_=filter_)


def _print_turns(args: argparse.Namespace, mapped: Mapper) -> None:
    jobs = [(kind, sound, n) for kind in args.kinds for sound in args.sounds for n in range(args.seeds)]
    found = mapped(partial(_turns, levels=args.under, cache=_folder(args.cache)), jobs)
    for kind in args.kinds:
        lines = {sound: [next(found) for _ in range(args.seeds)] for sound in args.sounds}
        for k, by in enumerate(args.under):
            for sound, takes in lines.items():
                _show(told([take[k] for take in takes], f"{kind} {by:g} dB under, {sound}"))
            every = [take[k] for takes in lines.values() for take in takes]
            _show(told(every, f"{kind} {by:g} dB under, all"))


def _print_others(args: argparse.Namespace, mapped: Mapper, *, names: Sequence[str]) -> None:
    jobs = [(name, sound, number) for name in names for sound in args.sounds for number in range(args.seeds)]
    found = mapped(partial(_other, cache=_folder(args.cache)), jobs)
    for name in names:
        _show(told([next(found) for _ in range(len(args.sounds) * args.seeds)], name))


def _print_alone(args: argparse.Namespace, mapped: Mapper) -> None:
    """Nobody plays: the lines are few, and quickly made."""
    renders = Renders(folder=_folder(args.cache))
    one = turn(SIMULATED, 2, renders)
    for name, out in (("click", output("halves", one)), ("model", model(one, renders))):
        repeats = -(-round(_ALONE_SEC * RATE) // one.samples)
        played = np.tile(out.sound, repeats)
        noise = np.random.default_rng(1).standard_normal(len(played)) * 10.0 ** (_QUIET_DBFS / 20.0)
        reference = np.full(RATE, 10.0 ** (_ALONE_DBFS / 20.0), np.float32)
        taken = (under(come_back(played, 2), reference, 0.0) + noise).astype(np.float32)
        for state, sound in (("untreated", taken), ("cleaned", cleaned_by(Bleed(RATE), taken, played))):
            heard = [
                len(hearing(replace(one.take, truth=(), sound=sound), asked).notes)
                for asked in ((), one.asked)
            ]
            heard_as = f"{heard[0]} blind, {heard[1]} informed"
            print(f"  {name} {len(played) / RATE:.0f} s, {state:9}: notes heard {heard_as}")


def _print_cost(args: argparse.Namespace, mapped: Mapper) -> None:
    one = turn(SIMULATED, 0, Renders(folder=_folder(args.cache)))
    for name, sound in (
        *((kind, output(kind, one).sound) for kind in KINDS),
        ("nothing", np.zeros(one.samples)),
    ):
        begun = time.process_time()
        cleaned_by(Bleed(RATE), one.take.sound, sound.astype(np.float32))
        print(f"  {name:8} {(time.process_time() - begun) / (one.samples / RATE):.4f}")


TABLES: Mapping[str, Callable[[argparse.Namespace, Mapper], None]] = MappingProxyType(
    {
        "turns": _print_turns,
        "none": partial(_print_others, names=("none (headphones)",)),
        "moved": partial(_print_others, names=("moved elsewhere", "moved 10 ms")),
        "started": partial(_print_others, names=("started as measured",)),
        "model": partial(_print_others, names=("model with the player",)),
        "alone": _print_alone,
        "cost": _print_cost,
    }
)
"""Name of a table to what prints it."""


def _folder(given: str | None) -> Path | None:
    if given is None:
        return default_folder()
    return None if given == "none" else Path(given)


def _show(lines: Iterator[str]) -> None:
    for text in lines:
        print(text, flush=True)
