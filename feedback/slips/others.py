"""Mistakes on the notes around the seven: wrong, left out, added, swapped.

The problem: these must not touch what the judges say of the sevens. Sevens, thirds that lead and their
resolutions are never chosen, nor a pinch (half a pinch proves nothing), nor a note that a slur grows out of.

Conventions: as in `feedback.slips.sevens`. *Foreign* is a pitch outside the chord that is not the open fifth
string's.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from feedback.grid import EIGHTH_QUARTERS
from feedback.slips.choose import chord_at, guide_targets, one_of
from feedback.slips.sevens import Slip
from feedback.strokes import TOGETHER_QUARTERS, Draft, Stroke
from routines.errors import BadRoutine

_ADDED_DB = -1.0
_ADDED_FRETS = range(6)
_STRAYS = (1, -1, 2, -2, 3, -3)
_HAIR = 1e-6


def wrong(*, core: bool) -> Slip:
    """Return the mistake that stops one core note, or one that is none, at a wrong fret nearby."""

    def slip(draft: Draft, rng: np.random.Generator) -> Draft:
        choices = []
        for stroke in _alone(draft, core=core):
            other = _misfretted(draft, stroke)
            if other is not None:
                choices.append((stroke, other))
        return draft.with_stroke(*one_of(draft, choices, _what(core), rng))

    return slip


def left_out(*, core: bool) -> Slip:
    """Return the mistake that leaves out one core note, or one that is none."""

    def slip(draft: Draft, rng: np.random.Generator) -> Draft:
        return draft.with_stroke(one_of(draft, list(_alone(draft, core=core)), _what(core), rng), None)

    return slip


def put_in(*, foreign: bool, before_core: bool) -> Slip:
    """Return the mistake that adds a note half way between two.

    Parameters
    ----------
    foreign : bool
        Whether it is foreign to the chord, or one of its tones.
    before_core : bool
        Whether it comes right before a core note, or before another one.
    """

    def slip(draft: Draft, rng: np.random.Generator) -> Draft:
        guides = guide_targets(draft)
        choices = []
        for before, after in _gaps(draft):
            if after.target is None or {before.target, after.target} & guides:
                continue
            if draft.lick.notes[after.target].core != before_core:
                continue
            added = _between(draft, before, after, foreign)
            if added is not None:
                choices.append(added)
        what = "gap before a core note" if before_core else "gap between two notes outside the core"
        return draft.added(one_of(draft, choices, what, rng))

    return slip


def swapped(draft: Draft, rng: np.random.Generator) -> Draft:
    """Play two neighbouring notes in each other's place."""
    loose = {id(s) for core in (False, True) for s in _alone(draft, core=core)}
    choices = [
        (first, second)
        for first, second in _gaps(draft)
        if id(first) in loose
        and id(second) in loose
        and first.midi != second.midi
        and second.onset_quarters - first.onset_quarters <= EIGHTH_QUARTERS + _HAIR
    ]
    first, second = one_of(
        draft, choices, "pair of different neighbouring notes outside the guide tones", rng
    )
    draft = draft.with_stroke(first, _in_place_of(first, second))
    return draft.with_stroke(second, _in_place_of(second, first))


def _what(core: bool) -> str:
    return f"single picked note {'of' if core else 'outside'} the core, apart from its guide tones,"


def _alone(draft: Draft, *, core: bool) -> Iterator[Stroke]:
    """Strokes that a mistake may befall without touching another: see the module's docstring."""
    guides = guide_targets(draft)
    for place, stroke in enumerate(draft.strokes):
        if stroke.target is None or stroke.target in guides or stroke.how != "pick":
            continue
        after = next((s for s in draft.strokes[place + 1 :] if s.string == stroke.string), None)
        grown = after is not None and not after.picked
        if draft.lick.notes[stroke.target].core == core and not grown and not draft.pinched_with(stroke):
            yield stroke


def _gaps(draft: Draft) -> Iterator[tuple[Stroke, Stroke]]:
    """Neighbouring strokes at least an eighth apart, neither of them pinched."""
    for before, after in zip(draft.strokes, draft.strokes[1:], strict=False):
        apart = after.onset_quarters - before.onset_quarters
        pinched = draft.pinched_with(before) or draft.pinched_with(after)
        if apart >= EIGHTH_QUARTERS - _HAIR and not pinched:
            yield before, after


def _foreign(draft: Draft, midi: int, quarters: float) -> bool:
    chord = chord_at(draft, quarters)
    return chord is not None and chord.function_of(midi) is None and midi != draft.lick.neck.open_midi(5)


def _asked_near(draft: Draft, quarters: float) -> set[int]:
    """Pitches that the lick asks for within two eighths: played here, they might pass for those."""
    reach = 2 * EIGHTH_QUARTERS + TOGETHER_QUARTERS
    return {n.midi for n in draft.lick.notes if abs(n.onset_quarters - quarters) <= reach}


def _misfretted(draft: Draft, stroke: Stroke) -> Stroke | None:
    """The stroke at the nearest fret of its string that is foreign and asked for nowhere near."""
    asked = _asked_near(draft, stroke.onset_quarters)
    for step in _STRAYS:
        try:
            midi = draft.lick.neck.midi(stroke.string, stroke.fret + step)
        except BadRoutine:
            continue
        if midi not in asked and _foreign(draft, midi, stroke.onset_quarters):
            return replace(stroke, midi=midi, fret=stroke.fret + step)
    return None


def _between(draft: Draft, before: Stroke, after: Stroke, foreign: bool) -> Stroke | None:
    """A note half way between two strokes, on a string that neither uses."""
    quarters = (before.onset_quarters + after.onset_quarters) / 2
    asked = _asked_near(draft, quarters)
    guides = {draft.lick.notes[index].midi % 12 for index in guide_targets(draft)}
    chord = chord_at(draft, quarters)
    for string in {1, 2, 3, 4} - {before.string, after.string}:
        for fret in _ADDED_FRETS:
            midi = draft.lick.neck.midi(string, fret)
            fits = _foreign(draft, midi, quarters) == foreign and (foreign or midi % 12 not in guides)
            if chord is not None and fits and midi not in asked:
                return Stroke(
                    target=None,
                    onset_quarters=quarters,
                    offset_ms=(before.offset_ms + after.offset_ms) / 2,
                    midi=midi,
                    string=string,
                    fret=fret,
                    how="pick",
                    from_midi=None,
                    level_db=_ADDED_DB,
                )
    return None


def _in_place_of(stroke: Stroke, other: Stroke) -> Stroke:
    """A stroke that keeps its time and level and takes the other's place on the neck."""
    return replace(stroke, midi=other.midi, string=other.string, fret=other.fret)
