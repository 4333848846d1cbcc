"""Questions to the journal's tables: passes as they were stored, and the totals of days.

Conventions: nothing keeps a cursor open: whoever goes
through all passes does not stop another who stores one.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterator, Sequence
from datetime import datetime
from itertools import groupby
from typing import Any

from routines.journal.errors import UnreadPass
from routines.journal.packing import unpack
from routines.journal.periods import Asked
from routines.journal.records import GuideDay, Item, LevelsDay, PassRecord, TempoDay
from routines.journal.schema import GUIDE_SUMS, TEMPO_SUMS
from routines.journal.sums import tempo_values

AT_ONCE = 200
"""So many passes are fetched together."""

_PASS = (
    "passes.name, sitting, players.name, source, ended_at, lasted_sec, lick, key, unit, title, routine, "
    "heard, moved_ms, click, window, verdicts "
    "FROM passes JOIN players ON players.id = player JOIN items ON items.id = item"
)

_ORDER = {
    "tempo_days": "day, tempo_half_bpm",
    "guide_days": "day, chord, next_chord, voice",
    "level_days": "day",
}


def numbers_of_passes(
    connection: sqlite3.Connection,
    asked: Asked,
    *,
    newest_first: bool = False,
    limit: int | None = None,
) -> list[int]:
    """The journal's numbers of passes, by day and by the moment at which they ended."""
    order = "DESC" if newest_first else "ASC"
    given: list[int | str] = [*asked.period.days]
    only = ""
    for name, number in (("player", asked.player), ("item", asked.item)):
        if number is not None:
            only += f" AND {name} = ?"
            given.append(number)
    found = connection.execute(
        f"SELECT id FROM passes INDEXED BY passes_by_day WHERE day >= ? AND day < ?{only} "
        f"ORDER BY day {order}, moment_us {order}, id {order} LIMIT ?",
        (*given, -1 if limit is None else limit),
    )
    return [number for (number,) in found.fetchall()]


def passes_of(
    connection: sqlite3.Connection,
    numbers: Sequence[int],
    unread: Callable[[UnreadPass], None] | None = None,
) -> Iterator[PassRecord]:
    """Passes by their numbers, in that order; what is not there is left out.

    One that cannot be read is left out where `unread` is given, which is told of it.

    Raises
    ------
    UnreadPass
        If one cannot be read, and nobody is told of it.
    """
    marks = ", ".join("?" * len(numbers))
    rows = connection.execute(f"SELECT passes.id, {_PASS} WHERE passes.id IN ({marks})", numbers).fetchall()
    found = {number: row for number, *row in rows}
    for number in numbers:
        if number not in found:
            continue
        try:
            yield _pass(found[number])
        except UnreadPass as error:
            if unread is None:
                raise
            unread(error)


def tempo_days(connection: sqlite3.Connection, asked: Asked, lick_begins: str = "") -> list[TempoDay]:
    """Totals of tempos, by item, day and tempo."""
    names = ("tempo_half_bpm", *TEMPO_SUMS)
    return [
        TempoDay(day=day, item=of, tempo_half_bpm=tempo, **tempo_values(sums))
        for of, rows in _by_item(connection, "tempo_days", names, asked, lick_begins)
        for day, tempo, *sums in rows
    ]


def guide_days(connection: sqlite3.Connection, asked: Asked) -> list[GuideDay]:
    """Totals of guide tones, by item, day, chord, next chord and voice."""
    names = ("chord", "next_chord", "voice", *GUIDE_SUMS)
    return [
        GuideDay(day=day, item=of, **dict(zip(names, values, strict=True)))
        for of, rows in _by_item(connection, "guide_days", names, asked)
        for day, *values in rows
    ]


def levels_days(connection: sqlite3.Connection, asked: Asked, most: int | None = None) -> list[LevelsDay]:
    """Levels, by item and day; of each item so many at most, evenly, the last one always among them."""
    names = ("home_half_bpm", "edge_half_bpm", "reach_half_bpm")
    return [
        LevelsDay(day=day, item=of, home_half_bpm=home, edge_half_bpm=edge, reach_half_bpm=reach)
        for of, rows in _by_item(connection, "level_days", names, asked)
        for day, home, edge, reach in thinned(rows, most)
    ]


