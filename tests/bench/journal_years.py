"""Years of practice made up, as passes for a journal: as many, as large and as varied as real ones.

The problem: how large a journal becomes, and how long it takes to ask it, depends on what is in it. So real
licks are played and judged, flawless and with every mistake, and each pass of the years is one of those with
every number moved a little, or else they would pack into nothing.

Conventions: what is made follows from its arguments alone. Every day is practised; of the licks some two
dozen are in hand at a time, each for some weeks, then others, and they come back. Who plays grows quicker.
"""

from __future__ import annotations

import random
from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import datetime, timedelta, timezone
from functools import cache

from feedback.grid import Grid
from feedback.judges.limits import Limits
from feedback.judges.whole import judge_pass
from feedback.played import as_heard
from routines.journal.records import Item, PassRecord
from routines.library import all_licks
from routines.lick import Lick
from routines.outcome import NoteVerdict, PassOutcome, SeventhVerdict
from tests.bench.performances import lick_of, performed, plan

PLAYER = "Ann"
ITEMS_A_DAY = 12
LAST_DAY = datetime(2026, 11, 29, tzinfo=timezone(timedelta(hours=1)))

_IN_HAND = 24
_SPELL_DAYS = 15  # after so long one item in hand gives way to another
_KEYS = 2
_LICKS = 60
_JUDGED = 80
_TURN = 4


def practised(years: float, a_day: int, seed: int = 0) -> Iterator[PassRecord]:
    """Passes of so many years, up to `LAST_DAY`.

    Parameters
    ----------
    years : float
        Above 0.
    a_day : int
        Passes, 1 or more.
    seed : int

    Yields
    ------
    PassRecord
        In the order in which they were played.
    """
    items = _items()
    days = max(1, round(365 * years))
    for day in range(days):
        rng = random.Random(f"{seed} {day}")
        first = day // _SPELL_DAYS
        in_hand = [items[(first + k) % len(items)] for k in range(_IN_HAND)]
        today = rng.sample(in_hand, ITEMS_A_DAY)
        yield from _one_day(LAST_DAY - timedelta(days=days - 1 - day), today, a_day, day / days, rng)


def _one_day(
    day: datetime, items: Sequence[tuple[Item, Lick]], a_day: int, way: float, rng: random.Random
) -> Iterator[PassRecord]:
    begins = day + timedelta(hours=18, minutes=rng.randrange(120), microseconds=rng.randrange(10**6))
    sitting = f"{begins.replace(microsecond=0).isoformat()} {rng.getrandbits(24):06x}"
    for number in range(a_day):
        at = number * len(items) // a_day
        item, lick = items[at]
        nth = number - -(-at * a_day // len(items))  # of this item today
        tempo = round(lick.top_tempo_half_bpm * (0.5 + 0.4 * way) * 1.04 ** (nth // _TURN), 1)
        judged = rng.choice(_judged()[lick.id])
        lasted_sec = 60.0 * lick.bars / tempo + rng.uniform(1.0, 3.0)
        yield PassRecord(
            id=f"{sitting}/{number // _TURN + 1}/1/{number % _TURN + 1}",
            sitting=sitting,
            player=PLAYER,
            source="mic",
            ended_at=begins + timedelta(seconds=25.0 * number + lasted_sec),
            lasted_sec=lasted_sec,
            item=item,
            title=lick.title,
            moved_ms=rng.uniform(-1.0, 1.0),
            outcome=_varied(judged, item, tempo, 10.0 * (number % _TURN), rng),
        )


@cache
def _judged() -> dict[str, list[PassOutcome]]:
    """Each lick's performances, judged on what was played."""
    found: dict[str, list[PassOutcome]] = {}
    names = [lick.id for lick in _licks()]
    for planned in plan(_JUDGED, 1, sounds=("simulated",), licks=names):
        played, lick = performed(planned), lick_of(planned)
        grid = Grid(
            lick=lick,
            tempo_half_bpm=planned.tempo_half_bpm,
            start_sec=played.start_sec,
            limits=Limits(),
        )
        found.setdefault(lick.id, []).append(judge_pass(grid, as_heard(played)).outcome)
    return found


@cache
def _licks() -> tuple[Lick, ...]:
    licks = all_licks()
    return licks[:: max(1, len(licks) // _LICKS)][:_LICKS]


@cache
def _items() -> tuple[tuple[Item, Lick], ...]:
    """Every lick that was judged in its own key, then as a change loop and in another key in turn."""
    licks = [lick for lick in _licks() if lick.id in _judged()]
    others = [
        (
            Item(lick.id, lick.key, "change")
            if n % _KEYS
            else Item(lick.id, "A" if lick.key != "A" else "D"),
            lick,
        )
        for n, lick in enumerate(licks)
    ]
    return (*((Item(lick.id, lick.key), lick) for lick in licks), *others)


def _varied(
    outcome: PassOutcome, item: Item, tempo_half_bpm: float, start_sec: float, rng: random.Random
) -> PassOutcome:
    """A pass with every number moved a little, at another tempo; the verdicts stay."""
    slower = outcome.tempo_half_bpm / tempo_half_bpm
    timing = outcome.timing
    moved = start_sec + rng.uniform(0.0, 2.0)
    return replace(
        outcome,
        key=item.key,
        tempo_half_bpm=tempo_half_bpm,
        start_sec=moved,
        notes=tuple(_note(note, moved, slower, rng) for note in outcome.notes),
        sevenths=tuple(_guide(one, rng) for one in outcome.sevenths),
        thirds=tuple(_guide(one, rng) for one in outcome.thirds),
        timing=replace(
            timing,
            lean_ms=_nudged(timing.lean_ms, rng),
            spread_ms=_nudged(timing.spread_ms, rng),
            hurry_at_change_ms=_nudged(timing.hurry_at_change_ms, rng),
            tempo_course=((moved, tempo_half_bpm),),
        ),
    )


def _note(note: NoteVerdict, start_sec: float, slower: float, rng: random.Random) -> NoteVerdict:
    nudge = rng.gauss(0.0, 3.0)
    return replace(
        note,
        onset_sec=None if note.onset_sec is None else start_sec + slower * note.onset_sec,
        deviation_ms=None if note.deviation_ms is None else note.deviation_ms + nudge,
        rest_ms=None if note.rest_ms is None else note.rest_ms + nudge,
    )


def _guide(one: SeventhVerdict, rng: random.Random) -> SeventhVerdict:
    return replace(one, resolution_ms=_nudged(one.resolution_ms, rng))


def _nudged(value: float | None, rng: random.Random) -> float | None:
    return None if value is None else value + rng.gauss(0.0, 2.0)
