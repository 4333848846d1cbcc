"""Passes into the journal's tables: each with its verdicts and all that it adds to totals.

Conventions: every function here is called inside a transaction, so that a pass is there with everything or
not at all. The journal's own numbers of players and items are its rows'.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Iterator, Sequence
from datetime import UTC, date, datetime, timedelta

from routines.journal.connecting import storable
from routines.journal.finite import finite
from routines.journal.packing import pack
from routines.journal.records import GuideDay, Item, PassRecord, TempoDay
from routines.journal.schema import GUIDE_SUMS, TEMPO_SUMS
from routines.journal.totals import guide_days_of, tempo_day_of
from routines.ladder.levels import Tried, levels_of

LEVEL_DAYS = 28
"""Home, edge and reach at the end of a day rest on so many days, that day with them."""

Touched = set[tuple[int, int, str]]
"""Player, item and day whose levels are to be told anew."""

_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)

_PASS = (
    "name", "player", "item", "day", "moment_us", "ended_at", "sitting", "source", "lasted_sec", "title",
    "routine", "heard", "moved_ms", "click", "window", "verdicts",
)  # fmt: skip


def _insert(table: str, names: Sequence[str]) -> str:
    marks = ", ".join("?" * len(names))
    return f"INSERT INTO {table} ({', '.join(names)}) VALUES ({marks})"


def _add_up(table: str, keys: Sequence[str], sums: Sequence[str], within: bool = False) -> str:
    days = ("first_day", "last_day") if within else ()
    changes = [f"{name} = {name} + excluded.{name}" for name in sums]
    if within:
        changes += [
            f"{name} = {of}({name}, excluded.{name})" for name, of in zip(days, ("min", "max"), strict=True)
        ]
    conflict = f"ON CONFLICT ({', '.join(keys)}) DO UPDATE SET {', '.join(changes)}"
    return f"{_insert(table, (*keys, *days, *sums))} {conflict}"


_ADD_PASS = _insert("passes", _PASS)
_ADD_TEMPO_DAY = _add_up("tempo_days", ("player", "item", "day", "tempo_half_bpm"), TEMPO_SUMS)
_ADD_ITEM_MONTH = _add_up("item_months", ("player", "item", "month"), TEMPO_SUMS, within=True)
_TONE = ("chord", "next_chord", "voice")
_ADD_GUIDE_DAY = _add_up("guide_days", ("player", "item", "day", *_TONE), GUIDE_SUMS)
_ADD_GUIDE_MONTH = _add_up("guide_months", ("player", "item", "month", *_TONE), GUIDE_SUMS, within=True)
_SET_LEVELS = "INSERT OR REPLACE INTO level_days VALUES (?, ?, ?, ?, ?, ?)"


def store(connection: sqlite3.Connection, record: PassRecord) -> bool:
    """Store one pass and all that it adds to totals.

    Parameters
    ----------
    connection : sqlite3.Connection
        In a transaction.
    record : PassRecord

    Returns
    -------
    bool
        False where it is there already; then nothing is changed.

    Raises
    ------
    ValueError
        If the moment at which it ended has no offset.
    """
    touched: Touched = set()
    stored = _store(connection, record, touched)
    tell_levels(connection, touched)
    return stored


def store_all(connection: sqlite3.Connection, records: Iterable[PassRecord]) -> int:
    """Store passes as `store` does each; the levels of their days are told once, at the end.

    Returns
    -------
    int
        How many were not there yet.
    """
    touched: Touched = set()
    stored = sum(_store(connection, record, touched) for record in records)
    tell_levels(connection, touched)
    return stored


def _store(connection: sqlite3.Connection, record: PassRecord, touched: Touched) -> bool:
    offset = record.ended_at.utcoffset()
    if offset is None:
        raise ValueError(f"pass {record.id}: {record.ended_at.isoformat()} says no offset from world time")
    record = finite(record)
    name = storable(record.id)
    if connection.execute("SELECT 1 FROM passes WHERE name = ?", (name,)).fetchone():
        return False
    player = _player(connection, record.player)
    item = _item(connection, record.item)
    values = (
        name,
        player,
        item,
        record.day,
        (record.ended_at - _EPOCH) // timedelta(microseconds=1),
        record.ended_at.isoformat(),
        storable(record.sitting),
        record.source,
        record.lasted_sec,
        storable(record.title),
        storable(record.routine),
        record.heard,
        record.moved_ms,
        storable(record.click),
        storable(record.window),
        pack(record.outcome),
    )
    connection.execute(_ADD_PASS, values)
    title = (player, storable(record.item.lick), storable(record.title))
    connection.execute("INSERT OR REPLACE INTO titles VALUES (?, ?, ?)", title)
    if record.heard:
        count(connection, player, item, record)
        touched.add((player, item, record.day))
    return True


def count(connection: sqlite3.Connection, player: int, item: int, record: PassRecord) -> None:
    """Add a pass in which something was heard to the totals, but for levels."""
    day = tempo_day_of(record)
    whose, month, sums = (player, item), record.day[:7], _tempo_sums(day)
    connection.execute(_ADD_TEMPO_DAY, (*whose, record.day, day.tempo_half_bpm, *sums))
    connection.execute(_ADD_ITEM_MONTH, (*whose, month, record.day, record.day, *sums))
    for guide in guide_days_of(record):
        tone = (storable(guide.chord), storable(guide.next_chord), guide.voice)
        counts = _guide_sums(guide)
        connection.execute(_ADD_GUIDE_DAY, (*whose, record.day, *tone, *counts))
        connection.execute(_ADD_GUIDE_MONTH, (*whose, month, *tone, record.day, record.day, *counts))


def tell_levels(connection: sqlite3.Connection, touched: Touched) -> None:
    """Tell home, edge and reach anew at the end of these days, and of the days that rest on them."""
    for whose in sorted(_resting_on(connection, touched)):
        connection.execute(_SET_LEVELS, (*whose, *levels_at(connection, *whose)))


def set_levels(connection: sqlite3.Connection, player: int, item: int, day: str) -> None:
    """Tell home, edge and reach anew at the end of one day; a day without a pass has none."""
    whose = player, item, day
    connection.execute("DELETE FROM level_days WHERE player = ? AND item = ? AND day = ?", whose)
    where = "WHERE player = ? AND item = ? AND day = ? LIMIT 1"
    if connection.execute(f"SELECT 1 FROM tempo_days {where}", whose).fetchone():
        connection.execute(_SET_LEVELS, (*whose, *levels_at(connection, *whose)))


def levels_at(
    connection: sqlite3.Connection, player: int, item: int, day: str
) -> tuple[float | None, float | None, float | None]:
    """Home, edge and reach at the end of a day, by the totals of that day and those before."""
    rows = connection.execute(
        "SELECT day, tempo_half_bpm, clean, unclean FROM tempo_days "
        "WHERE player = ? AND item = ? AND day > ? AND day <= ? ORDER BY day, tempo_half_bpm",
        (player, item, _moved(day, -LEVEL_DAYS), day),
    ).fetchall()
    today = date.fromisoformat(day)
    tried = [
        Tried(
            tempo_half_bpm=tempo,
            clean=clean,
            unclean=unclean,
            days_ago=(today - date.fromisoformat(on)).days,
        )
        for on, tempo, clean, unclean in rows
    ]
    levels = levels_of(tried)
    if levels is None:
        return None, None, None
    return levels.home_half_bpm, levels.edge_half_bpm, levels.reach_half_bpm


def _resting_on(connection: sqlite3.Connection, touched: Touched) -> Iterator[tuple[int, int, str]]:
    seen: Touched = set()
    for player, item, day in touched:
        rows = connection.execute(
            "SELECT DISTINCT day FROM tempo_days WHERE player = ? AND item = ? AND day >= ? AND day < ?",
            (player, item, day, _moved(day, LEVEL_DAYS)),
        ).fetchall()
        seen.update((player, item, later) for (later,) in rows)
    return iter(seen)


def _player(connection: sqlite3.Connection, name: str) -> int:
    connection.execute("INSERT INTO players (name) VALUES (?) ON CONFLICT DO NOTHING", (storable(name),))
    found = connection.execute("SELECT id FROM players WHERE name = ?", (storable(name),)).fetchone()
    return int(found[0])


def _item(connection: sqlite3.Connection, item: Item) -> int:
    names = (storable(item.lick), storable(item.key), storable(item.unit))
    connection.execute("INSERT INTO items (lick, key, unit) VALUES (?, ?, ?) ON CONFLICT DO NOTHING", names)
    found = connection.execute("SELECT id FROM items WHERE lick = ? AND key = ? AND unit = ?", names)
    return int(found.fetchone()[0])


def _tempo_sums(day: TempoDay) -> tuple[int, ...]:
    return (
        *(day.passes, day.clean, day.unclean, day.unclear, round(1e3 * day.seconds), day.notes, day.landed),
        *(_scaled(day.lean_ms, 1e3), day.lean_passes),
        *(_scaled(day.bounce, 1e6), day.bounce_passes),
        *(_scaled(day.spread_ms, 1e3), day.spread_passes),
    )


def _guide_sums(day: GuideDay) -> tuple[int, ...]:
    return tuple(getattr(day, name) for name in GUIDE_SUMS)


def _scaled(value: float | None, by: float) -> int:
    return 0 if value is None else round(value * by)


def _moved(day: str, days: int) -> str:
    return (date.fromisoformat(day) + timedelta(days=days)).isoformat()
