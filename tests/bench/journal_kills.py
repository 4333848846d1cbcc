"""A window that stores passes, killed again and again: what it had told as stored must be there.

Conventions: after each kill the journal is opened as the next window would open it, looked through from end
to end, and its totals are compared with the passes.
"""

from __future__ import annotations

import random
import subprocess
import sys
import time
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from routines.journal.comparing import wrong_totals
from routines.journal.connecting import to_read
from routines.journal.journal import Journal
from routines.journal.mending import looks_whole
from tests.journal_child import OPEN, plain_pass

CHILD = Path(__file__).parents[1] / "journal_child.py"

_AT_ONCE_SEC = 0.003


@dataclass(frozen=True, slots=True, kw_only=True)
class Killed:
    """What was found after one kill.

    Attributes
    ----------
    told : int
        Passes that the window had told as stored.
    stored : int
        Passes of it that are there: as many, or one more, which it had no time to tell.
    lost, half : int
        Passes that were told and are not there, or not as they were; totals that do not fit the passes.
    whole : bool
        Whether the file is without damage.
    lines : tuple of str
        What the next window said.
    """

    told: int
    stored: int
    lost: int
    half: int
    whole: bool
    lines: tuple[str, ...]

    @property
    def well(self) -> bool:
        """Whether nothing is lost, half there or damaged."""
        return not self.lost and not self.half and self.whole and self.told <= self.stored <= self.told + 1


def killed(folder: Path, number: int, rng: random.Random, now: Callable[[], datetime]) -> Killed:
    """Start a window, kill it while it stores passes, and look at the journal.

    Parameters
    ----------
    folder : Path
        The journal's.
    number : int
        Of the kill; another one each time.
    rng : random.Random
        When it is killed.
    now : callable

    Returns
    -------
    Killed
    """
    name = f"window {number}"
    told = _told(folder, name, rng)
    lines: list[str] = []
    with Journal.open(folder, now=now, told=lines.append) as journal:
        found = {one.id: one for one in journal.passes(player="Ann") if one.sitting == name}
        connection = to_read(journal.file)
        try:
            whole, half = looks_whole(connection, quick=False), len(wrong_totals(connection))
        finally:
            connection.close()
    lost = [id for id in told if found.get(id) != plain_pass(name, int(id.rpartition("/")[2]))]
    return Killed(
        told=len(told), stored=len(found), lost=len(lost), half=half, whole=whole, lines=tuple(lines)
    )


def _told(folder: Path, name: str, rng: random.Random) -> list[str]:
    """What a window told as stored before it was killed, in the middle of a pass."""
    words = [sys.executable, str(CHILD), str(folder), name, "0"]
    with subprocess.Popen(words, stdout=subprocess.PIPE, text=True) as process:
        assert process.stdout is not None
        told = [process.stdout.readline().strip() for _ in range(1 + rng.randrange(1, 30))]
        time.sleep(rng.uniform(0.0, _AT_ONCE_SEC))
        process.kill()
        told += process.stdout.read().split("\n")
    if told[0] != OPEN:
        raise OSError(f"{name}: it did not open the journal, but said {told[0]!r}")
    return [line for line in told[1:] if line]
