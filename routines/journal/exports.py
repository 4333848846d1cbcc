"""Exports read: the passes of a JSON or CSV file one after another, in little memory, each field checked.

Conventions: passes count from 1 in the order of the file. A fault is told with the file, its line, the number
of the pass and the field. What reads a whole export without a fault may believe that it was not cut short.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TextIO

from routines.journal.fields import WrongValue, shown
from routines.journal.json_stream import BadJson, Piece, pieces
from routines.journal.records import PassRecord
from routines.journal.texts import LAST, BadJournalFile, check_version, columns, read_cells, read_pass

ENDINGS = (".json", ".csv")
"""What the name of an export ends in; it tells how it is written."""

HEADING = ("format", "version")
"""The first columns of CSV."""

_LONGEST_CELL = 1 << 24
_PASSES = "passes"


@dataclass(slots=True)
class Tally:
    """What passes there are in a file, counted as they go by.

    Attributes
    ----------
    passes : int
    players : set of str
    first_day, last_day : str
        Empty where there is no pass.
    """

    passes: int = 0
    players: set[str] = field(default_factory=set)
    first_day: str = ""
    last_day: str = ""

    def counted(self, records: Iterable[PassRecord]) -> Iterator[PassRecord]:
        """The same passes, each counted when it goes by."""
        for record in records:
            self.passes += 1
            self.players.add(record.player)
            day = record.day
            self.first_day = min(self.first_day or day, day)
            self.last_day = max(self.last_day, day)
            yield record


def passes_of(path: Path, player: str | None = None) -> Iterator[PassRecord]:
    """The passes of an export, in its order.

    Parameters
    ----------
    path : pathlib.Path
        Its ending, one of `ENDINGS`, tells how it is read.
    player : str, optional
        Whose they are to be; as the file says where left out.

    Yields
    ------
    PassRecord

    Raises
    ------
    BadJournalFile
        At the first fault, after the passes before it.
    OSError
        If the file cannot be read.
    """
    read = {".json": _of_json, ".csv": _of_csv}.get(path.suffix.lower())
    if read is None:
        raise BadJournalFile(path, f"the name of an export ends in {' or '.join(ENDINGS)}")
    for record in read(path):
        yield record if player is None else replace(record, player=player)


def _of_json(path: Path) -> Iterator[PassRecord]:
    _check_head(path)
    begun = False
    with _opened(path) as file:
        for piece in pieces(file, _PASSES):
            if piece.number:
                yield _read(path, piece)
            elif piece.key not in (*HEADING, _PASSES):
                parts = ", ".join((*HEADING, _PASSES))
                raise BadJournalFile(path, f"{shown(piece.key)} is no part; there are {parts}", piece.line)
            begun = begun or piece.key == _PASSES
    if not begun:
        raise BadJournalFile(path, f"no whole export of a journal: {_PASSES!r} is missing")


def _read(path: Path, piece: Piece) -> PassRecord:
    try:
        return read_pass(piece.value)
    except WrongValue as wrong:
        raise BadJournalFile(path, f"pass {piece.number}, {wrong}", piece.line) from None


def _check_head(path: Path) -> None:
    """Format and version, wherever in the file they are: before any pass is read by them."""
    found: dict[str, Piece] = {}
    with _opened(path) as file:
        for piece in pieces(file, _PASSES):
            if piece.key in HEADING:
                found[piece.key] = piece
            if len(found) == len(HEADING):
                break
    for name in HEADING:
        if name not in found:
            raise BadJournalFile(path, f"no export of a journal: {name!r} is missing")
    line = max(piece.line for piece in found.values())
    check_version(path, found["format"].value, found["version"].value, line)


def _of_csv(path: Path) -> Iterator[PassRecord]:
    csv.field_size_limit(_LONGEST_CELL)
    with _opened(path, newline="") as file:
        rows = _rows(path, file)
        line, heading = next(rows, (0, []))
        if not heading:
            raise BadJournalFile(path, "the file is empty")
        places = _places(path, heading)
        number, ended = 0, False
        for number, (line, cells) in enumerate(rows, start=1):
            record, last = _row(path, line, number, cells, places)
            ended = ended or last
            yield record
        if not ended:
            raise BadJournalFile(path, f"cut short: no row says true in its column {LAST!r}", line)


def _rows(path: Path, file: TextIO) -> Iterator[tuple[int, list[str]]]:
    """The rows that are not empty, and the lines on which they begin."""
    rows = csv.reader(file, strict=True)
    line = 1
    try:
        for cells in rows:
            if cells:
                yield line, cells
            line = rows.line_num + 1
    except csv.Error as error:
        what = f"no CSV as it should be ({error}): cut short, or a quote too many"
        raise BadJournalFile(path, what, line) from None


def _places(path: Path, heading: list[str]) -> list[int]:
    """Where the columns are that are read, in their order."""
    wanted = [*HEADING, *columns(), LAST]
    for name in wanted:
        if heading.count(name) != 1:
            how = "is missing" if name not in heading else "is there twice"
            raise BadJournalFile(path, f"no whole export of a journal: column {name!r} {how}", 1)
    more = [name for name in heading if name not in wanted]
    if more:
        raise BadJournalFile(path, f"column {shown(more[0])} is no field of a pass: take it out", 1)
    return [heading.index(name) for name in wanted]


def _row(path: Path, line: int, number: int, cells: list[str], places: list[int]) -> tuple[PassRecord, bool]:
    if len(cells) != len(places):
        what = f"pass {number} has {len(cells)} cells, not {len(places)}"
        raise BadJournalFile(path, f"{what}: cut short, or a quote is missing", line)
    name, version, *values, last = (cells[place] for place in places)
    check_version(path, name, int(version) if re.fullmatch("[0-9]{1,9}", version) else version, line)
    if last.lower() not in ("true", "false"):
        raise BadJournalFile(path, f"pass {number}, {LAST}: {shown(last)} is neither true nor false", line)
    try:
        return read_cells(values), last.lower() == "true"
    except WrongValue as wrong:
        raise BadJournalFile(path, f"pass {number}, {wrong}", line) from None


@contextmanager
def _opened(path: Path, newline: str | None = None) -> Iterator[TextIO]:
    """The file as text; what is wrong with the text becomes a line about the file."""
    with path.open(encoding="utf-8-sig", newline=newline) as file:
        try:
            yield file
        except UnicodeDecodeError as error:
            raise BadJournalFile(path, f"no text in UTF-8: byte {error.object[error.start]:#04x}") from None
        except BadJson as error:
            inside = f"pass {error.number}: " if error.number else ""
            raise BadJournalFile(path, inside + error.what, error.line) from None
