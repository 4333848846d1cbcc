"""How wide an eighth of a standing tab must be, and how its bars are shared out among systems."""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence
from itertools import groupby, pairwise

from feedback.grid import EIGHTH_QUARTERS
from feedback.screen.lettering import signed, width
from feedback.screen.marks import READABLE
from feedback.words import chord_name
from routines.lick import Lick, TargetNote

APART = 1.1
"""The narrowest eighth, in widths of a number of two digits; numbers stand apart by as much."""

LEFT_HIGH = 1.2
"""How high what encloses the left hand's fingers is, in ems of theirs."""

Bar = tuple[float, float]
"""Where a bar or a pickup begins and ends, in quarters."""

_FINGERS = ("", "1", "2", "3", "4", "T")  # of the left hand, from the open string to the thumb

RING = 0.62
"""How far a ring reaches from the middle of a number of one digit, in ems."""


def bars_of(lick: Lick, first_bar: int, bars: int | None) -> list[Bar]:
    """The bars to be drawn, a pickup before bar 1.

    Raises
    ------
    ValueError
        If the lick has no such bars.
    """
    last_bar = lick.bars if bars is None else first_bar + bars - 1
    if not 1 <= first_bar <= last_bar <= lick.bars:
        raise ValueError(f"bars {first_bar} to {last_bar} of {lick.id}: it has bars 1 to {lick.bars}")
    length = lick.quarters_a_bar
    found = [((n - 1) * length, n * length) for n in range(first_bar, last_bar + 1)]
    if first_bar == 1 and lick.pickup_quarters:
        found.insert(0, (-lick.pickup_quarters, 0.0))
    return found


def eighths(bar: Bar) -> float:
    """How many eighths a bar has."""
    return (bar[1] - bar[0]) / EIGHTH_QUARTERS


def least_eighth(
    lick: Lick, bars: Sequence[Bar], size: float, ringed: Collection[int], left: Sequence[int] = ()
) -> float:
    """The narrowest eighth in which nothing touches, in units.

    Parameters
    ----------
    lick : Lick
    bars : sequence of Bar
    size : float
        Of the numbers.
    ringed : collection of int
        Notes that need room for a ring.
    left : sequence of int
        The left hand's finger of each note; empty where they are not drawn.
    """
    begin, end = bars[0][0], bars[-1][1]
    notes = [(k, note) for k, note in enumerate(lick.notes) if begin <= note.onset_quarters < end]
    rows: list[list[tuple[float, float]]] = []
    for string in range(1, 6):
        row = []
        for index, note in notes:
            if note.string == string:
                row += [(at, number_wide(text, size, index in ringed)) for at, text in numbers(note)]
        rows.append(sorted(row))
    rows.append([(at, width(text, size)) for at, text in finger_rows([note for _, note in notes])])
    rows.append([(at, width(text, size, True)) for at, text in chord_rows(lick, begin, end)])
    if left:
        own = left_size(size)
        rows.append([(at, left_wide(digits, own)) for at, digits in left_rows(notes, left)])
    needs = [
        APART * (one + two) / 2 / ((later - sooner) / EIGHTH_QUARTERS)
        for row in rows
        for (sooner, one), (later, two) in pairwise(row)
    ]
    return max([APART * width("00", size, True), *needs])


def numbers(note: TargetNote) -> list[tuple[float, str]]:
    """What stands on the line for a note, each with its place in quarters."""
    if note.technique == "slide" and note.finger and note.from_midi is not None:
        begins = note.fret - (note.midi - note.from_midi)
        return [
            (note.onset_quarters, str(begins)),
            (note.onset_quarters + EIGHTH_QUARTERS / 2, str(note.fret)),
        ]
    return [(note.onset_quarters, str(note.fret))]


def number_wide(text: str, size: float, ringed: bool) -> float:
    """How much room a number needs."""
    plain = width(text, size, True)
    return plain + 2 * (RING * size - width("0", size, True) / 2) if ringed else plain


def finger_rows(notes: Sequence[TargetNote]) -> list[tuple[float, str]]:
    """The fingers of each place, from the fifth string to the first."""
    found = []
    for at, there in groupby(notes, key=lambda note: note.onset_quarters):
        letters = "".join(note.finger for note in sorted(there, key=lambda note: -note.string))
        if letters:
            found.append((at, letters))
    return found


def left_rows(notes: Sequence[tuple[int, TargetNote]], left: Sequence[int]) -> list[tuple[float, str]]:
    """The left hand's fingers of each place, from the fifth string to the first; open strings have none.

    A note inside an eighth, and the end of a slide, has that of the note before it or one next to it.
    """
    found = []
    for at, there in groupby(notes, key=lambda one: one[1].onset_quarters):
        ordered = sorted(there, key=lambda one: -one[1].string)
        digits = "".join(_FINGERS[left[index]] for index, note in ordered if not _slid_to(note))
        if digits and at % EIGHTH_QUARTERS == 0.0:
            found.append((at, digits))
    return found


def _slid_to(note: TargetNote) -> bool:
    return note.technique == "slide" and not note.picked


def left_size(size: float) -> float:
    """How large the left hand's fingers are below a tab with numbers of a size."""
    return max(READABLE, 0.8 * size)


def left_wide(digits: str, size: float) -> float:
    """How wide what encloses them is; `size` is their own."""
    return max(width(digits, size) + 0.5 * size, LEFT_HIGH * size)


def chord_rows(lick: Lick, begin: float, end: float) -> list[tuple[float, str]]:
    """The chord names over a stretch, each where it begins; one that goes on from before is named first."""
    found = []
    for span in lick.chords:
        at = max(span.start_quarters, begin)
        if at < min(span.end_quarters, end):
            name = chord_name(lick, span.chord.symbol) if span.chord else "N.C."
            found.append((at, signed(name)))
    return found


def shared_out(bars: Sequence[Bar], wide: float, lead: float, eighth: float) -> list[list[Bar]]:
    """The bars of each system: as many as fit, about as many in each; a pickup stays with its bar 1.

    Parameters
    ----------
    bars : sequence of Bar
    wide : float
        Room of a system.
    lead, eighth : float
        What each bar needs before its first note, and what each of its eighths needs.
    """
    pickup = [bars[0]] if bars[0][0] < 0 else []
    whole = list(bars[len(pickup) :])
    a_bar = lead + eighth * eighths(whole[0])
    first = max(1, int((wide - sum(lead + eighth * eighths(bar) for bar in pickup)) / a_bar))
    fit = max(1, int(wide / a_bar))
    if first >= len(whole):
        return [[*pickup, *whole]]
    systems = math.ceil((len(whole) - first) / fit) + 1
    even = math.ceil(len(whole) / systems)
    take = min(first, even)
    found = [[*pickup, *whole[:take]]]
    even = min(fit, max(even, math.ceil((len(whole) - take) / (systems - 1))))
    found += [whole[k : k + even] for k in range(take, len(whole), even)]
    return found
