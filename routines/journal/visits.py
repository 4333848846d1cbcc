"""Who has the journal open for writing, and whether somebody left without closing it.

The problem: after a power cut the file must be looked at before anything is written, after an orderly end it
need not be. So each writer has a file of its own in the folder "visits", locked as long as it runs: the
system frees the lock however the writer ends. A file there that nobody holds is of one who left without
closing.

Conventions: the journal is opened, looked at and mended by one at a time, who holds the *gate*.
"""

from __future__ import annotations

import os
import secrets
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from routines.journal.errors import JournalTrouble

if TYPE_CHECKING:
    from filelock import FileLock

GATE_SEC = 120.0
"""So long is waited for another who opens or mends the journal."""

_FOLDER = "visits"
_DAMAGE = "damage-"


@contextmanager
def gate(folder: Path, patience_sec: float = GATE_SEC) -> Iterator[None]:
    """Be the only one who opens, looks at or mends the journal of a folder.

    Raises
    ------
    JournalTrouble
        If another does so for longer than that.
    """
    from filelock import Timeout

    lock = lock_of(folder / "journal.lock")
    try:
        lock.acquire(timeout=patience_sec)
    except Timeout as error:
        raise JournalTrouble(folder, "another window is opening the journal: try again") from error
    try:
        yield
    finally:
        lock.release()


@dataclass(frozen=True, slots=True)
class Visit:
    """One writer's stay.

    Attributes
    ----------
    file : Path
    lock : filelock.FileLock
    """

    file: Path
    lock: FileLock

    @classmethod
    def begin(cls, folder: Path) -> Visit:
        """To be called by whoever holds the gate; the folder is there."""
        file = _new(folder)
        lock = lock_of(file)
        lock.acquire(timeout=0)
        return cls(file, lock)

    def end(self) -> None:
        """Leave in order; once more does no harm."""
        with suppress(OSError):  # where a locked file cannot be deleted
            self.file.unlink(missing_ok=True)
        self.lock.release()
        with suppress(OSError):
            self.file.unlink(missing_ok=True)


@dataclass(frozen=True, slots=True)
class Others:
    """Whoever else there is, or was.

    Attributes
    ----------
    here : int
        How many have it open for writing now.
    left : tuple of Path
        Files of those who left without closing it.
    """

    here: int
    left: tuple[Path, ...]

    def forget(self) -> None:
        """The journal has been looked at: whoever left does not matter any more."""
        for file in self.left:
            file.unlink(missing_ok=True)


def others(folder: Path) -> Others:
    """Look who else has the journal open, or left without closing it; for whoever holds the gate."""
    from filelock import Timeout

    here, left = 0, list[Path]()
    for file in sorted((folder / _FOLDER).glob("*.lock")):
        lock = lock_of(file)
        try:
            lock.acquire(timeout=0)
        except Timeout:
            here += 1
            continue
        lock.release()
        left.append(file)
    return Others(here, tuple(left))


def mark(folder: Path) -> None:
    """Damage was found: let the next one who opens the journal look at it first."""
    _new(folder, _DAMAGE).touch()


def marked(folder: Path) -> bool:
    """Whether damage was found, and nobody has looked at the journal since."""
    return any((folder / _FOLDER).glob(f"{_DAMAGE}*.lock"))


def _new(folder: Path, what: str = "") -> Path:
    (folder / _FOLDER).mkdir(parents=True, exist_ok=True)
    return folder / _FOLDER / f"{what}{os.getpid()}-{secrets.token_hex(4)}.lock"


def lock_of(file: Path) -> FileLock:
    """A lock that the system frees where its holder ends; the file's folder is there."""
    from filelock import FileLock  # late: it takes long to load

    return FileLock(file, thread_local=False)
