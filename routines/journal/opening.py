"""How the journal's file is opened: looked at where somebody left without closing it, mended, brought up.

Conventions: whoever opens it to write does so alone, behind the gate, and leaves a mark of the visit. Whoever
only asks goes the same way where that is needed before anything can be answered, and leaves again.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Sequence
from contextlib import closing
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from routines.journal.backups import backups
from routines.journal.connecting import (
    DAMAGE,
    PATIENCE_SEC,
    in_memory,
    log_ahead,
    to_read,
    to_write,
    wait_for_others,
)
from routines.journal.errors import JournalTrouble, code_of, troubles
from routines.journal.mending import JOURNAL_FILE, finish, looks_whole, mend, unfinished
from routines.journal.schema import STEPS, Step, bring_up, version_of
from routines.journal.visits import Others, Visit, gate, marked, others


@dataclass(frozen=True, slots=True, kw_only=True)
class Way:
    """How a journal is opened.

    Attributes
    ----------
    folder : Path
    now : callable
        Gives the moment.
    told : callable
        Takes one line where it had to be mended.
    steps : sequence of Step
        By which an older one is brought up.
    patience_sec : float
        So long is waited for others who are writing, once it is open.
    """

    folder: Path
    now: Callable[[], datetime]
    told: Callable[[str], None]
    steps: Sequence[Step] = STEPS
    patience_sec: float = PATIENCE_SEC

    @property
    def file(self) -> Path:
        """The journal's."""
        return self.folder / JOURNAL_FILE


def for_passes(way: Way) -> tuple[sqlite3.Connection, Visit]:
    """Open the journal to write into it.

    Raises
    ------
    OSError or sqlite3.Error
        Nothing was changed then, but for a file that was mended.
    """
    folder, file, steps = way.folder, way.file, way.steps
    folder.mkdir(parents=True, exist_ok=True)
    with gate(folder):
        there = others(folder)
        finish(folder, now=way.now(), told=way.told)
        if file.exists() and _damaged(file, there):
            if there.here:
                raise JournalTrouble(file, "is damaged: close all other windows, then it is mended")
            mend(folder, now=way.now(), told=way.told, steps=steps)
        connection = to_write(file)
        try:
            if 0 < version_of(connection, file, steps) < len(steps) and there.here:
                raise JournalTrouble(
                    file, "is of an older version: close all other windows, then it is brought up"
                )
            log_ahead(connection)
            bring_up(connection, file, now=way.now(), steps=steps)
            wait_for_others(connection, way.patience_sec)
            there.forget()
            visit = Visit.begin(folder)
        except BaseException:
            connection.close()
            raise
    return connection, visit


def for_questions(way: Way) -> sqlite3.Connection:
    """Open the journal to ask it; where there is none, an empty one that is in no file.

    Where it is spoilt it is mended first; where that cannot be, as while another window has it open, it is
    told, and whatever can still be read is answered.

    Raises
    ------
    OSError or sqlite3.Error
    """
    if unfinished(way.folder) or (way.file.exists() and marked(way.folder)):
        try:
            _as_a_writer(way)
        except OSError as trouble:
            if not way.file.exists():
                raise
            way.told(str(trouble))
    if not way.file.exists():
        return _nothing(way)
    try:
        connection, version = _asked(way)
    except sqlite3.DatabaseError as error:
        if code_of(error) not in DAMAGE:
            raise
        _as_a_writer(way)
        connection, version = _asked(way)
    if version == len(way.steps):
        return connection
    connection.close()
    if not version and not backups(way.folder):
        return _nothing(way)
    _as_a_writer(way)
    return _asked(way)[0]


def _as_a_writer(way: Way) -> None:
    """Open and close it as one who writes: what is in the way of questions is put right by that."""
    with troubles(way.file):
        connection, visit = for_passes(way)
        connection.close()
        visit.end()


def _asked(way: Way) -> tuple[sqlite3.Connection, int]:
    connection = to_read(way.file)
    try:
        wait_for_others(connection, way.patience_sec)
        return connection, version_of(connection, way.file, way.steps)
    except BaseException:
        connection.close()
        raise


def _nothing(way: Way) -> sqlite3.Connection:
    nothing = in_memory()
    for step in way.steps:
        step(nothing)
    return nothing


def _damaged(file: Path, there: Others) -> bool:
    """Whether the file must be mended: looked through only where somebody left without closing it.

    Where damage was found, it is looked at as closely as it was then.
    """
    if not file.stat().st_size:
        return bool(backups(file.parent))  # there was something in it once
    try:
        with closing(to_read(file)) as connection:
            return bool(there.left) and not looks_whole(connection, quick=not marked(file.parent))
    except sqlite3.DatabaseError as error:
        if code_of(error) == sqlite3.SQLITE_NOTADB and not there.left and not backups(file.parent):
            raise  # it never was a journal
        if code_of(error) in DAMAGE:
            return True
        raise
