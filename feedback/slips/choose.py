"""Which note a mistake befalls, and where another pitch lies for the hand: shared by all mistakes.

Conventions: a mistake that a lick has no place for raises BadRoutine with one line that names the lick.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import TypeVar

import numpy as np

from feedback.strokes import Draft, Stroke
from routines.chords import Chord
from routines.errors import BadRoutine
from routines.lick import Ask
from routines.neck import Place

_T = TypeVar("_T")

REACH_HALF_STEPS = 9
"""How far from the asked pitch a hand strays to another tone of the chord."""


def one_of(draft: Draft, choices: Sequence[_T], what: str, rng: np.random.Generator) -> _T:
    """Return one of the choices, all equally likely.

    Parameters
    ----------
    draft : Draft
    choices : sequence
    what : str
        What they are, in a player's words, for the error.
    rng : numpy.random.Generator

    Raises
    ------
    BadRoutine
        If there is none.
    """
    if not choices:
        raise BadRoutine(f"{draft.lick.id}: this mistake does not apply, the lick has no {what}")
    return choices[int(rng.integers(len(choices)))]


def guide_targets(draft: Draft) -> set[int]:
    """Return the targets that are sevens, thirds that lead, or their resolutions."""
    asks = (*draft.lick.sevenths, *draft.lick.thirds)
    return {ask.note for ask in asks} | {ask.due_note for ask in asks if ask.due_note is not None}


def last_sevens(draft: Draft) -> list[tuple[Ask, Stroke]]:
    """Return the last seven before each change that is still played; one of colour only where no other is.

    Parameters
    ----------
    draft : Draft

    Returns
    -------
    list of (Ask, Stroke)
        What the lick asks of it, and its stroke.
    """
    last: dict[float | None, tuple[Ask, Stroke]] = {}
    for ask in draft.lick.sevenths:
        stroke = draft.stroke_of(ask.note)
        if stroke is not None:
            last[ask.change_quarters if ask.how != "colour" else None] = (ask, stroke)
    return [pair for change, pair in last.items() if change is not None] or list(last.values())


def falls(draft: Draft) -> list[tuple[Ask, Stroke, Stroke]]:
    """Return each last seven that is to fall in its own octave, where its resolution is still played, too.

    Parameters
    ----------
    draft : Draft

    Returns
    -------
    list of (Ask, Stroke, Stroke)
        What the lick asks of the seven, its stroke, and that of its resolution.
    """
    found = []
    for ask, seven in last_sevens(draft):
        due = draft.stroke_of(ask.due_note)
        if ask.how == "resolve" and due is not None and due.midi == ask.due_midi:
            found.append((ask, seven, due))
    return found


def chord_at(draft: Draft, quarters: float) -> Chord | None:
    """Return the chord of a place in the lick; None outside it and where none is played."""
    spans = draft.lick.chords
    return next((s.chord for s in spans if s.start_quarters <= quarters < s.end_quarters), None)


def at_pitch(draft: Draft, stroke: Stroke, midi: int) -> Stroke | None:
    """Return a stroke moved to another pitch: on its string if it can be, else where the hand is near.

    Parameters
    ----------
    draft : Draft
    stroke : Stroke
    midi : int

    Returns
    -------
    Stroke or None
        None where no free string has the pitch. Picked, unless it was slurred and stays on its string.
    """
    busy = {other.string for other in draft.pinched_with(stroke)}
    places = [place for place in draft.lick.neck.places(midi) if place.string not in busy]
    if not places:
        return None

    def away(place: Place) -> tuple[bool, int]:
        return place.string != stroke.string, abs(place.fret - stroke.fret)

    place = min(places, key=away)
    slurred = not stroke.picked and place.string == stroke.string
    return replace(
        stroke,
        midi=midi,
        string=place.string,
        fret=place.fret,
        how=stroke.how if slurred else "pick",
        from_midi=None,
    )


def other_chord_tone(draft: Draft, stroke: Stroke, allowed: Callable[[int], bool]) -> Stroke | None:
    """Return a stroke moved to the nearest other tone of its chord.

    Parameters
    ----------
    draft : Draft
    stroke : Stroke
    allowed : callable
        From a MIDI pitch to whether it may be taken.

    Returns
    -------
    Stroke or None
        None where the hand reaches no such tone.
    """
    chord = chord_at(draft, stroke.onset_quarters)
    steps = range(1, REACH_HALF_STEPS + 1)
    for midi in (stroke.midi + sign * step for step in steps for sign in (1, -1)):
        if chord is not None and chord.function_of(midi) is not None and allowed(midi):
            moved = at_pitch(draft, stroke, midi)
            if moved is not None:
                return moved
    return None
