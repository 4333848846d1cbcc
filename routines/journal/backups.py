"""Copies of the journal in the folder "backups" beside it.

Conventions: a backup of a week is "journal-2026-11-29.sqlite", the newest `KEPT` are kept; one that was made
before a new version is "before-version-2-2026-11-29-101530.sqlite" and stays. A backup is one plain file,
written beside and then renamed: whatever stands in the folder under such a name is whole.
"""

from __future__ import annotations

import os
import re
import sqlite3
from collections.abc import Callable
from contextlib import closing, suppress
from datetime import date, datetime
from pathlib import Path

KEPT = 3
"""So many weekly ones."""

_PAGES = 512  # a piece of 2 MB at once: others can write between
_FOLDER = "backups"
_DAY = re.compile(r"\d{4}-(0[1-9]|1[0-2])-(0[1-9]|[12]\d)")


def weekly(folder: Path, day: date) -> Path:
    """The name of a weekly backup."""
    return folder / _FOLDER / f"journal-{day.isoformat()}.sqlite"


def weekly_days(folder: Path) -> list[date]:
    """The days of all weekly backups."""
    names = [file.stem.removeprefix("journal-") for file in (folder / _FOLDER).glob("journal-*.sqlite")]
    return [date.fromisoformat(name) for name in names if _DAY.fullmatch(name)]


def before_version(folder: Path, version: int, now: datetime) -> Path:
    """The name of a backup that is made before a journal is brought to a version."""
    return folder / _FOLDER / f"before-version-{version}-{now:%Y-%m-%d-%H%M%S}.sqlite"


def backups(folder: Path) -> list[Path]:
    """All backups of the journal in a folder, the one that was written last first."""
    found = [
        (file.stat().st_mtime_ns, file.name, file)
        for pattern in ("journal-*.sqlite", "before-version-*.sqlite")
        for file in (folder / _FOLDER).glob(pattern)
    ]
    return [file for *_, file in sorted(found, reverse=True)]


def back_up(connection: sqlite3.Connection, to: Path, going_on: Callable[[], bool] = lambda: True) -> bool:
    """Copy a journal as it is at this moment.

    Parameters
    ----------
    connection : sqlite3.Connection
        In no transaction; others may go on writing.
    to : Path
        Overwritten; its folder is made.
    going_on : callable
        Asked after each 2 MB; where it says no, nothing is left.

    Returns
    -------
    bool
        Whether the copy was made.
    """

    def asked(status: int, left: int, pages: int) -> None:
        if not going_on():
            raise InterruptedError

    to.parent.mkdir(parents=True, exist_ok=True)
    part = to.with_name(f".{to.stem}.{os.getpid()}.part")
    try:
        with closing(sqlite3.connect(part, isolation_level=None)) as copy:
            connection.execute("BEGIN")  # one moment, however long the copying takes
            try:
                connection.execute("SELECT count(*) FROM sqlite_master").fetchone()
                connection.backup(copy, pages=_PAGES, progress=asked, sleep=0.01)
            finally:
                connection.execute("ROLLBACK")
            copy.execute("PRAGMA journal_mode = DELETE")
        os.replace(part, to)
    except InterruptedError:
        return False
    finally:
        for left in to.parent.glob(part.name + "*"):
            left.unlink(missing_ok=True)
    return True


def prune(folder: Path) -> None:
    """Delete weekly backups but the newest ones."""
    for file in sorted((folder / _FOLDER).glob("journal-*.sqlite"), reverse=True)[KEPT:]:
        file.unlink(missing_ok=True)


def sweep_parts(folder: Path) -> None:
    """Delete what a copying that was killed has left; for whoever lets nobody else copy meanwhile."""
    for file in (folder / _FOLDER).glob(".*.part*"):
        with suppress(OSError):
            file.unlink(missing_ok=True)