def last_levels(connection: sqlite3.Connection, asked: Asked, days: int) -> list[LevelsDay]:
    """Levels of every item on the last days on which it was practised: so many days back, by item and day."""
    whose = "player = ? AND item = items.id AND day < ?"
    given = asked.player, asked.period.days[1]
    found = connection.execute(
        "SELECT lick, key, unit, day, home_half_bpm, edge_half_bpm, reach_half_bpm "
        f"FROM items CROSS JOIN level_days ON {whose} AND day >= "
        f"max(?, coalesce(date((SELECT max(day) FROM level_days WHERE {whose}), ?), '')) "
        "ORDER BY lick, key, unit, day",
        (*given, asked.period.days[0], *given, f"-{days} days"),
    ).fetchall()
    return [
        LevelsDay(day=day, item=of, home_half_bpm=home, edge_half_bpm=edge, reach_half_bpm=reach)
        for words, rows in groupby(found, key=lambda row: row[:3])
        for of in (Item(*words),)
        for *_, day, home, edge, reach in rows
    ]


def thinned(rows: Sequence[Any], most: int | None) -> Sequence[Any]:
    """So many of them at most, evenly, the last one always among them, the first one from two on."""
    if most is None or len(rows) <= most:
        return rows
    if most < 2:
        return rows[-most:] if most > 0 else rows[:0]
    step = (len(rows) - 1) / (most - 1)
    return [rows[round(k * step)] for k in range(most)]


def titles(connection: sqlite3.Connection, asked: Asked) -> dict[str, str]:
    """The title of each lick as stored last, by its id."""
    found = connection.execute(
        "SELECT lick, title FROM titles WHERE player = ? ORDER BY lick", (asked.player,)
    )
    return dict(found.fetchall())


def players(connection: sqlite3.Connection) -> list[str]:
    """Names of all players, in order."""
    return [name for (name,) in connection.execute("SELECT name FROM players ORDER BY name").fetchall()]


def days(connection: sqlite3.Connection, asked: Asked) -> list[str]:
    """Days on which anything of this player was heard, in order."""
    found = connection.execute(
        "SELECT DISTINCT day FROM passes INDEXED BY passes_by_day WHERE player = ? AND heard ORDER BY day",
        (asked.player,),
    )
    return [day for (day,) in found.fetchall()]


def count(connection: sqlite3.Connection, asked: Asked) -> int:
    """How many passes are stored, those with them in which nothing was heard."""
    found = connection.execute(
        "SELECT count(*) FROM passes INDEXED BY passes_by_day WHERE coalesce(?, player) = player",
        (asked.player,),
    )
    return int(found.fetchone()[0])


def _by_item(
    connection: sqlite3.Connection,
    table: str,
    names: Sequence[str],
    asked: Asked,
    lick_begins: str = "",
) -> Iterator[tuple[Item, list[tuple[Any, ...]]]]:
    """Day and values of each row of each item, by item and day."""
    only = "" if asked.item is None else f"id = {asked.item:d} AND "
    items = connection.execute(
        f"SELECT id, lick, key, unit FROM items WHERE {only}substr(lick, 1, ?) = ? ORDER BY lick, key, unit",
        (len(lick_begins), lick_begins),
    ).fetchall()
    question = (
        f"SELECT day, {', '.join(names)} FROM {table} "
        f"WHERE player = ? AND item = ? AND day >= ? AND day < ? ORDER BY {_ORDER[table]}"
    )
    for number, *words in items:
        rows = connection.execute(question, (asked.player, number, *asked.period.days)).fetchall()
        if rows:
            yield Item(*words), rows


def _pass(row: Sequence[Any]) -> PassRecord:
    try:
        return _record(row)
    except (TypeError, ValueError) as error:
        raise UnreadPass(str(row[0]), str(error)) from error


def _record(row: Sequence[Any]) -> PassRecord:
    name, sitting, player, source, ended_at, lasted_sec, lick, key, unit, title, routine, heard, *rest = row
    moved_ms, click, window, verdicts = rest
    return PassRecord(
        id=name,
        sitting=sitting,
        player=player,
        source=source,
        ended_at=datetime.fromisoformat(ended_at),
        lasted_sec=lasted_sec or 0.0,
        item=Item(lick, key, unit),
        title=title,
        routine=routine,
        heard=bool(heard),
        moved_ms=moved_ms or 0.0,
        click=click,
        window=window,
        outcome=unpack(verdicts),
    )
