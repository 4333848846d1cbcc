"""Which warm-up comes next where none is named: the open strings, then the one played the longest ago."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import datetime

from feedback.errors import tell
from feedback.remembered import Remembered
from routines.journal.journal import Journal
from routines.journal.records import TempoDay
from routines.warmups.table import WARM_UPS

_BEGINS = "warm-up/"


def last_days(days: Iterable[TempoDay]) -> dict[str, str]:
    """On which day each warm-up was played last; none that never was.

    Parameters
    ----------
    days : iterable of TempoDay
        What else stands among them plays no part.
    """
    found: dict[str, str] = {}
    for one in days:
        if one.item.lick.startswith(_BEGINS):
            name = one.item.lick.split("/")[1]
            found[name] = max(found.get(name, ""), one.day)
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
        return next_warm_up(last_days(journal.tempo_days(about.player, lick_begins=_BEGINS)), today)
