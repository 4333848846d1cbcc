"""Judging recorded takes: listen to the file, find the start, judge."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from os import PathLike

from feedback.errors import Usage
from feedback.grid import Grid
from feedback.judges.limits import Limits
from feedback.judges.whole import Circumstances, Judged, judge_pass
from feedback.session import PassOver
from feedback.start import SLOWEST_HALF_BPM, find_start
from listener.notes import NoteEvent
from routines.lick import Lick, quarter_sec


def judge_take(
    path: str | PathLike[str],
    lick: Lick,
    limits: Limits,
    *,
    tempo_half_bpm: float | None = None,
    start_sec: float | None = None,
) -> Judged:
    """Judge one pass in a recording.

    Parameters
    ----------
    path : path
    lick : Lick
    limits : Limits
    tempo_half_bpm : float, optional
        Found from the take if left out, or the lick's top tempo where a start is given.
    start_sec : float, optional
        Downbeat of bar 1; found from the take if left out.

    Returns
    -------
    Judged

    Raises
    ------
    OSError, listener.errors.BadSound
        As `listener.files.hear_file`.
    Usage
        If the start lies beyond the end of the take.
    """
    events, duration_sec = _heard(path)
    if start_sec is not None and start_sec >= duration_sec:
        raise Usage(f"start {start_sec:.6g} s: {path} is {duration_sec:.2f} s long")
    return judge_events(
        events,
        lick,
        limits,
        tempo_half_bpm=tempo_half_bpm,
        start_sec=start_sec,
        duration_sec=duration_sec,
    )


def judge_events(
    events: Sequence[NoteEvent],
    lick: Lick,
    limits: Limits,
    *,
    tempo_half_bpm: float | None = None,
    start_sec: float | None = None,
    duration_sec: float = math.inf,
) -> Judged:
    """Judge one pass in what was heard; as `judge_take`, without the file.

    Nothing is known of what comes before the take or after its end: notes that are due there are unclear.
    """
    deaf = outside(duration_sec)
    if start_sec is not None:
        tempo = tempo_half_bpm
        if tempo is None:
            from_sec = start_sec - lick.pickup_quarters * quarter_sec(SLOWEST_HALF_BPM)
            around = find_start(lick, events, limits, not_before_sec=from_sec)
            tempo = around.tempo_half_bpm if around is not None else lick.top_tempo_half_bpm
        grid = Grid(lick=lick, tempo_half_bpm=tempo, start_sec=start_sec, limits=limits)
        return judge_pass(grid, events, Circumstances(deaf=deaf))
    start = find_start(lick, events, limits, tempo_half_bpm=tempo_half_bpm)
    if start is None:
        return _not_found(lick, limits, tempo_half_bpm, events)
    grid = Grid(lick=lick, tempo_half_bpm=start.tempo_half_bpm, start_sec=start.start_sec, limits=limits)
    return judge_pass(grid, events, Circumstances(start_found=True, deaf=deaf))


def judge_turn(
    path: str | PathLike[str],
    lick: Lick,
    limits: Limits,
    *,
    passes: int,
    tempo_half_bpm: float | None = None,
) -> list[PassOver]:
    """Find and judge pass after pass in a recording.

    Parameters
    ----------
    path : path
    lick : Lick
    limits : Limits
    passes : int
        At most so many.
    tempo_half_bpm : float, optional
        Found from the first pass if left out; the later ones are looked for near it.

    Returns
    -------
    list of PassOver
        At least one; where no start is found, that one has heard nothing.
    """
    events, duration_sec = _heard(path)
    found: list[PassOver] = []
    after_sec = 0.0
    for number in range(1, passes + 1):
        start = find_start(lick, events, limits, tempo_half_bpm=tempo_half_bpm, not_before_sec=after_sec)
        if start is None:
            break
        tempo_half_bpm = start.tempo_half_bpm
        grid = Grid(lick=lick, tempo_half_bpm=tempo_half_bpm, start_sec=start.start_sec, limits=limits)
        after_sec = grid.due_sec(lick.end_quarters - lick.pickup_quarters) - 2 * grid.eighth_sec
        earlier = [deviation for over in found for deviation in over.judged.played]
        about = Circumstances(start_found=True, earlier=tuple(earlier), deaf=outside(duration_sec))
        found.append(PassOver(number=number, judged=judge_pass(grid, events, about)))
    return found or [PassOver(number=1, judged=_not_found(lick, limits, tempo_half_bpm, events))]


def outside(duration_sec: float) -> tuple[tuple[float, float], ...]:
    """The stretches, in seconds, of which a take of some length says nothing."""
    return (-math.inf, 0.0), (duration_sec, math.inf)


def _heard(path: str | PathLike[str]) -> tuple[Sequence[NoteEvent], float]:
    """Listen to a file; only then is a sound library loaded."""
    from listener.files import hear_file

    hearing = hear_file(path)
    return hearing.notes, hearing.duration_sec


def _not_found(
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
