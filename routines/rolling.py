"""Bars of plain roll over any chord: what a hand plays when nothing is asked of it.

The problem: a lick is worth little until it can be played out of a roll and back into one. So a bar of roll
is needed over any chord, on any neck: a shape that fingers can hold, low where nothing else is asked, with
the chord's tones under the strings that the roll strikes.

Conventions: plain chords, without a seven. The five rolls are those of the trade, eight eighths a bar, and
two of six eighths for waltzes. The open fifth string is struck where it clashes with nothing: it is not a
half step from a chord tone, and it is not the chord's flat seven, which would turn the plain chord into a
seventh. Where it does, the thumb stays on the third and fourth strings. Of a roll bar only the note on its
downbeat is core: there one hears whether the player is in time and on the right chord; the others of a roll
are a hand's habit, and a slip there says nothing about the lick that stands between.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import product
from types import MappingProxyType

from routines.asks import read_asks
from routines.chords import Chord, ChordSpan
from routines.errors import BadRoutine
from routines.lick import TargetNote
from routines.neck import Neck

EIGHTH_QUARTERS = 0.5

HIGHEST_FRET = 12
"""Highest tab fret of a shape."""

_THUMBED = (3, 4)
_LONG = (4, 3, 2, 1)
_MOST_SPAN_FRETS = 3
_OPEN_MOST_FRET = 5
_LACKS_COST = {"root": 6.0, "third": 8.0, "fifth": 2.0}
_FINGER_COST = 0.5
_SPAN_COST = 0.2
_FRET_COST = 0.5


@dataclass(frozen=True, slots=True, kw_only=True)
class Roll:
    """A roll: one stroke an eighth.

    Attributes
    ----------
    strings : tuple of int
    fingers : str
        As many of T, I, M.
    """

    strings: tuple[int, ...]
    fingers: str


def _roll(strings: str, fingers: str) -> Roll:
    return Roll(strings=tuple(int(string) for string in strings), fingers=fingers)


ROLLS: Mapping[float, Mapping[str, Roll]] = MappingProxyType(
    {
        4.0: MappingProxyType(
            {
                "forward": _roll("32152151", "TIMTIMTM"),
                "forward-reverse": _roll("32151231", "TIMTMITM"),
                "alternating thumb": _roll("32514251", "TITMTITM"),
                "index-led": _roll("21521521", "IMTIMTIM"),
                "backward": _roll("12512512", "MITMITMI"),
            }
        ),
        3.0: MappingProxyType(
            {
                "waltz": _roll("321521", "TIMTIM"),
                "waltz, index last": _roll("312512", "TMITMI"),
                "waltz, index first": _roll("215215", "IMTIMT"),
                "waltz, middle first": _roll("125125", "MITMIT"),
            }
        ),
    }
)
"""Quarters a bar to the rolls that fill it, the usual one first."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Shape:
    """Where the left hand holds a chord.

    Attributes
    ----------
    frets : mapping of int to int
        String to tab fret.
    cost : float
        0 for nothing to hold and no tone lacking; see `shapes`.
    """

    frets: Mapping[int, int]
    cost: float

    @property
    def stopped(self) -> tuple[int, ...]:
        """The frets that fingers hold, lowest first."""
        return tuple(sorted(fret for fret in self.frets.values() if fret))


def plain(chord: Chord) -> Chord:
    """The chord without what stands above its triad: D for D7, Em for Em7, G for Gsus4."""
    third, fifth = (
        chord.function_of(chord.root.pitch_class + 3),
        chord.function_of(chord.root.pitch_class + 7),
    )
    if third == "third":
        return Chord(chord.root, "m" if fifth == "fifth" else "dim")
    return Chord(chord.root)


def drone_fits(neck: Neck, chord: Chord) -> bool:
    """Whether the open fifth string may ring in a plain chord: no half step from it, and not its seven."""
    drone = neck.open_midi(5)
    if chord.function_of(drone) is not None:
        return True
    rubs = any((tone.pitch_class - drone) % 12 in (1, 11) for _, tone in chord.tones)
    return not rubs and (drone - chord.root.pitch_class) % 12 != 10


