"""The journal of many years: its size, and how long everything takes that is done with it.

    python -m tests.bench journal [--years Y] [--a-day N] [--seed N] [--folder F] [--kills N]

Passes of so many years are made up (see `tests.bench.journal_years`) and stored; then, each in milliseconds:

    add         one pass, by itself: median, 99 in 100, worst
    open        after an orderly end; after an unclean end, when the file is looked at first
    check       the weekly one, that goes on in the background, with its copy; the copy alone
    questions   median and worst of 20, the median of the processor's time alone (what else the machine does
                does not count), and how many rows the answer has; those of `progress` first

`--folder` keeps the journal there, or takes the one that is there as it is. `--kills` then starts a window
that stores passes in a journal of its own and kills it, so many times, and counts what was lost.
"""

from __future__ import annotations

import argparse
import random
import tempfile
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import closing, contextmanager
from dataclasses import replace
from datetime import datetime, timedelta
from itertools import islice
from pathlib import Path

import numpy as np

from feedback.errors import Usage
from routines.journal.backups import back_up
from routines.journal.care import check
from routines.journal.connecting import to_read
from routines.journal.journal import Journal
from routines.journal.mending import JOURNAL_FILE
from routines.journal.records import Item
from routines.journal.visits import mark
from tests.bench.journal_kills import killed
from tests.bench.journal_years import LAST_DAY, PLAYER, practised

HELP = "the journal of ten years: size, adding, opening, checking, every question"

TRIED = 20
ADDED = 200

_TOGETHER = 1500  # passes in one transaction while the years are made
_TODAY = LAST_DAY.date()
_WEEK = (_TODAY - timedelta(days=6)).isoformat()
_YEAR = (_TODAY - timedelta(days=364)).isoformat()

