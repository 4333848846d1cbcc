"""A lick in traffic: between bars of plain roll, or once in a plain form of 8 or 16 bars.

The problem: a lick that works by itself often fails where it is needed, as the hands come into it out of a
roll and have to go on after it. So the lick is laid into bars of plain roll and played as a whole.

Conventions: the whole is a lick of its own, with the id and the file of the one inside, so that reports name
that; its title says how it is played. The notes of the lick keep their places on the neck, their fingers,
roles, asks and core flags; only their times and numbers move. Its pickup takes the place of the end of the
bar before it; where it begins the form, of the end of the last bar, as the form goes round. The roll around
it is plain (`routines.rolling`): no seven is asked there, no third leads, and only downbeats are core. How a
bar of roll is chosen is told by `routines.traffic_joins`.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from functools import lru_cache, partial
from types import MappingProxyType

from routines.chords import Chord, ChordSpan, home_of
from routines.errors import BadRoutine
from routines.lick import Ask, Lick, TargetNote
from routines.rolling import plain
from routines.traffic_forms import BARS, stand, stands
from routines.traffic_joins import rolled

__all__ = ["BARS", "WAYS", "around", "between", "goes_round", "in_form", "stands"]


def between(lick: Lick) -> Lick:
    """The lick between bars of plain roll.

    One bar over home before it, and after it one or two over its last chord, so that the whole is an even
    number of bars. Where its last chord is the seventh that wants home, the roll goes home.

    Parameters
    ----------
    lick : Lick

    Raises
    ------
    BadRoutine
        If its neck has no shape of one of these chords.
    """
    after = [_goes_on(lick)] * (1 if lick.bars % 2 == 0 else 2)
    return _laid(lick, [_home(lick)], after, "in traffic")


def in_form(lick: Lick, bars: int = 8) -> Lick:
    """The lick once in a plain form in its key, all other bars plain roll over the form's chords.

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
    where = stand(lick, bars)
    return _laid(lick, where.before, where.after, f"in a form of {bars} bars")


WAYS: Mapping[str, Callable[[Lick], Lick]] = MappingProxyType(
    {"traffic": between, **{f"form {bars}": partial(in_form, bars=bars) for bars in BARS}}
)
"""Name to how a lick is played in traffic."""


def goes_round(way: str) -> bool:
    """Whether it is played round and round without a rest, as a form is."""
    return way.startswith("form")


def around(lick: Lick, way: str) -> Lick:
    """The lick as a row of `WAYS` has it; the lick itself where `way` is empty.

    Raises
    ------
    BadRoutine
        If there is no such row; else as `between` and `in_form`.
    """
    if not way:
        return lick
    if way not in WAYS:
        raise BadRoutine(f"no way {way!r} to play {lick.id}: accepted are {', '.join(WAYS)}")
    return _made(lick, way)


@lru_cache(maxsize=16)
def _made(lick: Lick, way: str) -> Lick:
    return WAYS[way](lick)


def _home(lick: Lick) -> Chord:
    """The plain chord of the lick's key, as it sounds."""
    return plain(Chord.parse(lick.key))


def _goes_on(lick: Lick) -> Chord:
    """What the roll goes on over once the lick is over."""
    last, at_home = lick.chords[-1].chord, _home(lick)
    if last is None:
        return at_home
    wants_home = last.dominant and home_of(last).root.pitch_class == at_home.root.pitch_class
    return at_home if wants_home else plain(last)


def _laid(lick: Lick, before: Sequence[Chord], after: Sequence[Chord], how: str) -> Lick:
    """The lick with a bar of roll over each of these chords before and after it."""
    bar = lick.quarters_a_bar
    shift, bars = len(before) * bar, len(before) + lick.bars + len(after)
    inside = [replace(note, onset_quarters=note.onset_quarters + shift) for note in lick.notes]
    pickup = 0.0 if before else lick.pickup_quarters
    begin, end = shift - lick.pickup_quarters, bars * bar - pickup
    ahead = rolled(lick.neck, before, 0.0, bar, lick=inside, until_quarters=begin)
    behind = rolled(lick.neck, after, (bars - len(after)) * bar, bar, lick=inside, until_quarters=end)
    notes, first = _lasting([*ahead, *inside, *behind], bars * bar), len(ahead)
    return replace(
        lick,
        title=f"{lick.title}, {how}",
        bars=bars,
        pickup_quarters=pickup,
        chords=_spans(lick, before, after),
        notes=notes,
        sevenths=tuple(_moved(ask, first, shift) for ask in lick.sevenths),
        thirds=tuple(_moved(ask, first, shift) for ask in lick.thirds),
    )


def _moved(ask: Ask, first: int, shift: float) -> Ask:
    return replace(
        ask,
        note=ask.note + first,
        change_quarters=None if ask.change_quarters is None else ask.change_quarters + shift,
        place_quarters=None if ask.place_quarters is None else ask.place_quarters + shift,
        due_note=None if ask.due_note is None else ask.due_note + first,
    )


def _lasting(notes: Sequence[TargetNote], end_quarters: float) -> tuple[TargetNote, ...]:
    """The notes, each until the next one begins."""
    onsets = sorted({note.onset_quarters for note in notes})
    until = dict(zip(onsets, [*onsets[1:], end_quarters], strict=True))
    return tuple(
        replace(note, duration_quarters=until[note.onset_quarters] - note.onset_quarters) for note in notes
    )


def _spans(lick: Lick, before: Sequence[Chord], after: Sequence[Chord]) -> tuple[ChordSpan, ...]:
    """The chords over the whole; neighbours that are alike make one span."""
    bar = lick.quarters_a_bar
    shift, close = len(before) * bar, (len(before) + lick.bars) * bar
    begins: list[tuple[float, Chord | None]] = [(number * bar, chord) for number, chord in enumerate(before)]
    begins += [(span.start_quarters + shift, span.chord) for span in lick.chords]
    begins += [(close + number * bar, chord) for number, chord in enumerate(after)]
    begins = [one for k, one in enumerate(begins) if k == 0 or one[1] != begins[k - 1][1]]
    ends = [start for start, _ in begins[1:]] + [close + len(after) * bar]
    return tuple(ChordSpan(start, end, chord) for (start, chord), end in zip(begins, ends, strict=True))
