"""The sound of a performance, and what came true of it; kept on disk from one run to the next.

The problem: making a sound takes as long as listening to it, and a listener is changed far more often than a
player. So sounds are kept under a name that is a hash of all that they follow from: the notes as they were
played (and so the lick, the tempo, the mistake, the seed and the hand), the instrument, the source text of
what makes sound, and of a font its size and date, and FluidSynth's version. What was made by another player
or another renderer has another name.

Conventions: a sound is mono of 16 bits, as a microphone gives it, whether it was kept or not. A file is the
SHA-256 of the rest of it, then the length of a JSON text, that text (the notes that came true), and FLAC. One
that is not whole is made anew. Files that were not used for long go first where a folder grows too large.
"""

from __future__ import annotations

import hashlib
import io
import json
import os
import subprocess
from collections.abc import Mapping
from contextlib import suppress
from dataclasses import asdict, dataclass, replace
from functools import lru_cache
from pathlib import Path

import numpy as np
import soundfile

import feedback
from feedback.played import Performance, PlayedNote
from feedback.player import render
from feedback.sound.banjo import Banjo
from feedback.writing import beside
from tests.bench.fluid import font_path, through_font, with_noise

RATE = 44100
SIMULATED = "sim"
NOISE_DBFS = -60.0
"""A microphone's noise over a font's sound; the simulated player's room brings its own."""

MOST_BYTES = 4 * 10**9
"""A folder of sounds is trimmed to this."""

_SUFFIX = ".take"
_DIGEST = 32
_LENGTH = 4
_FULL = 32768.0


def default_folder(environ: Mapping[str, str] | None = None) -> Path:
    """Where sounds are kept: in `SEVENFALL_HOME`, else where the system keeps what can be made anew."""
    environ = os.environ if environ is None else environ
    if environ.get("SEVENFALL_HOME"):
        return Path(environ["SEVENFALL_HOME"]) / "bench"
    from platformdirs import user_cache_path

    return user_cache_path("sevenfall", appauthor=False) / "bench"


@dataclass(frozen=True, slots=True, kw_only=True)
class Renders:
    """Sounds, kept in a folder.

    Attributes
    ----------
    folder : pathlib.Path or None
        Made where it is not there. None: nothing is kept.
    """

    folder: Path | None

    def sounded(self, played: Performance, sound: str) -> tuple[np.ndarray, Performance, bool]:
        """Make the sound of a performance, or take the one that was kept.

        Parameters
        ----------
        played : Performance
        sound : str
            `SIMULATED` (the instrument is drawn anew for each seed), or what `tests.bench.fluid.font_path`
            takes.

        Returns
        -------
        sound : numpy.ndarray
            Shape (n,), float32, at `RATE`.
        played : Performance
            With the onsets that came true.
        kept : bool
            Whether the sound was there.

        Raises
        ------
        CannotDo
            If FluidSynth or the font is missing.
        OSError
            If the folder cannot be written.
        """
        if self.folder is None:
            samples, came_true = _made(played, sound)
            return samples / np.float32(_FULL), came_true, False
        path = self.folder / f"{_name(played, sound)}{_SUFFIX}"
        kept = _read(path)
        if kept is not None:
            samples, notes = kept
            return samples / np.float32(_FULL), replace(played, notes=notes), True
        samples, came_true = _made(played, sound)
        self.folder.mkdir(parents=True, exist_ok=True)
        data = _packed(samples, came_true.notes)
        beside(path, lambda part: part.write_bytes(data))
        return samples / np.float32(_FULL), came_true, False

    def size_bytes(self) -> int:
        """How much is kept."""
        return sum(size for _, size, _ in self._files())

    def trim(self, most_bytes: int = MOST_BYTES) -> None:
        """Remove what was not used for longest until no more than that is kept."""
        size = self.size_bytes()
        for _, bytes_, path in sorted(self._files()):
            if size <= most_bytes:
                break
            path.unlink(missing_ok=True)
            size -= bytes_

    def _files(self) -> list[tuple[float, int, Path]]:
        found = []
        for path in self.folder.glob(f"[!.]*{_SUFFIX}") if self.folder is not None else ():
            with suppress(FileNotFoundError):  # another run may be trimming, too
                found.append(((stat := path.stat()).st_mtime, stat.st_size, path))
        return found


def _made(played: Performance, sound: str) -> tuple[np.ndarray, Performance]:
    rng = np.random.default_rng(played.seed)
    if sound == SIMULATED:
        samples = render(played, rate=RATE, instrument=Banjo().varied(rng))
    else:
        samples, played, _ = through_font(played, font=font_path(sound), rate=RATE)
        samples = with_noise(samples, NOISE_DBFS, rng)
    return np.clip(np.rint(samples * _FULL), -_FULL, _FULL - 1).astype(np.int16), played


def _packed(samples: np.ndarray, notes: tuple[PlayedNote, ...]) -> bytes:
    flac = io.BytesIO()
    soundfile.write(flac, samples, RATE, format="FLAC", subtype="PCM_16")
    text = json.dumps([asdict(note) for note in notes]).encode()
    rest = len(text).to_bytes(_LENGTH, "little") + text + flac.getvalue()
    return hashlib.sha256(rest).digest() + rest


def _read(path: Path) -> tuple[np.ndarray, tuple[PlayedNote, ...]] | None:
    """What a file keeps; None where there is none, or not a whole one."""
    try:
        data = path.read_bytes()
        os.utime(path)  # what is used stays
    except OSError:
        return None
    digest, rest = data[:_DIGEST], data[_DIGEST:]
    if hashlib.sha256(rest).digest() != digest:
        return None
    end = _LENGTH + int.from_bytes(rest[:_LENGTH], "little")
    notes = tuple(PlayedNote(**fields) for fields in json.loads(rest[_LENGTH:end]))
    samples, _ = soundfile.read(io.BytesIO(rest[end:]), dtype="int16")
    return samples, notes


def _name(played: Performance, sound: str) -> str:
    played_text = json.dumps(asdict(played), sort_keys=True)
    return hashlib.sha256(f"{_made_by(sound)} {played_text}".encode()).hexdigest()[:40]


@lru_cache(maxsize=8)
def _made_by(sound: str) -> str:
    """A hash of all but the performance that a sound follows from."""
    house, bench = Path(feedback.__file__).parent, Path(__file__).parent
    files = [*sorted((house / "sound").glob("*.py")), house / "player.py", house / "played.py"]
    files += [bench / name for name in ("fluid.py", "midi.py", "renders.py")]
    made = hashlib.sha256(f"{sound} {np.__version__}".encode())
    for file in files:
        made.update(file.read_bytes())
    if sound != SIMULATED:
        font = font_path(sound)
        stat = font.stat()
        made.update(f"{font} {stat.st_size} {stat.st_mtime_ns} {_synthesiser()}".encode())
    return made.hexdigest()


def _synthesiser() -> str:
    try:
        run = subprocess.run(["fluidsynth", "--version"], capture_output=True, text=True, check=False)
    except FileNotFoundError:
        return ""
    return run.stdout
