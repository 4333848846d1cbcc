"""Between passes: which string has drifted since the sitting began. Pure; no sound, no clock.

The problem: a string that has slipped by 8 cents is heard by everybody but the one who plays it. The ear says
how far every note is off, but it measures the first 70 ms of a note, among strings that ring on, so one note
is known to some cents only, and the same place of a lick is off by the same few cents in every pass. So
each open-string note is compared with the notes at its own place in the first passes, and what is left is
pooled over a string's places and over passes: the mean of its middle two thirds, and how sure that is. The
ear's own idea of the instrument's tuning follows a string that drifts by its share of the notes; what all
strings seem to have moved alike is therefore taken off, where three or more are played open.

Conventions: cents are those of `listener.notes.NoteEvent`, against the whole instrument, so that a room that
warms up is no drift, but a string that alone stays behind is. Stopped notes are left out, for fingers bend
them. Sharp is positive. Memory does not grow with passes.
"""

from __future__ import annotations

import math
from collections import deque
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from statistics import median

from listener.notes import NoteEvent, Report
from routines.lick import Lick
from routines.outcome import NoteVerdict, PassOutcome
from routines.pitch import note_name

DRIFTED_CENTS = 8.0
"""So far off where it was, a string is named; and again at each further step of so much."""

FIRST_NOTES, FIRST_PASSES = 12, 6
"""A string's first so many open notes say where it was, or those of its first so many passes."""

LATE_NOTES = (6, 16)
"""Its last so many say where it is: a few for what slipped at once, more for what is just over the limit."""

_SURELY_CENTS = 4.0  # it has surely moved by so much
_SURE = 2.5  # standard errors
_NOTE_LEAST_CENTS = 2.0  # a note is known no better
_TRIMMED = 6  # one in so many is left out at each end
_LESS_EFFICIENT = 1.1
_COMMON_STRINGS = 3
_LATEST_NOTES = 2
_ALIKE = 0.5
_SAME_SEC = 0.020
_WAITING_MOST = 2048
_OPEN_FRET = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Drifted:
    """A string that has drifted.

    Attributes
    ----------
    string : int
        5 to 1.
    note : str
        Its open note as it sounds.
    cents : float
        How far it has moved since the sitting began; positive is sharp.
    unsure_cents : float
        Within so much nineteen times in twenty.
    """

    string: int
    note: str
    cents: float
    unsure_cents: float

    @property
    def text(self) -> str:
        """One sentence for the player."""
        way = "sharp" if self.cents > 0 else "flat"
        return f"string {self.string} ({self.note}) has gone about {abs(self.cents):.0f} cents {way}"


class _String:
    """One string: where its notes were at first at each place of the lick, and how far the last ones are."""

    def __init__(self) -> None:
        self._first: dict[int, list[float]] = {}
        self._late: deque[float] = deque(maxlen=max(LATE_NOTES))
        self._passes = 0
        self.told = 0.0

    def add(self, index: int, cents: float) -> None:
        """Take a note at a place; one at a place that was not heard at first says nothing."""
        if self._passes < FIRST_PASSES and sum(map(len, self._first.values())) < FIRST_NOTES:
            self._first.setdefault(index, []).append(cents)
        elif index in self._first:
            self._late.append(cents - _middle(self._first[index]))

    def by_last(self, notes: int) -> float | None:
        """How far its last notes, so many or what there is, have moved; None of too few to tell."""
        return _middle(list(self._late)[-notes:]) if len(self._late) >= min(LATE_NOTES) else None

    def over(self) -> None:
        """A pass in which it was heard is over."""
        self._passes += 1

    def moved(self, notes: int) -> tuple[float, float] | None:
        """How far the last so many notes have moved, and the standard error; None of too few."""
        if len(self._late) < notes:
            return None
        first = [cents - _middle(some) for some in self._first.values() for cents in some]
        late = list(self._late)
        middle = median(late)
        rests = first + [cents - middle for cents in late]
        spread = max(_NOTE_LEAST_CENTS, 1.48 * median(map(abs, rests)))
        error = _LESS_EFFICIENT * spread * math.sqrt(1.0 / len(first) + 1.0 / notes)
        return _middle(late[-notes:]), error


