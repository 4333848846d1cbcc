"""Takes: a sound, and what was played in it; read from folders of sound and JSON side by side."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from feedback.errors import CannotDo, Usage
from listener.errors import BadSound
from tests.bench.note_scores import Played

SUFFIXES = (".flac", ".wav", ".ogg", ".mp3")


@dataclass(frozen=True, slots=True, kw_only=True)
class Take:
    """A sound and its truth.

    Attributes
    ----------
    nps : float
        Eighths a second.
    truth : tuple of Played
    sound : ndarray of float32, shape (n,)
    rate : int
        Samples a second.
    """

    nps: float
    truth: tuple[Played, ...]
    sound: np.ndarray
    rate: int


def taken(folder: Path) -> Iterator[tuple[str, list[Take]]]:
    """Takes of a folder, or of each folder in it that has any.

    Parameters
    ----------
    folder : pathlib.Path

    Yields
    ------
    (str, list of Take)
        Name of a folder and its takes, by name.

    Raises
    ------
    NotADirectoryError, CannotDo, Usage, BadSound
        If there is no such folder, no take in it, a truth that cannot be read, or a take at another rate
        than the ear's.
    """
    if not folder.is_dir():
        raise NotADirectoryError(20, "no such folder", str(folder))
    folders = [inner for inner in (folder, *sorted(folder.iterdir())) if inner.is_dir() and _truths(inner)]
    if not folders:
        raise CannotDo(f"{folder}: no takes; sound and JSON side by side are expected")
    for inner in folders:
        yield inner.name, [_read(truth) for truth in _truths(inner)]


def _truths(folder: Path) -> list[Path]:
    return sorted(path for path in folder.glob("*.json") if _sound_of(path) is not None)


def _sound_of(truth: Path) -> Path | None:
    return next((path for path in map(truth.with_suffix, SUFFIXES) if path.exists()), None)


def _read(truth: Path) -> Take:
    from listener.ear import RATES
    from listener.files import SoundFile

    try:
        told = json.loads(truth.read_text(encoding="utf-8"))
        notes = tuple(Played(onset_sec=r["onset"], midi=r["midi"], how=r["how"]) for r in told["notes"])
        nps = float(told["nps"])
    except (ValueError, KeyError, TypeError) as error:
        raise Usage(f"{truth}: not the truth of a take ({type(error).__name__}: {error})") from error
    with SoundFile(_sound_of(truth) or truth) as sound:
        if sound.sample_rate not in RATES:
            raise BadSound(f"{truth}: {sound.sample_rate} Hz; takes at {' or '.join(map(str, RATES))} Hz")
        samples = np.concatenate(list(sound.blocks()))
        rate = sound.sample_rate
    return Take(nps=nps, truth=notes, sound=samples, rate=rate)
