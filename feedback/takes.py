"""Judging recorded takes: listen to the file, find the start, judge."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from os import PathLike

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
    """
    return judge_events(_heard(path), lick, limits, tempo_half_bpm=tempo_half_bpm, start_sec=start_sec)


def judge_events(
    events: Sequence[NoteEvent],
    lick: Lick,
    limits: Limits,
    *,
    tempo_half_bpm: float | None = None,
    start_sec: float | None = None,
) -> Judged:
    """Judge one pass in what was heard; as `judge_take`, without the file."""
    if start_sec is not None:
        tempo = tempo_half_bpm
        if tempo is None:
            from_sec = start_sec - lick.pickup_quarters * quarter_sec(SLOWEST_HALF_BPM)
            around = find_start(lick, events, limits, not_before_sec=from_sec)
            tempo = around.tempo_half_bpm if around is not None else lick.top_tempo_half_bpm
        grid = Grid(lick=lick, tempo_half_bpm=tempo, start_sec=start_sec, limits=limits)
        return judge_pass(grid, events)
    start = find_start(lick, events, limits, tempo_half_bpm=tempo_half_bpm)
    if start is None:
        return _not_found(lick, limits, tempo_half_bpm)
    grid = Grid(lick=lick, tempo_half_bpm=start.tempo_half_bpm, start_sec=start.start_sec, limits=limits)
    return judge_pass(grid, events, Circumstances(start_found=True))


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
    events = _heard(path)
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
        about = Circumstances(start_found=True, earlier=tuple(earlier))
        found.append(PassOver(number=number, judged=judge_pass(grid, events, about)))
    return found or [PassOver(number=1, judged=_not_found(lick, limits, tempo_half_bpm))]


def _heard(path: str | PathLike[str]) -> Sequence[NoteEvent]:
    """Listen to a file; only then is a sound library loaded."""
    from listener.files import hear_file

    return hear_file(path).notes


def _not_found(lick: Lick, limits: Limits, tempo_half_bpm: float | None) -> Judged:
    """A pass in which nothing was heard, and whose start is unknown."""
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
        outcome=replace(
            outcome,
            start_sec=None,
            start_found=False,
            clean=False,
            notes=tuple(replace(note, onset_sec=None) for note in outcome.notes),
            timing=replace(outcome.timing, tempo_course=()),
        ),
    )
