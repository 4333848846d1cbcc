"""The journal written to a file that other programs read: as JSON or as CSV (`routines.journal.texts`).

All passes with all their verdicts go into it, oldest first, one at a time: ten years need no more memory than
a day. Day totals do not: they are counted from the passes anew where it is imported.
"""

from __future__ import annotations

import csv
from collections.abc import Callable, Iterable, Iterator
from itertools import chain, pairwise
from pathlib import Path
from typing import TextIO

from routines.journal.exports import ENDINGS, HEADING, Tally, passes_of
from routines.journal.finite import finite
from routines.journal.records import PassRecord
from routines.journal.texts import FORMAT, LAST, VERSION, BadJournalFile, columns, pass_cells, pass_line

_ROW_ENDS = "\r\n"


class LostPasses(ValueError):
    """A file that would be written over holds passes that the new one does not."""


def write_export(records: Iterable[PassRecord], file: Path, ending: str) -> Tally:
    """Write passes to a new file.

    Parameters
    ----------
    records : iterable of PassRecord
        Gone through once; numbers that are none are written as `routines.journal.finite` says.
    file : pathlib.Path
    ending : str
        One of `routines.journal.exports.ENDINGS`.

    Returns
    -------
    Tally
        What was written.

    Raises
    ------
    OSError
        If it cannot be written.
    """
    tally = Tally()
    write = _WRITERS[ending]
    with file.open("w", encoding="utf-8", newline="") as out:
        write(tally.counted(map(finite, records)), out)
    return tally


def ending_of(path: Path) -> str:
    """The ending of an export's name.

    Raises
    ------
    BadJournalFile
        If it has none of `routines.journal.exports.ENDINGS`.
    """
    if path.suffix.lower() not in ENDINGS:
        raise BadJournalFile(path, f"the name of an export ends in {' or '.join(ENDINGS)}")
    return path.suffix.lower()


def ids_in(path: Path) -> set[str]:
    """The ids of the passes in an export that is there already: what must not be lost by writing over it.

    Raises
    ------
    BadJournalFile
        If it is no whole export.
    """
    return {record.id for record in passes_of(path)}


def none_lost(records: Iterable[PassRecord], kept: set[str]) -> Iterator[PassRecord]:
    """The same passes; after the last one it is an error if there is an id in `kept` that none of them had.

    Raises
    ------
    LostPasses
        With the number of those that are missing.
    """
    left = set(kept)
    for record in records:
        left.discard(record.id)
        yield record
    if left:
        raise LostPasses(len(left))


def _write_json(records: Iterable[PassRecord], out: TextIO) -> None:
    out.write(f'{{"format": "{FORMAT}", "version": {VERSION}, "passes": [')
    between = "\n"
    for record in records:
        out.write(between + pass_line(record))
        between = ",\n"
    out.write("\n]}\n")


def _write_csv(records: Iterable[PassRecord], out: TextIO) -> None:
    rows = csv.writer(out, lineterminator=_ROW_ENDS)
    rows.writerow([*HEADING, *columns(), LAST])
    for record, after in pairwise(chain(records, [None])):
        if record is not None:
            rows.writerow([FORMAT, VERSION, *pass_cells(record), "true" if after is None else "false"])


_WRITERS: dict[str, Callable[[Iterable[PassRecord], TextIO], None]] = {
    ".json": _write_json,
    ".csv": _write_csv,
}
