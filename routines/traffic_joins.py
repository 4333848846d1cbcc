"""Bars of roll beside a lick: chosen so that both hands get from one into the other.

The problem: a roll ends on the finger that the lick may begin with, and no finger picks twice within a
quarter at tempo; the chord that is rolled may lie low while the lick begins up the neck.

Conventions: of all rolls, with no stroke left out or with up to two at the side of the lick, the one is
taken that asks least, in this order: no finger picks again within a quarter, no stroke is left out, the
lick does not begin on the string that was just struck, and the usual roll; in the last bar after the lick
that is the forward-reverse, which closes. The shape is the low one where the hand reaches the lick from it,
or has the time; else the best one near the lick. Where the hand leaves a bar of roll for another place on
the neck, what it stops there in the last quarter is left out.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from routines.chords import Chord
from routines.lick import TargetNote
from routines.neck import Neck
from routines.rolling import ROLLS, Roll, drone_fits, plain, roll_bar, shapes, strings_of

_SOON_QUARTERS = 1.0
"""Nearer than that no finger picks twice."""

_SHIFT_QUARTERS = 1.5
"""So much time lets the hand shift anywhere."""

_IN_REACH_FRETS = 4.0
_MOST_LEFT_OUT = 2
_CLOSES = "forward-reverse"

Notes = Sequence[TargetNote]


def rolled(
    neck: Neck,
    chords: Sequence[Chord],
    at_quarters: float,
    quarters_a_bar: float,
    *,
    lick: Notes,
    until_quarters: float,
) -> tuple[TargetNote, ...]:
    """Bars of plain roll before a lick or after it, one over each chord.

    Parameters
    ----------
    neck : Neck
    chords : sequence of Chord
    at_quarters : float
        Where the first bar begins.
    quarters_a_bar : float
        A key of `routines.rolling.ROLLS`.
    lick : sequence of TargetNote
        Where it lies.
    until_quarters : float
        Where the roll ends: a pickup that lies in the last bar takes its place there.

    Raises
    ------
    BadRoutine
        If the neck has no shape of a chord.
    """
    bars: list[Notes] = []
    for number, chord in enumerate(chords):
        begin = at_quarters + number * quarters_a_bar
        last = bars[-1] if bars else ()
        closes = number == len(chords) - 1 and begin > lick[0].onset_quarters
        end = begin + quarters_a_bar
        bar = _Bar(neck=neck, chord=plain(chord), begin=begin, end=end, until=min(end, until_quarters))
        bars.append(bar.beside(lick, last, closes=closes))
        if last:
            bars[-2] = _let_go(last, bars[-1], begin)
    return tuple(note for bar in bars for note in bar)


def _let_go(notes: Notes, following: Notes, end_quarters: float) -> Notes:
    """The bar without what it stops in its last quarter, where the hand has to go out of reach after it."""
    here, there = _middle(notes), _middle(following)
    if here is None or there is None or abs(here - there) <= _IN_REACH_FRETS:
        return notes
    leaves = end_quarters - _SOON_QUARTERS
    return tuple(note for note in notes if note.onset_quarters < leaves or not note.fret)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Bar:
    """A bar, from `begin` to `end` (quarters), that is to be filled with roll over a plain chord `until`."""

    neck: Neck
    chord: Chord
    begin: float
    end: float
    until: float

    def beside(self, lick: Notes, last: Notes, *, closes: bool) -> Notes:
        """The bar of roll that asks least of the right hand; `last` is the bar of roll before it."""
        ahead = self.begin < lick[0].onset_quarters
        rolls = ROLLS[self.end - self.begin]
        names = sorted(rolls, key=lambda name: not (closes and name == _CLOSES))
        others = [*last, *lick]
        near = _fret_near(lick, self.until if ahead else self.begin, ahead)
        found: list[tuple[tuple[int, ...], Notes]] = []
        for usual, name in enumerate(names):
            notes = [note for note in self._filled(rolls[name], near) if note.onset_quarters < self.until]
            for left_out, kept in enumerate(_left_out(notes, ahead)):
                against = (_too_soon(kept, others), left_out, int(_same_string(kept, lick)), usual)
                found.append((against, tuple(kept)))
        return min(found, key=lambda one: one[0])[1]

    def _filled(self, roll: Roll, near: float | None) -> list[TargetNote]:
        drone = drone_fits(self.neck, self.chord)
        fourth = 4 in strings_of(roll, drone=drone)
        shape = shapes(self.neck, self.chord, fourth=fourth)[0]
        middle = _middle_of(shape.stopped)
        if near is not None and middle is not None and abs(middle - near) > _IN_REACH_FRETS:
            shape = shapes(self.neck, self.chord, fourth=fourth, near=near)[0]
        return [
            replace(note, onset_quarters=note.onset_quarters + self.begin)
            for note in roll_bar(roll, self.chord, self.neck, shape)
        ]


def _left_out(notes: Notes, ahead: bool) -> Iterator[Notes]:
    """The bar whole, and without one stroke or more at the side of the lick."""
    for count in range(min(_MOST_LEFT_OUT, max(0, len(notes) - 1)) + 1):
        yield notes[: len(notes) - count] if ahead else notes[count:]


def _too_soon(notes: Notes, others: Notes) -> int:
    """How often a finger would have to pick again within a quarter."""
    return sum(
        note.finger == other.finger and abs(note.onset_quarters - other.onset_quarters) < _SOON_QUARTERS
        for note in notes
        for other in others
        if other.finger
    )


def _same_string(notes: Notes, lick: Notes) -> bool:
    """Whether the last stroke before the lick and its first note are on one string, an eighth apart."""
    if not notes or notes[-1].onset_quarters > lick[0].onset_quarters:
        return False
    first = {note.string for note in lick if note.onset_quarters == lick[0].onset_quarters}
    return lick[0].onset_quarters - notes[-1].onset_quarters < _SOON_QUARTERS and notes[-1].string in first


def _fret_near(lick: Notes, edge_quarters: float, ahead: bool) -> float | None:
    """Where the hand has to be right after the roll, or was right before it; None where it has time."""
    for note in lick if ahead else reversed(lick):
        if abs(note.onset_quarters - edge_quarters) > _SHIFT_QUARTERS:
            return None
        if note.fret:
            return float(note.fret)
    return None


def _middle(notes: Notes) -> float | None:
    return _middle_of(sorted(note.fret for note in notes if note.fret))


def _middle_of(stopped: Sequence[int]) -> float | None:
    """Where the hand stands; None where it stops nothing."""
    return (stopped[0] + stopped[-1]) / 2 if stopped else None
