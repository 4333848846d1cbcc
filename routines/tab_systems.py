"""The lines of a lick text below its header, sorted into systems and bars before any fret is read.

The problem: five lines count as one stave only if their bar lines stand under each other and every bar is
full; then, and only then, a column means the same time on all of them and on the chord, finger and mark
lines.

Conventions: `routines.tab` says how the text is written. Columns are counted from 0 inside, from 1 in
errors; places are sixteenths from the downbeat of bar 1, a pickup is negative.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from routines.errors import BadLickText
from routines.fingers import FINGERS
from routines.neck import Neck
from routines.pitch import usual_tone
from routines.tab_header import Header

MARK_SIGNS = "*r37x"
"""The letters of the mark lines; `routines.tab_marks` knows what they mean."""

_LABEL = re.compile(r"\s*([A-Ga-g][#b♯♭]?)\s*(?=\|)")
_BARS = re.compile(r"\|+")


@dataclass(frozen=True, slots=True)
class Row:
    """One line of the text and its number, counted from 1."""

    line: int
    text: str


@dataclass(frozen=True, slots=True)
class Bar:
    """Columns `start` to `end` (not part of it) of a system, between two bar lines.

    `place` is the sixteenth at which it begins.
    """

    start: int
    end: int
    place: int


@dataclass(frozen=True, slots=True, kw_only=True)
class System:
    """Five tab lines that stand together.

    Attributes
    ----------
    strings : tuple of Row
        The first string first.
    bars : tuple of Bar
    columns : int
        How many an eighth takes.
    chords, fingers, marks : Row or None
        The lines above and below.
    """

    strings: tuple[Row, ...]
    bars: tuple[Bar, ...]
    columns: int
    chords: Row | None
    fingers: Row | None
    marks: Row | None

    @property
    def end(self) -> int:
        """The sixteenth at its last bar line."""
        last = self.bars[-1]
        return last.place + 2 * (last.end - last.start) // self.columns


def read_systems(lines: Sequence[str], first_line: int, header: Header, file: str) -> tuple[System, ...]:
    """Sort the lines below the header into systems with full bars.

    Parameters
    ----------
    lines : sequence of str
    first_line : int
        Number of the first of them in the file.
    header : Header
    file : str
        For the errors.

    Raises
    ------
    BadLickText
        Where a line is missing or one too many, a label does not fit the tuning, bar lines are not aligned,
        or a bar is not full.
    """
    systems = []
    place = -2 * header.pickup_eighths
    for rows in _blocks(lines, first_line):
        system = _system(rows, place, header, file)
        systems.append(system)
        place = system.end
    if not systems:
        raise BadLickText(file, first_line + len(lines), 1, "no tab: expected five lines such as D|------|")
    if place <= 0:
        last = systems[-1].strings[0]
        why = "no bar after the pickup: expected at least one full bar"
        raise BadLickText(file, last.line, len(last.text) + 1, why)
    return tuple(systems)


def string_labels(neck: Neck, string: int) -> tuple[str, ...]:
    """Return the names that a tab line of this string may bear, the usual one first.

    A string is named as if there were no capo; the fifth also as it is tuned or as it sounds.
    """
    tuned = re.findall(r"[a-gA-G]#?", neck.tuning)[5 - string]
    if string != 5:
        return (tuned,)
    sounds = neck.open_midi(5)
    return tuple(dict.fromkeys([_small(sounds - neck.capo), tuned, _small(sounds)]))


def _small(midi: int) -> str:
    name = str(usual_tone(midi))
    return name[0].lower() + name[1:]


def _blocks(lines: Sequence[str], first_line: int) -> Iterator[list[Row]]:
    block: list[Row] = []
    for number, line in enumerate(lines, first_line):
        if line.strip():
            block.append(Row(number, line.rstrip()))
        elif block:
            yield block
            block = []
    if block:
        yield block


def _system(rows: Sequence[Row], place: int, header: Header, file: str) -> System:
    tab = [index for index, row in enumerate(rows) if _LABEL.match(row.text)]
    if not tab:
        raise _refusal(file, rows[0], 0, "expected five tab lines such as D|------|, first string on top")
    if tab[0] > 1:
        raise _refusal(file, rows[1], 0, "expected a tab line: one line of chord symbols stands above them")
    strings = rows[tab[0] : tab[0] + 5]
    for string, row in enumerate(strings, 1):
        label = _LABEL.match(row.text)
        names = string_labels(header.neck, string)
        if label is None:
            why = f"expected the line of string {string}, such as {names[0]}|------|"
            raise _refusal(file, row, 0, why)
        if label[1].lower() not in [name.lower() for name in names]:
            why = (
                f"string {string} is {names[0]} in {header.neck.tuning}, not {label[1]}: first string on top"
            )
            raise _refusal(file, row, label.start(1), why)
    if len(strings) < 5:
        why = f"expected the line of string {len(strings) + 1}: a system has five tab lines"
        raise BadLickText(file, strings[-1].line + 1, 1, why)
    fingers, marks = _below(rows[tab[0] + 5 :], file)
    return System(
        strings=tuple(strings),
        bars=tuple(_bars(strings, place, header, file)),
        columns=header.columns,
        chords=rows[0] if tab[0] else None,
        fingers=fingers,
        marks=marks,
    )


def _below(rows: Sequence[Row], file: str) -> tuple[Row | None, Row | None]:
    found: dict[str, Row] = {}
    for row in rows:
        start = len(row.text) - len(row.text.lstrip())
        signs = next((s for s in (FINGERS, MARK_SIGNS) if row.text[start] in s), None)
        if signs is None:
            why = f"expected fingers ({' '.join(FINGERS)}), marks ({' '.join(MARK_SIGNS)}) or a blank line"
            raise _refusal(file, row, start, why)
        if signs in found:
            why = f"a second line of {'fingers' if signs == FINGERS else 'marks'} below one system"
            raise _refusal(file, row, start, why)
        wrong = next((c for c, sign in enumerate(row.text) if sign not in signs and sign != " "), None)
        if wrong is not None:
            raise _refusal(file, row, wrong, f"{row.text[wrong]!r}: accepted here are {' '.join(signs)}")
        found[signs] = row
    return found.get(FINGERS), found.get(MARK_SIGNS)


def _bars(strings: Sequence[Row], place: int, header: Header, file: str) -> Iterator[Bar]:
    spans = [[bar.span() for bar in _BARS.finditer(row.text)] for row in strings]
    for row, found in zip(strings[1:], spans[1:], strict=True):
        _check_aligned(row, found, spans[0], file)
    top = strings[0]
    if spans[0][-1][1] != len(top.text) or len(spans[0]) < 2:
        raise _refusal(file, top, len(top.text), "expected a bar line: every bar is closed by one")
    for (_, start), (end, _) in zip(spans[0], spans[0][1:], strict=False):
        pickup = place < 0
        eighths = header.pickup_eighths if pickup else header.eighths_a_bar
        if end - start != eighths * header.columns:
            name = "the pickup" if pickup else f"bar {place // (2 * header.eighths_a_bar) + 1}"
            why = (
                f"{name} has {end - start} columns: expected {eighths * header.columns}, "
                f"{eighths} eighths of {header.columns} columns"
            )
            raise _refusal(file, top, end, why)
        yield Bar(start, end, place)
        place += 2 * eighths


def _check_aligned(row: Row, spans: list[tuple[int, int]], top: list[tuple[int, int]], file: str) -> None:
    here, above = ({c for span in found for c in range(*span)} for found in (spans, top))
    if here == above:
        return
    column = min(here ^ above)
    if column in here:
        raise _refusal(file, row, column, "a bar line where the first string has none: align them")
    column = min(column, len(row.text))
    raise _refusal(file, row, column, "expected a bar line here, under that of the first string")


def _refusal(file: str, row: Row, column: int, why: str) -> BadLickText:
    return BadLickText(file, row.line, column + 1, why)
