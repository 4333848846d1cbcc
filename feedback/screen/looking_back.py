"""What screens ask of the journal: opened for one question, and closed again.

The problem: the journal may be locked, damaged, of a newer version, on a disk that has gone; none of it may
close the window. So a question comes back with its answer, or with the line that says why there is
none; with both where the journal had to be mended.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date
from typing import TYPE_CHECKING, TypeVar

from feedback.errors import one_line
from feedback.remembered import Now, local_now
from feedback.settings import home

if TYPE_CHECKING:
    from routines.journal.journal import Journal

Answer = TypeVar("Answer")


def player_of(values: Mapping[str, str | float]) -> str:
    """Who plays, by the settings."""
    return str(values.get("player", "me"))


def looked_back(
    question: Callable[[Journal, str, date], Answer], player: str, now: Now = local_now
) -> tuple[Answer | None, str]:
    """Ask the journal of the user's folder.

    Parameters
    ----------
    question : callable
        Takes the journal, which is open for questions only, the player and the player's own day.
    player : str
    now : callable
        Gives the moment, aware.

    Returns
    -------
    answer : object or None
    trouble : str
        One line where there is no answer, or where the journal had to be mended first; else empty.
    """
    from routines.journal.journal import Journal

    lines: list[str] = []
    try:
        with Journal.open(home(), now=now, writes=False, told=lines.append) as journal:
            return question(journal, player, now().date()), "; ".join(lines)
    except OSError as error:
        return None, one_line(error)
