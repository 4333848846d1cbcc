"""An export as text: its names, what can be wrong with it, a pass on a line of JSON and in a row of cells.

Conventions: text is UTF-8. JSON is one object, `{"format": "sevenfall-journal", "version": 1, "passes":
[...]}`, with a pass on each line. CSV (RFC 4180) has a row for each pass after its heading; an object within
a pass is spread over columns named as `outcome.timing.lean_ms`, a list within it stands in its cell as JSON.
None is an empty cell. The last row says so in its last column: a file that was cut short is told from a
whole one.

A spreadsheet takes a cell for a formula that begins with = + - @, a tab or the end of a line. Such cells
(negative numbers, too) get an apostrophe in front, as do those that begin with apostrophes before such a
sign; reading takes one off again. So every text comes back as it was, and so does a file from which
the apostrophes were taken.
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping, Sequence
from dataclasses import is_dataclass
from datetime import datetime
from functools import cache
from pathlib import Path
from types import NoneType
from typing import Any, cast, get_args, get_origin

from routines.errors import BadRoutine
from routines.journal.fields import WrongValue, as_plain, is_optional, kinds_of, reader_of, shown
from routines.journal.records import PassRecord

FORMAT = "sevenfall-journal"
"""What an export says that it is."""

VERSION = 1
"""Of the export; a file of a newer one is refused."""

LAST = "last"
"""The last column of CSV: true in the last row alone."""

_MARKED = re.compile(r"'*[=+\-@\t\r\n]")
_UNMARKED = re.compile(r"'+[=+\-@\t\r\n]")


class BadJournalFile(BadRoutine):
    """A file that is no export or backup of a journal, or one with a fault.

    Parameters
    ----------
    file : pathlib.Path
    what : str
        What is wrong, the value, what is accepted.
    line : int
        Counted from 1; 0 where the fault lies in no one line.
    """

    def __init__(self, file: Path, what: str, line: int = 0) -> None:
        self.file, self.line = file, line
        super().__init__(f"{file}:{line}: {what}" if line else f"{file}: {what}")


def pass_line(record: PassRecord) -> str:
    """A pass as one JSON object on one line.

    Raises
    ------
    ValueError
        If a number in it is not finite.
    """
    return json.dumps(record, default=as_plain, ensure_ascii=False, allow_nan=False, separators=(",", ":"))


def read_pass(value: Any) -> PassRecord:
    """A pass from its JSON object, each field checked.

    Raises
    ------
    routines.journal.fields.WrongValue
        Names the field.
    """
    return cast(PassRecord, reader_of(PassRecord)(value))


def check_version(file: Path, name: Any, version: Any, line: int = 0) -> None:
    """Refuse a file of another format or of a newer version.

    Raises
    ------
    BadJournalFile
    """
    if name != FORMAT:
        raise BadJournalFile(file, f"no export of a journal: format {shown(name)}, not {FORMAT!r}", line)
    if type(version) is not int or version < 1:
        raise BadJournalFile(file, f"version {shown(version)} is none; this program reads {VERSION}", line)
    if version > VERSION:
        what = f"version {shown(version)} is newer than this program, which reads {VERSION}: update Sevenfall"
        raise BadJournalFile(file, what, line)


@cache
def columns() -> Mapping[str, Any]:
    """The columns of a pass in CSV, each with the kind of its value; before them stand format and version."""
    return _spread(PassRecord, "")


def pass_cells(record: PassRecord) -> list[str]:
    """A pass as cells, one for each of `columns`.

    Raises
    ------
    ValueError
        If a number in it is not finite.
    """
    cells: list[str] = []
    _fill(record, cells)
    return cells


def read_cells(cells: Sequence[str]) -> PassRecord:
    """A pass from its cells, in the order of `columns`.

    Raises
    ------
    routines.journal.fields.WrongValue
        Names the column, and the place within it.
    """
    tree: dict[str, Any] = {}
    for (name, kind), cell in zip(columns().items(), cells, strict=True):
        *outer, inner = name.split(".")
        branch = tree
        for one in outer:
            branch = branch.setdefault(one, {})
        try:
            branch[inner] = _value(unmarked(cell), kind)
        except WrongValue as wrong:
            raise wrong.within(name) from None
    return read_pass(tree)


def marked(cell: str) -> str:
    """A cell that no spreadsheet takes for a formula."""
    return f"'{cell}" if _MARKED.match(cell) else cell


def unmarked(cell: str) -> str:
    """The cell as it was before `marked`."""
    return cell[1:] if _UNMARKED.match(cell) else cell


def _spread(kind: Any, outer: str) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for name, inner in kinds_of(kind).items():
        if isinstance(inner, type) and is_dataclass(inner):
            found |= _spread(inner, f"{outer}{name}.")
        else:
            found[outer + name] = inner
    return found


def _fill(record: Any, cells: list[str]) -> None:
    kind: Any = type(record)
    for name in kinds_of(kind):
        value = getattr(record, name)
        if is_dataclass(value):
            _fill(value, cells)
        else:
            cells.append(marked(_cell(value)))


def _cell(value: Any) -> str:
    if value is None:
        return ""
    if isinstance(value, str):
        return value
    if isinstance(value, datetime):
        return value.isoformat()
    return json.dumps(value, default=as_plain, ensure_ascii=False, allow_nan=False, separators=(",", ":"))


def _value(cell: str, kind: Any) -> Any:
    """The plain value that a cell stands for; the cell itself, for its reader to refuse, where it is none."""
    if is_optional(kind):
        if not cell:
            return None
        (kind,) = (one for one in get_args(kind) if one is not NoneType)
    if get_origin(kind) is tuple:
        return _list(cell)
    if kind is bool:
        return {"true": True, "false": False}.get(cell.lower(), cell)
    if kind is int or kind is float:
        try:
            return kind(cell)
        except ValueError:
            return cell
    return cell


def _list(cell: str) -> Any:
    try:
        return json.loads(cell)
    except (ValueError, RecursionError):
        raise WrongValue(f"{shown(cell)} is no list in JSON") from None
