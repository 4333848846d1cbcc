"""What listening costs: real-time factor and time per hop, on one core, BLAS on one thread.

    python -m tests.bench cost [--sec 60] [FILE]

The sound is random rolls by the simulated player at 11 eighths a second, or a file; it is fed hop by hop, as
a sound card would. The hop is 128 samples, half of it is the limit that 99.9 of a hundred hops should keep.
"""

from __future__ import annotations

import argparse
import time

import numpy as np

from feedback.errors import Usage
from listener.ear import Ear
from listener.rates import Resampler

HELP = "what listening costs: real-time factor, time per hop"

RATE = 44100
_SEED = 5000
_NPS = 11.0
_PERCENTS = (50.0, 90.0, 99.0, 99.9, 100.0)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Say what `cost` takes."""
    parser.add_argument("file", nargs="?", metavar="FILE", help="a sound file instead of rolls")
    parser.add_argument("--sec", type=float, default=60.0, help="how much is listened to (default 60)")
    parser.add_argument("--hop", type=int, default=128, help="samples fed at once (default 128)")


def run(args: argparse.Namespace) -> int:
    """Print the table."""
    if args.hop < 1 or not 0.0 < args.sec < np.inf:
        raise Usage(f"hop {args.hop}, {args.sec:g} s: 1 sample and more, above 0 s are accepted")
    sound, rate = _from_file(args.file) if args.file else (_rolls(), RATE)
    wanted = max(args.hop, round(args.sec * rate))
    sound = np.resize(sound, wanted - wanted % args.hop)
    begun = time.perf_counter()
    ear = Ear(rate)
    built_ms = 1e3 * (time.perf_counter() - begun)
    spent_ms, notes = _timed(ear, sound, args.hop)
    hop_ms = 1e3 * args.hop / rate
    print(f"built in {built_ms:.0f} ms; {len(sound) / rate:.0f} s at {rate} Hz, hops of {hop_ms:.2f} ms")
    print(f"real-time factor  {spent_ms.sum() / (1e3 * len(sound) / rate):.4f}   notes heard {notes}")
    percents = zip(_PERCENTS, np.percentile(spent_ms, _PERCENTS), strict=True)
    print("ms per hop        " + "   ".join(f"{percent:g} % {ms:.3f}" for percent, ms in percents))
    print(f"under half a hop  {100.0 * float(np.mean(spent_ms < 0.5 * hop_ms)):.3f} %")
    return 0


def _timed(ear: Ear, sound: np.ndarray, hop: int) -> tuple[np.ndarray, int]:
    """Milliseconds of each hop, and how many notes were heard."""
    spent = np.zeros(len(sound) // hop)
    notes = 0
    for number in range(len(spent)):
        block = sound[number * hop : (number + 1) * hop]
        begun = time.perf_counter()
        reports = ear.feed(block)
        spent[number] = time.perf_counter() - begun
        notes += sum(report.kind == "heard" for report in reports)
    return 1e3 * spent, notes


def _rolls() -> np.ndarray:
    from feedback.player import render
    from tests.bench.rolls import random_rolls

    return render(random_rolls(_SEED, _NPS, bars=8), rate=RATE, seed=_SEED)


def _from_file(path: str) -> tuple[np.ndarray, int]:
    from listener.files import SoundFile

    with SoundFile(path) as sound:
        resampler = Resampler(sound.sample_rate)
        parts = [out for block in sound.blocks() for _, out in resampler.feed(block)]
        return np.concatenate([*parts, resampler.finish()]), resampler.rate_out
