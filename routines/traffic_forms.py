"""Plain forms of 8 and 16 bars, and where in one of them a lick stands.

The problem: a lick is at home at one place of a tune: its fall at the end, a I7-IV in the middle where the
tune goes to its fourth, a turnaround in the last bars, a kick-off at the beginning, colour where a bar of IV
goes home again.

Conventions: the forms are our own, of the commonest changes there are, and no tune's. They are written in
numbers of the key, one a bar. A lick stands where root and third of each of its chords are those of the form
(the form says 5, the lick V7 or V9); its own chords are played there. The first row in which it fits is
taken, and of several places there the last one, but for a kick-off the first. Rows for a use are looked at
first for licks of that use. A bar of two chords is always one of the lick's: a roll changes at the bar line.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache

from routines.changes import parse_changes
from routines.chords import Chord, ChordSpan
from routines.errors import BadRoutine
from routines.lick import Lick, Use
from routines.rolling import plain

BARS = (8, 16)
"""How many bars a form may have."""


_SPLIT_IN_HALVES = ("2/2",)
"""Meters whose bars have two chords at most; a waltz fits rows of one chord a bar only."""

_OTHER_HALF = "1 4 1 1 1 4 1 5"
_OTHER_HALF_MINOR = "1m 1m 4m 1m 1m 4m 1m 5"
_AFTER_A_KICK_OFF = "1 4 1 1 1 4 5 1"


@dataclass(frozen=True, slots=True, kw_only=True)
class _Row:
    """A form of 8 bars, which is also the half of one of 16 in which the lick stands.

    Attributes
    ----------
    eight : str
    other : str
        The other half of 16.
    use : Use
        What it is for; empty for any.
    at : tuple of int
        Bars, counted from 1, at which the lick may begin, the best first, then also in the first half of 16;
        empty for any bar, the last one first.
    """

    eight: str
    other: str = _OTHER_HALF
    use: Use = ""
    at: tuple[int, ...] = ()

    def text(self, bars: int) -> str:
        if bars == BARS[0]:
            return self.eight
        return f"{self.eight} {self.other}" if self.at else f"{self.other} {self.eight}"


def _kick_off(eight: str, *at: int) -> _Row:
    return _Row(eight=eight, other=_AFTER_A_KICK_OFF, use="kick-off", at=at)


def _minor(eight: str) -> _Row:
    return _Row(eight=eight, other=_OTHER_HALF_MINOR)


_ROWS = (
    _kick_off("1 1 4 1 1 4 5 1", 1),
    _kick_off("1 4 1 5 1 4 5 1", 1, 4),
    _Row(eight="1 4 1 1 1 4 1 5", use="turnaround"),
    _Row(eight="1 4 1 1 4 1 5 1"),
    _Row(eight="1 1 4 1 1 4 5 1"),
    _Row(eight="1 5 1 1 4 4 5 1"),
    _Row(eight="1 1 4 4 5 5 1 1"),
    _Row(eight="1 4 1 1 1 1 5 1"),
    _Row(eight="1 1 4 1 4 5 1 1"),
    _Row(eight="1 1 1 4 1 5 5 1"),
    _Row(eight="1 1 4 1 1 2 5 1"),
    _Row(eight="1 1 4 1 2 5 1 1"),
    _Row(eight="1 1 2 2 5 5 1 1"),
    _Row(eight="1 4 1 3 6 2 5 1"),
    _Row(eight="1 1 6 6 2 2 5 1"),
    _Row(eight="1 1 7 3 6 2 5 1"),
    _Row(eight="1 1 3 6m 4 1 5 1"),
    _Row(eight="1 1 3 3 6m 6m 5 1"),
    _Row(eight="1 1 6 2m 5 5 1 1"),
    _Row(eight="1 1 b7 1 4 1 5 1"),
    _minor("1m 1m 4m 1m 1m 1m 5 1m"),
    _minor("1m 1m 4m 4m 5 5 1m 1m"),
    _Row(eight="1 4 1 1 1 4 5 (5 1)"),
    _Row(eight="1 1 4 1 1 1 (5 1) 1"),
    _Row(eight="1 1 4 1 1 1 (4 5) 1"),
    _Row(eight="1 1 4 1 1 1 (2 5) 1"),
    _Row(eight="1 1 4 1 (1 6) (2 5) 1 1"),
    _Row(eight="1 1 5 (1 4) 4 1 5 1"),
    _Row(eight="1 4 1 5 (1 4) 1 5 1"),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Stand:
    """Where a lick stands in a form: the plain chords of the bars before it and after it."""

    before: tuple[Chord, ...]
    after: tuple[Chord, ...]


def stand(lick: Lick, bars: int) -> Stand:
    """Find the place of a lick in a form.

    Parameters
    ----------
    lick : Lick
    bars : int
        One of `BARS`.

    Raises
    ------
    BadRoutine
        If there is no form of so many bars, or none in which the lick's chords have a place.
    """
    if bars not in BARS:
        raise BadRoutine(f"no form of {bars} bars: accepted are {' and '.join(map(str, BARS))}")
    for row in _rows(lick.use):
        text = row.text(bars)
        if "(" in text and lick.meter not in _SPLIT_IN_HALVES:
            continue
        form = _form(text, _tonic(lick), lick.meter)
        last = bars - lick.bars
        for at in [bar - 1 for bar in row.at] or range(last, -1, -1):
            if at <= last and _fits(lick, form, at):
                return Stand(
                    before=_chords(form, 0, at, lick), after=_chords(form, at + lick.bars, bars, lick)
                )
    changes = " ".join(span.symbol or "N.C." for span in lick.chords)
    raise BadRoutine(
        f"{lick.id} fits no form of {bars} bars in {lick.key}: its chords are {changes} over "
        f"{lick.bars} bars; between bars of plain roll it can be played"
    )


def stands(lick: Lick, bars: int) -> bool:
    """Whether `stand` finds a place for the lick."""
    try:
        stand(lick, bars)
    except BadRoutine:
        return False
    return True


def _rows(use: Use) -> Iterator[_Row]:
    """The rows in the order in which they are tried."""
    for wanted in (use, "") if use else ("",):
        yield from (row for row in _ROWS if row.use == wanted)


@lru_cache(maxsize=1024)
def _form(text: str, key: str, meter: str) -> tuple[ChordSpan, ...]:
    return parse_changes(text, key=key, meter=meter)


def _tonic(lick: Lick) -> str:
    return str(Chord.parse(lick.key).root)


def _fits(lick: Lick, form: Sequence[ChordSpan], at: int) -> bool:
    """Whether every bar outside the lick has one chord, and all chords agree under it."""
    shift, end = at * lick.quarters_a_bar, (at + lick.bars) * lick.quarters_a_bar
    if any(
        span.start_quarters % lick.quarters_a_bar and not shift < span.start_quarters < end for span in form
    ):
        return False
    return all(
        _agree(mine.chord, theirs.chord)
        for mine in lick.chords
        for theirs in form
        if max(mine.start_quarters, 0.0) + shift < theirs.end_quarters
        and mine.end_quarters + shift > theirs.start_quarters
        and mine.end_quarters > 0
    )


def _agree(mine: Chord | None, theirs: Chord | None) -> bool:
    """Whether the chord of a lick may stand for the plain one of a form; where none is played, any may."""
    if mine is None or theirs is None:
        return True
    mine = plain(mine)
    return (mine.root.pitch_class, mine.kind) == (theirs.root.pitch_class, theirs.kind)


def _chords(form: Sequence[ChordSpan], first: int, end: int, lick: Lick) -> tuple[Chord, ...]:
    """The chord of each bar from `first` to before `end`, from 0."""
    bar = lick.quarters_a_bar
    found = []
    for number in range(first, end):
        spans = [s for s in form if s.start_quarters <= number * bar < s.end_quarters]
        found += [span.chord for span in spans if span.chord is not None]
    return tuple(found)
