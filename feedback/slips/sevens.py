"""Mistakes on the flat seven itself: left out, another pitch, out of time, too soft.

Conventions: each takes a draft and a generator, and returns the draft with the mistake made, so that by the
judges' definitions just the named thing is true of what is then played. Offsets are in eighths (`e`).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from statistics import median

import numpy as np

from feedback.grid import EIGHTH_QUARTERS
from feedback.judges.sevenths import neighbours
from feedback.slips.choose import at_pitch, last_sevens, one_of
from feedback.strokes import Draft, Stroke
from routines.errors import BadRoutine
from routines.lick import Ask

Slip = Callable[[Draft, np.random.Generator], Draft]
"""A mistake: from a draft to the draft with the mistake made."""

SWALLOWED_DB, SWALLOWED_SLURRED_DB = 12.0, 16.0
"""How far under its neighbours a swallowed seven is played: well beyond what the judges ask for."""

_CLEAR_EIGHTHS = 0.3
_SLIDE_MOST_EIGHTHS = 0.4
_ALONG_EIGHTHS = 0.75
_BEYOND_WINDOW_MS = 10.0
_STEADY_MS = 3.0
_PINCH_LEAD_MS = 12.0
_HAIR = 1e-6


def missing(draft: Draft, rng: np.random.Generator) -> Draft:
    """Leave out the last seven before a change (and what is pinched with it: half a pinch proves nothing)."""
    _, seven = one_of(draft, last_sevens(draft), "flat seven", rng)
    gone = {id(seven), *(id(voice) for voice in draft.pinched_with(seven))}
    return draft.changed(lambda stroke: None if id(stroke) in gone else stroke)


def all_missing(draft: Draft, rng: np.random.Generator) -> Draft:
    """Leave out every seven of the lick."""
    sevens = [s for ask in draft.lick.sevenths if (s := draft.stroke_of(ask.note)) is not None]
    one_of(draft, sevens, "flat seven", rng)
    gone = {id(s) for seven in sevens for s in (seven, *draft.pinched_with(seven))}
    return draft.changed(lambda stroke: None if id(stroke) in gone else stroke)


def replaced_by(half_steps: int) -> Slip:
    """Return the mistake that plays another pitch in the place of the last seven before a change.

    Parameters
    ----------
    half_steps : int
        Signed distance from the seven.
    """

    def slip(draft: Draft, rng: np.random.Generator) -> Draft:
        choices = []
        for _, seven in last_sevens(draft):
            midi = seven.midi + half_steps
            other = at_pitch(draft, seven, midi)
            # A choke that stays where it begins is a choke that was not made: another mistake.
            if other is not None and seven.from_midi != midi:
                choices.append((seven, other))
        return draft.with_stroke(*one_of(draft, choices, "flat seven that can be missed by so much", rng))

    return slip


def moved_by(eighths: float) -> Slip:
    """Return the mistake that moves the last seven before a change, early (negative) or late.

    It is moved at least beyond the window of such a note, and a pinch as one. What follows on its string is
    pushed just clear of it; what came before it there goes along.

    Parameters
    ----------
    eighths : float
        Above -1 and below 1.
    """

    def slip(draft: Draft, rng: np.random.Generator) -> Draft:
        choices = [seven for _, seven in last_sevens(draft) if _eighths_after(draft, seven) > eighths]
        seven = one_of(draft, choices, "flat seven with room after it", rng)
        least = draft.window_eighths(seven) + _BEYOND_WINDOW_MS / draft.eighth_ms
        by = float(np.copysign(max(abs(eighths), least), eighths)) * EIGHTH_QUARTERS
        place = seven.onset_quarters + by
        pinch = [seven, *draft.pinched_with(seven)]

        def edit(stroke: Stroke) -> Stroke:
            if any(stroke is voice for voice in pinch):
                return replace(stroke, onset_quarters=place, offset_ms=_steady(stroke.offset_ms))
            if stroke.string != seven.string:
                return stroke
            before = stroke.onset_quarters < seven.onset_quarters
            passed = before != (stroke.onset_quarters < place)
            clear = _clear_quarters(draft, stroke)
            if not passed and abs(stroke.onset_quarters - place) >= clear:
                return stroke
            return replace(stroke, onset_quarters=stroke.onset_quarters + by if before else place + clear)

        return draft.changed(edit)

    return slip


def _clear_quarters(draft: Draft, stroke: Stroke) -> float:
    """How far what follows on a string must come after a seven: a slide leaves before its own place."""
    slides = stroke.how == "slide" and not stroke.picked
    takes = min(draft.hand.slide_ms[1] / draft.eighth_ms, _SLIDE_MOST_EIGHTHS) if slides else 0.0
    return (_CLEAR_EIGHTHS + takes) * EIGHTH_QUARTERS


def late_full(draft: Draft, rng: np.random.Generator) -> Draft:
    """Play the last seven before a change (a pinch as one) a whole eighth late.

    Not where a slur leads on from it. A due note on the same string is pushed along, as far as it can be and
    still be that note. Another note of that string gives way. On another string the two are one pinch, in
    which the seven speaks first, so that the due note still comes after it.
    """
    whole = 1.0 - _HAIR
    choices = [
        (ask, seven)
        for ask, seven in last_sevens(draft)
        if _eighths_after(draft, seven) >= whole
        and not _slurred_on(draft, ask, seven)
        and (ask.change_quarters is None or _eighths(ask.change_quarters - seven.onset_quarters) >= whole)
    ]
    ask, seven = one_of(draft, choices, "flat seven with an eighth after it", rng)
    place = seven.onset_quarters + EIGHTH_QUARTERS
    due = draft.stroke_of(ask.due_note)
    pinch = [seven, *draft.pinched_with(seven)]
    there = [s.offset_ms for s in draft.strokes if abs(_eighths(s.onset_quarters - place)) < _HAIR]
    first_ms = _steady(min(there, default=0.0)) - _PINCH_LEAD_MS

    def edit(stroke: Stroke) -> Stroke | None:
        if any(stroke is voice for voice in pinch):
            return replace(stroke, onset_quarters=place, offset_ms=first_ms)
        if stroke.string != seven.string or abs(_eighths(stroke.onset_quarters - place)) >= _ALONG_EIGHTHS:
            return stroke
        if stroke is not due:
            return None
        return replace(stroke, onset_quarters=place + _ALONG_EIGHTHS * EIGHTH_QUARTERS)

    return draft.changed(edit)


def _slurred_on(draft: Draft, ask: Ask, seven: Stroke) -> bool:
    """Whether a slur leads from a seven to another note than its due one: late, it would be its end."""
    due = draft.stroke_of(ask.due_note)
    after = [s for s in draft.strokes if s.string == seven.string and s.onset_quarters > seven.onset_quarters]
    following = min(after, key=lambda s: s.onset_quarters, default=None)
    return following is not None and not following.picked and following is not due


def swallowed(draft: Draft, rng: np.random.Generator) -> Draft:
    """Play the last seven before a change so softly that the roll covers it."""
    _, seven = one_of(draft, last_sevens(draft), "flat seven", rng)
    here = draft.strokes.index(seven)
    picked = [k for k, stroke in enumerate(draft.strokes) if stroke.picked and k != here]
    around = [draft.strokes[k].level_db for k in neighbours(here, picked)]
    if not around:
        raise BadRoutine(f"{draft.lick.id}: this mistake does not apply, nothing else is picked")
    under = SWALLOWED_DB if seven.picked else SWALLOWED_SLURRED_DB
    return draft.with_stroke(seven, replace(seven, level_db=median(around) - under))


def _eighths(quarters: float) -> float:
    return quarters / EIGHTH_QUARTERS


def _eighths_after(draft: Draft, stroke: Stroke) -> float:
    """How many eighths the hand has until it plays the next thing."""
    later = [s.onset_quarters for s in draft.strokes if s.onset_quarters > stroke.onset_quarters + _HAIR]
    return _eighths(min(later) - stroke.onset_quarters) if later else float("inf")


def _steady(offset_ms: float) -> float:
    """A hand's own unevenness, held small enough not to undo a mistake."""
    return min(max(offset_ms, -_STEADY_MS), _STEADY_MS)
