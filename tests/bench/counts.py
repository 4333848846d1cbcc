"""What a row counts besides precision, recall and F: so many of so many, of what was heard in one take.

Conventions: a count is a function of a take, its events and which of them paired with which note; it returns
how many there were, and of how many (notes, or minutes).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from listener.notes import NoteEvent
from tests.bench.note_scores import TOLERANCE_SEC
from tests.bench.takes import Take

PATH_CENTS = 30.0
"""A choke was followed where the end of its path comes within this of where it went."""

Counted = tuple[float, float]
_Counter = Callable[[Take, Sequence[NoteEvent], Mapping[int, int]], Counted]


@dataclass(frozen=True, slots=True, kw_only=True)
class Count:
    """One more figure of a row: its label, what it counts, and whether that is of minutes or of notes."""

    label: str
    of: _Counter
    a_minute: bool = False

    def told(self, counted: Counted) -> str:
        """The figure as text; a dash where there was nothing to count."""
        many, of = counted
        if not of:
            return "-"
        return f"{many / of:.1f}/min" if self.a_minute else f"{many / of:.3f} ({many:g} of {of:g})"


def watched_heard(take: Take, events: Sequence[NoteEvent], pairs: Mapping[int, int]) -> Counted:
    """Watched notes that were heard."""
    watched = [index for index, note in enumerate(take.truth) if note.watched]
    return sum(index in pairs for index in watched), len(watched)


def unwanted_heard(take: Take, events: Sequence[NoteEvent], pairs: Mapping[int, int]) -> Counted:
    """Watched notes with which a pitch was heard that must not be."""
    stray = _stray(events, pairs)
    asked = [note for note in take.truth if note.unwanted_midi is not None]
    spoilt = [
        note
        for note in asked
        if any(
            event.midi == note.unwanted_midi and abs(event.onset_sec - note.onset_sec) <= TOLERANCE_SEC
            for event in stray
        )
    ]
    return len(spoilt), len(asked)


def heard_again(take: Take, events: Sequence[NoteEvent], pairs: Mapping[int, int]) -> Counted:
    """Chokes in which another note was heard, of a pitch that they passed or reached."""
    stray = _stray(events, pairs)
    chokes = [note for note in take.truth if note.rise_cents]
    again = [
        note
        for note in chokes
        if any(
            0 <= event.midi - note.midi <= note.rise_cents / 100.0 + 0.5
            and note.onset_sec - TOLERANCE_SEC <= event.onset_sec < note.ends_sec
            for event in stray
        )
    ]
    return len(again), len(chokes)


def path_followed(take: Take, events: Sequence[NoteEvent], pairs: Mapping[int, int]) -> Counted:
    """Chokes whose event has a path that ends where the choke went."""
    chokes = [index for index, note in enumerate(take.truth) if note.rise_cents]
    followed = 0
    for index in chokes:
        path = events[pairs[index]].path if index in pairs else ()
        followed += bool(path) and abs(path[-1][1] - take.truth[index].rise_cents) <= PATH_CENTS
    return followed, len(chokes)


def false_a_minute(take: Take, events: Sequence[NoteEvent], pairs: Mapping[int, int]) -> Counted:
    """Events that are no note, and minutes of the take."""
    return len(events) - len(pairs), len(take.sound) / take.rate / 60.0


def _stray(events: Sequence[NoteEvent], pairs: Mapping[int, int]) -> list[NoteEvent]:
    paired = set(pairs.values())
    return [event for index, event in enumerate(events) if index not in paired]