Question = tuple[str, Callable[[], object]]


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Say what `journal` takes."""
    parser.add_argument("--years", type=float, default=10.0, metavar="Y", help="above 0 (default 10)")
    parser.add_argument("--a-day", type=int, default=50, metavar="N", help="passes a day (default 50)")
    parser.add_argument("--seed", type=int, default=0, help="of the passes and the kills (default 0)")
    parser.add_argument("--folder", metavar="F", help="keep the journal there, or take the one that is there")
    parser.add_argument("--kills", type=int, default=0, metavar="N", help="windows to kill (default 0)")


def run(args: argparse.Namespace) -> int:
    """Print the tables."""
    if not 0.0 < args.years <= 100.0 or args.a_day < 1 or args.seed < 0 or args.kills < 0:
        raise Usage(
            "years above 0 and up to 100, 1 pass a day or more, seeds and kills from 0 up are accepted"
        )
    with _folder(args.folder) as folder:
        if (folder / JOURNAL_FILE).exists():
            print(f"{folder / JOURNAL_FILE} as it is")
        else:
            _make(folder, args.years, args.a_day, args.seed)
        print("\n".join(_size(folder)))
        print("\n".join(_doing(folder)))
        with Journal.open(folder, now=_now, writes=False) as journal:
            print("\n".join(_asking(journal)))
        if args.kills:
            with tempfile.TemporaryDirectory() as own:  # looked through after each: of ten years too long
                print("\n".join(_killing(Path(own), args.kills, args.seed)))
    return 0


def _now() -> datetime:
    return LAST_DAY + timedelta(hours=23)


@contextmanager
def _folder(given: str | None) -> Iterator[Path]:
    if given is not None:
        yield Path(given)
        return
    with tempfile.TemporaryDirectory() as folder:
        yield Path(folder)


def _make(folder: Path, years: float, a_day: int, seed: int) -> None:
    begun = time.perf_counter()
    records, stored = practised(years, a_day, seed), 0
    with Journal.open(folder, now=_now) as journal:
        while some := list(islice(records, _TOGETHER)):
            stored += journal.add_all(some)
    took_sec = time.perf_counter() - begun
    print(f"{years:g} years at {a_day} passes a day: {stored} passes, made and stored in {took_sec:.0f} s")


def _size(folder: Path) -> Iterator[str]:
    file = folder / JOURNAL_FILE
    with Journal.open(folder, now=_now, writes=False) as journal:
        many = max(1, journal.count())
    with closing(to_read(file)) as connection:
        verdicts = connection.execute("SELECT sum(length(verdicts)) FROM passes").fetchone()[0] or 0
    size = file.stat().st_size
    yield f"{size / 1e6:.1f} MB, {size / many:.0f} bytes a pass, {verdicts / many:.0f} of them its verdicts"


def _doing(folder: Path) -> Iterator[str]:
    yield ""
    yield f"{'ms':28}  median    99 %   worst"
    yield _row("add one pass", _adding(folder))
    yield _row("open, closed in order", [_opened(folder) for _ in range(5)])
    unclean = []
    for _ in range(3):
        mark(folder)
        unclean.append(_opened(folder))
    yield _row("open after an unclean end", unclean)
    said: list[str] = []
    yield _row("weekly check with its copy", [_timed(lambda: check(folder, now=_now(), told=said.append))])
    with closing(to_read(folder / JOURNAL_FILE)) as connection:
        copy = folder / "copy.sqlite"
        yield _row("copy alone", [_timed(lambda: back_up(connection, copy))])
        copy.unlink()
    yield from said


def _adding(folder: Path) -> list[float]:
    with Journal.open(folder, now=_now) as journal:
        last = list(journal.passes(player=PLAYER, newest_first=True, limit=ADDED))
        # Of another player, so that the years stay as they are.
        records = [replace(one, id=f"{journal.count()}/{one.id}", player="Ben") for one in reversed(last)]
        return [_timed(lambda record=record: journal.add(record)) for record in records]


def _opened(folder: Path) -> float:
    begun = time.perf_counter()
    journal = Journal.open(folder, now=_now)
    took_ms = 1e3 * (time.perf_counter() - begun)
    journal.close()
    return took_ms


def _asking(journal: Journal) -> Iterator[str]:
    yield ""
    yield f"{'ms':44}  median   worst  processor    rows"
    for name, question in (*_of_progress(journal), *_plain(journal)):
        took, worked, answer = [], [], None
        for _ in range(TRIED):
            begun, work = time.perf_counter(), time.process_time()
            answer = question()
            took.append(1e3 * (time.perf_counter() - begun))
            worked.append(1e3 * (time.process_time() - work))
        rows = f"{len(answer):8d}" if isinstance(answer, Sequence | dict) else ""
        yield f"{name:44}{np.median(took):8.1f}{max(took):8.1f}{np.median(worked):11.1f}{rows}"


def _of_progress(journal: Journal) -> Iterator[Question]:
    from routines.progress.progress import progress

    item, chord = _busiest(journal)
    yield "progress", lambda: progress(journal, PLAYER, _TODAY)
    for weeks in (1, 4, 52, 520):
        yield f"progress, {weeks} weeks", lambda weeks=weeks: progress(journal, PLAYER, _TODAY, weeks=weeks)
    for name, value in (("lick", item.lick), ("key", item.key), ("chord", chord)):
        for weeks in (None, 520):
            yield (
                f"progress, {name} {value}{f', {weeks} weeks' if weeks else ''}",
                lambda only={name: value}, weeks=weeks: progress(
                    journal, PLAYER, _TODAY, weeks=weeks, **only
                ),
            )


def _plain(journal: Journal) -> Iterator[Question]:
    item, _ = _busiest(journal)
    for name in ("item_sums", "guide_sums", "tempo_days", "guide_days", "levels_days"):
        ask = getattr(journal, name)
        yield f"{name}, all", lambda ask=ask: ask(PLAYER)
        yield f"{name}, one item", lambda ask=ask: ask(PLAYER, item=item)
        yield f"{name}, a year", lambda ask=ask: ask(PLAYER, since=_YEAR)
        yield f"{name}, a week", lambda ask=ask: ask(PLAYER, since=_WEEK)
    yield "levels_days, all, 120 of each item", lambda: journal.levels_days(PLAYER, most=120)
    yield "the last pass", lambda: list(journal.passes(player=PLAYER, newest_first=True, limit=1))
    yield "passes of a week", lambda: list(journal.passes(player=PLAYER, since=_WEEK))
    yield "titles", lambda: journal.titles(PLAYER)
    yield "days", lambda: journal.days(PLAYER)
    yield "players", lambda: journal.players()
    yield "count", lambda: journal.count(PLAYER)


def _busiest(journal: Journal) -> tuple[Item, str]:
    item = max(journal.item_sums(PLAYER), key=lambda one: one.passes).item
    chords = [row for row in journal.guide_sums(PLAYER) if row.voice == "seven"]
    return item, max(chords, key=lambda row: row.asked).chord


def _killing(folder: Path, many: int, seed: int) -> Iterator[str]:
    rng, begun = random.Random(seed), time.perf_counter()
    found = [killed(folder, number, rng, _now) for number in range(many)]
    yield ""
    sums = {name: sum(getattr(one, name) for one in found) for name in ("told", "stored", "lost", "half")}
    damaged = sum(not one.whole for one in found)
    yield (
        f"windows killed while they stored passes: {many}, in {time.perf_counter() - begun:.0f} s; "
        f"{sums['told']} told as stored, {sums['stored']} there, {sums['lost']} lost, "
        f"{sums['half']} totals wrong, {damaged} files damaged"
    )
    yield from (line for one in found for line in one.lines)


def _timed(do: Callable[[], object]) -> float:
    begun = time.perf_counter()
    do()
    return 1e3 * (time.perf_counter() - begun)


def _row(name: str, took: Sequence[float]) -> str:
    return f"{name:28}{np.median(took):8.1f}{np.quantile(took, 0.99):8.1f}{max(took):8.1f}"
