"""How a check names a place in a lick, and which seven of a lick is its last.

Conventions: times are in quarters from the downbeat of bar 1. Bars are counted from 1, the pickup is bar 0;
eighths are counted from 1 in their bar, in the pickup from its own beginning.
"""

from __future__ import annotations

from routines.chords import Chord
from routines.lick import Ask, Lick, TargetNote
from routines.pitch import note_name

EIGHTH_QUARTERS = 0.5


def bar_of(lick: Lick, onset_quarters: float) -> int:
    """Return the bar of an onset: 1 and up, 0 (or less) before bar 1."""
    return int(onset_quarters // lick.quarters_a_bar) + 1


def eighth_of(lick: Lick, onset_quarters: float) -> float:
    """Return the place in its bar, 1 on its bar line; in a pickup as if that were the end of a full bar."""
    return onset_quarters % lick.quarters_a_bar / EIGHTH_QUARTERS + 1.0


def where(lick: Lick, onset_quarters: float) -> str:
    """Name an onset as a player counts it: ``bar 1, eighth 3`` or ``the pickup, eighth 2``."""
    bar = bar_of(lick, onset_quarters)
    if bar > 0:
        return f"bar {bar}, eighth {eighth_of(lick, onset_quarters):g}"
    return f"the pickup, eighth {(onset_quarters + lick.pickup_quarters) / EIGHTH_QUARTERS + 1.0:g}"


def told(lick: Lick, note: TargetNote) -> str:
    """Name a note by its place, its string and fret, and its pitch: ``bar 1, eighth 3: 2/1 (C4)``."""
    chord = chord_at(lick, note.onset_quarters)
    function = chord.function_of(note.midi) if chord is not None else None
    hint = chord.tone(function) if chord is not None and function is not None else None
    return f"{where(lick, note.onset_quarters)}: {note.string}/{note.fret} ({note_name(note.midi, hint)})"


def chord_at(lick: Lick, onset_quarters: float) -> Chord | None:
    """Return the chord that an onset stands under; None where there is none."""
    for span in lick.chords:
        if span.start_quarters <= onset_quarters < span.end_quarters:
            return span.chord
    return None


def is_drone(note: TargetNote) -> bool:
    """Whether it is the open fifth string as a drone, not marked as the seven."""
    return note.string == 5 and note.fret == 0 and note.role != "seven"


def last_seven(lick: Lick) -> Ask | None:
    """Return the last seven that is asked to go somewhere; where none is, the last one; None without any."""
    asked = [ask for ask in lick.sevenths if ask.how != "colour"] or list(lick.sevenths)
    return max(asked, key=lambda ask: lick.notes[ask.note].onset_quarters, default=None)


def onsets_after_the_fall(lick: Lick) -> int | None:
    """Return how many onsets follow the last resolution; None where the lick asks for none."""
    places = [ask.place_quarters for ask in lick.sevenths if ask.place_quarters is not None]
    if not places:
        return None
    return len({note.onset_quarters for note in lick.notes if note.onset_quarters > max(places)})
