"""Checks of the fifth string as a drone, and of the room that a lick leaves."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

from routines.asks import BEAT_QUARTERS
from routines.checker.places import chord_at, is_drone, told
from routines.lick import Lick

_MAJOR_THIRD = 4
_BREATH_QUARTERS = 1.0
_BREATH_BARS = 2


def pinched(lick: Lick) -> Iterator[str]:
    """The drone is never pinched with its half-step neighbour: g with F#, g with G#."""
    for one, other in combinations(lick.notes, 2):
        if one.onset_quarters != other.onset_quarters or not (is_drone(one) or is_drone(other)):
            continue
        if (one.midi - other.midi) % 12 in (1, 11):
            drone, neighbour = (one, other) if is_drone(one) else (other, one)
            yield (
                f"{told(lick, drone)} is pinched with its neighbour {neighbour.string}/{neighbour.fret}: "
                + ("accepted is the one or the other")
            )


def clashes(lick: Lick) -> Iterator[str]:
    """The drone stays off a chord whose third lies a half step above it: g off E7."""
    beat = BEAT_QUARTERS[lick.quarters_a_bar]
    for note in lick.notes:
        chord = chord_at(lick, note.onset_quarters)
        third = chord.tone("third") if chord is not None else None
        if chord is None or third is None or not is_drone(note):
            continue
        major = (third.pitch_class - chord.root.pitch_class) % 12 == _MAJOR_THIRD
        # On a beat every note is core: there no mark can be told.
        marked = note.core and note.onset_quarters % beat != 0.0
        if major and (third.pitch_class - note.midi) % 12 == 1 and not marked:
            yield (
                f"{told(lick, note)}: the drone clashes with {third}, the third of {chord.symbol}: "
                "accepted is another string, or the mark * off the beat"
            )


def breathes(lick: Lick) -> Iterator[str]:
    """Any two bars hold a note or a rest of a quarter or longer; the pickup belongs to the first two.

    A lick of one bar breathes before and after it.
    """
    long = [note.onset_quarters for note in lick.notes if note.duration_quarters >= _BREATH_QUARTERS]
    for first in range(1, lick.bars - _BREATH_BARS + 2):
        last = first + _BREATH_BARS - 1
        begin = -lick.pickup_quarters if first == 1 else (first - 1) * lick.quarters_a_bar
        if not any(begin <= onset < last * lick.quarters_a_bar for onset in long):
            yield f"bars {first} to {last} never breathe: accepted is a quarter or longer in each two bars"
