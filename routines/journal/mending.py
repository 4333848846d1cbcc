"""A damaged journal mended; nothing is ever deleted.

The problem: a disk or a power cut may spoil the file. Then the newest good backup is taken, and every pass
that can still be read from the spoilt file is put back into it; the spoilt file is kept under another name.

Conventions: all this is done by whoever holds the gate, while nobody else has the journal open. The new file
is made whole beside and only then gets its name, ".mended.sqlite". From there on it is the journal, however
much of the old one has been set aside: whoever is cut short, the next one takes the steps that are left.
"""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Callable, Iterator, Sequence
from contextlib import closing, suppress
from datetime import datetime
from pathlib import Path

from routines.journal.asking import passes_of
from routines.journal.backups import backups
from routines.journal.connecting import DAMAGE, to_read, to_write, transaction
from routines.journal.errors import JournalTrouble, code_of
from routines.journal.records import PassRecord
from routines.journal.schema import STEPS, Step, bring_up, version_of
from routines.journal.storing import store_all

JOURNAL_FILE = "journal.sqlite"

_MENDED = ".mended.sqlite"
_AT_ONCE = 64
_LEAST_BYTES = 100
"""No pass takes fewer."""


def is_sound(file: Path, steps: Sequence[Step] = STEPS) -> bool:
    """Whether a file is a journal that can be used, not too new, and without damage."""
    try:
        with closing(to_read(file)) as connection:
            return version_of(connection, file, steps) > 0 and looks_whole(connection, quick=True)
    except (sqlite3.DatabaseError, JournalTrouble):
        return False


def looks_whole(connection: sqlite3.Connection, *, quick: bool) -> bool:
    """Whether SQLite finds no damage; a quick look leaves out whether every index fits its table."""
    try:
        found = connection.execute(f"PRAGMA {'quick' if quick else 'integrity'}_check(1)").fetchone()
    except sqlite3.DatabaseError as error:
        if code_of(error) in DAMAGE:
            return False
        raise
    return bool(found[0] == "ok")


def passes_in(file: Path) -> Iterator[PassRecord]:
    """Every pass that can still be read from a journal's file, damaged or not.

    Parameters
    ----------
    file : Path

    Yields
    ------
    PassRecord
        In the order in which they were stored.
    """
    with suppress(sqlite3.DatabaseError, JournalTrouble), closing(to_read(file)) as connection:
        last = _last(connection, file)
        for begin in range(1, last + 1, _AT_ONCE):
            yield from _readable(connection, range(begin, min(begin + _AT_ONCE, last + 1)))


def newest_good(folder: Path, steps: Sequence[Step] = STEPS) -> Path | None:
    """The backup that was written last of those that can be used; None where there is none."""
    return next((file for file in backups(folder) if is_sound(file, steps)), None)


def mend(folder: Path, *, now: datetime, told: Callable[[str], None], steps: Sequence[Step] = STEPS) -> None:
    """Take the newest good backup in the damaged file's place, and what that one still yields.

    Parameters
    ----------
    folder : Path
        The journal's; whoever calls holds the gate, and nobody else has the journal open.
    now : datetime
    told : callable
        Takes one line.
    steps : sequence of Step

    Raises
    ------
    OSError or sqlite3.Error
        If there is no room for it; then nothing was changed.
    """
    good = newest_good(folder, steps)
    added = _make(folder, good, now, steps)
    aside = _exchange(folder, now)
    source = f"the backup {good.name}" if good else "a new one (there was no backup)"
    passes = f"{added} {'pass' if added == 1 else 'passes'} put back"
    told(
        f"{folder / JOURNAL_FILE} was damaged: {source} is in its place with {passes}; it is kept as {aside}"
    )


def unfinished(folder: Path) -> bool:
    """Whether an exchange was cut short when the new file was whole already."""
    return (folder / _MENDED).exists()


