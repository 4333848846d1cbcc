"""A pass laid on the clock of a take: where it was found or said to be, or that it was not found."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from feedback.grid import Grid
from feedback.judges.limits import Limits
from feedback.judges.whole import Circumstances, Judged, judge_pass
from feedback.start import Start, find_start, tempo_from
from listener.notes import NoteEvent
from routines.lick import Lick


@dataclass(frozen=True, slots=True, kw_only=True)
class Placed:
    """A pass laid on the clock of a take, and what is known about it."""

    grid: Grid
    about: Circumstances


def placed(
    events: Sequence[NoteEvent],
    lick: Lick,
    limits: Limits,
    *,
    tempo_half_bpm: float | None = None,
    start_sec: float | None = None,
) -> Placed | None:
    """Lay a pass on the clock of a take; parameters as `feedback.takes.judge_take`.

    Returns
    -------
    Placed or None
        None where no start is given and none can be found in what was heard.
    """
    if start_sec is None:
        start = find_start(lick, events, limits, tempo_half_bpm=tempo_half_bpm)
        return None if start is None else found_at(lick, limits, start)
    tempo = tempo_half_bpm
    if tempo is None:
        tempo = tempo_from(lick, events, limits, start_sec) or lick.top_tempo_half_bpm
    grid = Grid(lick=lick, tempo_half_bpm=tempo, start_sec=start_sec, limits=limits)
    return Placed(grid=grid, about=Circumstances())


def found_at(lick: Lick, limits: Limits, start: Start) -> Placed:
    """A pass whose start was found in the take."""
    grid = Grid(lick=lick, tempo_half_bpm=start.tempo_half_bpm, start_sec=start.start_sec, limits=limits)
    return Placed(grid=grid, about=Circumstances(start_found=True, habits=start.habits))


def outside(duration_sec: float) -> tuple[tuple[float, float], ...]:
    """The stretches, in seconds, of which a take of some length says nothing."""
    return (-math.inf, 0.0), (duration_sec, math.inf)


def not_found(
    lick: Lick, limits: Limits, tempo_half_bpm: float | None, events: Sequence[NoteEvent]
) -> Judged:
    """A pass that was not found in what was heard: it counts neither way."""
    grid = Grid(
        lick=lick,
        tempo_half_bpm=tempo_half_bpm or lick.top_tempo_half_bpm,
        start_sec=0.0,
        limits=limits,
    )
    judged = judge_pass(grid, (), Circumstances(start_found=True))
    outcome = judged.outcome
    return replace(
        judged,
        heard_notes=len(events),
        outcome=replace(
            outcome,
            start_sec=None,
            start_found=False,
            clean=None,
            notes=tuple(replace(note, onset_sec=None) for note in outcome.notes),
            timing=replace(outcome.timing, tempo_course=()),
        ),
    )
