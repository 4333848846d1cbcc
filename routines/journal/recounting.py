"""Totals counted anew from the passes, and a comparison of those that are stored with such a count.

The problem: to read every verdict of ten years takes half a minute. So one share of the days after another is
counted anew, each time a check is made; `routines.journal.comparing` compares all the rest with no verdict.

Conventions: one day of one item at a time. What it should be is counted while nobody has to wait, and only a
day that is found wrong is written, in a transaction of its own with the sums of its month: whoever stores a
pass meanwhile waits some milliseconds, and months are the sums of their days at every moment.
"""

from __future__ import annotations

import math
import sqlite3
from collections.abc import Callable, Iterator, Sequence
from contextlib import closing, suppress
from datetime import date
from typing import Any, NamedTuple

from routines.journal.asking import AT_ONCE, numbers_of_passes, passes_of
from routines.journal.comparing import sum_month
from routines.journal.connecting import in_memory, one_moment, transaction
from routines.journal.errors import UnreadPass
from routines.journal.periods import Asked, Period
from routines.journal.schema import STEPS
from routines.journal.storing import Touched, count, levels_at, set_levels, tell_levels

SHARES = 13
"""So many weekly checks count everything anew once: a quarter of a year."""

_OF_A_DAY = {"tempo_days": "tempo_half_bpm", "guide_days": "chord, next_chord, voice"}
_NEAR_HALF_BPM = 1e-6  # another machine may reckon the last digit otherwise


class ItemDay(NamedTuple):
    """A day of one item, by the journal's numbers.

    Attributes
    ----------
    player, item : int
    day : str
    """

    player: int
    item: int
    day: str


def wrong_in_share(
    connection: sqlite3.Connection,
    turn: int,
    going_on: Callable[[], bool] = lambda: True,
    unread: Callable[[UnreadPass], None] = lambda error: None,
) -> list[ItemDay]:
    """Of the days whose turn it is, those whose totals are not what the verdicts say.

    Parameters
    ----------
    connection : sqlite3.Connection
        In no transaction; others may go on writing.
    turn : int
        One more each time: in `SHARES` turns every day was counted.
    going_on : callable
        Asked before each item of each day.
    unread : callable
        Is told of a pass that cannot be read; what is stored of its day is taken for right.

    Returns
    -------
    list of ItemDay
    """
    rows = connection.execute("SELECT DISTINCT player, item, day FROM tempo_days").fetchall()
    days = [ItemDay(*row) for row in rows]
    mine = [of for of in days if (date.fromisoformat(of.day).toordinal() - turn) % SHARES == 0]
    wrong = list[ItemDay]()
    with closing(_counter()) as counter:
        for of in mine:
            if not going_on():
                break
            try:
                if not _is_right(connection, counter, of):
                    wrong.append(of)
            except UnreadPass as error:
                unread(error)
    return wrong


def rebuild_days(
    connection: sqlite3.Connection, days: Sequence[ItemDay], going_on: Callable[[], bool] = lambda: True
) -> None:
    """Count totals of single days anew, and levels of later days that rest on them. As `rebuild_totals`."""
    with closing(_counter()) as counter:
        for of in days:
            if not going_on():
                return
            with suppress(UnreadPass):
                _put_right(connection, counter, of, {(of.player, of.item, of.day)})


def rebuild_totals(
    connection: sqlite3.Connection,
    of: list[tuple[int, int]] | None = None,
    going_on: Callable[[], bool] = lambda: True,
) -> None:
    """Count totals anew from the passes.

    Parameters
    ----------
    connection : sqlite3.Connection
        That may write, in no transaction; others may go on writing.
    of : list of (int, int), optional
        Players and items by the journal's numbers; without it, all.
    going_on : callable
        Asked before each day and each month of each item.
    """
    if of is None:
        of = connection.execute(
            "SELECT player, item FROM passes UNION SELECT player, item FROM tempo_days"
        ).fetchall()
    with closing(_counter()) as counter:
        for player, item in of:
            days = _days_of(connection, player, item)
            for day in days:  # in order: the levels of a day rest on those before
                if not going_on():
                    return
                with suppress(UnreadPass):  # of that day, what was counted when it could be read
                    of_day = ItemDay(player, item, day)
                    if not _is_right(connection, counter, of_day):
                        _put_right(connection, counter, of_day, set())
            for month in _months_of(connection, player, item):
                if not going_on():
                    return
                with transaction(connection):
                    sum_month(connection, player, item, month)


