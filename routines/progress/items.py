"""What is told of licks, their parts, warm-ups and keys, made of the journal's sums."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from datetime import date, timedelta
from typing import TYPE_CHECKING

from routines.journal.records import GuideDay, LevelsDay
from routines.progress.how_far import how_far, top_tempo
from routines.progress.names import warm_up_of
from routines.progress.sums import counts_of, key_of
from routines.progress.types import ItemProgress, KeyProgress, TempoPoint, WarmUpProgress

LEVELS_HOLD_DAYS = 28
"""As far back as the tempo ladder itself looks."""

if TYPE_CHECKING:
    from routines.journal.sums import ItemSum


def item_of(
    one: ItemSum,
    title: str,
    clean_ever: int,
    levels: Sequence[LevelsDay],
    guides: Sequence[GuideDay],
    points: tuple[TempoPoint, ...],
) -> ItemProgress:
    now = _now(one, levels)
    top = None if warm_up_of(one.item.lick) else top_tempo(one.item.lick)
    come = how_far(
        clean=clean_ever, home_half_bpm=now.home_half_bpm, edge_half_bpm=now.edge_half_bpm, top_half_bpm=top
    )
    return ItemProgress(
        item=one.item,
        title=title,
        passes=one.passes,
        clean=one.clean,
        unclean=one.unclean,
        minutes=one.seconds / 60.0,
        last_day=one.last_day,
        how_far="" if one.item.unit or warm_up_of(one.item.lick) else come,
        top_half_bpm=top,
        home_half_bpm=now.home_half_bpm,
        edge_half_bpm=now.edge_half_bpm,
        reach_half_bpm=now.reach_half_bpm,
        levels=tuple(levels),
        points=points,
        guides=counts_of(guides, "seven"),
        thirds=counts_of(guides, "third"),
        lean_ms=one.lean_ms,
        bounce=one.bounce,
        spread_ms=one.spread_ms,
    )


def _now(one: ItemSum, levels: Sequence[LevelsDay]) -> LevelsDay:
    """The levels at the end: those of the last day on which they could be told, if that is not long ago.

    Whoever plays well below the edge for some days learns nothing new about it, and has not lost it.
    """
    since = (date.fromisoformat(one.last_day) - timedelta(days=LEVELS_HOLD_DAYS)).isoformat()
    known = [day for day in levels if day.edge_half_bpm is not None and day.day >= since]
    unknown = LevelsDay(
        day=one.last_day, item=one.item, home_half_bpm=None, edge_half_bpm=None, reach_half_bpm=None
    )
    return known[-1] if known else unknown


def in_order(items: Sequence[ItemProgress]) -> tuple[ItemProgress, ...]:
    """By the minutes of the lick and its parts together, the lick before its parts."""
    minutes: dict[tuple[str, str], float] = defaultdict(float)
    for one in items:
        minutes[one.item.lick, one.item.key] += one.minutes
    return tuple(sorted(items, key=lambda one: (-minutes[one.item.lick, one.item.key], one.item)))


def warm_ups_of(items: Iterable[ItemProgress]) -> tuple[WarmUpProgress, ...]:
    by_name: dict[str, list[ItemProgress]] = defaultdict(list)
    for one in items:
        if warm_up_of(one.item.lick):
            by_name[warm_up_of(one.item.lick)].append(one)
    told = [
        WarmUpProgress(
            name=name,
            passes=sum(one.passes for one in steps),
            clean=sum(one.clean for one in steps),
            minutes=sum(one.minutes for one in steps),
            last_day=max(one.last_day for one in steps),
        )
        for name, steps in by_name.items()
    ]
    return tuple(sorted(told, key=lambda one: (-one.minutes, one.name)))


def keys_of(licks: Iterable[ItemProgress]) -> tuple[KeyProgress, ...]:
    by_key: dict[str, list[ItemProgress]] = defaultdict(list)
    for one in licks:
        by_key[one.item.key].append(one)
    told = [key_of(key, ones) for key, ones in by_key.items()]
    return tuple(sorted(told, key=lambda one: (-one.minutes, one.key)))
