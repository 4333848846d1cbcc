"""Progress as the screen is shown it, made up: of a few weeks, of ten years, and with long names."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, timedelta

from routines.journal.records import Item, LevelsDay
from routines.progress.types import (
    ChordProgress,
    GuideCounts,
    ItemProgress,
    KeyProgress,
    Progress,
    WeekMinutes,
)

TODAY = date(2026, 11, 29)


def guides(asked: int = 40, sounded: int = 38, landed: int = 31, resolved: int = 25) -> GuideCounts:
    """Counts of which one in ten was unclear, and nine in ten were due."""
    told = asked - asked // 10
    return GuideCounts(
        asked=asked,
        unclear=asked - told,
        sounded=min(sounded, told),
        landed=min(landed, told),
        swallowed=min(2, told),
        due=asked - asked // 10,
        resolved=resolved,
        hanging=asked // 10,
        unclear_falls=asked // 20,
    )


def levels(
    item: Item, days: Sequence[int], *, first: float = 58.0, last: float = 76.0
) -> tuple[LevelsDay, ...]:
    """Home and edge that have come up; `days` are so many days ago, the oldest first."""
    found = []
    for number, ago in enumerate(days):
        share = number / max(1, len(days) - 1)
        home = round(first + share * (last - first) - (2.0 if number % 5 == 3 else 0.0))
        found.append(
            LevelsDay(
                day=(TODAY - timedelta(days=ago)).isoformat(),
                item=item,
                home_half_bpm=home,
                edge_half_bpm=home + 8.0,
                reach_half_bpm=home + 11.0,
            )
        )
    return tuple(found)


def lick(
    title: str = "Slab Wood Supper",
    key: str = "G",
    unit: str = "",
    days: Sequence[int] = tuple(range(40, -1, -3)),
    many: int = 1,
) -> ItemProgress:
    """One lick's progress; its counts are `many` times those of a few weeks."""
    item = Item(title.lower().replace(" ", "-"), key, unit)
    over_time = levels(item, days)
    now = over_time[-1] if over_time else None
    return ItemProgress(
        item=item,
        title=title,
        passes=220 * many,
        clean=150 * many,
        unclean=60 * many,
        minutes=95.0 * many,
        last_day=now.day if now else "2026-11-12",
        how_far="" if unit else "in hand",
        top_half_bpm=110.0,
        home_half_bpm=now.home_half_bpm if now else None,
        edge_half_bpm=now.edge_half_bpm if now else None,
        reach_half_bpm=now.reach_half_bpm if now else None,
        levels=over_time,
        guides=guides(40 * many, 34 * many, 31 * many, 25 * many),
        thirds=GuideCounts(),
        lean_ms=7.4,
        bounce=0.56,
        spread_ms=18.2,
    )


def chord(name: str, voice: str, tone: str, *into: str, many: int = 1) -> ChordProgress:
    """One guide tone's progress."""
    return ChordProgress(
        chord=name,
        voice="seven" if voice == "seven" else "third",
        tone=tone,
        falls_to=into,
        guides=guides(40 * many, 34 * many, 31 * many, 25 * many),
    )


def weeks_of(progress: Progress) -> Progress:
    """The same with every number of ten years."""
    return replace(progress, minutes_week=1260.0, passes_week=2400, minutes_all=182_500.0, passes_all=182_500)


SENTENCE = (
    "Slab Wood Supper in G has its edge at 84 half notes a minute this week, at 78 in the four weeks before."
)

CHORDS = (
    chord("D7", "seven", "C", "G: B", "Em: B"),
    chord("D7", "third", "F#", "G: G"),
    chord("A7", "seven", "G", "D: F#"),
    chord("A7", "third", "C#", "D: D"),
    chord("C7", "seven", "Bb", "F: A", many=3),
    chord("C7", "third", "E", many=3),
)

FEW = Progress(
    player="me",
    asked_for="",
    first_day="2026-09-06",
    today=TODAY.isoformat(),
    minutes_week=95.0,
    minutes_span=420.0,
    minutes_all=420.0,
    passes_week=220,
    passes_span=900,
    passes_all=900,
    began="2026-09-14",
    items=(
        lick(),
        lick("The Edger's Nod", "D", days=(9,)),
        lick("Trimmer's Choice", "B", "change", days=(20, 4)),
        lick("Never Played Enough", "A", days=()),
    ),
    warm_ups=(),
    keys=tuple(
        KeyProgress(
            key=key,
            licks=3,
            jam_ready=1,
            passes=220,
            clean=150,
            unclean=60,
            minutes=95.0,
            guides=guides(),
            home_share=share,
        )
        for key, share in (("G", 0.72), ("D", 0.64), ("Bb", None))
    ),
    chords=CHORDS,
    weeks=(WeekMinutes(first_day="2026-11-23", minutes=95.0, passes=220),),
    sentence=SENTENCE,
)
"""Of a few weeks."""

EMPTY = replace(
    FEW,
    minutes_week=0.0,
    minutes_span=0.0,
    minutes_all=0.0,
    passes_week=0,
    passes_span=0,
    passes_all=0,
    began="",
    items=(),
    keys=(),
    chords=(),
    weeks=(),
    sentence="It cannot be told yet.",
)
"""Of an empty journal."""

_LONG = "A Title That Someone Made Who Could Not Stop, With Sixty Letters Or More"

YEARS = replace(
    FEW,
    first_day="2016-11-29",
    minutes_week=1260.0,
    minutes_span=182_500.0,
    minutes_all=182_500.0,
    passes_week=2400,
    passes_span=182_500,
    passes_all=182_500,
    began="2016-11-29",
    items=tuple(
        lick(_LONG, "Bb", unit, days=tuple(round(3650 - 30.4 * k) for k in range(120)), many=400)
        for unit in ("", "change2", "2-3", "form 16")
    )
    * 30,
    keys=tuple(replace(one, minutes=60_000.0, passes=99_000, clean=66_000) for one in FEW.keys) * 4,
    chords=tuple(replace(one, guides=guides(30_000, 26_000, 24_000, 20_000)) for one in CHORDS) * 6,
    sentence=(
        f"It cannot tell yet what got better, of 38 things compared. Nearest: {_LONG} in Bb, its edge at 104 "
        "this week and at 96 in the four weeks before; that may be chance yet."
    ),
)
"""Of ten years, with the longest words there are."""


def stale(one: ItemProgress, days_ago: int = 0) -> ItemProgress:
    """The same, practised on a later day that told nothing of home and edge."""
    day = (TODAY - timedelta(days=days_ago)).isoformat()
    blind = LevelsDay(day=day, item=one.item, home_half_bpm=None, edge_half_bpm=None, reach_half_bpm=None)
    return replace(one, last_day=day, levels=(*one.levels, blind))
