"""Mistakes and habits of timing: hurried, bounced, leaning, running away, uneven.

Conventions: as in `feedback.slips.sevens`. A habit is a setting of the hand; a mistake moves strokes.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from feedback.grid import EIGHTH_QUARTERS
from feedback.slips.choose import one_of
from feedback.slips.sevens import Slip
from feedback.strokes import TOGETHER_QUARTERS, Draft, Stroke
from routines.errors import BadRoutine

BOUNCE = 0.57
LEAN_MS = 22.0
RUNS_AWAY_EIGHTHS = 0.5
"""How far ahead a hand is at the end of a lick with which it runs away."""

_HURRY_WINDOWS = 0.75
_NOTES_TO_HURRIED = 4
_STEADIER = 0.4
_UNEVEN_MS = (22.0, 32.0)
_UNEVEN_MOST_EIGHTHS = 0.3


def hurried_change(draft: Draft, rng: np.random.Generator) -> Draft:
    """Play the resolution and the two notes before it early, steadily, and all within the window still."""
    dues = [ask.due_note for ask in draft.lick.sevenths if ask.due_note is not None]
    dues = [due for due in dues if draft.stroke_of(due) is not None]
    due = one_of(draft, dues, "flat seven with its resolution", rng)
    places = sorted({note.onset_quarters for note in draft.lick.notes})
    last = places.index(draft.lick.notes[due].onset_quarters)
    hurried = places[max(0, last - 2) : last + 1]
    if len(places) < _NOTES_TO_HURRIED * len(hurried):
        raise BadRoutine(f"{draft.lick.id}: this mistake does not apply, too few notes say what is early")

    def edit(stroke: Stroke) -> Stroke:
        if stroke.target is None:
            return stroke
        written = draft.lick.notes[stroke.target].onset_quarters
        if not any(abs(written - place) <= TOGETHER_QUARTERS for place in hurried):
            return stroke
        # The window of a picked note: it is what hurry is measured by, whatever the stroke.
        window = draft.window_eighths(replace(stroke, how="pick")) * EIGHTH_QUARTERS
        early = stroke.onset_quarters - _HURRY_WINDOWS * window
        return replace(stroke, onset_quarters=early, offset_ms=_STEADIER * stroke.offset_ms)

    return draft.changed(edit)


def leaning(lean_ms: float) -> Slip:
    """Return the habit of playing everything so far behind the click, or (negative) ahead of it."""

    def slip(draft: Draft, rng: np.random.Generator) -> Draft:
        return replace(draft, hand=replace(draft.hand, lean_ms=lean_ms))

    return slip


def bounced(draft: Draft, rng: np.random.Generator) -> Draft:
    """Play the even eighths late, each as late as the others."""
    return replace(draft, hand=replace(draft.hand, bounce=BOUNCE))


def running_away(draft: Draft, rng: np.random.Generator) -> Draft:
    """Play faster than asked, by half an eighth over the whole lick."""
    eighths = (draft.lick.end_quarters + draft.lick.pickup_quarters) / EIGHTH_QUARTERS
    return replace(draft, hand=replace(draft.hand, drift_percent=100.0 * RUNS_AWAY_EIGHTHS / eighths))


def uneven(draft: Draft, rng: np.random.Generator) -> Draft:
    """Put every stroke (a pinch as one) well beside its place, as often and as far early as late.

    So it is among odd eighths and among even ones, among single notes, pinches and slurs: else it would be a
    lean or a bounce, which are no unevenness. Where that does not come out even, one stroke keeps its place.
    """
    most_ms = _UNEVEN_MOST_EIGHTHS * draft.eighth_ms
    alike: dict[tuple[int, bool, bool], set[float]] = {}
    for place, voices in _by_place(draft).items():
        odd = round(place / EIGHTH_QUARTERS) % 2
        alike.setdefault((odd, voices[0].picked, len(voices) > 1), set()).add(place)
    beside: dict[float, float] = {}
    for places in alike.values():
        half, left = divmod(len(places), 2)
        ms = np.minimum(rng.uniform(*_UNEVEN_MS, half), most_ms)
        mirrored = rng.permutation([*ms, *-ms, *[0.0] * left])
        beside |= dict(zip(sorted(places), map(float, mirrored), strict=True))
    return draft.changed(lambda stroke: replace(stroke, offset_ms=stroke.offset_ms + beside[_place(stroke)]))


def _by_place(draft: Draft) -> dict[float, list[Stroke]]:
    found: dict[float, list[Stroke]] = {}
    for stroke in draft.strokes:
        found.setdefault(_place(stroke), []).append(stroke)
    return found


def _place(stroke: Stroke) -> float:
    return round(stroke.onset_quarters, 6)
