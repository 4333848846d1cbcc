"""Checks of what is written: bars and pickup, chord spans, and that each note lies where its pitch does."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from routines.checker.places import EIGHTH_QUARTERS, bar_of, told, where
from routines.errors import BadRoutine
from routines.lick import Lick

_CHANGES_QUARTERS = {4.0: 2.0, 3.0: 1.0}
"""Quarters a bar to quarters between the beats on which a chord may change."""


def bars(lick: Lick) -> Iterator[str]:
    """Every bar has a note, and every note lies within the lick."""
    for note in lick.notes:
        if not -lick.pickup_quarters <= note.onset_quarters < lick.end_quarters:
            yield (
                f"{told(lick, note)} lies outside the lick: accepted is from "
                f"{where(lick, -lick.pickup_quarters)} to the end of bar {lick.bars}"
            )
    sounding = {bar_of(lick, note.onset_quarters) for note in lick.notes}
    for bar in range(1, lick.bars + 1):
        if bar not in sounding:
            yield f"bar {bar} has no note: accepted is one at least"


def pickup(lick: Lick) -> Iterator[str]:
    """The pickup is as long as it is said to be: it begins with a note."""
    first = min(note.onset_quarters for note in lick.notes)
    if lick.pickup_quarters and first > -lick.pickup_quarters:
        said, found = (quarters / EIGHTH_QUARTERS for quarters in (lick.pickup_quarters, max(0.0, -first)))
        yield f"the pickup is said to have {said:g} eighths, its notes take {found:g}: accepted is the same"


def chords(lick: Lick) -> Iterator[str]:
    """Chord spans cover the lick without a gap, and begin on beats."""
    edges = [(span.start_quarters, span.end_quarters) for span in lick.chords]
    if not edges or edges[0][0] != -lick.pickup_quarters or edges[-1][1] != lick.end_quarters:
        yield "the chords do not cover the lick: accepted is a chord (or N.C.) from its beginning to its end"
    for (_, end), (start, _) in pairwise(edges):
        if start != end:
            yield f"{where(lick, end)}: a gap or an overlap before the next chord: accepted is none"
    beat = _CHANGES_QUARTERS[lick.quarters_a_bar]
    for span in lick.chords[1:]:
        if span.start_quarters % beat:
            yield (
                f"{where(lick, span.start_quarters)}: {span.symbol or 'N.C.'} begins off the beat: accepted "
                f"is every {'half note' if beat == 2.0 else 'quarter'}"
            )


def pitches(lick: Lick) -> Iterator[str]:
    """Each note lies on the neck, above nut, capo and spike, and sounds there as it says.

    So none is below the lowest string either.
    """
    for note in lick.notes:
        try:
            sounds = lick.neck.midi(note.string, note.fret)
        except BadRoutine as error:
            yield f"{told(lick, note)}: {error}"
            continue
        stopped = note.from_midi if note.technique == "choke" else note.midi
        if stopped != sounds:
            yield f"{told(lick, note)} says MIDI {stopped}: accepted is {sounds}, which lies there"


def fifth_string(lick: Lick) -> Iterator[str]:
    """The fifth string is not stopped where a peg under a capo moves its frets."""
    if not lick.neck.capo or lick.neck.fifth_string.how != "peg":
        return
    for note in lick.notes:
        if note.string == 5 and note.fret:
            yield (
                f"{told(lick, note)}: under capo {lick.neck.capo} a fifth string tuned by its peg is stopped "
                "where the shape does not have it: accepted is the open string, or a spike"
            )
