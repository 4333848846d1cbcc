"""What a program that was killed has left in the journal's folder, taken away.

The problem: a copy that was being made, or a journal that was to take the place of the present one, is as
large as the journal, and nobody would ever look for it.

Conventions: what a living program is still at is left alone; so each new journal is made in a folder of its
own with a lock in it, which the system frees however its maker ends.
"""

from __future__ import annotations

import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from routines.journal.visits import lock_of

_RESTORING = ".restoring-"
_LOCK = "restoring.lock"


@contextmanager
def own_folder(folder: Path) -> Iterator[Path]:
    """A folder on the same disk, so that what is made there can be renamed into place.

    Parameters
    ----------
    folder : Path
        The journal's; whoever enters holds the gate.

    Yields
    ------
    Path
        Deleted with all that is in it at the end.
    """
    made_in = Path(tempfile.mkdtemp(prefix=_RESTORING, dir=folder))
    lock = lock_of(made_in / _LOCK)
    try:
        lock.acquire(timeout=0)
        yield made_in
    finally:
        lock.release()
        shutil.rmtree(made_in, ignore_errors=True)


def sweep(folder: Path) -> None:
    """Delete folders of restores that were killed; for whoever holds the gate."""
    from filelock import Timeout

    for made_in in folder.glob(f"{_RESTORING}*"):
        with suppress(OSError):
            lock = lock_of(made_in / _LOCK)
            try:
                lock.acquire(timeout=0)
            except Timeout:
                continue
            lock.release()
            shutil.rmtree(made_in, ignore_errors=True)
