"""The lines around the tab of a lick text: chord symbols above, fingers and marks below.

The problem: what these lines say belongs to the notes in the same column, and a sign that is one column off
would silently belong to another note, or to none. It is refused instead.

Conventions: `routines.tab` says how the text is written. Signs that belong to one place stand side by side
from its column on; a sign under the next note begins the next place. Places are sixteenths from the
downbeat of bar 1.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from routines.errors import BadLickText
from routines.tab_notes import TypedNote
from routines.tab_systems import Row, System


@dataclass(frozen=True, slots=True)
class Sign:
    """A chord symbol, or the fingers or marks of one place; line and column are counted from 1."""

    place: int
    text: str
    line: int
    column: int


def chord_signs(systems: Sequence[System], file: str) -> tuple[Sign, ...]:
    """Read the chord lines; a symbol above a bar line begins at the downbeat after it.

    Raises
    ------
    BadLickText
        If a symbol begins inside an eighth or outside the bars, or two begin at one place.
    """
    found: list[Sign] = []
    for system in systems:
        if system.chords is None:
            continue
        for symbol in re.finditer(r"\S+", system.chords.text):
            sign = _chord_sign(symbol[0], symbol.start(), system.chords.line, system, file)
            if found and found[-1].place == sign.place:
                why = f"two chords at one place, {found[-1].text} and {sign.text}: expected one"
                raise BadLickText(file, sign.line, sign.column, why)
            found.append(sign)
    return tuple(found)


def finger_signs(systems: Sequence[System], notes: Sequence[TypedNote], file: str) -> tuple[Sign, ...]:
    """Read the finger lines: for each place as many letters as it has picked strings, or none.

    Raises
    ------
    BadLickText
        If a letter stands under no picked note, or their number is not that of the strings.
    """
    picked = [note for note in notes if note.picked]
    found = []
    for system in systems:
        for sign in _groups(system.fingers, system, picked, "a finger under no picked note", file):
            strings = sum(note.place == sign.place for note in picked)
            if len(sign.text) != strings or len(set(sign.text)) != strings:
                why = f"fingers {sign.text} for {strings} picked: expected a different letter for each"
                raise BadLickText(file, sign.line, sign.column, why)
            found.append(sign)
    return tuple(found)


def mark_signs(systems: Sequence[System], notes: Sequence[TypedNote], file: str) -> tuple[Sign, ...]:
    """Read the mark lines.

    Raises
    ------
    BadLickText
        If a mark stands under no note.
    """
    return tuple(
        sign
        for system in systems
        for sign in _groups(system.marks, system, notes, "a mark under no note", file)
    )


def _chord_sign(symbol: str, column: int, line: int, system: System, file: str) -> Sign:
    opening = system.strings[0].text.index("|")
    after = next((bar for bar in system.bars if bar.end > column), None)
    if after is None or column < opening:
        why = f"chord {symbol} stands outside the bars: expected above the eighth where it begins"
        raise BadLickText(file, line, column + 1, why)
    cell, offset = divmod(max(column - after.start, 0), system.columns)
    if offset:
        why = (
            f"chord {symbol} on no grid column: expected above the eighth where it begins, "
            f"column {column - offset + 1} or {column - offset + system.columns + 1}"
        )
        raise BadLickText(file, line, column + 1, why)
    return Sign(after.place + 2 * cell, symbol, line, column + 1)


def _groups(
    row: Row | None, system: System, notes: Sequence[TypedNote], fault: str, file: str
) -> Iterator[Sign]:
    """Yield the signs of a line, those of one place together."""
    if row is None:
        return
    places = _note_columns(system, notes)
    sign: Sign | None = None
    for column, letter in enumerate(row.text):
        if letter == " ":
            if sign is not None:
                yield sign
            sign = None
        elif column in places:
            if sign is not None:
                yield sign
            sign = Sign(places[column], letter, row.line, column + 1)
        elif sign is not None:
            sign = Sign(sign.place, sign.text + letter, sign.line, sign.column)
        else:
            why = f"{fault}: expected {letter} under the first column of one"
            raise BadLickText(file, row.line, column + 1, why)
    if sign is not None:
        yield sign


def _note_columns(system: System, notes: Sequence[TypedNote]) -> Mapping[int, int]:
    lines = {row.line for row in system.strings}
    return {note.column - 1: note.place for note in notes if note.line in lines}
