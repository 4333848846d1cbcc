"""Sittings: what is played without a long break between belongs together.

The problem: a player who starts the program again after each lick is still the same tired or rested hand. So
a sitting goes on from one run to the next, unless nobody has played for a while. Its id begins with the
moment at which it began, so that a pass alone tells how long its sitting had lasted.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

BREAK = timedelta(minutes=20)
"""After so long without a pass the next one begins a sitting of its own."""

_APART = " "


@dataclass(frozen=True, slots=True)
class Sitting:
    """One sitting.

    Attributes
    ----------
    id : str
    began_at : datetime
        Aware.
    """

    id: str
    began_at: datetime


def sitting_at(last: tuple[str, datetime] | None, now: datetime, fresh: str) -> Sitting:
    """The sitting that a player is in.

    Parameters
    ----------
    last : (str, datetime) or None
        Sitting and end of the player's last pass; None where there is none.
    now : datetime
        Aware.
    fresh : str
        What tells a new sitting from all others, such as a few random letters.

    Returns
    -------
    Sitting
        The one that the last pass belongs to where that was not long ago; a clock that was put back since
        begins a new one.
    """
    if last is not None:
        began_at = began(last[0])
        if began_at is not None and timedelta() <= now - last[1] <= BREAK:
            return Sitting(last[0], began_at)
    at = now.replace(microsecond=0)
    return Sitting(f"{at.isoformat()}{_APART}{fresh}", at)


def began(sitting: str) -> datetime | None:
    """When a sitting began, by its id; None where the id does not tell."""
    try:
        at = datetime.fromisoformat(sitting.partition(_APART)[0])
    except ValueError:
        return None
    return at if at.tzinfo is not None else None
