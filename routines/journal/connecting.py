"""Connections to the journal's file, and transactions on them.

Conventions: several processes read and write one file at the same time (write-ahead log): whoever reads waits
for nobody, whoever writes waits for the others up to `PATIENCE_SEC`. A transaction that has ended is on the
disk, not in a cache that dies with the power.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from routines.journal.errors import JournalTrouble, code_of

PATIENCE_SEC = 30.0
"""So long is waited for others who are writing."""

DAMAGE = (sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB)
"""By which SQLite tells that a file is spoilt, or was none of its own at any time."""


def to_write(file: Path) -> sqlite3.Connection:
    """A connection that writes; the file is made where it is missing, its folder is not."""
    connection = _connected(file, "mode=rwc")
    try:
        connection.execute("PRAGMA synchronous = FULL")
        connection.execute("PRAGMA foreign_keys = ON")
    except BaseException:
        connection.close()
        raise
    return connection


def to_read(file: Path) -> sqlite3.Connection:
    """A connection that changes nothing, also where the folder is read-only.

    Raises
    ------
    JournalTrouble
        If something stands in a log that cannot be read there: without it the newest passes were missing.
    sqlite3.Error
    """
    try:
        return _asked(file, "mode=rw")
    except sqlite3.OperationalError as error:
        if code_of(error) not in (sqlite3.SQLITE_READONLY, sqlite3.SQLITE_CANTOPEN):
            raise
        log = file.with_name(f"{file.name}-wal")
        if log.exists() and log.stat().st_size:
            what = f"cannot be read with what is still in {log.name}: its folder is read-only, copy all of it"
            raise JournalTrouble(file, what) from error
        return _asked(file, "mode=ro&immutable=1")  # no log can be made beside it


def wait_for_others(connection: sqlite3.Connection, patience_sec: float) -> None:
    """Let a connection wait so long for others who are writing, 0 or longer."""
    connection.execute(f"PRAGMA busy_timeout = {round(1e3 * patience_sec):d}")


def log_ahead(connection: sqlite3.Connection) -> None:
    """Let the file be read while another writes; it stays so for ever."""
    connection.execute("PRAGMA journal_mode = WAL")


def in_memory() -> sqlite3.Connection:
    """A connection to nothing, for questions where there is no journal."""
    return sqlite3.connect(":memory:", isolation_level=None, check_same_thread=False)


@contextmanager
def transaction(connection: sqlite3.Connection) -> Iterator[None]:
    """All of it or nothing: whatever is raised inside, nothing was changed."""
    connection.execute("BEGIN IMMEDIATE")
    try:
        yield
        connection.execute("COMMIT")
    except BaseException:
        if connection.in_transaction:
            with suppress(sqlite3.Error):  # what was raised first says more
                connection.execute("ROLLBACK")
        raise


@contextmanager
def one_moment(connection: sqlite3.Connection) -> Iterator[None]:
    """Whatever is asked inside is answered as of one moment, though others may write meanwhile."""
    connection.execute("BEGIN")
    try:
        yield
    finally:
        if connection.in_transaction:
            connection.execute("ROLLBACK")


def storable(text: str) -> str:
    """A text as SQLite stores it: half a sign, as in a broken file name, becomes a question mark."""
    return text.encode("utf-8", "replace").decode("utf-8")


def _connected(file: Path, how: str) -> sqlite3.Connection:
    return sqlite3.connect(
        f"{file.absolute().as_uri()}?{how}",
        uri=True,
        timeout=PATIENCE_SEC,
        isolation_level=None,  # transactions are begun here, not by the library
        check_same_thread=False,
    )


def _asked(file: Path, how: str) -> sqlite3.Connection:
    connection = _connected(file, how)
    try:
        connection.execute("PRAGMA query_only = ON")
        connection.execute("SELECT count(*) FROM sqlite_master").fetchone()
    except BaseException:
        connection.close()
        raise
    return connection
