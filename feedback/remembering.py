"""The passes of a turn that is no practice, remembered where a player is named: of a recording, or simulated.

A recording was played when its file was last written, and is the same recording however often it is judged:
its passes are remembered once for each place that is looked at.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from feedback.memory import Memory
from feedback.practice_events import Trouble
from feedback.remembered import remembered_of
from feedback.session import PassOver

if TYPE_CHECKING:
    from feedback.performing import Asked


def remembering(
    asked: Asked, file: str | None, passes: Iterable[PassOver], told: Callable[[Trouble], None]
) -> Iterator[PassOver]:
    """The passes of one turn as they come, each of them remembered.

    Parameters
    ----------
    asked : Asked
        Where no player is named nothing is remembered.
    file : str or None
        The recording; None for the simulated player.
    passes : iterable of PassOver
    told : callable
        Is told what goes wrong.

    Raises
    ------
    OSError
        If the recording cannot be read.
    """
    about = remembered_of(asked.values, asked.source, asked.player)
    if about is None:
        yield from passes
        return
    practice = ""
    if file is not None:
        recorded = datetime.fromtimestamp(Path(file).stat().st_mtime).astimezone()
        about = replace(about, recorded_at=recorded)
        practice = f"file-{_known_by(Path(file), asked, about.player)}"
    memory = Memory(about, practice)
    try:
        for over in passes:
            request = replace(asked.request, tempo_half_bpm=over.judged.outcome.tempo_half_bpm)
            for trouble in memory.passed(1, over, request):
                told(trouble)
            yield over
    finally:
        for trouble in memory.close():
            told(trouble)


def _known_by(file: Path, asked: Asked, player: str) -> str:
    """What tells this recording, whose it is and what is looked for in it from all others."""
    lick, looked_for = asked.whole, (asked.loop, asked.way, asked.start_sec, asked.tempo_half_bpm)
    found = hashlib.sha256(file.read_bytes())
    found.update(repr((player, lick.id, lick.key, *looked_for, asked.limits)).encode())
    return found.hexdigest()[:16]
