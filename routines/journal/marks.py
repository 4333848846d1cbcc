"""That a pass was played, without what became of it: all that a sitting is told from.

The problem: how long a sitting has lasted is asked while the player waits, and must not fail because the
verdicts of one old pass cannot be read. So these questions touch no verdicts.

Conventions: the last pass is the one that ended last by world time, whatever day it was for the player.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from typing import Any

from routines.journal.errors import UnreadPass
from routines.journal.periods import Asked, Period
from routines.journal.records import Item

_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_OFFSETS = timedelta(days=2)
"""Days of one moment, by the clocks of two places, are no farther apart."""

_MARK = (
    "SELECT passes.name, sitting, lick, key, unit, ended_at, lasted_sec, heard "
    "FROM passes INDEXED BY passes_by_day JOIN items ON items.id = item "
    "WHERE day >= ? AND day < ? AND player = ?"
)
_LAST_DAY = (
    "SELECT day FROM passes INDEXED BY passes_by_day "
    "WHERE day >= ? AND day < ? AND player = ? AND moment_us <= ? ORDER BY day DESC LIMIT 1"
)
_EVER_US = 2**63 - 1


@dataclass(frozen=True, slots=True, kw_only=True)
class PassMark:
    """A finished pass without its verdicts.

    Attributes
    ----------
    id : str
    sitting : str
        Id of the sitting in which it was played.
    item : Item
    ended_at : datetime
        Aware, by the player's own clock.
    lasted_sec : float
        With the rest bars after it.
    heard : bool
        Whether any note was heard at all.
    """

    id: str
    sitting: str
    item: Item
    ended_at: datetime
    lasted_sec: float
    heard: bool


def last_pass(connection: sqlite3.Connection, asked: Asked, until: datetime | None = None) -> PassMark | None:
    """The pass of a player that ended last, not later than a moment; None where there is none.

    Raises
    ------
    ValueError
        If the moment has no offset.
    """
    if until is None:
        days, until_us = Period().days, _EVER_US
    elif until.utcoffset() is None:
        raise ValueError(f"{until.isoformat()} says no offset from world time")
    else:
        days = Period(until=_moved(until.date(), _OFFSETS)).days
        until_us = (until - _EPOCH) // timedelta(microseconds=1)
    found = connection.execute(_LAST_DAY, (*days, asked.player, until_us)).fetchone()
    if found is None:
        return None
    since = _moved(date.fromisoformat(found[0]), -_OFFSETS)
    latest = f"{_MARK} AND moment_us <= ? ORDER BY moment_us DESC, passes.id DESC LIMIT 1"
    return _mark(connection.execute(latest, (since, days[1], asked.player, until_us)).fetchone())


def marks(connection: sqlite3.Connection, asked: Asked) -> list[PassMark]:
    """The passes of a player in a period, by day and by the moment at which they ended."""
    only, given = ("", ()) if asked.item is None else (" AND item = ?", (asked.item,))
    rows = connection.execute(
        f"{_MARK}{only} ORDER BY day, moment_us, passes.id", (*asked.period.days, asked.player, *given)
    ).fetchall()
    return [_mark(row) for row in rows]


def _mark(row: Sequence[Any]) -> PassMark:
    name, sitting, lick, key, unit, ended_at, lasted_sec, heard = row
    try:
        moment = datetime.fromisoformat(ended_at)
    except (TypeError, ValueError) as error:
        raise UnreadPass(name, str(error)) from error
    return PassMark(
        id=name,
        sitting=sitting,
        item=Item(lick, key, unit),
        ended_at=moment,
        lasted_sec=lasted_sec or 0.0,
        heard=bool(heard),
    )


def _moved(day: date, by: timedelta) -> str:
    try:
        return (day + by).isoformat()
    except OverflowError:  # the first or the last days that there can be
        return day.isoformat()
