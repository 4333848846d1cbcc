"""The softer rules of a good lick: what a teacher would say, and a composer may have a reason against."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from routines.checker.places import eighth_of, is_drone, last_seven, onsets_after_the_fall, told
from routines.lick import SLURS, Lick

AFTER_LEAST, AFTER_MOST = 3, 7
"""Onsets after the last resolution."""

_EARLY_QUARTERS = 2.0
_DRONES_A_BAR = 2
_CLIMB = ("root", "third", "fifth", "seven")
_THUMBS_IN_A_ROW = 4
_RUBS_ABOVE = ("third", "fifth")


def named(lick: Lick) -> Iterator[str]:
    """A seventh chord is named by its root or third in its first half bar."""
    for span in lick.chords:
        if span.chord is None or not span.chord.dominant:
            continue
        early = min(span.end_quarters, span.start_quarters + _EARLY_QUARTERS)
        naming = {
            span.chord.function_of(note.midi)
            for note in lick.notes
            if span.start_quarters <= note.onset_quarters < early
        }
        if not naming & {"root", "third"}:
            root, third = span.chord.root, span.chord.tone("third")
            yield f"{span.symbol} is not named early: {root} or {third} in its first half bar would say it"


def after_the_fall(lick: Lick) -> Iterator[str]:
    """Three to seven onsets follow the last resolution."""
    after = onsets_after_the_fall(lick)
    if after is not None and not AFTER_LEAST <= after <= AFTER_MOST:
        onsets = "onset" if after == 1 else "onsets"
        yield (f"{after} {onsets} after the last resolution: {AFTER_LEAST} to {AFTER_MOST} close a lick well")


def thin_drones(lick: Lick) -> Iterator[str]:
    """The drone is thin over a chord with a tone a half step below it: g over D."""
    for span in lick.chords:
        tones = dict(span.chord.tones) if span.chord is not None else {}
        rubs = {tones[name].pitch_class for name in _RUBS_ABOVE if name in tones}
        drones = [
            note
            for note in lick.notes
            if span.start_quarters <= note.onset_quarters < span.end_quarters
            and is_drone(note)
            and (note.midi - 1) % 12 in rubs
        ]
        bars = max(1.0, (span.end_quarters - span.start_quarters) / lick.quarters_a_bar)
        if len(drones) > _DRONES_A_BAR * bars:
            yield (
                f"{len(drones)} drones over {span.symbol} rub on a tone a half step below: "
                f"{_DRONES_A_BAR} a bar are plenty"
            )


def slurs_on_the_beat(lick: Lick) -> Iterator[str]:
    """Slurs start on odd eighths, but for a pull-off or slide from the last eighth into a downbeat."""
    for note in lick.notes:
        if note.technique not in SLURS or note.picked:
            continue
        before = [
            other.onset_quarters
            for other in lick.notes
            if other.string == note.string and other.onset_quarters < note.onset_quarters
        ]
        into_the_bar = note.technique in ("pull", "slide") and eighth_of(lick, note.onset_quarters) == 1.0
        if before and eighth_of(lick, max(before)) % 2 == 0.0 and not into_the_bar:
            yield f"{told(lick, note)}: the slur starts on an even eighth: slurs sit better on odd ones"


def climbs(lick: Lick) -> Iterator[str]:
    """No straight climb root, third, fifth, seven."""
    for first in range(len(lick.notes) - len(_CLIMB) + 1):
        four = lick.notes[first : first + len(_CLIMB)]
        roles = tuple(note.role for note in four)
        if roles == _CLIMB and all(
            a.midi < b.midi and a.onset_quarters < b.onset_quarters for a, b in pairwise(four)
        ):
            yield f"{told(lick, four[0])} begins a straight climb 1-3-5-7: come to the seven from above"


def rings_on(lick: Lick) -> Iterator[str]:
    """The last seven is stopped before its resolution on another string."""
    ask = last_seven(lick)
    if ask is None or ask.due_note is None or ask.how != "resolve":
        return
    seven, due = lick.notes[ask.note], lick.notes[ask.due_note]
    stopped = any(
        note.string == seven.string and seven.onset_quarters < note.onset_quarters <= due.onset_quarters
        for note in lick.notes
    )
    if due.string != seven.string and not stopped:
        yield f"{told(lick, seven)} may ring on under its resolution on string {due.string}: stop it in time"


def thumbs_alone(lick: Lick) -> Iterator[str]:
    """No line is picked by the thumb alone."""
    strokes = [note for note in lick.notes if note.finger]
    for first in range(len(strokes) - _THUMBS_IN_A_ROW + 1):
        row = strokes[first : first + _THUMBS_IN_A_ROW]
        alone = len({note.onset_quarters for note in row}) == _THUMBS_IN_A_ROW
        if alone and all(note.finger == "T" for note in row):
            yield f"{told(lick, row[0])} begins {_THUMBS_IN_A_ROW} strokes of the thumb alone"
            return
