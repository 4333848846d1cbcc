"""What became of each flat seven, and of each chord's third: sounded, landed, swallowed, where it went.

Only the last sounded seven of a chord is due to fall. The thirds are judged in the same words, but one that
would rise to the pitch of the open fifth string is credited only where the lick marks it: they are one sound.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from statistics import median

from feedback.grid import Grid
from feedback.judges.deafness import LEVEL_SEC, touches
from feedback.judges.falls import PassHeard, Went, where_it_went
from routines.lick import Ask
from routines.outcome import SeventhVerdict

_NEIGHBOURS = 4


def guide_verdicts(heard: PassHeard, asks: Sequence[Ask]) -> list[SeventhVerdict]:
    """Judge the guide tones of one kind (the sevens, or the thirds).

    Parameters
    ----------
    heard : PassHeard
    asks : sequence of Ask
        `lick.sevenths` or `lick.thirds`, in order.

    Returns
    -------
    list of SeventhVerdict
        One for each ask, in order.
    """
    sounded = {ask.note: _sounded(heard, ask) for ask in asks}
    found = []
    for ask in asks:
        later = [
            sounded[other.note]
            for other in asks
            if other.change_quarters == ask.change_quarters and other.note > ask.note
        ]
        found.append(_verdict(heard, ask, sounded[ask.note], later))
    return found


def neighbours(index: int, others: Collection[int]) -> list[int]:
    """The four notes around one: two before and two after, more of one side where the other has fewer.

    Parameters
    ----------
    index : int
    others : collection of int
        Places of the notes to choose from.

    Returns
    -------
    list of int
        Fewer than four only where there are fewer.
    """
    before = sorted((k for k in others if k < index), reverse=True)
    after = sorted(k for k in others if k > index)
    half = _NEIGHBOURS // 2
    return before[: max(half, _NEIGHBOURS - len(after))] + after[: max(half, _NEIGHBOURS - len(before))]


def _verdict(
    heard: PassHeard, ask: Ask, sounded: bool | None, later: Sequence[bool | None]
) -> SeventhVerdict:
    asked = ask.how != "colour" and not _by_the_drone(heard.grid, ask)
    swallowed: bool | None = None
    landed: bool | None = None
    due: bool | None = None
    went = Went(resolution="none")
    as_asked: bool | None = None
    if sounded is None:
        if asked and not any(later):
            went = Went(resolution="unclear")
    else:
        swallowed = sounded and _swallowed(heard, ask.note)
        landed = sounded and heard.verdicts[ask.note].verdict == "landed" and not swallowed
        due = sounded and asked and not any(later)
        if due:
            went = where_it_went(heard, ask)
            as_asked = went.as_asked
        elif ask.how == "colour":
            as_asked = landed
    return SeventhVerdict(
        index=ask.note,
        chord=ask.chord,
        next_chord=ask.next_chord,
        midi=heard.grid.lick.notes[ask.note].midi,
        sounded=sounded,
        landed=landed,
        swallowed=swallowed,
        due=due,
        due_midi=ask.due_midi if asked else None,
        resolution=went.resolution,
        resolved_midi=went.midi,
        resolution_ms=None if went.off_sec is None else 1e3 * went.off_sec,
        as_asked=as_asked,
    )


def _by_the_drone(grid: Grid, ask: Ask) -> bool:
    """A third that would rise to the open fifth string's pitch: credited only where the lick marks it."""
    return ask.due_midi == grid.lick.neck.open_midi(5) and not ask.marked and _rises(grid, ask)


def _rises(grid: Grid, ask: Ask) -> bool:
    return ask.due_midi is not None and ask.due_midi > grid.lick.notes[ask.note].midi


def _sounded(heard: PassHeard, ask: Ask) -> bool | None:
    """Whether the tone's own target was given its pitch before its chord had gone; None if unclear."""
    verdict = heard.verdicts[ask.note].verdict
    if verdict == "unclear":
        return None
    sounded = verdict in ("landed", "early", "late")
    return None if sounded and _half_lost(heard, ask.note) and _swallowed(heard, ask.note) else sounded


def _half_lost(heard: PassHeard, index: int) -> bool:
    """Whether a part of the sound that tells a note's level was lost."""
    begin = heard.sounds[heard.answered[index].sound].onset_sec
    return touches(heard.deaf, begin, begin + LEVEL_SEC)


def _swallowed(heard: PassHeard, index: int) -> bool:
    """Whether it lies far under the median of the four picked notes around it that were heard."""
    limits = heard.grid.limits
    notes = heard.grid.lick.notes
    picked = [
        k
        for k in heard.answered
        if k != index and notes[k].picked and heard.verdicts[k].verdict in ("landed", "early", "late")
    ]
    around = neighbours(index, picked)
    if not around:
        return False
    level = median(heard.sounds[heard.answered[k].sound].level_db for k in around)
    under = limits.swallowed_db if notes[index].picked else limits.swallowed_slurred_db
    return level - heard.sounds[heard.answered[index].sound].level_db >= under - 1e-9
