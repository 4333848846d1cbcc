"""Checks of the flat seven: it is there, it goes where the lick says, the roll does not swallow it."""

from __future__ import annotations

from collections.abc import Iterator

from routines.checker.places import EIGHTH_QUARTERS, chord_at, eighth_of, is_drone, told
from routines.chords import Chord, seven_falls
from routines.lick import Ask, Lick
from routines.pitch import note_name


def sounds(lick: Lick) -> Iterator[str]:
    """A dominant's flat seven sounds at least once, and what is called a seven is its chord's."""
    dominant = False
    for ask in lick.sevenths:
        note = lick.notes[ask.note]
        chord = chord_at(lick, note.onset_quarters)
        if chord is None or chord.symbol != ask.chord or chord.function_of(note.midi) != "seven":
            yield f"{told(lick, note)} is no flat seven of {ask.chord}: accepted is its seven"
        dominant = dominant or (chord is not None and chord.dominant)
    if not dominant:
        yield "no flat seven of a dominant seventh sounds: accepted is one at least"


def goes(lick: Lick) -> Iterator[str]:
    """Each guide tone goes where the lick says; a seven is colour only by mark or for want of a fall."""
    for ask in (*lick.sevenths, *lick.thirds):
        if ask.how == "colour":
            yield from _colour(lick, ask)
        else:
            yield from _due(lick, ask)


def _colour(lick: Lick, ask: Ask) -> Iterator[str]:
    if ask.marked or not ask.next_chord:
        return
    fall = seven_falls(Chord.parse(ask.chord), Chord.parse(ask.next_chord))
    if fall is not None:
        yield (
            f"{told(lick, lick.notes[ask.note])} goes nowhere, though {ask.next_chord} has {fall.to_tone} "
            "for it: accepted is that note within a bar of the change, or the mark x"
        )


def _due(lick: Lick, ask: Ask) -> Iterator[str]:
    note = lick.notes[ask.note]
    if ask.due_note is None or ask.due_midi is None:
        yield f"{told(lick, note)} is asked to go to no note: accepted is one of the lick"
        return
    due = lick.notes[ask.due_note]
    away = due.midi - ask.due_midi
    if due.onset_quarters != ask.place_quarters or due.onset_quarters <= note.onset_quarters:
        yield f"{told(lick, note)} is asked to go to another place than its due note stands at"
    if away % 12 or (away == 0) != (ask.how == "resolve"):
        octave = "" if ask.how == "resolve" else " in another octave"
        yield f"{told(lick, due)} is not what is due: accepted is {note_name(ask.due_midi)}{octave}"


def swallowed(lick: Lick) -> Iterator[str]:
    """No seven stands on a weak inner eighth between two drones."""
    drones = {note.onset_quarters for note in lick.notes if is_drone(note)}
    for ask in lick.sevenths:
        onset = lick.notes[ask.note].onset_quarters
        weak = eighth_of(lick, onset) % 2 == 0
        if weak and {onset - EIGHTH_QUARTERS, onset + EIGHTH_QUARTERS} <= drones:
            yield (
                f"{told(lick, lick.notes[ask.note])} stands between two open fifth strings, where the roll "
                "swallows it: accepted is an odd eighth, or a drone on one side only"
            )
