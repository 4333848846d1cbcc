"""How what is practised stood before: by the journal, and by what else the hands can do.

A sitting goes on from one run of the program to the next, and over midnight: its day is the one on which it
began, so that what was played before midnight is no yesterday.

It is asked for the first frame of the window, too, and so loads neither sound nor judges.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from feedback.errors import tell
from feedback.remembered import Remembered
from feedback.what_hands_do import Hands, hands_from
from routines.journal.journal import Journal
from routines.journal.marks import PassMark
from routines.journal.records import Item, TempoDay
from routines.journal.sittings import sitting_at
from routines.ladder.ladder import LONGEST_GAP_SEC, Ladder
from routines.ladder.standing import Standing, standing
from routines.lick import Lick

NO_HANDS = Hands()


@dataclass(frozen=True, slots=True, kw_only=True)
class Begun:
    """How an item stood before this practice.

    Attributes
    ----------
    standing : Standing
    sitting_sec : float
        How long the sitting has lasted already.
    spent_sec : float
        How much of it went to this item.
    hands : Hands
        What is known of the player's hands by other licks.
    """

    standing: Standing
    sitting_sec: float = 0.0
    spent_sec: float = 0.0
    hands: Hands = NO_HANDS


NOTHING_KNOWN = Begun(standing=Standing())


def begun_of(item: Item, about: Remembered | None, told: Callable[[str], None] = tell) -> Begun:
    """How an item stands, as the journal has it.

    Parameters
    ----------
    item : Item
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
        return NOTHING_KNOWN
    now = about.now()
    with Journal.open(about.folder, now=about.now, writes=False, told=told) as journal:
        last = journal.last_pass(about.player, until=now)
        sitting = sitting_at(None if last is None else (last.sitting, last.ended_at), now, "")
        day = sitting.began_at.astimezone(now.tzinfo).date().isoformat()
        marks = [one for one in journal.marks(about.player, since=day) if one.sitting == sitting.id]
        days = journal.tempo_days(about.player, item=item, until=now.date().isoformat())
        stands = standing([_on(one, day) for one in days], day)
        hands = NO_HANDS if stands.levels is not None else hands_from(journal, about)
    sitting_sec = (now - sitting.began_at).total_seconds()
    return Begun(standing=stands, sitting_sec=sitting_sec, spent_sec=spent_on(item, marks), hands=hands)


def ladder_of(begun: Begun, lick: Lick, *, can_shrink: bool = False) -> Ladder:
    """The ladder of what is begun so.

    Parameters
    ----------
    begun : Begun
    lick : Lick
    can_shrink : bool
        Whether there is a change to loop.
    """
    return Ladder.begin(
        begun.standing,
        first_half_bpm=begun.hands.first_half_bpm(lick.top_tempo_half_bpm),
        can_shrink=can_shrink,
        sitting_sec=begun.sitting_sec,
        spent_sec=begun.spent_sec,
        fastest_half_bpm=lick.top_tempo_half_bpm,
    )


def _on(one: TempoDay, day: str) -> TempoDay:
    """The same, where it was after midnight in the sitting that is on: on the day on which that began."""
    return one if one.day <= day else replace(one, day=day)


def spent_on(item: Item, passes: Sequence[PassMark]) -> float:
    """How much of a sitting went to an item: its passes, with count-ins and short rests between them.

    Parameters
    ----------
    item : Item
    passes : sequence of PassMark
        Of the sitting, by the moments at which they ended.

    Returns
    -------
    float
        Seconds.
    """
    spent_sec = 0.0
    for before, one in zip([None, *passes], passes, strict=False):
        if not _belongs(one.item, item):
            continue
        since_sec = one.lasted_sec
        if before is not None and _belongs(before.item, item):
            since_sec = (one.ended_at - before.ended_at).total_seconds()
        spent_sec += min(max(since_sec, one.lasted_sec), one.lasted_sec + LONGEST_GAP_SEC)
    return spent_sec


def _belongs(one: Item, item: Item) -> bool:
    """Whether it is the item, or its change alone, as the ladder shrinks it."""
    return one == item or (not item.unit and one == replace(item, unit="change"))
