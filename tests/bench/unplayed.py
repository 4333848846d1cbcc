"""Passes in which something that the lick asks for was not played: left out, or another pitch in its place.

The problem: an ear that knows the lick may hear what it expects. So a lick is played faithfully
(`feedback.performance`), then one or two of its notes are taken away or moved to another pitch, and the
strings ring as they would: what sounded before rings on under a note that was left out, and the string on
which the other pitch was struck is stopped there.

Conventions: a note that a slur grows out of is never chosen, nor one whose pitch is played by another string
near its place, nor a pitch that is. Two slips of one pass lie at least two eighths apart. A pitch is moved on
its own string where the neck has it there, else to the nearest fret of a string that nobody strikes within
half an eighth; a hammered or pulled note stays on its string and goes the same way. Everything follows from
what was planned.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from feedback.candidates import last_sevens
from feedback.grid import Grid
from feedback.judges.limits import Limits
from feedback.performance import perform
from feedback.played import Performance, PlayedNote, rung
from feedback.strokes import TOGETHER_QUARTERS, HandSettings
from routines.errors import BadRoutine
from routines.lick import Lick, TargetNote, quarter_sec
from routines.neck import Place

LEFT_OUT, ONE_OF_A_PINCH, DRONE = "left out", "one of a pinch", "drone instead"
REPLACED: Mapping[str, tuple[int, ...]] = {
    "half step off": (-1, 1),
    "whole step off": (-2, 2),
    "octave off": (-12, 12),
    DRONE: (),
    ONE_OF_A_PINCH: (),
}
"""Kinds of replacement to half steps. Of a pinch of two, one string is struck and the other is silent."""

KINDS = (LEFT_OUT, *REPLACED)
LEAD_SEC = 0.5
"""How long a take lasts before the lick begins."""

LAST_EIGHTHS = 1.2
"""So many eighths after its time a left out last seven may be heard by an ear that expects it."""

_APART_QUARTERS = 1.0
_HAIR = 1e-9
_MOVED = ("pick", "hammer", "pull")


@dataclass(frozen=True, slots=True, kw_only=True)
class Slip:
    """What was done to one note.

    Attributes
    ----------
    kind : str
        Of `KINDS`.
    target : int
        Index in `Lick.notes`.
    due_sec : float
    until_sec : float
        So late it may still be that note: half an eighth; a last seven, which is expected even after the next
        stroke, `LAST_EIGHTHS`.
    asked : tuple of int
        Pitches that the ear is told to expect of it.
    played : PlayedNote or None
        What was played in its place.
    """

    kind: str
    target: int
    due_sec: float
    until_sec: float
    asked: tuple[int, ...]
    played: PlayedNote | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Altered:
    """A pass with slips.

    Attributes
    ----------
    performance : Performance
        `mistakes` names their kinds.
    grid : Grid
        Of the lick as it is written.
    slips : tuple of Slip
    """

    performance: Performance
    grid: Grid
    slips: tuple[Slip, ...]


def altered(lick: Lick, *, tempo_half_bpm: float, seed: int, kinds: Sequence[str]) -> Altered:
    """Play a lick with slips.

    Parameters
    ----------
    lick : Lick
    tempo_half_bpm : float
    seed : int
        0 or more.
    kinds : sequence of str
        Of `KINDS`, one for each slip.

    Returns
    -------
    Altered

    Raises
    ------
    BadRoutine
        If the lick has no place for them.
    """
    start_sec = LEAD_SEC + lick.pickup_quarters * quarter_sec(tempo_half_bpm)
    faithful = perform(lick, tempo_half_bpm=tempo_half_bpm, seed=seed, start_sec=start_sec)
    grid = Grid(lick=lick, tempo_half_bpm=tempo_half_bpm, start_sec=start_sec, limits=Limits())
    hand = _Hand(grid=grid, notes=by_target(lick, faithful))
    rng = np.random.default_rng([seed, len(kinds)])
    slips: list[Slip] = []
    for kind in kinds:
        far = [k for k in hand.notes if all(_apart(lick, k, slip.target) for slip in slips)]
        choices = [(target, new) for target in far for new in hand.choices(kind, target)]
        if not choices:
            raise BadRoutine(f"{lick.id}: no place for a note {kind}")
        target, new = choices[int(rng.integers(len(choices)))]
        slips.append(hand.slip(kind, target, new))
        hand.notes = {k: note for k, note in ({**hand.notes, target: new}).items() if note is not None}
    return Altered(
        performance=replace(faithful, notes=_ringing(faithful, hand, slips, rng), mistakes=tuple(kinds)),
        grid=grid,
        slips=tuple(slips),
    )


def by_target(lick: Lick, faithful: Performance) -> dict[int, PlayedNote]:
    """Which note of a faithful pass plays which target: on each string they come in the same order."""
    found: dict[int, PlayedNote] = {}
    for string in range(1, 6):
        targets = [k for k, target in enumerate(lick.notes) if target.string == string]
        line = sorted((n for n in faithful.notes if n.string == string), key=lambda n: n.onset_sec)
        found.update(zip(targets, line, strict=True))
    return dict(sorted(found.items()))


def pinches(lick: Lick) -> int:
    """How many pinches of two a lick has."""
    struck = [_together(lick, target.onset_quarters) for target in lick.notes]
    return struck.count(2) // 2


@dataclass(slots=True, kw_only=True)
class _Hand:
    """The notes as they are played by now, by target."""

    grid: Grid
    notes: dict[int, PlayedNote]

    def slip(self, kind: str, target: int, new: PlayedNote | None) -> Slip:
        due_sec = self.grid.due_sec(self._lick.notes[target].onset_quarters)
        last = target in last_sevens(self._lick.sevenths)
        return Slip(
            kind=kind,
            target=target,
            due_sec=due_sec,
            until_sec=due_sec + (LAST_EIGHTHS if last else 0.5) * self.grid.eighth_sec,
            asked=self._asked(target),
            played=new,
        )

    def choices(self, kind: str, target: int) -> Iterator[PlayedNote | None]:
        """What may be played in the place of a target; None where nothing."""
        note, slip = self.notes[target], self.slip(kind, target, None)
        others = [other for k, other in self.notes.items() if k != target]
        near = [other for other in others if abs(other.sounds_sec - slip.due_sec) <= self._near_sec]
        if self._grown_out_of(note) or any(_pitches(other) & set(slip.asked) for other in near):
            return
        if kind in (LEFT_OUT, ONE_OF_A_PINCH):
            struck = _together(self._lick, self._lick.notes[target].onset_quarters)
            if struck == (1 if kind == LEFT_OUT else 2):
                yield None
            return
        moved = self._on_the_drone(note) if kind == DRONE else self._moved(note, REPLACED[kind])
        for new in moved if note.how in _MOVED else ():
            if new.midi not in slip.asked and not any(new.midi in _pitches(other) for other in near):
                yield new

    @property
    def _lick(self) -> Lick:
        return self.grid.lick

    @property
    def _near_sec(self) -> float:
        return 0.5 * self.grid.eighth_sec

    def _asked(self, target: int) -> tuple[int, ...]:
        asked: TargetNote = self._lick.notes[target]
        begins = asked.from_midi if asked.picked else None
        return tuple(sorted({asked.midi} if begins is None else {asked.midi, begins}))

    def _grown_out_of(self, note: PlayedNote) -> bool:
        after = self._next(note.string, note.onset_sec)
        return after is not None and not after.picked

    def _next(self, string: int, sec: float) -> PlayedNote | None:
        line = [n for n in self.notes.values() if n.string == string and n.onset_sec > sec + _HAIR]
        return min(line, key=lambda n: n.onset_sec, default=None)

    def _on_the_drone(self, note: PlayedNote) -> Iterator[PlayedNote]:
        if note.picked and (note.string == 5 or self._is_free(5, note.onset_sec)):
            yield replace(note, midi=self._lick.neck.open_midi(5), string=5, fret=0)

    def _moved(self, note: PlayedNote, steps: Sequence[int]) -> Iterator[PlayedNote]:
        """A note moved by so many half steps, where the hand has a place for it."""

        def away(place: Place) -> tuple[bool, int]:
            return place.string != note.string, abs(place.fret - note.fret)

        for midi in (note.midi + step for step in steps):
            if not note.picked and not self._goes_the_same_way(note, midi):
                continue
            places = [
                place
                for place in self._lick.neck.places(midi)
                if place.string == note.string
                or (note.picked and self._is_free(place.string, note.onset_sec))
            ]
            if places:
                place = min(places, key=away)
                yield replace(note, midi=midi, string=place.string, fret=place.fret)

    def _goes_the_same_way(self, note: PlayedNote, midi: int) -> bool:
        line = [n for n in self.notes.values() if n.string == note.string and n.onset_sec < note.onset_sec]
        before = max(line, key=lambda n: n.onset_sec, default=None)
        return before is not None and (midi > before.midi if note.how == "hammer" else midi < before.midi)

    def _is_free(self, string: int, sec: float) -> bool:
        after = self._next(string, sec)
        return (after is None or after.picked) and all(
            abs(n.onset_sec - sec) > self._near_sec for n in self.notes.values() if n.string == string
        )


def _together(lick: Lick, quarters: float) -> int:
    """How many notes the lick asks for at a place."""
    return sum(abs(target.onset_quarters - quarters) <= TOGETHER_QUARTERS for target in lick.notes)


def _pitches(note: PlayedNote) -> set[int]:
    return {note.midi, note.struck_midi}


def _apart(lick: Lick, one: int, other: int) -> bool:
    gap = abs(lick.notes[one].onset_quarters - lick.notes[other].onset_quarters)
    return gap >= _APART_QUARTERS - TOGETHER_QUARTERS


def _ringing(
    faithful: Performance, hand: _Hand, slips: Sequence[Slip], rng: np.random.Generator
) -> tuple[PlayedNote, ...]:
    """The notes, with the strings that the slips are about rung anew."""
    grid, lick = hand.grid, hand.grid.lick
    touched = {lick.notes[slip.target].string for slip in slips}
    touched |= {slip.played.string for slip in slips if slip.played is not None}
    lifts = [
        grid.due_sec(span.start_quarters) + 1e-3 * float(rng.uniform(*HandSettings().lift_ms))
        for before, span in pairwise(lick.chords)
        if span.chord != before.chord
    ]
    anew = rung([note for note in hand.notes.values() if note.string in touched], lifts)
    still = [note for note in faithful.notes if note.string not in touched]
    return tuple(sorted((*anew, *still), key=lambda note: (note.onset_sec, note.midi)))