def finish(folder: Path, *, now: datetime, told: Callable[[str], None]) -> None:
    """Where an exchange was cut short when the new file was whole already, take the steps that are left.

    Parameters
    ----------
    folder, now, told
        As `mend`.
    """
    if unfinished(folder):
        aside = _exchange(folder, now)
        told(f"{folder / JOURNAL_FILE} was damaged: a mended one is in its place; it is kept as {aside}")


def _make(folder: Path, source: Path | None, now: datetime, steps: Sequence[Step]) -> int:
    """Make the new file beside, whole: how many passes were put back into it."""
    file, mended = folder / JOURNAL_FILE, folder / _MENDED
    part = mended.with_suffix(".part")
    try:
        for old in (*_all_of(part), *_all_of(mended)):
            old.unlink(missing_ok=True)
        if source is not None:
            _copy(source, part)
        added = 0
        with closing(to_write(part)) as connection:
            bring_up(connection, part, now=now, steps=steps)
            if file.exists():
                with transaction(connection):
                    added = store_all(connection, passes_in(file))
            connection.execute("PRAGMA journal_mode = DELETE")  # nothing of it in a log
        os.replace(part, mended)
    finally:
        for old in _all_of(part):
            old.unlink(missing_ok=True)
    return added


def _exchange(folder: Path, now: datetime) -> str:
    """Set what there is of the old file aside and put the new one there: the old one's name."""
    file = folder / JOURNAL_FILE
    aside = _set_aside(file, now)
    os.replace(folder / _MENDED, file)
    return aside.name


def _copy(source: Path, to: Path) -> None:
    """Through SQLite, for what lies in the file's log belongs to it."""
    with closing(to_read(source)) as connection, closing(to_write(to)) as copy:
        connection.backup(copy)


def _set_aside(file: Path, now: datetime) -> Path:
    log, index = _log_of(file), Path(f"{file}-shm")
    begun = _begun(file)
    if begun is not None and not (log.exists() and log.stat().st_size):
        aside = begun
        log.unlink(missing_ok=True)  # an empty one, of who only asked since
    else:
        aside = _free(file, now)
    # The log goes first: the file without it is older, the log without the file is nothing.
    for old, to in ((log, _log_of(aside)), (index, Path(f"{aside}-shm")), (file, aside)):
        with suppress(FileNotFoundError):
            os.replace(old, to)
    return aside


def _begun(file: Path) -> Path | None:
    """Where the file's log was set aside already, and the file was not: the name that waits for it."""
    logs = file.parent.glob(f"{file.stem}-set-aside-*{file.suffix}-wal")
    names = (log.with_name(log.name.removesuffix("-wal")) for log in sorted(logs, reverse=True))
    return next((name for name in names if not name.exists()), None) if file.exists() else None


def _free(file: Path, now: datetime) -> Path:
    name = f"{file.stem}-set-aside-{now:%Y-%m-%d-%H%M%S}"
    return next(
        path
        for path in (
            file.with_name(f"{name}{more}{file.suffix}") for more in ("", *(f"-{n}" for n in range(2, 1000)))
        )
        if not path.exists() and not _log_of(path).exists()
    )


def _log_of(file: Path) -> Path:
    return Path(f"{file}-wal")


def _all_of(file: Path) -> list[Path]:
    return [Path(f"{file}{ending}") for ending in ("", "-wal", "-shm", "-journal")]


def _last(connection: sqlite3.Connection, file: Path) -> int:
    """No pass has a greater number than this."""
    try:
        found = connection.execute("SELECT max(id) FROM passes").fetchone()[0]
        return int(found or 0)
    except sqlite3.DatabaseError:
        return file.stat().st_size // _LEAST_BYTES


def _readable(connection: sqlite3.Connection, numbers: range) -> Iterator[PassRecord]:
    try:
        yield from list(passes_of(connection, numbers))
        return
    except (sqlite3.DatabaseError, ValueError):
        pass
    for number in numbers:
        with suppress(sqlite3.DatabaseError, ValueError):
            yield from list(passes_of(connection, [number]))
