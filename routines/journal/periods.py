"""What is asked for: whose passes, of what, and from which day to which.

The problem: ten years are many days and few months. Totals of months are kept, too, so that a question about
all time adds up a few thousand rows; where it begins or ends within a month, the days there are taken.

Conventions: days and months are text, compared as such, and ranges are half open: a month "2026-11" comes
before its days, and before "2026-12".
"""

from __future__ import annotations

import sqlite3
from dataclasses import dataclass
from datetime import date, timedelta

from routines.journal.connecting import storable
from routines.journal.records import Item

_AFTER_ALL = "~"
_NOBODY = -1


@dataclass(frozen=True, slots=True)
class Period:
    """Days from one to another, both with them; None is open.

    Attributes
    ----------
    since, until : str or None
        As "2026-11-29".
    """

    since: str | None = None
    until: str | None = None

    @property
    def days(self) -> tuple[str, str]:
        """All of it: from the first of these up to, and without, the second."""
        return self.since or "", _AFTER_ALL if self.until is None else self.until + _AFTER_ALL

    @property
    def months(self) -> tuple[str, str]:
        """Its whole months: from the first of these up to, and without, the second."""
        begin, end = "", _AFTER_ALL
        if self.since is not None:
            begin = _month_at_or_after(self.since)
        if self.until is not None:
            end = (date.fromisoformat(self.until) + timedelta(days=1)).isoformat()[:7]
        return (begin, end) if begin < end else ("", "")

    @property
    def days_left(self) -> tuple[tuple[str, str], tuple[str, str]]:
        """What its whole months leave over, before them and after them."""
        (begin, end), (first, last) = self.days, self.months
        if not last:
            return (begin, end), ("", "")
        return (begin, first), (last, end)


@dataclass(frozen=True, slots=True)
class Asked:
    """Whose passes, of what, and when.

    Attributes
    ----------
    player, item : int or None
        The journal's own numbers: one that none has where there is no such player or item; None for all.
    period : Period
    """

    player: int | None
    item: int | None
    period: Period


def asked_for(connection: sqlite3.Connection, player: str | None, item: Item | None, period: Period) -> Asked:
    """What is asked for, in the journal's own numbers."""
    return Asked(
        player=None if player is None else _number_of(connection, "players", {"name": player}),
        item=None
        if item is None
        else _number_of(connection, "items", {"lick": item.lick, "key": item.key, "unit": item.unit}),
        period=period,
    )


def _number_of(connection: sqlite3.Connection, table: str, words: dict[str, str]) -> int:
    where = " AND ".join(f"{name} = ?" for name in words)
    given = [storable(word) for word in words.values()]
    found = connection.execute(f"SELECT id FROM {table} WHERE {where}", given).fetchone()
    return _NOBODY if found is None else int(found[0])


def _month_at_or_after(day: str) -> str:
    if day.endswith("-01"):
        return day[:7]
    on = date.fromisoformat(day)
    return (on.replace(day=1) + timedelta(days=31)).isoformat()[:7]
