"""Single notes of a sound font, recorded once, and performances assembled from them.

The problem: recorded strings know what no model does; but FluidSynth is slow to call, is not everywhere, and
always plays one note alike. So single notes are recorded once (`build`) and kept as plain arrays; a take
reads them at moving positions: re-pitched, bent, damped, slurred. One velocity is enough: but for its level,
the font's banjo sounds alike at 60 and at 110 (once scaled, not a sample differs).

Conventions: only `fluid-soundfont-gm`, programs counted from 0. A note begins `LEAD_SEC` into its array,
where its power over a millisecond comes within `BEGINS_DB` of its greatest. Every second pitch is kept; those
between are read a half step off.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache, partial
from pathlib import Path
from types import MappingProxyType

import numpy as np

from feedback.played import PlayedNote
from feedback.sound.partials import read_at
from feedback.writing import beside
from tests.bench.train.lines import gone_cents

LEARN: Mapping[int, int] = MappingProxyType({105: 60, 15: 90, 25: 90, 26: 90, 27: 90, 104: 90, 106: 90})
"""Programs to learn from (banjo; dulcimer, steel, jazz and clean guitar, sitar, shamisen) to velocities."""

ASIDE: Mapping[int, int] = MappingProxyType({24: 90, 107: 90, 46: 90})
"""Programs that are never learned from (nylon guitar, koto, harp) to velocities."""

FONT = "fluid"
"""Name in `tests.bench.fluid.FONTS`."""

RATE = 44_100
LEAD_SEC = 0.003
BEGINS_DB = 26.0

_PITCHES = tuple(range(45, 89, 2))
_RINGS_SEC = 1.5
_VELOCITIES = {**LEARN, **ASIDE}
_APART_MS = 2400
_TAIL_FADE_SEC = 0.15
_BLOCK = 64
_FULL = 32_000


def build(folder: Path) -> None:
    """Record the notes of every program; what is there already is left alone.

    Parameters
    ----------
    folder : pathlib.Path
        Made if it is not there; some 30 MB.

    Raises
    ------
    feedback.errors.CannotDo
        If FluidSynth or the font is missing.
    """
    folder.mkdir(parents=True, exist_ok=True)
    for program in _VELOCITIES:
        path = folder / _name(program)
        if not path.exists():
            beside(path, partial(_save, _recorded(program)))


@dataclass(frozen=True, slots=True, kw_only=True)
class FontString:
    """One instrument out of a program's notes.

    Attributes
    ----------
    folder : pathlib.Path
        As given to `build`.
    program : int
    shift : float
        Half steps by which other notes than the pitch asks for are taken: it moves the body's resonances.
    damp_db_per_sec, damp_late_db_per_sec, damp_share : float
        Decay that is added: of `damp_share` of the sound the first, of the rest the second.
    string_cents : numpy.ndarray
        Shape (5,).
    intonation_cents, tuning_cents : float
    slur_from_sec : tuple of float
        Where in a recorded note a slur is begun, least and most; (0, 0) for its beginning, faded in.
    slur_attack_sec : float
    """

    folder: Path
    program: int
    shift: float
    damp_db_per_sec: float
    damp_late_db_per_sec: float
    damp_share: float
    string_cents: np.ndarray
    intonation_cents: float
    tuning_cents: float
    slur_from_sec: tuple[float, float]
    slur_attack_sec: float

    def made(
        self, note: PlayedNote, count: int, rate: int, reach: float, rng: np.random.Generator
    ) -> tuple[np.ndarray, int]:
        """One note, `count` samples from its onset on, and how many more lie before that; float32."""
        recorded = _kept(self.folder / _name(self.program))
        nearest = int(
            np.argmin(np.abs(np.array(_PITCHES) - (note.midi + self.shift + rng.uniform(-0.4, 0.4))))
        )
        cents = (
            self.tuning_cents + self.string_cents[note.string - 1] + rng.normal(0.0, self.intonation_cents)
        )
        half_steps = note.midi - _PITCHES[nearest] + cents / 100.0
        step = RATE / rate * 2.0 ** (half_steps / 12.0)
        lead = int(LEAD_SEC * RATE / step) if note.picked else 0
        sec = np.arange(count) / rate
        steps = step * 2.0 ** (gone_cents(note, sec, reach) / 1200.0)
        begins = LEAD_SEC * RATE
        if not note.picked:
            begins += RATE * float(rng.uniform(*self.slur_from_sec))
        position = begins + np.concatenate([[0.0], np.cumsum(steps[:-1])])
        before = begins - step * np.arange(lead, 0, -1)
        source = recorded[nearest].astype(np.float32)
        signal = read_at(source, np.concatenate([before, position]))
        signal[lead:] *= self._damped(sec)
        if not note.picked:
            attack = max(2, int(self.slur_attack_sec * rate))
            signal[:attack] *= np.sin(np.linspace(0.0, np.pi / 2, attack, dtype=np.float32))[:count] ** 2
        return signal, lead

    def _damped(self, sec: np.ndarray) -> np.ndarray:
        fast = 10.0 ** (-self.damp_db_per_sec * sec / 20.0)
        slow = 10.0 ** (-self.damp_late_db_per_sec * sec / 20.0)
        damped: np.ndarray = (self.damp_share * fast + (1.0 - self.damp_share) * slow).astype(np.float32)
        return damped


def _save(notes: np.ndarray, path: Path) -> None:
    np.save(path, notes)


def _name(program: int) -> str:
    return f"program-{program}-velocity-{_VELOCITIES[program]}.npy"


@lru_cache(maxsize=16)
def _kept(path: Path) -> np.ndarray:
    """Notes of one program, shape (len(_PITCHES), n), int16."""
    notes: np.ndarray = np.load(path, allow_pickle=False)
    return notes


def _recorded(program: int) -> np.ndarray:
    sound = _synthesised(program)
    notes = []
    for number in range(len(_PITCHES)):
        ms = _APART_MS * (number + 1)
        start = _BLOCK * (-(-ms * RATE // (1000 * _BLOCK)) + 1)
        alone = sound[start : start + int((_RINGS_SEC + 0.4) * RATE)].astype(np.float64)
        width = RATE // 1000
        power = np.convolve(alone**2, np.ones(width) / width)[width - 1 :]
        begins = int(np.argmax(power > power.max() * 10.0 ** (-BEGINS_DB / 10.0)))
        first = start + begins - int(LEAD_SEC * RATE)
        note = sound[first : first + int(_RINGS_SEC * RATE)].astype(np.float64)
        # What lies before the beginning of the sound is not silence in every font.
        note[: int(LEAD_SEC * RATE)] *= np.linspace(0.0, 1.0, int(LEAD_SEC * RATE))
        fade = int(_TAIL_FADE_SEC * RATE)
        note[-fade:] *= np.linspace(1.0, 0.0, fade)
        notes.append(note * _FULL / np.abs(note).max())
    return np.round(notes).astype(np.int16)


def _synthesised(program: int) -> np.ndarray:
    """Every pitch of a program alone, `_APART_MS` apart; shape (n,)."""
    import mido

    from tests.bench.fluid import font_path, synthesised

    file = mido.MidiFile(type=0, ticks_per_beat=1000)
    track = mido.MidiTrack()
    track.append(mido.MetaMessage("set_tempo", tempo=1_000_000, time=0))
    track.append(mido.Message("program_change", program=program, time=0))
    rings_ms = round(1e3 * (_RINGS_SEC + 0.4))
    wait = _APART_MS
    for pitch in _PITCHES:
        track.append(mido.Message("note_on", note=pitch, velocity=_VELOCITIES[program], time=wait))
        track.append(mido.Message("note_off", note=pitch, velocity=0, time=rings_ms))
        wait = _APART_MS - rings_ms
    track.append(mido.MetaMessage("end_of_track", time=1000))
    file.tracks.append(track)
    return synthesised(file, font_path(FONT), RATE)
