"""Judging recorded takes: listen, find the start, listen again with the lick in mind, judge.

Where a pass lies is found by an ear that knows nothing; what was played in it is then heard by one that is
told what to expect. Where start and tempo are given, the first is spared.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import partial
from os import PathLike
from typing import TYPE_CHECKING

from feedback.errors import Usage
from feedback.expect import expectations
from feedback.grid import Grid
from feedback.judges.limits import Limits
from feedback.judges.whole import Judged, judge_pass
from feedback.placing import Placed, found_at, not_found, outside, placed
from feedback.session import PassOver
from feedback.start import find_start
from listener.notes import NoteEvent
from routines.lick import Lick

if TYPE_CHECKING:
    from listener.ear import EarSettings
    from listener.expecting import Expectation
    from listener.files import Hearing


def judge_take(
    path: str | PathLike[str],
    lick: Lick,
    limits: Limits,
    *,
    tempo_half_bpm: float | None = None,
    start_sec: float | None = None,
    ear: EarSettings | None = None,
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
    ear : EarSettings, optional
        How the ear is built: one that knows the instrument, say.

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
    listen = partial(_hearing, path, ear=ear)
    place, blind = _laid(path, listen, lick, limits, tempo_half_bpm, start_sec)
    if place is None:
        return not_found(lick, limits, tempo_half_bpm, blind.notes if blind else ())
    return judge_placed(place, listen)


def judge_placed(place: Placed, listen: Callable[[Sequence[Expectation]], Hearing]) -> Judged:
    """Judge a pass of which is known where it lies.

    Parameters
    ----------
    place : Placed
    listen : callable
        Hears the whole take, told what to expect.

    Returns
    -------
    Judged
    """
    informed = listen(expectations(place.grid, place.about.habits))
    about = replace(place.about, deaf=outside(informed.duration_sec), doubtful=informed.doubtful)
    return judge_pass(place.grid, informed.notes, about)


def judge_events(
    events: Sequence[NoteEvent],
    lick: Lick,
    limits: Limits,
    *,
    tempo_half_bpm: float | None = None,
    start_sec: float | None = None,
    duration_sec: float = math.inf,
) -> Judged:
    """Judge one pass in what was heard; as `judge_take`, without the file, and so without listening again.

    Nothing is known of what comes before the take or after its end: notes that are due there are unclear.
    """
    place = placed(events, lick, limits, tempo_half_bpm=tempo_half_bpm, start_sec=start_sec)
    if place is None:
        return not_found(lick, limits, tempo_half_bpm, events)
    return judge_pass(place.grid, events, replace(place.about, deaf=outside(duration_sec)))


def judge_turn(
    path: str | PathLike[str],
    lick: Lick,
    limits: Limits,
    *,
    passes: int,
    tempo_half_bpm: float | None = None,
    ear: EarSettings | None = None,
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
    ear : EarSettings, optional
        As in `judge_take`.

    Returns
    -------
    list of PassOver
        At least one; where no start is found, that one has heard nothing.
    """
    hearing = _hearing(path, ear=ear)
    places: list[Placed] = []
    after_sec = 0.0
    for _ in range(passes):
        start = find_start(
            lick, hearing.notes, limits, tempo_half_bpm=tempo_half_bpm, not_before_sec=after_sec
        )
        if start is None:
            break
        places.append(found_at(lick, limits, start))
        tempo_half_bpm, grid = start.tempo_half_bpm, places[-1].grid
        after_sec = grid.due_sec(lick.end_quarters - lick.pickup_quarters) - 2 * grid.eighth_sec
    if not places:
        return [PassOver(number=1, judged=not_found(lick, limits, tempo_half_bpm, hearing.notes))]
    asked = [one for place in places for one in expectations(place.grid, place.about.habits)]
    informed = _hearing(path, asked, ear=ear)
    found: list[PassOver] = []
    for number, place in enumerate(places, start=1):
        about = replace(
            place.about,
            earlier=tuple(deviation for over in found for deviation in over.judged.played),
            deaf=outside(informed.duration_sec),
            doubtful=informed.doubtful,
        )
        found.append(PassOver(number=number, judged=judge_pass(place.grid, informed.notes, about)))
    return found


def hear_take(
    path: str | PathLike[str],
    lick: Lick,
    limits: Limits,
    *,
    tempo_half_bpm: float | None = None,
    start_sec: float | None = None,
    ear: EarSettings | None = None,
) -> tuple[Hearing, Grid | None]:
    """Hear a recording with a lick in mind; parameters and errors as `judge_take`.

    Returns
    -------
    Hearing, Grid or None
        What was heard, and where the lick lies. None where no pass through it can be found: then nothing was
        expected.
    """
    listen = partial(_hearing, path, ear=ear)
    place, blind = _laid(path, listen, lick, limits, tempo_half_bpm, start_sec)
    if place is None:
        return blind or listen(), None
    return listen(expectations(place.grid, place.about.habits)), place.grid


def _laid(
    path: str | PathLike[str],
    listen: Callable[[], Hearing],
    lick: Lick,
    limits: Limits,
    tempo_half_bpm: float | None,
    start_sec: float | None,
) -> tuple[Placed | None, Hearing | None]:
    """A pass laid on the clock of a file, and what was heard to find it.

    Nothing is listened to where start and tempo are given.
    """
    blind = listen() if tempo_half_bpm is None or start_sec is None else None
    if start_sec is not None:
        duration_sec = _duration_sec(path) if blind is None else blind.duration_sec
        if start_sec >= duration_sec:
            raise Usage(f"start {start_sec:.6g} s: {path} is {duration_sec:.2f} s long")
    events = () if blind is None else blind.notes
    place = placed(events, lick, limits, tempo_half_bpm=tempo_half_bpm, start_sec=start_sec)
    return place, blind


def _hearing(
    path: str | PathLike[str], expected: Sequence[Expectation] = (), *, ear: EarSettings | None = None
) -> Hearing:
    """Listen to a file, blind or told what to expect; only then is a sound library loaded."""
    from listener.ear import Ear
    from listener.files import hear_file

    return hear_file(path, ear=partial(Ear, settings=ear, expectations=expected))


def _duration_sec(path: str | PathLike[str]) -> float:
    """Length of a file, as it says itself."""
    from listener.files import SoundFile

    with SoundFile(path) as sound:
        return sound.frames / sound.sample_rate
