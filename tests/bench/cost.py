"""What listening costs: real-time factor, time per hop, whether blocks matter, and memory.

    python -m tests.bench cost [--sec 60] [--hour] [FILE]

The figures are for one core with every BLAS on one thread: as that must be said before numpy loads, the
bench runs in a process of its own. The sound is random rolls by the simulated player, dense (11 eighths a
second) and ordinary (6), or a file; it is fed hop by hop, as a sound card would. The hop is 128 samples, half
of it is the limit that 99.9 % of the hops should keep. Rolls are heard by both ears, the blind one and one
that is told what to expect, a file by the blind one. Memory is what the process holds while the first of
these sounds goes round and round.
"""

from __future__ import annotations

import argparse
import os
import subprocess
import sys
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from feedback.errors import Usage
from feedback.onethread import NAMES
from listener.ear import RATES, Ear
from listener.expecting import Expectation
from listener.notes import NoteEvent, standing
from listener.rates import Resampler

HELP = "what listening costs: real-time factor, time per hop, memory"

ONE_THREAD = dict.fromkeys(NAMES, "1")
BLOCKS = (32, 64, 128, 441, 512, 1000, 4096)
PASSAGES = {"dense, 11/s": 11.0, "ordinary, 6/s": 6.0}

_HERE = "SEVENFALL_BENCH_COST_HERE"
_SEED = 5000
_ROLL_BARS = 8
_PERCENTS = (50.0, 90.0, 99.0, 99.9, 100.0)
_MEMORY_MINUTES = 5
_MEMORY_LINES = 5
_MEMORY_BLOCK = 1024


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Say what `cost` takes."""
    parser.add_argument("file", nargs="?", metavar="FILE", help="a sound file instead of rolls")
    parser.add_argument("--sec", type=float, default=60.0, help="how much is listened to (default 60)")
    parser.add_argument("--hop", type=int, default=128, help="samples fed at once (default 128)")
    parser.add_argument(
        "--hour", action="store_true", help=f"memory over an hour of sound, not {_MEMORY_MINUTES} minutes"
    )


def run(args: argparse.Namespace) -> int:
    """Print the tables, out of a process that has one core and one thread."""
    if args.hop < 1 or not 0.0 < args.sec < np.inf:
        raise Usage(f"hop {args.hop}, {args.sec:g} s: 1 sample and more, above 0 s are accepted")
    if _HERE not in os.environ:
        again = [sys.executable, "-m", "tests.bench", "cost", "--sec", str(args.sec), "--hop", str(args.hop)]
        again += [*(["--hour"] if args.hour else []), *(["--", args.file] if args.file else [])]
        return subprocess.run(again, env={**os.environ, **ONE_THREAD, _HERE: "1"}, check=False).returncode
    if hasattr(os, "sched_setaffinity"):
        os.sched_setaffinity(0, {min(os.sched_getaffinity(0))})
    sounds = list(_from_file(args.file) if args.file else _rolls())
    for heard in sounds:
        _show_time(heard, args.sec, args.hop)
    for heard in sounds:
        _show_blocks(heard)
    _show_memory(sounds[0].sound, sounds[0].rate, 60 if args.hour else _MEMORY_MINUTES)
    return 0


@dataclass(frozen=True, slots=True, kw_only=True)
class _Listened:
    """A sound that is listened to, and what the ear is told of it: nothing, and it listens blind."""

    name: str
    sound: np.ndarray
    rate: int
    expected: Sequence[Expectation] = ()

    def again_and_again(self, samples: int) -> _Listened:
        """The same, going round until it is so long."""
        round_sec = len(self.sound) / self.rate
        expected = [
            replace(one, onset_sec=one.onset_sec + number * round_sec)
            for number in range(-(-samples // len(self.sound)))
            for one in self.expected
        ]
        return replace(self, sound=np.resize(self.sound, samples), expected=expected)


def events_by_block(
    sound: np.ndarray, rate: int, block: int, expected: Sequence[Expectation] = ()
) -> list[NoteEvent]:
    """What is heard in a sound that is fed in blocks of so many samples."""
    ear = Ear(rate, expectations=expected)
    reports = []
    for begin in range(0, len(sound), block):
        reports += ear.feed(sound[begin : begin + block])
    return standing(reports + ear.flush())[0]


def _show_time(heard: _Listened, sec: float, hop: int) -> None:
    rate = heard.rate
    wanted = max(hop, round(sec * rate))
    heard = heard.again_and_again(wanted - wanted % hop)
    begun = time.perf_counter()
    ear = Ear(rate, expectations=heard.expected)
    built_ms = 1e3 * (time.perf_counter() - begun)
    spent_ms, notes = _timed(ear, heard.sound, hop)
    hop_ms, took_sec = 1e3 * hop / rate, len(heard.sound) / rate
    print(f"{heard.name}, {rate} Hz: {took_sec:.0f} s, hops of {hop_ms:.2f} ms; built in {built_ms:.0f} ms")
    print(f"  real-time factor  {spent_ms.sum() / (1e3 * took_sec):.4f}   notes heard {notes}")
    percents = zip(_PERCENTS, np.percentile(spent_ms, _PERCENTS), strict=True)
    print("  ms per hop        " + "   ".join(f"{percent:g} % {ms:.3f}" for percent, ms in percents))
    print(f"  under half a hop  {100.0 * float(np.mean(spent_ms < 0.5 * hop_ms)):.3f} %", flush=True)


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


def _show_blocks(heard: _Listened) -> None:
    events = {block: events_by_block(heard.sound, heard.rate, block, heard.expected) for block in BLOCKS}
    first = events[BLOCKS[0]]
    differ = [str(block) for block in BLOCKS[1:] if events[block] != first]
    said = f"differ from blocks of {BLOCKS[0]} in blocks of {', '.join(differ)}" if differ else "the same"
    sizes = ", ".join(map(str, BLOCKS))
    print(f"{heard.name}, {heard.rate} Hz: {len(first)} events in blocks of {sizes}: {said}", flush=True)


def _show_memory(sound: np.ndarray, rate: int, minutes: int) -> None:
    """Let rolls go round, and print what the process holds after each part of the time."""
    ear = Ear(rate)
    rounds = np.concatenate([sound, sound[:_MEMORY_BLOCK]])
    blocks = minutes * 60 * rate // _MEMORY_BLOCK
    marks = {blocks * part // _MEMORY_LINES: part for part in range(1, _MEMORY_LINES + 1)}
    held = []
    for number in range(1, blocks + 1):
        begin = number * _MEMORY_BLOCK % len(sound)
        ear.feed(rounds[begin : begin + _MEMORY_BLOCK])
        if number in marks:
            held.append((minutes * marks[number] / _MEMORY_LINES, _held_mib()))
    told = "   ".join(f"{minute:g} min {mib:.2f}" for minute, mib in held)
    print(f"memory, MiB: {told}   grown since the first {held[-1][1] - held[0][1]:+.2f}")


def _held_mib() -> float:
    """What the process holds now, or, where the system does not say, at most so far."""
    now = Path("/proc/self/statm")
    if now.exists():
        return int(now.read_text().split()[1]) * os.sysconf("SC_PAGE_SIZE") / 2.0**20
    import resource

    most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return float(most) / (2.0**20 if sys.platform == "darwin" else 2.0**10)


def _rolls() -> Iterator[_Listened]:
    from feedback.player import render
    from tests.bench.asking import asked_of
    from tests.bench.passages import truth_of
    from tests.bench.rolls import random_rolls

    for rate in RATES:
        for name, nps in PASSAGES.items():
            played = random_rolls(_SEED, nps, bars=_ROLL_BARS)
            sound = render(played, rate=rate, seed=_SEED)
            truth = truth_of(played)
            asked = asked_of(truth, nps=nps, seed=_SEED, drone_midi=played.open_midi[5])
            yield _Listened(name=f"{name}, blind", sound=sound, rate=rate)
            yield _Listened(name=f"{name}, informed", sound=sound, rate=rate, expected=asked)


def _from_file(path: str) -> Iterator[_Listened]:
    from listener.files import SoundFile

    with SoundFile(path) as sound:
        resampler = Resampler(sound.sample_rate)
        parts = [out for block in sound.blocks() for _, out in resampler.feed(block)]
        samples = np.concatenate([*parts, resampler.finish()])
    yield _Listened(name=path, sound=samples, rate=resampler.rate_out)
