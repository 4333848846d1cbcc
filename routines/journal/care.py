"""Once a week the journal is looked through from end to end and copied, in the background.

The problem: a disk may spoil a file that nobody looks at. And a copy of a spoilt file is worth nothing, so
only a journal that was found whole is copied.

Conventions: the week is counted from the newest weekly backup. What is found damaged is not touched while it
is open: it is mended when it is opened next. Totals are compared with one another, and on the days whose turn
it is with the verdicts; with pauses between, for somebody plays meanwhile.
"""

from __future__ import annotations

import sqlite3
import threading
from collections.abc import Callable
from contextlib import closing, suppress
from datetime import date, datetime
from pathlib import Path

from routines.journal.backups import back_up, prune, sweep_parts, weekly, weekly_days
from routines.journal.comparing import wrong_totals
from routines.journal.connecting import DAMAGE, to_write
from routines.journal.errors import JournalTrouble, UnreadPass, code_of, troubles
from routines.journal.leftovers import sweep
from routines.journal.mending import JOURNAL_FILE, looks_whole
from routines.journal.recounting import rebuild_days, rebuild_totals, wrong_in_share
from routines.journal.visits import gate, lock_of, mark

WEEK_DAYS = 7

_PAUSE_SEC = 0.002
_GATE_SEC = 1.0
_ASKED_EACH = 20_000  # of SQLite's own steps: some milliseconds


def due_for_check(folder: Path, now: datetime) -> bool:
    """Whether a journal is there that was last found whole and copied a week ago or longer.

    Parameters
    ----------
    folder : Path
        The journal's.
    now : datetime

    Returns
    -------
    bool
    """
    return (folder / JOURNAL_FILE).exists() and _due(folder, now.date())


class Checking:
    """A check that goes on in the background.

    Attributes
    ----------
    over : bool
        Whether it has come to its end, or was stopped.
    """

    def __init__(self, work: Callable[[Checking], None]) -> None:
        self._stopped = threading.Event()
        self.connection: sqlite3.Connection | None = None
        self._thread = threading.Thread(target=work, args=(self,), name="journal check", daemon=True)
        self._thread.start()

    @property
    def over(self) -> bool:
        """Whether it has come to its end, or was stopped."""
        return not self._thread.is_alive()

    def going_on(self) -> bool:
        """Whether it may go on."""
        return not self._stopped.is_set()

    def is_stopped(self) -> bool:
        """Whether it is to end."""
        return self._stopped.is_set()

    def goes_on_after_a_pause(self) -> bool:
        """Whether it may go on, when others have had their turn."""
        return not self._stopped.wait(_PAUSE_SEC)

    def stop(self) -> None:
        """Let it end soon, with nothing half done; does not wait."""
        self._stopped.set()
        if self.connection is not None:
            with suppress(sqlite3.Error):  # it is closed already
                self.connection.interrupt()

    def join(self, timeout_sec: float | None = None) -> bool:
        """Wait for its end; whether it has come."""
        self._thread.join(timeout_sec)
        return self.over


def check_in_background(folder: Path, *, now: datetime, told: Callable[[str], None]) -> Checking:
    """Look the journal through and copy it, on a thread of its own with its own connection.

    Where another window is at it, nothing is done.

    Parameters
    ----------
    folder : Path
        The journal's.
    now : datetime
    told : callable
        Takes a line where something is wrong; called from that thread.

    Returns
    -------
    Checking
    """

    def work(checking: Checking) -> None:
        try:
            check(folder, now=now, told=told, checking=checking)
        except JournalTrouble as trouble:
            if checking.going_on():
                told(str(trouble))

    return Checking(work)


def check(
    folder: Path, *, now: datetime, told: Callable[[str], None], checking: Checking | None = None
) -> None:
    """Look the journal through, put right totals that do not add up, and copy it.

    Parameters
    ----------
    folder : Path
        The journal's, which is there.
    now : datetime
    told : callable
        Takes a line where something is wrong.
    checking : Checking, optional
        By which it can be stopped.

    Raises
    ------
    JournalTrouble
        If it cannot be read, or the copy cannot be written.
    """
    from filelock import Timeout

    file = folder / JOURNAL_FILE
    with troubles(file):
        lock = lock_of(folder / "check.lock")
        try:
            lock.acquire(timeout=0)
        except Timeout:
            return
        try:
            _sweep(folder)
            with closing(to_write(file)) as connection:
                if checking:
                    checking.connection = connection
                    connection.set_progress_handler(checking.is_stopped, _ASKED_EACH)
                _check(connection, folder, now, told, checking)
        except sqlite3.DatabaseError as error:
            if code_of(error) not in DAMAGE:
                raise
            _damaged(folder, told)
        finally:
            lock.release()


def _check(
    connection: sqlite3.Connection,
    folder: Path,
    now: datetime,
    told: Callable[[str], None],
    checking: Checking | None,
) -> None:
    going_on = checking.going_on if checking else lambda: True
    slowly = checking.goes_on_after_a_pause if checking else going_on
    if not looks_whole(connection, quick=False):
        _damaged(folder, told)
        return

    def unread(error: UnreadPass) -> None:
        told(f"{folder / JOURNAL_FILE}: {error}")

    turn = now.toordinal() // WEEK_DAYS
    wrong, days = wrong_totals(connection), wrong_in_share(connection, turn, slowly, unread)
    items = {*wrong, *((of.player, of.item) for of in days)}
    if items and going_on():
        what = "1 item" if len(items) == 1 else f"{len(items)} items"
        told(f"{folder / JOURNAL_FILE}: totals of {what} did not add up and were counted anew")
        rebuild_totals(connection, wrong, slowly)
        rebuild_days(connection, [of for of in days if (of.player, of.item) not in wrong], slowly)
    if going_on() and back_up(connection, weekly(folder, now.date()), going_on):
        prune(folder)


def _sweep(folder: Path) -> None:
    with suppress(JournalTrouble), gate(folder, _GATE_SEC):  # where others are at it, another week
        sweep_parts(folder)
        sweep(folder)


def _damaged(folder: Path, told: Callable[[str], None]) -> None:
    mark(folder)
    told(f"{folder / JOURNAL_FILE} is damaged: close all windows and open it again, then it is mended")


def _due(folder: Path, today: date) -> bool:
    return not any(abs((today - day).days) < WEEK_DAYS for day in weekly_days(folder))
