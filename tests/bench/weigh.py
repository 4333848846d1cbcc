"""Learn the weights of the informed ear's weighers anew: how far to trust what is expected.

    python -m tests.bench weigh -o weigher.npz                as they were made (an hour on two cores)
    python -m tests.bench weigh --takes 60 -o trial.npz       a small trial

Needs PyTorch, FluidSynth and fluid-soundfont-gm, as `learn` does, and the networks of the three looks, which
that command made. The takes are others than the networks learnt from; what each was asked to be is drawn
(`tests/bench/train/asked.py`). Beside the weights, a JSON says what they were made of.
"""

from __future__ import annotations

import argparse
import json
import os
import time
from functools import partial
from pathlib import Path

import numpy as np

from feedback.errors import CannotDo, Usage
from feedback.writing import beside
from tests.bench.files import save_arrays, weights_file
from tests.bench.train.fontnotes import build
from tests.bench.train.weighing import gathered

HELP = "the informed ear's weighers, learnt anew"

WEIGH_SEED = 200_000
"""First seed of the takes that are learnt from."""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Say what `weigh` takes."""
    parser.add_argument("-o", "--output", required=True, metavar="x.npz", help="x.json comes beside it")
    parser.add_argument("--takes", type=int, default=2000, help="takes to learn from (default 2000)")
    parser.add_argument("--ways", type=int, default=3, help="in how many ways each is asked for (default 3)")
    parser.add_argument("--notes", metavar="FOLDER", help="where the font's single notes are kept")
    parser.add_argument("--workers", type=int, default=os.cpu_count() or 1, help="processes that draw takes")
    parser.add_argument("--seed", type=int, default=0, help="of the training (default 0)")
    parser.add_argument("--commit", default="", help="noted beside the weights")


def run(args: argparse.Namespace) -> int:
    """Learn, print, write."""
    if min(args.takes, args.ways, args.workers) < 1:
        raise Usage("--takes, --ways and --workers: accepted is 1 and more")
    out = weights_file(args.output)
    try:
        from tests.bench.train.trusting import trusted
    except ImportError as error:
        raise CannotDo("PyTorch is needed to learn: pip install torch") from error
    notes = Path(args.notes) if args.notes else out.parent / "font-notes"
    build(notes)
    began = time.monotonic()
    found = gathered(
        range(WEIGH_SEED, WEIGH_SEED + args.takes),
        notes_folder=notes,
        ways=args.ways,
        workers=args.workers,
    )
    arrays: dict[str, np.ndarray] = {}
    figures = {}
    for look, rows in found.items():
        if not len(rows.begun):
            raise CannotDo(f"{look}: in these takes nothing was struck, there is nothing to learn from")
        learnt, loss = trusted(rows, seed=args.seed)
        arrays |= {f"{look}_{name}": array for name, array in learnt.items()}
        figures[look] = {"pitches": len(rows.begun), "begun": int(rows.begun.sum()), "loss": round(loss, 5)}
        print(f"{look:7}{figures[look]}, {time.monotonic() - began:.0f} s", flush=True)
    beside(out, partial(save_arrays, arrays))
    told = {
        "made_by": f"python -m tests.bench weigh --takes {args.takes} --ways {args.ways} --seed {args.seed}",
        "commit": args.commit,
        "takes": [WEIGH_SEED, args.takes],
        "figures": figures,
        "numpy": np.__version__,
    }
    text = json.dumps(told, indent=1) + "\n"
    beside(out.with_suffix(".json"), lambda path: path.write_text(text, encoding="utf-8"))
    print(f"written: {out} and its JSON")
    return 0
