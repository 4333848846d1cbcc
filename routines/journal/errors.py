"""What can go wrong with the journal's file. Each message is one line: the file, the fault, what helps."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

_WHY = {
    sqlite3.SQLITE_FULL: "the disk is full, nothing was changed: make room and try again",
    sqlite3.SQLITE_READONLY: "may not be written to: it or its folder is read-only",
    sqlite3.SQLITE_PERM: "may not be opened",
    sqlite3.SQLITE_AUTH: "may not be opened",
    sqlite3.SQLITE_CANTOPEN: "cannot be opened: its folder must be there and may be written to",
    sqlite3.SQLITE_NOTADB: "is no journal: move it away, or restore a backup",
    sqlite3.SQLITE_CORRUPT: "is damaged: close all windows and open it again, then it is mended",
    sqlite3.SQLITE_BUSY: "is kept busy by another program: try again",
    sqlite3.SQLITE_LOCKED: "is kept busy by another program: try again",
}

_LONGEST = 100


class JournalTrouble(OSError):
    """The journal could not be opened, read or written; what was stored before still is.

    Attributes
    ----------
    file : str
    what : str
        What is wrong with it, and what helps.
    """

    def __init__(self, file: Path | str, what: str) -> None:
        self.file, self.what = str(file), what
        super().__init__(f"{self.file}: {what}")


class UnreadPass(ValueError):
    """What is stored of one pass cannot be read; `troubles` tells it as a `JournalTrouble` that names it.

    Attributes
    ----------
    name : str
        The pass's id.
    """

    def __init__(self, name: str, why: str) -> None:
        self.name = name
        shown = name if name.isprintable() and len(name) <= _LONGEST else repr(name[:_LONGEST])
        super().__init__(f"pass {shown} cannot be read ({' '.join(why.split())[:_LONGEST]})")


def code_of(error: BaseException | None) -> int:
    """SQLite's primary number for an error; 0 for any other."""
    return getattr(error, "sqlite_errorcode", 0) & 0xFF


@contextmanager
def troubles(file: Path) -> Iterator[None]:
    """Tell whatever the disk and the file do wrong as `JournalTrouble`.

    Parameters
    ----------
    file : Path
        Which one is meant, where the error does not say it.

    Raises
    ------
    JournalTrouble
    """
    try:
        yield
    except JournalTrouble:
        raise
    except UnreadPass as error:
        raise JournalTrouble(file, f"{error}; sevenfall journal export writes all others") from error
    except sqlite3.ProgrammingError:  # a fault of the program
        raise
    except sqlite3.DatabaseError as error:
        said = " ".join(str(error).split())
        raise JournalTrouble(file, _WHY.get(code_of(error), f"cannot be read or written ({said})")) from error
    except OSError as error:
        said = " ".join((error.strerror or str(error)).split())
        raise JournalTrouble(error.filename or file, said[:1].lower() + said[1:]) from error
