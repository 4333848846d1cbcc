"""Passes that are over, for tests of what goes along with a practice: a hand plays, the real judges judge."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

from feedback.grid import Grid
from feedback.judges.limits import Limits
from feedback.judges.whole import judge_pass
from feedback.performance import perform
from feedback.played import as_heard
from feedback.practice_events import Passed, TurnOver
from feedback.session import PassOver
from routines.lick import Lick


@lru_cache(maxsize=256)
def over_of(lick: Lick, tempo: float, mistakes: tuple[str, ...] = (), number: int = 1) -> PassOver:
    """A pass that is over."""
    played = perform(lick, tempo_half_bpm=tempo, mistakes=mistakes, seed=number)
    grid = Grid(lick=lick, tempo_half_bpm=tempo, start_sec=played.start_sec, limits=Limits())
    return PassOver(number=number, judged=judge_pass(grid, as_heard(played)))


def turn_of(
    lick: Lick, tempo: float, mistakes: Sequence[tuple[str, ...]], turn: int = 1
) -> tuple[list[Passed], TurnOver]:
    """A turn's passes, with what is wrong in each, and its end."""
    passes = tuple(over_of(lick, tempo, names, number) for number, names in enumerate(mistakes, 1))
    return [Passed(turn=turn, over=over) for over in passes], TurnOver(turn=turn, passes=passes)