def _counter() -> sqlite3.Connection:
    """Tables to count in."""
    counter = in_memory()
    for step in STEPS:
        step(counter)
    return counter


def _is_right(connection: sqlite3.Connection, counter: sqlite3.Connection, of: ItemDay) -> bool:
    with one_moment(connection):
        rows = _rows(connection, of)
        if _counted(connection, counter, of, _numbers(connection, of)) != rows:
            return False
        stored = connection.execute(
            "SELECT home_half_bpm, edge_half_bpm, reach_half_bpm FROM level_days "
            "WHERE player = ? AND item = ? AND day = ?",
            of,
        ).fetchone()
        if stored is None or not rows["tempo_days"]:
            return stored is None and not rows["tempo_days"]
        return all(map(_near, stored, levels_at(connection, *of)))


def _near(one: float | None, other: float | None) -> bool:
    if one is None or other is None:
        return one is other
    return math.isclose(one, other, abs_tol=_NEAR_HALF_BPM)


def _put_right(
    connection: sqlite3.Connection, counter: sqlite3.Connection, of: ItemDay, touched: Touched
) -> None:
    """Count a day anew, and the levels of that day and of those that rest on what was touched."""
    while True:
        numbers = _numbers(connection, of)
        counted = _counted(connection, counter, of, numbers)
        with transaction(connection):
            if _numbers(connection, of) == numbers:  # else another pass was stored meanwhile
                _write(connection, of, counted)
                tell_levels(connection, touched)
                return


def _write(connection: sqlite3.Connection, of: ItemDay, counted: dict[str, list[tuple[Any, ...]]]) -> None:
    for table, rows in counted.items():
        connection.execute(f"DELETE FROM {table} WHERE player = ? AND item = ? AND day = ?", of)
        for row in rows:
            connection.execute(f"INSERT INTO {table} VALUES ({', '.join('?' * len(row))})", row)
    sum_month(connection, of.player, of.item, of.day[:7])
    set_levels(connection, *of)


def _counted(
    connection: sqlite3.Connection, counter: sqlite3.Connection, of: ItemDay, numbers: Sequence[int]
) -> dict[str, list[tuple[Any, ...]]]:
    """The rows of a day's totals as the verdicts say."""
    with transaction(counter):
        for begin in range(0, len(numbers), AT_ONCE):
            for record in passes_of(connection, numbers[begin : begin + AT_ONCE]):
                if record.heard:
                    count(counter, of.player, of.item, record)
    rows = _rows(counter, of)
    for table in ("tempo_days", "guide_days", "item_months", "guide_months"):
        counter.execute(f"DELETE FROM {table}")
    return rows


def _rows(connection: sqlite3.Connection, of: ItemDay) -> dict[str, list[tuple[Any, ...]]]:
    question = "SELECT * FROM {} WHERE player = ? AND item = ? AND day = ? ORDER BY {}"
    return {
        table: connection.execute(question.format(table, order), of).fetchall()
        for table, order in _OF_A_DAY.items()
    }


def _numbers(connection: sqlite3.Connection, of: ItemDay) -> list[int]:
    return numbers_of_passes(connection, Asked(of.player, of.item, Period(of.day, of.day)))


def _days_of(connection: sqlite3.Connection, player: int, item: int) -> list[str]:
    tables = ("passes WHERE heard AND", *(f"{name} WHERE" for name in (*_OF_A_DAY, "level_days")))
    return list(_all_in(connection, [f"SELECT day FROM {table}" for table in tables], player, item))


def _months_of(connection: sqlite3.Connection, player: int, item: int) -> list[str]:
    stored = [f"SELECT month FROM {table} WHERE" for table in ("item_months", "guide_months")]
    wanted = "SELECT substr(day, 1, 7) FROM tempo_days WHERE"
    return list(_all_in(connection, [*stored, wanted], player, item))


def _all_in(
    connection: sqlite3.Connection, questions: Sequence[str], player: int, item: int
) -> Iterator[str]:
    union = " UNION ".join(f"{question} player = ?1 AND item = ?2" for question in questions)
    for (found,) in connection.execute(f"{union} ORDER BY 1", (player, item)).fetchall():
        yield found
