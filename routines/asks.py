"""What a lick asks of its guide tones: what each note is, where sevens and thirds are to go, what is core.

The problem: a tab says which notes, not what they are for. Over D7-G the C is the flat seven, it falls a
half step to B, and the B that it falls to is one written note among several. A judge needs that note named
beforehand.

Conventions: pitches and chords are as they sound. A role is the function of the pitch over the chord of the
moment; an open fifth string is the drone and belongs to no voice, unless the lick marks it. Where a guide
tone is asked to go:

1. to the note that the lick marks after it, up to the end of the next chord; else, of the notes at the
   pitch due,
2. the one on the downbeat of the next chord; else
3. the first within one bar after the change and before the next change; else
4. the last one up to an eighth before the change and after the last guide tone of its chord; else
5. the first as in 2 and 3 whose pitch is due in another octave; else
6. nowhere: it is colour. So it is where the lick says so, where the chords give it nowhere to go, where no
   chord follows, and where more than a bar lies between the last one and the change.

A third that leads nowhere is not asked about at all.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from types import MappingProxyType
from typing import Literal

from routines.chords import Chord, ChordSpan, Tendency, seven_falls, third_moves
from routines.lick import Ask, How, Lick, Role, TargetNote

_EIGHTH_QUARTERS = 0.5
BEAT_QUARTERS = {4.0: 2.0, 3.0: 3.0}
"""Quarters a bar to quarters between core beats: half notes in cut time, downbeats in waltz time."""

_TENDENCIES: Mapping[str, Callable[[Chord, Chord | None], Tendency | None]] = MappingProxyType(
    {"seven": seven_falls, "third": third_moves}
)
_ROLES: Mapping[str, Role] = MappingProxyType(
    {"root": "root", "third": "third", "fifth": "fifth", "seven": "seven"}
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Marks:
    """Onsets (in quarters) of what the text of a lick marks.

    Attributes
    ----------
    core : frozenset of float
        Notes that a clean pass needs.
    resolve, third : frozenset of float
        Where a flat seven, and a leading third, is asked to go.
    fifth_seven : frozenset of float
        Where the open fifth string counts as the flat seven.
    colour : frozenset of float
        Flat sevens of which nothing is asked.
    """

    core: frozenset[float] = frozenset()
    resolve: frozenset[float] = frozenset()
    third: frozenset[float] = frozenset()
    fifth_seven: frozenset[float] = frozenset()
    colour: frozenset[float] = frozenset()


NO_MARKS = Marks()
"""A lick that leaves all to be inferred."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """Notes with role and core filled in, and what is asked of their guide tones (`routines.lick.Ask`)."""

    notes: tuple[TargetNote, ...]
    sevenths: tuple[Ask, ...]
    thirds: tuple[Ask, ...]


def read_asks(
    notes: Sequence[TargetNote],
    chords: Sequence[ChordSpan],
    quarters_a_bar: float,
    marks: Marks = NO_MARKS,
) -> Asked:
    """Find the roles, the asks and the core notes of a lick.

    Parameters
    ----------
    notes : sequence of TargetNote
        By onset; their role and core are not looked at.
    chords : sequence of ChordSpan
        In order, without gaps, over all notes; no two neighbours alike.
    quarters_a_bar : float
        4 or 3.
    marks : Marks
    """
    spans = [_span_of(note, chords) for note in notes]
    with_roles = [
        replace(note, role=_role(note, chords[span].chord, marks))
        for note, span in zip(notes, spans, strict=True)
    ]
    score = _Score(with_roles, spans, chords, quarters_a_bar)
    sevenths = score.asks("seven", marks.resolve, marks.colour)
    thirds = [ask for ask in score.asks("third", marks.third, frozenset()) if ask.how != "colour"]
    core = {ask.note for ask in sevenths} | {ask.due_note for ask in sevenths}
    core |= {index for ask in thirds if ask.marked for index in (ask.note, ask.due_note)}
    beat = BEAT_QUARTERS[quarters_a_bar]
    final = [
        replace(
            note, core=index in core or note.onset_quarters in marks.core or note.onset_quarters % beat == 0
        )
        for index, note in enumerate(with_roles)
    ]
    return Asked(notes=tuple(final), sevenths=tuple(sevenths), thirds=tuple(thirds))


@lru_cache(maxsize=256)
def marks_of(lick: Lick) -> Marks:
    """Return the marks without which a lick would be read as another.

    A place is marked as core only where all of its notes are: a mark counts for all of them.
    """
    asked = [ask for ask in lick.sevenths if ask.marked]
    marks = Marks(
        resolve=frozenset(ask.place_quarters for ask in asked if ask.place_quarters is not None),
        third=frozenset(
            ask.place_quarters for ask in lick.thirds if ask.marked and ask.place_quarters is not None
        ),
        fifth_seven=frozenset(
            note.onset_quarters
            for note in lick.notes
            if (note.role, note.string, note.fret) == ("seven", 5, 0)
        ),
        colour=frozenset(lick.notes[ask.note].onset_quarters for ask in asked if ask.how == "colour"),
    )
    inferred = read_asks(lick.notes, lick.chords, lick.quarters_a_bar, marks).notes
    return replace(marks, core=_core_places(lick.notes) - _core_places(inferred))


def _core_places(notes: Sequence[TargetNote]) -> frozenset[float]:
    """Where every note is core."""
    others = {note.onset_quarters for note in notes if not note.core}
    return frozenset(note.onset_quarters for note in notes) - others


def _span_of(note: TargetNote, chords: Sequence[ChordSpan]) -> int:
    return bisect_right([span.start_quarters for span in chords], note.onset_quarters) - 1


def _role(note: TargetNote, chord: Chord | None, marks: Marks) -> Role:
    function = chord.function_of(note.midi) if chord is not None else None
    role = _ROLES.get(function or "", "passing")
    if note.string == 5 and note.fret == 0:
        return "seven" if role == "seven" and note.onset_quarters in marks.fifth_seven else "drone"
    return role


class _Score:
    """Notes under their chords, searched for where the guide tones go."""

    def __init__(
        self,
        notes: Sequence[TargetNote],
        spans: Sequence[int],
        chords: Sequence[ChordSpan],
        quarters_a_bar: float,
    ) -> None:
        self._notes, self._spans, self._chords, self._bar = notes, spans, chords, quarters_a_bar

    def asks(
        self, voice: Literal["seven", "third"], marked: frozenset[float], colour: frozenset[float]
    ) -> list[Ask]:
        """Return an ask for every note of a voice."""
        return [
            self._ask(index, _TENDENCIES[voice], marked, colour)
            for index, note in enumerate(self._notes)
            if note.role == voice
        ]

    def _ask(
        self,
        index: int,
        tendency_of: Callable[[Chord, Chord | None], Tendency | None],
        marked: frozenset[float],
        colour: frozenset[float],
    ) -> Ask:
        note, span = self._notes[index], self._chords[self._spans[index]]
        following = self._chords[self._spans[index] + 1 :][:1]
        next_chord = following[0].chord if following else None
        nothing = Ask(
            note=index,
            chord=span.symbol,
            next_chord=next_chord.symbol if next_chord else "",
            change_quarters=following[0].start_quarters if next_chord else None,
            how="colour",
            due_midi=None,
            place_quarters=None,
            due_note=None,
            marked=note.onset_quarters in colour,
        )
        tendency = tendency_of(span.chord, next_chord) if span.chord else None
        if tendency is None or nothing.marked:
            return nothing
        due_midi = note.midi + tendency.half_steps
        found = self._marked(index, due_midi, marked)
        by_mark = found is not None
        found = found if found is not None else self._inferred(index, due_midi)
        if found is None:
            return nothing
        how: How = "resolve" if self._notes[found].midi == due_midi else "octave"
        return replace(
            nothing,
            how=how,
            due_midi=due_midi,
            place_quarters=self._notes[found].onset_quarters,
            due_note=found,
            marked=by_mark,
        )

    def _marked(self, index: int, due_midi: int, marked: frozenset[float]) -> int | None:
        """Return the note at the first marked place after the guide tone, its own octave before another."""
        onset = self._notes[index].onset_quarters
        end = self._chords[self._spans[index] + 1].end_quarters
        places = sorted(place for place in marked if onset < place < end)
        for place in places:
            there = [
                i
                for i, note in enumerate(self._notes)
                if note.onset_quarters == place and (note.midi - due_midi) % 12 == 0
            ]
            if there:
                return min(there, key=lambda i: abs(self._notes[i].midi - due_midi))
        return None

    def _inferred(self, index: int, due_midi: int) -> int | None:
        span = self._spans[index]
        role = self._notes[index].role
        last = max(
            note.onset_quarters
            for note, where in zip(self._notes, self._spans, strict=True)
            if where == span and note.role == role
        )
        change, end = self._chords[span + 1].start_quarters, self._chords[span + 1].end_quarters
        if change - last > self._bar:
            return None
        # A drone belongs to no voice: only a mark makes it the due note.
        voiced = [(i, note) for i, note in enumerate(self._notes) if note.role != "drone"]
        after = [
            (i, note) for i, note in voiced if change <= note.onset_quarters < min(change + self._bar, end)
        ]
        ahead = [
            (i, note)
            for i, note in reversed(voiced)
            if last < note.onset_quarters and change - _EIGHTH_QUARTERS <= note.onset_quarters < change
        ]
        own = [i for i, note in (*after, *ahead) if note.midi == due_midi]
        octave = [i for i, note in after if (note.midi - due_midi) % 12 == 0]
        return next(iter(own + octave), None)
