"""The journal: every finished pass, for years, in one file.

The problem: what was played must not be lost, whatever happens to the program, the disk's room or the power;
several windows and several players write into one file; and questions about ten years are answered at once.

Conventions: a pass is there with all its verdicts and all its totals, or not at all. Days are given as
"2026-11-29" and stand for all of it; a period goes from one day to another, both with them.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from datetime import datetime
from functools import partial
from pathlib import Path
from types import TracebackType
from typing import Self

from routines.journal import opening, recounting, storing
from routines.journal.connecting import PATIENCE_SEC, transaction
from routines.journal.errors import JournalTrouble, troubles
from routines.journal.opening import Way
from routines.journal.questions import Questions
from routines.journal.records import PassRecord
from routines.journal.schema import STEPS, Step
from routines.journal.visits import Visit

_QUESTIONS = "was opened for questions only"


def _silent(line: str) -> None:
    pass


class Journal(Questions):
    """An open journal: what can be asked of it, and what is stored. Close it, or use it in a `with`.

    Every method raises JournalTrouble where the file cannot be read or written.

    Attributes
    ----------
    file : Path
    """

    def __init__(self, way: Way, connection: sqlite3.Connection, visit: Visit | None) -> None:
        again = partial(opening.for_questions, way) if visit is None else None
        super().__init__(way.file, connection, again)
        self._visit, self._writes = visit, visit is not None

    @classmethod
    def open(
        cls,
        folder: Path,
        *,
        now: Callable[[], datetime],
        writes: bool = True,
        told: Callable[[str], None] = _silent,
        steps: Sequence[Step] = STEPS,
        patience_sec: float = PATIENCE_SEC,
    ) -> Journal:
        """Open the journal of a folder.

        Where somebody left without closing it, it is looked at first; where it is damaged it is mended.

        Parameters
        ----------
        folder : Path
            Made where it is missing.
        now : callable
            Gives the moment, for the names of backups and of what is set aside.
        writes : bool
            Without it for questions only: no file is made, and where there is none the answers are empty.
        told : callable
            Takes one line where the journal had to be mended.
        steps : sequence of Step
            By which an older journal is brought up.
        patience_sec : float
            So long each writing waits for others who write, 0 or longer; opening it may take longer.

        Returns
        -------
        Journal

        Raises
        ------
        JournalTrouble
            If it cannot be opened, is no journal, or of a newer version.
        """
        way = Way(folder=folder, now=now, told=told, steps=steps, patience_sec=patience_sec)
        with troubles(way.file):
            if not writes:
                return cls(way, opening.for_questions(way), None)
            return cls(way, *opening.for_passes(way))

    def close(self) -> None:
        """Close it; once more does no harm."""
        with self._lock:
            self._connection.close()
            if self._visit is not None:
                self._visit.end()
                self._visit = None

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def add(self, record: PassRecord) -> bool:
        """Store a pass, its verdicts and all that it adds to totals, in one transaction.

        Parameters
        ----------
        record : PassRecord

        Returns
        -------
        bool
            False where a pass of its id is there already; then nothing is changed.

        Raises
        ------
        JournalTrouble
            Then nothing was changed, and it can be tried again.
        ValueError
            If the moment at which it ended has no offset.
        """
        with self._writing() as connection:
            return storing.store(connection, record)

    def add_all(self, records: Iterable[PassRecord]) -> int:
        """Store passes as `add` does each, all in one transaction: all of them, or none.

        Returns
        -------
        int
            How many were not there already.
        """
        with self._writing() as connection:
            return storing.store_all(connection, records)

    def rebuild_totals(self) -> None:
        """Count all totals anew from the passes: of ten years this takes minutes."""
        if not self._writes:
            raise JournalTrouble(self.file, _QUESTIONS)
        with self._reading() as connection:
            recounting.rebuild_totals(connection)

    @contextmanager
    def _writing(self) -> Iterator[sqlite3.Connection]:
        if not self._writes:
            raise JournalTrouble(self.file, _QUESTIONS)
        with self._reading() as connection, transaction(connection):
            yield connection
