"""Where each flat seven of a lick went, pass by pass.

The problem: "2 of 4 resolved" says neither which seven nor in which pass. Here every seven that the lick asks
for has a row, with its name, where it should go, and what became of it in each pass.

Conventions: names are those of the shape under a capo, with # and b as typed. A seven that another one of its
chord comes after is asked to sound and to land; only the last one that sounded is due to fall.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from feedback.session import PassOver
from feedback.words import RESOLUTION_WORDS, chord_name, target_name, tone_name
from routines.chords import Chord
from routines.lick import Ask, Lick
from routines.outcome import Resolution, SeventhVerdict

Sounding = Literal["landed", "off its place", "swallowed", "not heard", "unclear"]
Fault = Literal["not heard", "swallowed", "left hanging", "in another octave", "late", "off its place", ""]

FAULTS: tuple[Fault, ...] = (
    "not heard",
    "swallowed",
    "left hanging",
    "in another octave",
    "late",
    "off its place",
)
"""What may go wrong with a seven, in the order in which it is said."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Went:
    """What became of one seven in one pass.

    Attributes
    ----------
    number : int
        Of the pass, from 1.
    sounding : Sounding
        What became of the seven itself.
    resolution : Resolution
        Where it went; "none" where it was not due to fall.
    due, as_asked : bool or None
        As in `routines.outcome.SeventhVerdict`.
    """

    number: int
    sounding: Sounding
    resolution: Resolution
    due: bool | None
    as_asked: bool | None

    @property
    def fault(self) -> Fault:
        """What went wrong, the first of `FAULTS`; empty where nothing did, or nothing can be told."""
        if self.sounding in ("not heard", "swallowed"):
            return "not heard" if self.sounding == "not heard" else "swallowed"
        if self.due and self.as_asked is False:
            if self.resolution == "hanging":
                return "left hanging"
            if self.resolution == "octave":
                return "in another octave"
            if self.resolution == "late":
                return "late"
        return "off its place" if self.sounding == "off its place" else ""

    @property
    def words(self) -> str:
        """In a few words: the fault, else where it went."""
        if self.fault:
            return self.fault
        if self.sounding == "unclear" or self.resolution == "unclear":
            return "unclear"
        return RESOLUTION_WORDS[self.resolution] or "landed"


@dataclass(frozen=True, slots=True, kw_only=True)
class SevenRow:
    """One seven that a lick asks for.

    Attributes
    ----------
    index : int
        In `Lick.notes`.
    name : str
        Such as "G over A7".
    to : str
        Where it should go, such as "F#"; empty where nothing is asked but to sound and land.
    last : bool
        Whether no other seven comes between it and that change.
    went : tuple of Went
        By pass.
    """

    index: int
    name: str
    to: str
    last: bool
    went: tuple[Went, ...]

    @property
    def faults(self) -> int:
        """In how many passes something went wrong."""
        return sum(bool(one.fault) for one in self.went)

    @property
    def astray(self) -> tuple[str, ...]:
        """Every fault that came, the most frequent first, of several as frequent in the order of `FAULTS`."""
        counts = {fault: sum(one.fault == fault for one in self.went) for fault in FAULTS}
        return tuple(sorted((f for f in FAULTS if counts[f]), key=lambda f: -counts[f]))

    @property
    def words(self) -> str:
        """What went wrong, all of it; without any fault what became of it mostly."""
        if self.faults:
            return ", ".join(self.astray)
        return Counter(one.words for one in self.went).most_common(1)[0][0] if self.went else ""

    @property
    def how_often(self) -> str:
        """In how many passes that was so: "1 of 4"; empty where it was in all, or there is one."""
        times = self.faults or sum(one.words == self.words for one in self.went)
        return "" if times == len(self.went) else f"{times} of {len(self.went)}"


def whereabouts(lick: Lick, passes: Sequence[PassOver]) -> tuple[SevenRow, ...]:
    """Every seven of a lick and where it went.

    Parameters
    ----------
    lick : Lick
    passes : sequence of PassOver
        Those that were not heard, or not to their end, are left out.

    Returns
    -------
    tuple of SevenRow
        In the order of the lick.
    """
    told = [over for over in passes if over.complete and over.heard]
    last = {ask.change_quarters: ask.note for ask in lick.sevenths}
    return tuple(
        SevenRow(
            index=ask.note,
            name=f"{target_name(lick, ask.note)} over {chord_name(lick, ask.chord)}",
            to=_to(lick, ask),
            last=last[ask.change_quarters] == ask.note,
            went=tuple(_went(over.number, over.judged.outcome.sevenths[place]) for over in told),
        )
        for place, ask in enumerate(lick.sevenths)
    )


def most_telling(rows: Sequence[SevenRow], most: int) -> list[SevenRow]:
    """So many rows at most, in their order: those first where most went wrong, then the last of a chord."""
    first = sorted(range(len(rows)), key=lambda k: (-rows[k].faults, not rows[k].last, k))
    return [rows[k] for k in sorted(first[:most])]


def _to(lick: Lick, ask: Ask) -> str:
    if ask.due_midi is None:
        return ""
    return tone_name(lick, ask.due_midi, Chord.parse(ask.next_chord))


def _went(number: int, verdict: SeventhVerdict) -> Went:
    return Went(
        number=number,
        sounding=_sounding(verdict),
        resolution=verdict.resolution,
        due=verdict.due,
        as_asked=verdict.as_asked,
    )


def _sounding(verdict: SeventhVerdict) -> Sounding:
    if verdict.sounded is None:
        return "unclear"
    if not verdict.sounded:
        return "not heard"
    if verdict.swallowed:
        return "swallowed"
    return "landed" if verdict.landed else "off its place"
