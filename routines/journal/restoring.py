"""The journal replaced as a whole by what an export or a backup holds; the present one is kept beside it.

The problem: a journal is up to three files. What was written last stands in a log beside the database
("-wal", with its index "-shm"), and SQLite takes whatever log it finds there for that of the database: a new
file under an old log is a broken journal; and whoever still reads the old one deletes, when it ends, the log
under that name, which is then the new one's. So the new journal is made in a folder of its own and closed,
which leaves one file; the old one is brought to do without a log, which SQLite grants only to one who alone
has it open; then the new file is renamed into the old one's place. Whenever the program is killed, there is
the old journal or the new one, and never a mixture.

Conventions: nobody else may have it open; who opens it meanwhile to write waits at the gate.
"""

from __future__ import annotations

import os
import shutil
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import ExitStack, closing, contextmanager, suppress
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from routines.journal.comparing import wrong_totals
from routines.journal.connecting import to_write
from routines.journal.errors import JournalTrouble, troubles
from routines.journal.exports import ENDINGS, Tally, passes_of
from routines.journal.journal import Journal
from routines.journal.leftovers import own_folder, sweep
from routines.journal.mending import JOURNAL_FILE, finish
from routines.journal.recounting import rebuild_totals
from routines.journal.schema import version_of
from routines.journal.texts import BadJournalFile
from routines.journal.visits import gate, others

BACKUP = ".sqlite"
"""What the name of a backup ends in."""

GATE_SEC = 10.0
"""So long is waited for another who is just opening the journal."""

_READING_SEC = 5.0
_DISK = (
    sqlite3.SQLITE_FULL,
    sqlite3.SQLITE_IOERR,
    sqlite3.SQLITE_CANTOPEN,
    sqlite3.SQLITE_READONLY,
    sqlite3.SQLITE_PERM,
    sqlite3.SQLITE_BUSY,
    sqlite3.SQLITE_NOMEM,
)
_LOG, _INDEX = "-wal", "-shm"


@dataclass(frozen=True, slots=True, kw_only=True)
class Restored:
    """What came of it.

    Attributes
    ----------
    held : Tally
        What the journal holds now.
    kept : pathlib.Path or None
        The journal as it was before; None where there was none.
    """

    held: Tally
    kept: Path | None


def restore(folder: Path, source: Path, *, now: Callable[[], datetime]) -> Restored:
    """Put what a file holds in the place of the journal of a folder.

    Parameters
    ----------
    folder : pathlib.Path
        Made where it is missing.
    source : pathlib.Path
        An export, or a backup, as its ending tells; it is only read.
    now : callable
        The moment, for the name of what is kept.

    Returns
    -------
    Restored

    Raises
    ------
    BadJournalFile
        If the source is no whole export or backup: then nothing was changed.
    JournalTrouble
        If the journal is open in another window, or cannot be replaced.
    OSError
        If the source cannot be read.
    """
    present = folder / JOURNAL_FILE
    _check_source(source, present)
    with ExitStack() as stack:
        with troubles(present):
            folder.mkdir(parents=True, exist_ok=True)
            with gate(folder, GATE_SEC):
                _nobody_else(folder, present)  # told before the work is done, not only after it
                sweep(folder)
                made_in = stack.enter_context(own_folder(folder))
        held = _made(made_in, source, now)
        with troubles(present), gate(folder, GATE_SEC):
            _nobody_else(folder, present)
            finish(folder, now=now(), told=lambda line: None)
            kept = _replaced(present, made_in / JOURNAL_FILE, now())
            others(folder).forget()
    return Restored(held=held, kept=kept)


def _check_source(source: Path, present: Path) -> None:
    if source.suffix.lower() not in (*ENDINGS, BACKUP):
        raise BadJournalFile(source, f"a journal is restored from {', '.join(ENDINGS)} or {BACKUP}")
    source.open("rb").close()  # where that cannot be done its error says more than SQLite's
    if present.exists() and source.samefile(present):
        raise BadJournalFile(source, "that is the journal itself: name an export or a backup")


def _nobody_else(folder: Path, present: Path) -> None:
    if others(folder).here:
        raise JournalTrouble(present, "is open in another window: close that first, nothing was changed")


