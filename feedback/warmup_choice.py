"""Which warm-up comes next where none is named: the open strings, then the one played the longest ago."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime

from feedback.errors import tell
from feedback.remembered import Remembered
from routines.journal.journal import Journal
from routines.progress.names import warm_up_of
from routines.warmups.table import WARM_UPS


def last_days(journal: Journal, player: str) -> dict[str, str]:
    """On which day each warm-up was played last; none that never was.

    Raises
    ------
    OSError
        If the journal cannot be read.
    """
    found: dict[str, str] = {}
    for one in journal.item_sums(player):
        name = warm_up_of(one.item.lick)
        if name:
            found[name] = max(found.get(name, ""), one.last_day)
    return found


def next_warm_up(played: Mapping[str, str], today: str) -> str:
    """The warm-up to play.

    Parameters
    ----------
    played : mapping
        Name to the day on which it was played last.
    today : str

    Returns
    -------
    str
        The first of `WARM_UPS` once a day, then the one that was played the longest ago; never before always.
    """
    first, *others = WARM_UPS
    if played.get(first, "") < today:
        return first
    return min(others, key=lambda name: played.get(name, ""))


def choice_for(about: Remembered | None, now: datetime) -> str:
    """The warm-up to play, as far as the journal can tell.

    Raises
    ------
    OSError
        If there is a journal that cannot be read.
    """
    today = now.date().isoformat()
    if about is None:
        return next_warm_up({}, today)
    with Journal.open(about.folder, now=about.now, writes=False, told=tell) as journal:
        return next_warm_up(last_days(journal, about.player), today)
