"""Learn the listener's weights anew: draw takes, look at their strikes, train, try, write.

    python -m tests.bench learn -o strike.npz                  as they were made (hours on two cores)
    python -m tests.bench learn --takes 400 -o trial.npz       a small trial
    python -m tests.bench learn --look early middle -o strike.npz     the informed ear's sooner looks

Needs PyTorch (`pip install torch`), FluidSynth and fluid-soundfont-gm. Sounds are the simulated player, a
modal string and that font's plucked programs, each take on another instrument; `near` are other takes on
such instruments (simulated ones drawn anew, the font's the same), `far` those on instruments of other kinds,
kept aside. The least confidence at which a pitch is said is the lowest whose F on `near` is within `SLACK` of
the best: what is soft or slurred is worth a stray note. With `--repeat` the whole training is done again from
other beginnings, which shows how far it can be repeated; the first one is written. Beside the weights, a JSON
says what they were made of.
"""

from __future__ import annotations

import argparse
import json
import os
import time
from dataclasses import asdict, replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from feedback.errors import CannotDo, Usage
from feedback.writing import beside
from listener.views import LOOKS
from tests.bench.files import save_arrays, weights_file
from tests.bench.train.fontnotes import ASIDE, LEARN, build
from tests.bench.train.gather import Gathered, gathered

if TYPE_CHECKING:
    from tests.bench.train.learning import Recipe

HELP = "the listener's weights, learnt anew"

LEARN_SEED, NEAR_SEED, FAR_SEED = 100_000, 50_000, 60_000
"""First seeds of the takes that are learnt from, and of those that are kept aside."""

SLACK = 0.002