def _made(made_in: Path, source: Path, now: Callable[[], datetime]) -> Tally:
    """Make the new journal, read it from its beginning to its end, and leave it as one file."""
    tally, made = Tally(), made_in / JOURNAL_FILE
    if source.suffix.lower() == BACKUP:
        _copy(source, made)
        with _faults_of(source), Journal.open(made_in, now=now) as journal:
            for _ in tally.counted(journal.passes()):
                pass
        with closing(to_write(made)) as connection:
            rebuild_totals(connection, wrong_totals(connection))
    else:
        with Journal.open(made_in, now=now) as journal:
            tally.passes = journal.add_all(tally.counted(passes_of(source)))
    if not _without_log(made):
        raise JournalTrouble(made, "cannot be closed: try again")
    return tally


def _copy(source: Path, to: Path) -> None:
    """Copy a backup, with what a log beside it may hold."""
    if not source.stat().st_size:
        raise BadJournalFile(source, "the file is empty")
    log = source.with_name(source.name + _LOG)
    logged = log.exists() and log.stat().st_size > 0
    how = "mode=rw" if logged else "mode=ro&immutable=1"  # without a log no file is made beside it
    with _faults_of(source), closing(sqlite3.connect(f"{source.absolute().as_uri()}?{how}", uri=True)) as old:
        if not version_of(old, source):
            raise BadJournalFile(source, "is no journal: there is nothing in it")
        fault = str(old.execute("PRAGMA integrity_check(1)").fetchone()[0])
        if fault != "ok":
            raise BadJournalFile(source, f"is damaged: {' '.join(fault.split())}")
        with closing(sqlite3.connect(to)) as new:
            old.backup(new)


@contextmanager
def _faults_of(source: Path) -> Iterator[None]:
    """What is wrong with a backup as a line about it; what the disk does wrong stays the disk's."""
    try:
        with troubles(source):
            yield
    except JournalTrouble as trouble:
        if getattr(trouble.__cause__, "sqlite_errorcode", 0) & 0xFF in _DISK:
            raise
        raise BadJournalFile(source, trouble.what) from trouble
    except ValueError as error:
        if isinstance(error, BadJournalFile):
            raise
        raise BadJournalFile(source, f"is damaged: {error}") from error


def _replaced(present: Path, new: Path, now: datetime) -> Path | None:
    """Keep the present journal beside, and put the new one in its place; for whoever holds the gate."""
    kept = _kept(present, now) if present.exists() else None
    for ending in (_LOG, _INDEX):
        present.with_name(present.name + ending).unlink(missing_ok=True)
    os.replace(new, present)
    _to_disk(present.parent)
    return kept


def _kept(present: Path, now: datetime) -> Path:
    """The present journal under a second name of its own, as whole as it is."""
    kept = _free(present.with_name(f"journal-before-restore-{now:%Y-%m-%d-%H%M%S}{BACKUP}"))
    log, kept_log = (path.with_name(path.name + _LOG) for path in (present, kept))
    if log.exists() and log.stat().st_size:  # first of all: SQLite drops it where the file is damaged
        shutil.copy2(log, kept_log)
    try:
        damaged = not _without_log(present)
    except JournalTrouble:
        kept_log.unlink(missing_ok=True)
        raise
    if not damaged:
        kept_log.unlink(missing_ok=True)
    try:
        os.link(present, kept)
    except OSError:  # not every disk can give a file a second name
        shutil.copy2(present, kept)
    return kept


def _without_log(file: Path) -> bool:
    """Write a journal's log back into it and do without one; False where it is too damaged for that.

    Raises
    ------
    JournalTrouble
        If somebody else has it open.
    """
    try:
        with closing(sqlite3.connect(file, timeout=_READING_SEC)) as connection:
            return bool(connection.execute("PRAGMA journal_mode = DELETE").fetchone()[0] == "delete")
    except sqlite3.DatabaseError as error:
        if getattr(error, "sqlite_errorcode", 0) & 0xFF == sqlite3.SQLITE_BUSY:
            what = "is being read by another window or command: try again when that has ended"
            raise JournalTrouble(file, what) from error
        return False


def _free(path: Path) -> Path:
    """That path, or the next one like it that is not taken."""
    number, free = 1, path
    while free.exists():
        number += 1
        free = path.with_name(f"{path.stem}-{number}{path.suffix}")
    return free


def _to_disk(folder: Path) -> None:
    """Let the renaming survive a power cut, where the system can be asked for that."""
    with suppress(OSError):
        place = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(place)
        finally:
            os.close(place)