class StringDrift:
    """Watches the open strings of a lick over the passes of a sitting.

    Parameters
    ----------
    lick : Lick
    """

    def __init__(self, lick: Lick) -> None:
        self._neck = lick.neck
        self._strings: dict[int, _String] = {}
        self._waiting: deque[NoteEvent] = deque(maxlen=_WAITING_MOST)

    def begin(self) -> None:
        """Times begin anew: what was heard so far answers nothing that is to come."""
        self._waiting.clear()

    def feed(self, reports: Sequence[Report]) -> None:
        """Take what an ear said, in the times of the outcomes to come; only settled notes count."""
        self._waiting.extend(said.note for said in reports if said.kind == "settled")

    def over(self, outcome: PassOutcome) -> tuple[Drifted, ...]:
        """Take a pass that is over.

        Parameters
        ----------
        outcome : PassOutcome
            Of the lick; its notes were fed before.

        Returns
        -------
        tuple of Drifted
            What is to be said now, string 5 first; mostly nothing.
        """
        touched = set()
        for verdict in outcome.notes:
            note = self._heard(verdict)
            if note is not None:
                self._strings.setdefault(verdict.string, _String()).add(verdict.index, note.cents)
                touched.add(verdict.string)
        for number in touched:
            self._strings[number].over()
        self._forget(outcome.notes)
        commons = self._commons()
        said = (self._drifted(string, commons) for string in sorted(touched, reverse=True))
        return tuple(one for one in said if one is not None)

    def _heard(self, verdict: NoteVerdict) -> NoteEvent | None:
        """The event of an open-string note that landed."""
        if verdict.verdict != "landed" or verdict.fret != _OPEN_FRET:
            return None
        if verdict.onset_sec is None or verdict.deviation_ms is None:
            return None
        sec = verdict.onset_sec + verdict.deviation_ms / 1e3
        near = [one for one in self._waiting if one.midi == verdict.midi and not one.path]
        found = min(near, key=lambda one: abs(one.onset_sec - sec), default=None)
        return found if found is not None and abs(found.onset_sec - sec) <= _SAME_SEC else None

    def _forget(self, notes: Iterable[NoteVerdict]) -> None:
        """Let go what belongs to this pass; what was heard after it belongs to the next one."""
        ends = max((one.onset_sec + _SAME_SEC for one in notes if one.onset_sec is not None), default=None)
        if ends is None:
            self._waiting.clear()
            return
        kept = [one for one in self._waiting if one.onset_sec > ends]
        self._waiting.clear()
        self._waiting.extend(kept)

    def _commons(self) -> tuple[float, ...]:
        """What all strings seem to have moved alike, by more of their last notes and by fewer; () of too few.

        That is the ear's idea of the whole, which moved. Where it just did, a string that is played seldom
        lags behind: so it is asked for in several ways.
        """
        ways = [self._known(notes) for notes in (_LATEST_NOTES, *LATE_NOTES)]
        return tuple(median(known.values()) for known in ways if len(known) >= _COMMON_STRINGS)

    def _known(self, notes: int) -> dict[int, float]:
        """How far each string has moved of which enough was heard."""
        every = {number: string.by_last(notes) for number, string in self._strings.items()}
        return {number: moved for number, moved in every.items() if moved is not None}

    def _is_doubtful(self, number: int, moved: float) -> bool:
        """Whether another of few strings moved with it, or farther the other way: it may be that one."""
        for other, found in self._known(min(LATE_NOTES)).items():
            if other != number and abs(found) > abs(moved) * (_ALIKE if found * moved > 0.0 else 1.0):
                return True
        return False

    def _drifted(self, number: int, commons: Sequence[float]) -> Drifted | None:
        string = self._strings[number]
        for notes in LATE_NOTES:
            found = string.moved(notes)
            if found is None:
                continue
            error = found[1]
            moved = min((found[0] - common for common in commons or (0.0,)), key=abs)
            if not commons and self._is_doubtful(number, moved):
                continue
            by = abs(moved - string.told)
            if by >= DRIFTED_CENTS and by - _SURE * error >= _SURELY_CENTS:
                string.told = moved
                name = note_name(self._neck.open_midi(number))
                return Drifted(string=number, note=name, cents=moved, unsure_cents=2.0 * error)
        return None


def _middle(values: Sequence[float]) -> float:
    """Mean of the middle of some values."""
    cut = len(values) // _TRIMMED
    kept = sorted(values)[cut : len(values) - cut]
    return sum(kept) / len(kept)
