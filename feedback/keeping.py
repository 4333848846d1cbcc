"""Takes that are kept: the sound of each part of a turn as FLAC, what was judged of it as JSON beside it.

Nothing is recorded unless a folder is named. The sound begins with the count-in and is laid on the click's
clock: times in the JSON are seconds of the sound, and `judge` finds each pass at its `start_sec`.
"""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from tempfile import TemporaryFile

from feedback.practice_events import Kept
from feedback.practice_json import take_json
from feedback.practice_request import PracticeRequest
from feedback.writing import beside
from listener.storing import write_flac


def prepare(folder: Path) -> None:
    """Make the folder for takes if it is not there, one level, and see that it can be written to.

    Raises
    ------
    OSError
        If not.
    """
    folder.mkdir(exist_ok=True)
    with TemporaryFile(dir=folder):
        pass


def store(folder: Path, kept: Kept, request: PracticeRequest, begun: datetime) -> Path:
    """Store one part of a turn.

    Parameters
    ----------
    folder : pathlib.Path
        See `prepare`.
    kept : Kept
    request : PracticeRequest
    begun : datetime
        When the practising began; names the files.

    Returns
    -------
    pathlib.Path
        The sound file. An earlier take is never overwritten.

    Raises
    ------
    OSError
        If it cannot be written; then neither file is there.
    """
    part = f"-{kept.part}" if kept.part > 1 else ""
    name = f"{request.lick.id}-{begun:%Y%m%d-%H%M%S}-turn{kept.turn}{part}"
    sound = _free(folder, name)
    beside(sound, lambda path: write_flac(path, kept.sound, kept.rate))
    text = take_json(request, kept, sound.name)
    try:
        beside(sound.with_suffix(".json"), lambda path: path.write_text(text + "\n", encoding="utf-8"))
    except OSError:
        sound.unlink(missing_ok=True)
        raise
    return sound


def _free(folder: Path, name: str) -> Path:
    """A name that no take has yet."""
    found, number = folder / f"{name}.flac", 2
    while found.exists() or found.with_suffix(".json").exists():
        found, number = folder / f"{name}.{number}.flac", number + 1
    return found
