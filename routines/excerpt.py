"""Some bars of a lick, or its change alone, as a lick of its own that can be played round and round.

The problem: what fails in a lick is mostly one place of it, and to play that place round and round one needs
it as a lick: with a pickup and bars, so that click and tab fit, and with asks, so that it can be judged. A
guide tone whose change or due note lies outside is asked nothing but to sound and land (colour), even where
the loop comes round to the chord that it would fall to: the lick does not write that fall.

Conventions: bars are counted from 1. Rounds of an excerpt lie its bars apart, without gap or overlap. The
change loop begins with the second half of the bar before the change (in 3/4 with its last quarter), which is
its pickup, and ends where the next round's pickup begins; so its bar 1 begins with the change. It is one bar
long; where the asked place of the fall lies too late for that it has more bars, and where the seven lies too
far ahead it has the whole bar before the change instead of a pickup.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from routines.asks import BEAT_QUARTERS, Marks, read_asks
from routines.chords import ChordSpan
from routines.errors import BadRoutine
from routines.fingers import FINGERS
from routines.lick import Ask, Lick, TargetNote

_LEAD_QUARTERS = {4.0: 2.0, 3.0: 1.0}
_FINGER_OF_STRING = {5: "T", 4: "T", 3: "T", 2: "I", 1: "M"}
_BARS = re.compile(r"(\d+)(?:\s*[-–]\s*(\d+))?")
_CHANGE = re.compile(r"change(\d*)")


@dataclass(frozen=True, slots=True, kw_only=True)
class Span:
    """Which part of a lick is meant: some bars, or a change.

    Attributes
    ----------
    first, last : int or None
        Bars, counted from 1; None where a change is meant.
    number : int or None
        Which of `falls`, counted from 1; None for the one that `change` chooses.
    """

    first: int | None = None
    last: int | None = None
    number: int | None = None

    @property
    def is_change(self) -> bool:
        """Whether a change is meant."""
        return self.first is None or self.last is None

    def of(self, lick: Lick) -> Lick:
        """This part of a lick.

        Raises
        ------
        BadRoutine
            As `bars` and `change`.
        """
        if self.first is None or self.last is None:
            return change(lick, self.number)
        return bars(lick, self.first, self.last)


def span_of(text: str, lick: Lick) -> Span:
    """Read which part of a lick is meant.

    Parameters
    ----------
    text : str
        A bar ("2"), bars ("2-3"), "change", or one of several changes ("change2"); case does not matter.
    lick : Lick

    Raises
    ------
    BadRoutine
        If it is none of these, or the lick has no such part; what is accepted is named.
    """
    typed = text.strip().casefold()
    found, changed = _BARS.fullmatch(typed), _CHANGE.fullmatch(typed)
    if found:
        span = Span(first=int(found[1]), last=int(found[2] or found[1]))
    elif changed:
        span = Span(number=int(changed[1]) if changed[1] else None)
    else:
        raise BadRoutine(f"part {text!r} of {lick.id}: accepted: {_accepted(lick)}")
    span.of(lick)
    return span


def bars(lick: Lick, first: int, last: int) -> Lick:
    """Some bars of a lick; `first` becomes bar 1. All bars of a lick are the lick itself.

    The pickup belongs to bar 1. It is left out where the end of `last` has no room for it, as the rounds
    would overlap.

    Parameters
    ----------
    lick : Lick
    first, last : int
        Counted from 1.

    Raises
    ------
    BadRoutine
        If there are no such bars, or there is no note in them.
    """
    if not 1 <= first <= last <= lick.bars:
        raise BadRoutine(f"bars {first}-{last} of {lick.id}: accepted: {_accepted(lick)}")
    begin, end = (first - 1) * lick.quarters_a_bar, last * lick.quarters_a_bar
    latest = max((n.onset_quarters for n in lick.notes if n.onset_quarters < end), default=begin)
    pickup = lick.pickup_quarters if first == 1 and latest < end - lick.pickup_quarters else 0.0
    if last - first + 1 == lick.bars and pickup == lick.pickup_quarters:
        return lick
    which = f"bar {first}" if first == last else f"bars {first}-{last}"
    part = _Part(begin=begin - pickup, end=end, downbeat=begin, bars=last - first + 1, pickup=pickup)
    return part.of(lick, which)


def falls(lick: Lick) -> tuple[float, ...]:
    """Where the changes lie (quarters) at which a flat seven is asked to fall, in the order of the lick."""
    return tuple(sorted({change for change, _ in _falling(lick)}))


def change(lick: Lick, number: int | None = None) -> Lick:
    """The change loop: the last half bar before a change and the first half bar after it.

    Parameters
    ----------
    lick : Lick
    number : int, optional
        Which of `falls`, counted from 1. By default the first in which a seven falls in its own octave,
        one that the lick marks before one that is inferred.

    Raises
    ------
    BadRoutine
        If no seven of the lick is asked to fall, or there are not so many changes.
    """
    falling, places = _falling(lick), falls(lick)
    if not places:
        raise BadRoutine(f"{lick.id} has no change to loop: none of its flat sevens is asked to fall")
    if number is None:
        at, _ = min(falling, key=lambda one: (one[1].how != "resolve", not one[1].marked))
    elif 1 <= number <= len(places):
        at = places[number - 1]
    else:
        raise BadRoutine(f"change {number} of {lick.id}: accepted: {_accepted(lick)}")
    here = [ask for place, ask in falling if place == at]
    seven = max(lick.notes[ask.note].onset_quarters for ask in here)
    due = max(ask.place_quarters or at for ask in here)
    bar = lick.quarters_a_bar
    pickup = _LEAD_QUARTERS[bar] if at - seven <= _LEAD_QUARTERS[bar] else 0.0
    after = next(n for n in range(1, lick.bars + 2) if due < at + n * bar - pickup)
    part = _Part(
        begin=at - (pickup or bar),
        end=at + after * bar - pickup,
        downbeat=at if pickup else at - bar,
        bars=after if pickup else after + 1,
        pickup=pickup,
    )
    return part.of(lick, "the change" if len(places) == 1 else f"change {places.index(at) + 1}")


def _falling(lick: Lick) -> list[tuple[float, Ask]]:
    asked = [ask for ask in lick.sevenths if ask.how != "colour"]
    return [(ask.change_quarters, ask) for ask in asked if ask.change_quarters is not None]


def _accepted(lick: Lick) -> str:
    one = "1" if lick.bars == 1 else f"1 to {lick.bars}, some bars such as 1-2"
    count = len(falls(lick))
    several = f", change1 to change{count}" if count > 1 else ""
    return f"a bar, {one}{', or change' if count else ''}{several}"


@dataclass(frozen=True, slots=True, kw_only=True)
class _Part:
    """A stretch of a lick, from `begin` to `end` (quarters), and the lick that becomes of it."""

    begin: float
    end: float
    downbeat: float
    bars: int
    pickup: float

    def of(self, lick: Lick, which: str) -> Lick:
        kept = [i for i, note in enumerate(lick.notes) if self.begin <= note.onset_quarters < self.end]
        if not kept:
            raise BadRoutine(f"{which} of {lick.id}: no note is there, nothing to play")
        number = {old: new for new, old in enumerate(kept)}
        chords, notes = self._chords(lick), self._notes(lick, kept)
        sevenths = tuple(self._ask(a, number) for a in lick.sevenths if a.note in number)
        marked = [self._ask(a, number) for a in lick.thirds if a.marked and a.note in number]
        places = frozenset(a.place_quarters for a in marked if a.place_quarters is not None)
        # What is asked of thirds is read anew: where the part ends, another may be the last of its chord.
        thirds = read_asks(notes, chords, lick.quarters_a_bar, Marks(third=places)).thirds
        return replace(
            lick,
            title=f"{lick.title}, {which}",
            bars=self.bars,
            pickup_quarters=self.pickup,
            chords=chords,
            notes=_with_core(notes, (*sevenths, *(a for a in thirds if a.marked))),
            sevenths=sevenths,
            thirds=thirds,
        )

    def _notes(self, lick: Lick, kept: list[int]) -> tuple[TargetNote, ...]:
        bar = lick.quarters_a_bar
        last = lick.notes[kept[-1]].onset_quarters
        asked = (*lick.sevenths, *(a for a in lick.thirds if a.marked))
        for_an_ask = {note for a in asked for note in (a.note, a.due_note)}
        found = []
        for index in kept:
            note = self._begun(lick, index)
            onset, lasts = note.onset_quarters - self.downbeat, note.duration_quarters
            if note.onset_quarters == last:
                lasts = self.bars * bar - onset
            core = (note.core and index not in for_an_ask) or onset % BEAT_QUARTERS[bar] == 0
            found.append(replace(note, onset_quarters=onset, duration_quarters=lasts, core=core))
        return tuple(found)

    def _begun(self, lick: Lick, index: int) -> TargetNote:
        """The note, picked where it is a slur out of a note that lies outside."""
        note = lick.notes[index]
        string = [n.onset_quarters for n in lick.notes[:index] if n.string == note.string]
        if note.picked or (string and string[-1] >= self.begin):
            return note
        taken = {n.finger for n in lick.notes if n.onset_quarters == note.onset_quarters}
        usual = _FINGER_OF_STRING[note.string]
        finger = next((f for f in (usual, *FINGERS) if f not in taken), "T")
        return replace(note, technique="pick", from_midi=None, finger=finger)

    def _ask(self, ask: Ask, number: Mapping[int, int]) -> Ask:
        at, place = ask.change_quarters, ask.place_quarters
        followed = at is not None and self.begin <= at < self.end
        moved = replace(
            ask,
            note=number[ask.note],
            next_chord=ask.next_chord if followed else "",
            change_quarters=at - self.downbeat if at is not None and followed else None,
        )
        due = None if ask.due_note is None else number.get(ask.due_note)
        if followed and place is not None and due is not None:
            return replace(moved, place_quarters=place - self.downbeat, due_note=due)
        marked = ask.marked if ask.how == "colour" else followed
        return replace(moved, how="colour", due_midi=None, place_quarters=None, due_note=None, marked=marked)

    def _chords(self, lick: Lick) -> tuple[ChordSpan, ...]:
        """The chords over the whole excerpt: those of a pickup come again where the next round's begins."""
        whole = self.bars * lick.quarters_a_bar
        inside = [s for s in lick.chords if s.start_quarters < self.end and s.end_quarters > self.begin]
        starts = [max(s.start_quarters, self.begin) - self.downbeat for s in inside]
        starts[0] = -self.pickup
        begins = [(start, s.chord) for start, s in zip(starts, inside, strict=True)]
        if self.end - self.downbeat < whole:
            begins += [(start + whole, chord) for start, chord in begins if start < 0]
        begins = [b for k, b in enumerate(begins) if k == 0 or b[1] != begins[k - 1][1]]
        ends = [start for start, _ in begins[1:]] + [whole]
        return tuple(ChordSpan(start, end, chord) for (start, chord), end in zip(begins, ends, strict=True))


def _with_core(notes: Sequence[TargetNote], asks: Iterable[Ask]) -> tuple[TargetNote, ...]:
    """Core notes are also those of what is asked within the part; what was asked beyond it is not."""
    asked = {index for ask in asks for index in (ask.note, ask.due_note)}
    return tuple(replace(note, core=note.core or index in asked) for index, note in enumerate(notes))
