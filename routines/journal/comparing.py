"""What must be equal in the totals, compared with no verdict read; and months made the sums of their days.

Conventions: as in `routines.journal.schema`; whatever is a sum over days is compared in every column.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Sequence

from routines.journal.periods import Period
from routines.journal.schema import GUIDE_SUMS, TEMPO_SUMS

_TONE = ("chord", "next_chord", "voice")
_DAYS = "SELECT player, item, day FROM"


def _unequal(one: str, other: str) -> str:
    """Whose rows are in the one and not in the other."""
    return (
        f"SELECT player, item FROM ({one} EXCEPT {other}) "
        f"UNION SELECT player, item FROM ({other} EXCEPT {one})"
    )


def _not_as_days(months: str, days: str, tone: Sequence[str], sums: Sequence[str]) -> str:
    of = ", ".join(("player", "item", "month", *tone))
    added = ", ".join(f"sum({name})" for name in sums)
    return _unequal(
        f"SELECT {of}, min(day), max(day), {added} "
        f"FROM (SELECT substr(day, 1, 7) AS month, * FROM {days}) GROUP BY {of}",
        f"SELECT {of}, first_day, last_day, {', '.join(sums)} FROM {months}",
    )


_WRONG = " UNION ".join(
    (
        _unequal(
            "SELECT player, item, day, count(*) FROM passes WHERE heard GROUP BY player, item, day",
            "SELECT player, item, day, sum(passes) FROM tempo_days GROUP BY player, item, day",
        ),
        "SELECT player, item FROM tempo_days WHERE passes <> clean + unclean + unclear",
        _not_as_days("item_months", "tempo_days", (), TEMPO_SUMS),
        _not_as_days("guide_months", "guide_days", _TONE, GUIDE_SUMS),
        _unequal(f"{_DAYS} tempo_days", f"{_DAYS} level_days"),
        f"SELECT player, item FROM ({_DAYS} guide_days EXCEPT {_DAYS} tempo_days)",
    )
)


def wrong_totals(connection: sqlite3.Connection) -> list[tuple[int, int]]:
    """Whose totals do not fit one another or the number of passes; no verdict is read for that.

    As many passes in every day as are stored, every sum of the months as of their days, levels of every day.

    Returns
    -------
    list of (int, int)
        The journal's numbers of player and item.
    """
    return [(player, item) for player, item in connection.execute(_WRONG).fetchall()]


def _sum_of_days(months: str, days: str, tone: Sequence[str], sums: Sequence[str]) -> str:
    of = ", ".join(("player", "item", "substr(day, 1, 7)", *tone))
    added = ", ".join(f"sum({name})" for name in sums)
    return (
        f"INSERT INTO {months} SELECT {of}, min(day), max(day), {added} FROM {days} "
        f"WHERE player = ? AND item = ? AND day >= ? AND day < ? GROUP BY {of}"
    )


_SUM_MONTH = {
    "item_months": _sum_of_days("item_months", "tempo_days", (), TEMPO_SUMS),
    "guide_months": _sum_of_days("guide_months", "guide_days", _TONE, GUIDE_SUMS),
}


def sum_month(connection: sqlite3.Connection, player: int, item: int, month: str) -> None:
    """Make the totals of a month of one item the sums of its days."""
    days = Period(f"{month}-01", f"{month}-31").days
    for table, summed in _SUM_MONTH.items():
        whose = "player = ? AND item = ? AND month = ?"
        connection.execute(f"DELETE FROM {table} WHERE {whose}", (player, item, month))
        connection.execute(summed, (player, item, *days))
