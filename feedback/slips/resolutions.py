"""Mistakes at the resolution: left hanging, upward, in another octave, ahead, late.

The problem: the ear credits a due pitch whoever asked for it, so it is not enough to leave out the written
note. Every other stroke that would count as the fall (verdicts: resolved, ahead, late, octave) is turned into
another tone of its chord.

Conventions: as in `feedback.slips.sevens`.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from feedback.grid import EIGHTH_QUARTERS
from feedback.slips.choose import at_pitch, falls, last_sevens, one_of, other_chord_tone
from feedback.strokes import Draft, Stroke
from routines.errors import BadRoutine
from routines.lick import Ask

_EDGE_QUARTERS = 0.3 * EIGHTH_QUARTERS
_HAIR = 1e-6


def left_hanging(draft: Draft, rng: np.random.Generator) -> Draft:
    """Leave out the resolution, and whatever else of its pitch class would be heard as the fall.

    Of a pinch one voice is not left out, for half a pinch proves nothing: it is another tone of the chord.
    """
    choices = [
        (ask, seven, due) for ask, seven in last_sevens(draft) if (due := _due(draft, ask)) is not None
    ]
    ask, seven, due = one_of(draft, choices, "flat seven with its resolution", rng)
    pinched = draft.pinched_with(due)
    draft = _cleared(draft, ask, seven, lambda midi: (midi - due.midi) % 12 == 0, spare=due)
    return draft.with_stroke(due, _instead(draft, ask, due) if pinched else None)


def upward(draft: Draft, rng: np.random.Generator) -> Draft:
    """Lead the seven up to the next tone of the new chord instead of down to its due one."""
    ask, seven, due = one_of(draft, falls(draft), "flat seven with its resolution", rng)
    above = replace(due, midi=seven.midi)
    up = other_chord_tone(draft, above, lambda midi: midi > seven.midi and (midi - due.midi) % 12 != 0)
    if up is None:
        raise BadRoutine(f"{draft.lick.id}: this mistake does not apply, no chord tone lies above its seven")
    draft = _cleared(draft, ask, seven, lambda midi: (midi - due.midi) % 12 == 0, spare=due)
    return draft.with_stroke(due, up)


def in_another_octave(draft: Draft, rng: np.random.Generator) -> Draft:
    """Play the resolution an octave away, and its own pitch nowhere near."""
    choices = []
    for ask, seven, due in falls(draft):
        octaves = [s for step in (12, -12) if (s := at_pitch(draft, due, due.midi + step)) is not None]
        if octaves:
            choices.append((ask, seven, due, min(octaves, key=lambda s: abs(s.fret - due.fret))))
    ask, seven, due, other = one_of(draft, choices, "resolution that can be played in another octave", rng)
    draft = _cleared(draft, ask, seven, lambda midi: midi == due.midi, spare=due)
    return draft.with_stroke(due, other)


def ahead(draft: Draft, rng: np.random.Generator) -> Draft:
    """Play the resolution an eighth ahead of its place; what stood there gives way.

    Where the seven itself stands there, the resolution comes half way between the two.
    """
    choices = []
    for ask, seven, due in falls(draft):
        room = due.onset_quarters - seven.onset_quarters
        if room >= EIGHTH_QUARTERS - _HAIR:
            early = EIGHTH_QUARTERS if room > 1.5 * EIGHTH_QUARTERS else room / 2
            choices.append((ask, seven, due, early))
    _, seven, due, early = one_of(draft, choices, "resolution an eighth or more after its seven", rng)
    place = due.onset_quarters - early
    moved = replace(due, onset_quarters=place, how="pick", from_midi=None)

    def edit(stroke: Stroke) -> Stroke | None:
        if stroke is due:
            return moved
        near = abs(stroke.onset_quarters - place) < 0.5 * EIGHTH_QUARTERS - _HAIR
        return None if near and stroke is not seven else stroke

    return draft.changed(edit)


def late(draft: Draft, rng: np.random.Generator) -> Draft:
    """Play the resolution two eighths after its place; what stood there gives way."""
    choices = []
    for ask, seven, due in falls(draft):
        place = due.onset_quarters + 2 * EIGHTH_QUARTERS
        if place <= _gone_quarters(draft, ask) - 2 * _EDGE_QUARTERS:
            choices.append((ask, seven, due, place))
    ask, seven, due, place = one_of(draft, choices, "resolution with two eighths of its chord after it", rng)
    draft = _cleared(draft, ask, seven, lambda midi: midi == due.midi, spare=due, until=place)
    moved = replace(due, onset_quarters=place, how="pick", from_midi=None)

    def edit(stroke: Stroke) -> Stroke | None:
        if stroke is due:
            return moved
        near = abs(stroke.onset_quarters - place) < 0.5 * EIGHTH_QUARTERS - _HAIR
        return None if near else stroke

    return draft.changed(edit)


def _due(draft: Draft, ask: Ask) -> Stroke | None:
    return draft.stroke_of(ask.due_note) if ask.how != "colour" else None


def _gone_quarters(draft: Draft, ask: Ask) -> float:
    """Until when a fall counts: a bar after the change, or the next change."""
    change = ask.change_quarters or 0.0
    ends = [s.end_quarters for s in draft.lick.chords if s.start_quarters >= change - _HAIR]
    return min([change + draft.lick.quarters_a_bar, *ends])


def _cleared(
    draft: Draft,
    ask: Ask,
    seven: Stroke,
    counts: Callable[[int], bool],
    *,
    spare: Stroke,
    until: float | None = None,
) -> Draft:
    """Turn every stroke after the seven that would count as the fall into another tone of its chord."""
    place = min(spare.onset_quarters, ask.change_quarters or 0.0)
    begin = place - EIGHTH_QUARTERS * (1.0 + draft.window_eighths(spare)) - _EDGE_QUARTERS
    end = (_gone_quarters(draft, ask) if until is None else until) + _EDGE_QUARTERS
    others = [other for other in draft.lick.sevenths if other.note != ask.note]
    needed = {other.note for other in others} | {other.due_note for other in others}

    def edit(stroke: Stroke) -> Stroke | None:
        near = begin <= stroke.onset_quarters <= end and stroke.onset_quarters > seven.onset_quarters
        if stroke is spare or not near or not counts(stroke.midi):
            return stroke
        if stroke.target in needed - {None}:
            return stroke
        return _instead(draft, ask, stroke)

    return draft.changed(edit)


def _instead(draft: Draft, ask: Ask, stroke: Stroke) -> Stroke | None:
    """Another tone of the chord in a stroke's place; nothing at all where the hand reaches none.

    Not the seven itself, for a seven after the fall is no fall; rather one that the lick asks for somewhere.
    """
    asked = {note.midi for note in draft.lick.notes if draft.lick.neck.open_midi(5) != note.midi}
    apart = {stroke.midi % 12, draft.lick.notes[ask.note].midi % 12}

    def allowed(midi: int) -> bool:
        return midi % 12 not in apart

    return other_chord_tone(draft, stroke, lambda midi: allowed(midi) and midi in asked) or other_chord_tone(
        draft, stroke, allowed
    )
