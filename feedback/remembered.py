"""Whose practice it is, and where it is remembered, if it is.

What a microphone hears is the player's own. The simulated player and a recording are not you: they are
remembered only where a player is named.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from feedback.settings import home
from routines.journal.players import player_name
from routines.journal.records import Source

Now = Callable[[], datetime]


def local_now() -> datetime:
    """The moment, with the offset of the wall clock."""
    return datetime.now().astimezone()


@dataclass(frozen=True, slots=True, kw_only=True)
class Remembered:
    """Whose practice it is, and where it is remembered.

    Attributes
    ----------
    folder : pathlib.Path
        Of the user's files.
    player : str
    source : Source
    window : str
        The judges' window.
    now : callable
        The moment, aware.
    recorded_at : datetime or None
        When it was played, where that was not now: of a recording.
    """

    folder: Path
    player: str
    source: Source
    window: str = "usual"
    now: Now = local_now
    recorded_at: datetime | None = None


def remembered_of(
    values: Mapping[str, str | float], source: Source, player: str | None = None
) -> Remembered | None:
    """Where passes are remembered; None where they are not.

    Parameters
    ----------
    values : mapping
        The settings.
    source : Source
    player : str or None
        Who is named; None for the player of the settings, and then only what a microphone hears.

    Raises
    ------
    routines.errors.BadRoutine
        If the name is none.
    """
    if values["journal"] == "off" or (source != "mic" and player is None):
        return None
    return Remembered(
        folder=home(),
        player=player_name(player or str(values["player"])),
        source=source,
        window=str(values["window"]),
    )