def strings_of(roll: Roll, *, drone: bool) -> tuple[int, ...]:
    """The strings of a roll; without a drone the thumb goes to the third and the fourth in its place."""
    if drone:
        return roll.strings
    found: list[int] = []
    thumbed = 4
    for string in roll.strings:
        if string in (*_THUMBED, 5):
            other = _THUMBED[0] if thumbed == _THUMBED[1] else _THUMBED[1]
            thumbed = other if string == 5 else string
            found.append(thumbed)
        else:
            found.append(string)
    return tuple(found)


@lru_cache(maxsize=512)
def shapes(neck: Neck, chord: Chord, *, fourth: bool = False, near: float | None = None) -> tuple[Shape, ...]:
    """The shapes of a plain chord on the first three strings, best first.

    Best is: all tones of the triad, few fingers, close together, and low on the neck, or near a place where
    one is asked.

    Parameters
    ----------
    neck : Neck
    chord : Chord
        A triad.
    fourth : bool
        Whether the fourth string is struck as well.
    near : float, optional
        Tab fret where the hand comes from or has to go.

    Raises
    ------
    BadRoutine
        If the neck has no tone of the chord on one of the strings.
    """
    struck = _LONG if fourth else _LONG[1:]
    choices = [
        [
            fret
            for fret in range(min(HIGHEST_FRET, neck.last_fret) + 1)
            if chord.function_of(neck.midi(s, fret))
        ]
        for s in struck
    ]
    found = []
    for frets in product(*choices):
        stopped = [fret for fret in frets if fret]
        if stopped and max(stopped) - min(stopped) > _MOST_SPAN_FRETS:
            continue
        if stopped and 0 in frets and max(stopped) > _OPEN_MOST_FRET:
            continue
        shape = Shape(frets=MappingProxyType(dict(zip(struck, frets, strict=True))), cost=0.0)
        found.append(replace(shape, cost=_cost(neck, chord, shape, near)))
    if not found:
        raise BadRoutine(f"no shape of {chord.symbol} on strings {' '.join(map(str, struck))}")
    return tuple(sorted(found, key=lambda shape: shape.cost))


def _cost(neck: Neck, chord: Chord, shape: Shape, near: float | None) -> float:
    tones = {chord.function_of(neck.midi(string, fret)) for string, fret in shape.frets.items()}
    cost = sum(worth for function, worth in _LACKS_COST.items() if function not in tones)
    stopped = shape.stopped
    if not stopped:
        return cost
    away = stopped[-1] if near is None else abs((stopped[0] + stopped[-1]) / 2 - near)
    # Strings at one fret lie under one finger or two that stand side by side.
    return cost + _FINGER_COST * len(stopped) + _SPAN_COST * (stopped[-1] - stopped[0]) + _FRET_COST * away


def roll_bar(roll: Roll, chord: Chord, neck: Neck, shape: Shape | None = None) -> tuple[TargetNote, ...]:
    """A bar of roll, from its downbeat at 0.

    Parameters
    ----------
    roll : Roll
    chord : Chord
        As it sounds; its `plain` chord is played.
    neck : Neck
    shape : Shape, optional
        Where the hand holds it; the best low one if left out.

    Raises
    ------
    BadRoutine
        As `shapes`.
    """
    chord = plain(chord)
    strings = strings_of(roll, drone=drone_fits(neck, chord))
    shape = shape or shapes(neck, chord, fourth=4 in strings)[0]
    notes = [
        TargetNote(
            onset_quarters=eighth * EIGHTH_QUARTERS,
            duration_quarters=EIGHTH_QUARTERS,
            midi=neck.midi(string, shape.frets.get(string, 0)),
            string=string,
            fret=shape.frets.get(string, 0),
            finger=finger,
        )
        for eighth, (string, finger) in enumerate(zip(strings, roll.fingers, strict=True))
    ]
    long = len(notes) * EIGHTH_QUARTERS
    asked = read_asks(notes, [ChordSpan(0.0, long, chord)], long)
    return tuple(replace(note, core=note.onset_quarters == 0) for note in asked.notes)
