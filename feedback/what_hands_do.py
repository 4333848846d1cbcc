"""What a player's hands can do, by all their licks together: where a new lick and a warm-up begin.

The problem: of a lick that was never played nothing is known, and a warm-up is never played as fast as the
hands could, so neither can tell by itself where to begin. But the licks that are known tell: at which tempo
they are at home, and how far from their tops.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import timedelta
from statistics import median

from feedback.errors import tell
from feedback.nexttempo import EASED
from feedback.remembered import Remembered
from routines.errors import BadRoutine
from routines.journal.journal import Journal
from routines.journal.records import LevelsDay
from routines.ladder.rules import LADDER
from routines.ladder.standing import MEMORY_DAYS
from routines.library import is_path, load

FEWEST = 2
"""So many licks must be known before they tell anything of others."""

MOST = 8
"""So many of them are asked, those practised last."""

SLOWEST_SHARE = 0.4
"""Of its top: slower no lick begins."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Hands:
    """What is known of a player's hands.

    Attributes
    ----------
    home_half_bpm, edge_half_bpm : float or None
        Medians over the licks that were practised last; None where too few are known.
    edge_share : float or None
        The same of their edges against their tops.
    """

    home_half_bpm: float | None = None
    edge_half_bpm: float | None = None
    edge_share: float | None = None

    def first_half_bpm(self, top_half_bpm: float) -> float:
        """Where a lick begins that was never played, in whole half notes a minute.

        Parameters
        ----------
        top_half_bpm : float
            Its top tempo.
        """
        share = EASED
        if self.edge_share is not None:
            share = min(EASED, max(SLOWEST_SHARE, LADDER.start_share * self.edge_share))
        return float(round(share * top_half_bpm))


def hands_of(about: Remembered | None, told: Callable[[str], None] = tell) -> Hands:
    """What the journal knows of a player's hands.

    Parameters
    ----------
    about : Remembered or None
        None where nothing is remembered.
    told : callable
        Takes a line where the journal had to be mended.

    Raises
    ------
    OSError
        If there is a journal that cannot be read.
    """
    if about is None:
        return Hands()
    with Journal.open(about.folder, now=about.now, writes=False, told=told) as journal:
        return hands_from(journal, about)


def hands_from(journal: Journal, about: Remembered) -> Hands:
    """The same of a journal that is open.

    Raises
    ------
    OSError
        If it cannot be read.
    """
    since = (about.now().date() - timedelta(days=MEMORY_DAYS)).isoformat()
    return hands_in(journal.levels_days(about.player, since=since))


def hands_in(days: list[LevelsDay]) -> Hands:
    """What levels tell of the hands.

    Parameters
    ----------
    days : list of LevelsDay
        Loops, licks in traffic and warm-ups among them tell nothing.
    """
    latest: dict[str, LevelsDay] = {}
    for one in sorted(days, key=lambda one: one.day):
        if not one.item.unit and one.edge_half_bpm is not None and "/" not in one.item.lick:
            latest[one.item.lick] = one
    last = sorted(latest.values(), key=lambda one: one.day)[-MOST:]
    if len(last) < FEWEST:
        return Hands()
    tops = {one.item.lick: top for one in last if (top := _top(one.item.lick)) is not None}
    shares = [
        one.edge_half_bpm / tops[one.item.lick] for one in last if one.edge_half_bpm and one.item.lick in tops
    ]
    return Hands(
        home_half_bpm=median(one.home_half_bpm for one in last if one.home_half_bpm is not None),
        edge_half_bpm=median(one.edge_half_bpm for one in last if one.edge_half_bpm is not None),
        edge_share=median(shares) if len(shares) >= FEWEST else None,
    )


def _top(lick: str) -> float | None:
    """The top tempo of a lick that comes with the program; None of another one."""
    if is_path(lick):
        return None
    try:
        return load(lick).top_tempo_half_bpm
    except (BadRoutine, OSError):
        return None
