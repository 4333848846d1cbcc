"""Sums over many days, told quickly: what the journal has of each item and of each guide tone in a period.

Conventions: as in `routines.journal.records`; `routines.journal.periods` says which rows are added up.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, NamedTuple

from routines.journal.periods import Asked
from routines.journal.records import GuideDay, Item
from routines.journal.schema import GUIDE_SUMS, TEMPO_SUMS

_TONE = ("chord", "next_chord", "voice")


@dataclass(frozen=True, slots=True, kw_only=True)
class ItemSum:
    """All passes of one item in a period, at whatever tempo.

    Attributes
    ----------
    item : Item
    first_day, last_day : str
        On which it was practised in that period.
    passes, clean, unclean, unclear : int
        `passes` is the sum of the other three; an unclear pass counted neither way.
    seconds : float
    notes, landed : int
        Of notes that were not unclear.
    lean_ms, bounce, spread_ms : float or None
        Means over the passes in which they could be told.
    lean_passes, bounce_passes, spread_passes : int
        How many those were.
    """

    item: Item
    first_day: str
    last_day: str
    passes: int
    clean: int
    unclean: int
    unclear: int
    seconds: float
    notes: int
    landed: int
    lean_ms: float | None
    lean_passes: int
    bounce: float | None
    bounce_passes: int
    spread_ms: float | None
    spread_passes: int


class DaySum(NamedTuple):
    """All passes of one item on one day, at whatever tempo.

    Attributes
    ----------
    item : Item
    day : str
    passes : int
    seconds : float
    """

    item: Item
    day: str
    passes: int
    seconds: float


def item_sums(connection: sqlite3.Connection, asked: Asked) -> list[ItemSum]:
    """The sum of each item.

    Parameters
    ----------
    connection : sqlite3.Connection
    asked : Asked

    Returns
    -------
    list of ItemSum
        By item; only what was practised in the period.
    """
    rows = _summed(connection, ("item_months", "tempo_days"), (), TEMPO_SUMS, asked)
    return [
        ItemSum(item=of, first_day=first, last_day=last, **tempo_values(sums))
        for of, first, last, *sums in rows
    ]


def guide_sums(connection: sqlite3.Connection, asked: Asked) -> list[GuideDay]:
    """The sum of each guide tone of each chord in each item; its day is the last one. As `item_sums`."""
    rows = _summed(connection, ("guide_months", "guide_days"), _TONE, GUIDE_SUMS, asked)
    return [
        GuideDay(
            day=last,
            item=of,
            chord=chord,
            next_chord=next_chord,
            voice=voice,
            **dict(zip(GUIDE_SUMS, sums, strict=True)),
        )
        for of, _, last, chord, next_chord, voice, *sums in rows
    ]


def day_sums(connection: sqlite3.Connection, asked: Asked) -> list[DaySum]:
    """The sum of each item on each day, in no order; of all items."""
    items = _items(connection)
    found = connection.execute(
        "SELECT items.id, day, sum(passes), sum(lasted_ms) FROM items CROSS JOIN tempo_days "
        "ON player = ? AND item = items.id AND day >= ? AND day < ? "
        "GROUP BY items.id, day",
        (asked.player, *asked.period.days),
    ).fetchall()
    return [DaySum(items[number], day, passes, ms / 1e3) for number, day, passes, ms in found]


def tempo_values(sums: Sequence[int]) -> dict[str, Any]:
    """The sums of tempos as they are told: seconds, and means over the passes that could tell them."""
    passes, clean, unclean, unclear, lasted_ms, notes, landed, *habits = sums
    lean_us, lean_passes, bounce_ppm, bounce_passes, spread_us, spread_passes = habits
    return {
        "passes": passes,
        "clean": clean,
        "unclean": unclean,
        "unclear": unclear,
        "seconds": lasted_ms / 1e3,
        "notes": notes,
        "landed": landed,
        "lean_ms": lean_us / lean_passes / 1e3 if lean_passes else None,
        "lean_passes": lean_passes,
        "bounce": bounce_ppm / bounce_passes / 1e6 if bounce_passes else None,
        "bounce_passes": bounce_passes,
        "spread_ms": spread_us / spread_passes / 1e3 if spread_passes else None,
        "spread_passes": spread_passes,
    }


def _summed(
    connection: sqlite3.Connection,
    tables: tuple[str, str],
    tone: Sequence[str],
    sums: Sequence[str],
    asked: Asked,
) -> list[tuple[Any, ...]]:
    """Item, first and last day, tone and sums, by item and tone: months and the days they leave over, added.

    Each range is grouped by itself, and by the item's own number: both are far quicker than to group all
    rows together by the item's words. What comes of it is a few rows, added and put in order here.
    """
    months, days = tables
    only = "" if asked.item is None else f" WHERE items.id = {asked.item:d}"
    added = ", ".join(f"sum({name})" for name in sums)
    ranges = [
        (months, "month", asked.period.months),
        *((days, "day", left) for left in asked.period.days_left),
    ]
    found: dict[tuple[Any, ...], list[Any]] = {}
    for table, at, between in ranges:
        if between[0] >= between[1]:
            continue
        first, last = ("first_day", "last_day") if at == "month" else ("day", "day")
        # Items outside, so that each is found by its key in the table of totals, however many days there are.
        rows = connection.execute(
            f"SELECT {', '.join(('items.id', *tone))}, min({first}), max({last}), {added} FROM items "
            f"CROSS JOIN {table} ON player = ? AND item = items.id AND {at} >= ? AND {at} < ?{only} "
            f"GROUP BY {', '.join(('items.id', *tone))}",
            (asked.player, *between),
        ).fetchall()
        for row in rows:
            of, values = row[: 1 + len(tone)], list(row[1 + len(tone) :])
            known = found.get(of)
            found[of] = values if known is None else _both(known, values)
    items = _items(connection)
    place = {number: at for at, number in enumerate(items)}
    return [
        (items[of[0]], *values[:2], *of[1:], *values[2:])
        for of, values in sorted(found.items(), key=lambda one: (place[one[0][0]], one[0][1:]))
    ]


def _both(one: Sequence[Any], other: Sequence[Any]) -> list[Any]:
    """First day, last day and sums of two ranges together."""
    added = (here + there for here, there in zip(one[2:], other[2:], strict=True))
    return [min(one[0], other[0]), max(one[1], other[1]), *added]


def _items(connection: sqlite3.Connection) -> dict[int, Item]:
    """All items by their numbers, in order."""
    found = connection.execute("SELECT id, lick, key, unit FROM items ORDER BY lick, key, unit")
    return {number: Item(*words) for number, *words in found.fetchall()}
