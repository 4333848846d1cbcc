"""Killed in the middle of a pass: what the journal holds afterwards.

Programs that play and remember (`tests/killed_child.py`, or whole commands with --whole) are killed by
SIGKILL at random moments; then the journal is opened as the next run would open it, and what it holds is
compared with what each of them had said before it died. A pass is said only once it is stored: none that was
said may be missing, and at most the one that was about to be said may be there besides.
"""

from __future__ import annotations

import argparse
import os
import random
import signal
import subprocess
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Iterator
from datetime import datetime
from pathlib import Path

from routines.journal.journal import Journal
from routines.journal.totals import tempo_day_of

HELP = "programs that remember, killed in the middle of a pass"

_CHILD = Path(__file__).parents[1] / "killed_child.py"
_COMMAND = "play slab-wood-supper --loop change --tempo 220 --passes 5 --player killed --no-window"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Arguments of `killed`."""
    parser.add_argument("--times", type=int, default=200, metavar="N")
    parser.add_argument("--seed", type=int, default=1, metavar="N")
    parser.add_argument(
        "--whole", action="store_true", help="whole commands, killed at any moment from their start on"
    )


def run(args: argparse.Namespace) -> int:
    """Kill, look, print."""
    with tempfile.TemporaryDirectory(prefix="sevenfall-killed-") as folder:
        home = Path(folder)
        kills = list((_whole if args.whole else _forked)(home, args.times, args.seed))
        told: list[str] = []
        with Journal.open(home, now=lambda: datetime.now().astimezone(), told=told.append) as journal:
            passes = list(journal.passes(player="killed"))
            totals = journal.tempo_days("killed")
    stored = Counter(one.id.split("/")[0] for one in passes)
    said = sorted(number for number, _ in kills)
    there = sorted([*stored.values(), *[0] * (len(kills) - len(stored))])
    times = sorted(after_ms for _, after_ms in kills)
    rows = {
        "programs killed": len(kills),
        "passes said": sum(said),
        "passes stored": len(passes),
        "said and not stored": sum(max(0, a - b) for a, b in zip(said, there, strict=True)),
        "stored before they could be said": sum(max(0, b - a) for a, b in zip(said, there, strict=True)),
        "passes in the totals": sum(total.passes for total in totals),
        "notes in the totals, against those in the passes": (
            f"{sum(total.notes for total in totals)}, {sum(tempo_day_of(one).notes for one in passes)}"
        ),
        "killed after the last word, ms (least, median, most)": (
            f"{times[0]}, {times[len(times) // 2]}, {times[-1]}"
        ),
        "lines about mending": len(told),
    }
    for name, value in rows.items():
        print(f"{name:<55} {value}")
    return 0


def _forked(home: Path, times: int, seed: int) -> Iterator[tuple[int, int]]:
    done = subprocess.run(
        [sys.executable, str(_CHILD), str(home), str(times), str(seed)],
        env=_env(home),
        stdout=subprocess.PIPE,
        text=True,
        check=True,
    )
    for line in done.stdout.splitlines():
        number, after_ms = line.split()
        yield int(number), int(after_ms)


def _whole(home: Path, times: int, seed: int) -> Iterator[tuple[int, int]]:
    drawn = random.Random(seed)
    for number in range(times):
        file = home / f"said-{number}"
        with file.open("wb") as out:
            run = [sys.executable, "-m", "feedback", *_COMMAND.split(), "--seed", str(number)]
            program = subprocess.Popen(run, env=_env(home), stdout=out, stderr=subprocess.DEVNULL)
            time.sleep(drawn.uniform(0.5, 6.0))
            program.send_signal(signal.SIGKILL)
            program.wait()
        yield file.read_bytes().count(b"  pass"), round(1e3 * (time.time() - file.stat().st_mtime))


def _env(home: Path) -> dict[str, str]:
    paths = os.pathsep.join([str(Path(__file__).parents[2]), *sys.path])
    return {**os.environ, "SEVENFALL_HOME": str(home), "SEVENFALL_HEARD": "off", "PYTHONPATH": paths}