_SOUNDS = (
    {
        "sound": "simulated player (feedback/sound), instruments drawn at random",
        "licence": "GPL-3.0-or-later",
    },
    {"sound": "modal string (tests/bench/train/modal.py), drawn at random", "licence": "GPL-3.0-or-later"},
    {
        "sound": "Fluid R3 General MIDI sound font (Debian fluid-soundfont-gm), programs "
        + " ".join(str(program) for program in LEARN)
        + "; kept aside: "
        + " ".join(str(program) for program in ASIDE),
        "licence": "MIT",
    },
)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Say what `learn` takes."""
    parser.add_argument("-o", "--output", required=True, metavar="x.npz", help="x.json comes beside it")
    parser.add_argument("--takes", type=int, default=5600, help="takes to learn from (default 5600)")
    parser.add_argument("--near", type=int, default=150, help="takes on instruments of the same kinds")
    parser.add_argument("--far", type=int, default=200, help="takes on instruments of other kinds")
    parser.add_argument("--notes", metavar="FOLDER", help="where the font's single notes are kept")
    parser.add_argument("--workers", type=int, default=os.cpu_count() or 1, help="processes that draw takes")
    parser.add_argument(
        "--look", nargs="+", choices=list(LOOKS), default=["full"],
        help="networks to learn: early and middle are for the informed ear; x-early.npz comes beside x.npz",
    )  # fmt: skip
    parser.add_argument("--epochs", type=int, help="times through all takes")
    parser.add_argument("--seed", type=int, default=0, help="of the training (default 0)")
    parser.add_argument("--repeat", type=int, default=1, help="trainings, each from its own seed (default 1)")
    parser.add_argument("--commit", default="", help="noted beside the weights")


def run(args: argparse.Namespace) -> int:
    """Learn, print, write."""
    counts = (args.takes, args.near, args.far, args.repeat, args.workers, args.epochs or 1)
    if min(counts) < 1 or args.epochs == 0:
        raise Usage("--takes, --near, --far, --repeat, --workers and --epochs: accepted is 1 and more")
    out = weights_file(args.output)
    try:
        from tests.bench.train.learning import RECIPES
    except ImportError as error:
        raise CannotDo("PyTorch is needed to learn: pip install torch") from error

    notes = Path(args.notes) if args.notes else out.parent / "font-notes"
    build(notes)
    began = time.monotonic()

    def drawn(first: int, count: int, *, aside: bool) -> list[Gathered]:
        seeds = range(first, first + count)
        return gathered(seeds, aside=aside, notes_folder=notes, workers=args.workers, looks=args.look)

    learn = drawn(LEARN_SEED, args.takes, aside=False)
    near, far = drawn(NEAR_SEED, args.near, aside=False), drawn(FAR_SEED, args.far, aside=True)
    played, strikes = sum(len(part.notes) for part in learn[0].parts), len(learn[0].views)
    print(f"{args.takes} takes, {played} notes, {strikes} strikes: {time.monotonic() - began:.0f} s")
    for look, *takes in zip(args.look, learn, near, far, strict=True):
        path = out if look == "full" else out.with_name(f"{out.stem}-{look}.npz")
        print(f"{look}:")
        told = _learn_look(path, RECIPES[look], Takes(*takes), args)
        told |= {"made_by": _command(args), "look": look}
        text = json.dumps(told, indent=1) + "\n"
        beside(path.with_suffix(".json"), lambda file, text=text: file.write_text(text, encoding="utf-8"))
        print(f"written: {path} and its JSON, {time.monotonic() - began:.0f} s in all", flush=True)
    return 0


class Takes(NamedTuple):
    """What is learnt from, and what is kept aside, by one look."""

    learn: Gathered
    near: Gathered
    far: Gathered


def _learn_look(path: Path, first: Recipe, takes: Takes, args: argparse.Namespace) -> dict[str, Any]:
    """Learn one network, write it, and say what it was made of."""
    import torch

    from tests.bench.train.learning import confidences, learnt
    from tests.bench.train.trial import best_limit, counted, summed

    first = replace(first, seed=args.seed, **({"epochs": args.epochs} if args.epochs else {}))
    figures: list[dict[str, Any]] = []
    for number in range(args.repeat):
        recipe = replace(first, seed=args.seed + number)
        net = learnt(takes.learn, recipe, say=number == 0)
        near, far = (confidences(net, kept, recipe.blind) for kept in (takes.near, takes.far))
        limit, _ = best_limit(near, takes.near, SLACK)
        row: dict[str, Any] = {"seed": recipe.seed, "least_confidence": limit}
        for name, sure, kept in (("near", near, takes.near), ("far", far, takes.far)):
            kinds = counted(sure, kept, limit)
            for kind in sorted(kinds):
                print(f"  {name:5}{kind:12}{kinds[kind].row()}")
            row[name] = {what: round(value, 4) for what, value in summed(kinds.values()).figures().items()}
            print(f"  {name:5}{'all':12}{row[name]}", flush=True)
        figures.append(row)
        if number == 0:
            arrays = net.arrays() | {"least_confidence": np.array(limit, np.float32)}
            beside(path, partial(save_arrays, arrays))
    return {
        "commit": args.commit,
        "sounds": list(_SOUNDS),
        "takes": {
            "learn": [LEARN_SEED, args.takes],
            "near": [NEAR_SEED, args.near],
            "far": [FAR_SEED, args.far],
        },
        "notes": sum(len(part.notes) for part in takes.learn.parts),
        "strikes": len(takes.learn.views),
        "recipe": asdict(first),
        "figures": figures,
        "numpy": np.__version__,
        "torch": str(torch.__version__),
        "device": "cuda" if torch.cuda.is_available() else "cpu",
    }


def _command(args: argparse.Namespace) -> str:
    """What was typed, as far as it matters for the weights."""
    names = ("takes", "near", "far", "seed", "epochs", "repeat")
    given = [f"--{name} {getattr(args, name)}" for name in names if getattr(args, name) is not None]
    given.append(f"--look {' '.join(args.look)}")
    return " ".join(["python -m tests.bench learn", *given])
