"""Passes taken from an export into the journal: merged, and nothing of a file in which anything is wrong.

The whole file is checked before the journal is touched. Then what is new goes in, `AT_ONCE` passes in a
transaction: who is playing in a window meanwhile must not wait for ten years to be stored. A pass whose id is
there already is left as it is, whatever the file says of it; so what a full disk or a power cut stopped is
completed by importing once more.
"""

from __future__ import annotations

from itertools import islice
from pathlib import Path

from routines.journal.errors import JournalTrouble
from routines.journal.exports import Tally, passes_of
from routines.journal.journal import Journal

AT_ONCE = 100
"""So many passes are stored in one transaction, all or none; whoever plays waits no longer than for one."""


def check(path: Path, player: str | None = None) -> Tally:
    """Read an export from its beginning to its end.

    Parameters
    ----------
    path : pathlib.Path
    player : str, optional
        Whose the passes are to be; as the file says where left out.

    Returns
    -------
    Tally
        What it holds.

    Raises
    ------
    BadJournalFile
        At the first fault.
    OSError
        If it cannot be read.
    """
    tally = Tally()
    for _ in tally.counted(passes_of(path, player)):
        pass
    return tally


def take_in(journal: Journal, path: Path, player: str | None = None) -> int:
    """Put what is new in an export into a journal.

    Parameters
    ----------
    journal : Journal
        Open for writing.
    path, player
        As `check`, which is to be asked first.

    Returns
    -------
    int
        How many passes were new.

    Raises
    ------
    JournalTrouble
        If the journal cannot be written; it says how many were taken in before, in whole transactions.
    BadJournalFile, OSError
        As `check`, if the file is another than was checked.
    """
    records, added = passes_of(path, player), 0
    while some := list(islice(records, AT_ONCE)):
        try:
            added += journal.add_all(some)
        except JournalTrouble as trouble:
            if not added:
                raise
            what = f"{trouble.what}; {added:,} taken in before: import again for the rest"
            raise JournalTrouble(trouble.file, what) from trouble
    return added
