"""A performance through FluidSynth and a SoundFont, with onsets known to the sample.

The problem: a synthesiser starts a note at its own next block, and the recording in a font takes its own time
to begin. Both are measured, not assumed. Fired at a whole millisecond m, FluidSynth 2 starts a voice at the
sample 64 * (ceil(m * rate / 64000) + 1): so it was in 200 of 200 notes at 44.1 and 48 kHz. What the recording
adds is measured for each pitch by a run in which every pitch sounds alone: the first millisecond whose power
comes within `BEGINS_DB` of the loudest. The same run gives each pitch's level, so that fonts with uneven keys
play even levels.

Conventions: FluidSynth runs as a program of its own; reverb and chorus are off. A note's truth is when it
begins to sound, which lies within a block (1.5 ms) of when the performance wanted it.
"""

from __future__ import annotations

import shutil
import subprocess
import tempfile
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from pathlib import Path

import mido
import numpy as np

from feedback.errors import CannotDo
from feedback.played import Performance, PlayedNote
from feedback.sound.voice import LEVEL_SEC, REFERENCE_DBFS
from tests.bench.midi import midi_file, velocity_of

FONTS = {
    "fluid": (
        "/usr/share/sounds/sf2/FluidR3_GM.sf2",
        "/usr/share/soundfonts/FluidR3_GM.sf2",
        "/usr/local/share/soundfonts/FluidR3_GM.sf2",
        "/opt/homebrew/share/sounds/sf2/FluidR3_GM.sf2",
    ),
    "timgm6mb": (
        "/usr/share/sounds/sf2/TimGM6mb.sf2",
        "/usr/share/sounds/sf2/sf_GMbank.sf2",
    ),
}
"""Name of a font to where systems keep it. Csound's bank (sf_GMbank) holds the very banjo of TimGM6mb: each
key begins within a sample of the other's and is as loud to 0.02 dB; so it stands in, as no sound apart."""

TEST_ONLY_FONTS = frozenset({"timgm6mb"})
"""Fonts that nothing may be trained, fitted or tuned on: the banjo that the listener has never heard."""

_PACKAGES = {"fluid": "fluid-soundfont-gm", "timgm6mb": "timgm6mb-soundfont"}
_STRAIGHT = (0.0, 0.0, 0.0, 0.0, 0.0)

BEGINS_DB = 16.0
"""A sound has begun where its power over a millisecond is within this of its greatest. FluidR3's keys below
B3 have a foreshock 7 to 10 ms before the note, 20 to 28 dB under it; from 12 to 18 this changes by 1 ms."""

_BLOCK = 64
_PITCHES = range(45, 91)
_ALONE_MS = 600
_ALONE_RINGS_MS = 450
_LEAD_MS = 200


@dataclass(frozen=True, slots=True, kw_only=True)
class Key:
    """How one pitch of a font sounds, picked or slurred.

    Attributes
    ----------
    delay_samples : int
        From the start of its voice to the beginning of its sound.
    level_db : float
        Its power at `tests.bench.midi.VELOCITY` over the first 70 ms after that, against the font's median.
    power_dbfs : float
        The same power as it is.
    """

    delay_samples: int
    level_db: float
    power_dbfs: float


def font_path(font: str) -> Path:
    """Return where a font lies.

    Parameters
    ----------
    font : str
        A name in `FONTS`, or a path.

    Raises
    ------
    CannotDo
        If no such file is there.
    """
    places = [Path(place) for place in FONTS.get(font, (font,))]
    found = next((place for place in places if place.is_file()), None)
    if found is None:
        known = ", ".join(f"{name} (Debian: {package})" for name, package in _PACKAGES.items())
        raise CannotDo(f"no sound font {font!r} here: accepted are {known} or a .sf2 file")
    return found


def with_noise(sound: np.ndarray, noise_dbfs: float, rng: np.random.Generator) -> np.ndarray:
    """Add a microphone's noise floor, in decibels of full scale, to a sound; float32, same shape."""
    noise = rng.standard_normal(len(sound)) * 10.0 ** (noise_dbfs / 20.0)
    return sound + noise.astype(np.float32)


def through_font(
    performance: Performance, *, font: Path, rate: int, cents: Sequence[float] = _STRAIGHT
) -> tuple[np.ndarray, Performance, mido.MidiFile]:
    """Play a performance through a font.

    Parameters
    ----------
    performance : Performance
        Pitches 45 to 90.
    font : pathlib.Path
    rate : int
        8000 to 96000 samples a second.
    cents : sequence of float
        How far strings 1 to 5 are off, each within -100 and 100.

    Returns
    -------
    sound : numpy.ndarray
        Shape (n,), float32, a second and a half beyond the last onset; level 0 lies at `REFERENCE_DBFS`.
    played : Performance
        The same with the onsets that came true.
    file : mido.MidiFile

    Raises
    ------
    CannotDo
        If FluidSynth is missing or fails.
    """
    keys = _keys(font, rate)
    blocks = {
        id(n): max(1, round((n.onset_sec * rate - _key(keys, n).delay_samples) / _BLOCK))
        for n in performance.notes
    }
    notes = []
    for note in performance.notes:
        onset = (blocks[id(note)] * _BLOCK + _key(keys, note).delay_samples) / rate
        by = onset - note.onset_sec
        arrive, let_down = (None if sec is None else sec + by for sec in (note.arrive_sec, note.let_down_sec))
        notes.append(replace(note, onset_sec=onset, arrive_sec=arrive, let_down_sec=let_down))
    last_ms = round(1e3 * max((n.onset_sec for n in notes), default=performance.start_sec))
    file = midi_file(
        performance.notes,
        onset_ms=lambda note: _fired_ms(blocks[id(note)], rate),
        velocity=lambda note: velocity_of(note.level_db - _key(keys, note).level_db),
        end_ms=last_ms + 1500,
    )
    # behind the tempo, ahead of every note
    off = {string: by for string, by in enumerate(cents, start=1) if by}
    file.tracks[0][1:1] = [message for string, by in off.items() for message in _tuned(string, by)]
    sound = synthesised(file, font, rate)
    usual_dbfs = float(np.median([key.power_dbfs for key in keys.values()]))
    sound *= np.float32(10.0 ** ((REFERENCE_DBFS - usual_dbfs) / 20.0))
    notes.sort(key=lambda n: (n.onset_sec, n.midi))
    return sound[: round((last_ms / 1e3 + 1.5) * rate)], replace(performance, notes=tuple(notes)), file


def _tuned(string: int, cents: float) -> Iterator[mido.Message]:
    """Fine tuning of a string's channel (RPN 1); FluidSynth acts on the coarse half, so that comes last."""
    value = min(16383, round(8192 * (1.0 + cents / 100.0)))
    for control, data in ((101, 0), (100, 1), (38, value & 127), (6, value >> 7), (101, 127), (100, 127)):
        yield mido.Message("control_change", control=control, value=data, channel=string - 1)


def _fired_ms(block: int, rate: int) -> int:
    """The last millisecond at which a note-on starts its voice at this block."""
    return max(0, ((block - 1) * 1000 * _BLOCK) // rate)


def _key(keys: Mapping[tuple[int, bool], Key], note: PlayedNote) -> Key:
    return keys[min(max(note.struck_midi, _PITCHES[0]), _PITCHES[-1]), note.picked]


@lru_cache(maxsize=8)
def _keys(font: Path, rate: int) -> Mapping[tuple[int, bool], Key]:
    """Hear every pitch of a font alone, picked and slurred."""
    wanted = [(midi, picked) for picked in (True, False) for midi in _PITCHES]
    notes = [
        PlayedNote(
            onset_sec=(_LEAD_MS + _ALONE_MS * k) / 1e3,
            midi=midi,
            string=1,
            fret=0,
            how="pick" if picked else "hammer",
            picked=picked,
            duration_sec=_ALONE_RINGS_MS / 1e3,
        )
        for k, (midi, picked) in enumerate(wanted)
    ]
    sound = synthesised(midi_file(notes), font, rate)
    heard: list[tuple[int, float]] = []
    for note in notes:
        ms = round(1e3 * note.onset_sec)
        start = _BLOCK * (-(-ms * rate // (1000 * _BLOCK)) + 1)
        alone = sound[start : start + _ALONE_RINGS_MS * rate // 1000].astype(np.float64)
        heard.append(_begins(alone, rate))
    usual = float(np.median([power for _, power in heard]))
    return {
        key: Key(delay_samples=delay, level_db=power - usual, power_dbfs=power)
        for key, (delay, power) in zip(wanted, heard, strict=True)
    }


def _begins(alone: np.ndarray, rate: int) -> tuple[int, float]:
    """After how many samples a lone note begins to sound, and its power over 70 ms from there."""
    width = rate // 1000
    power = np.convolve(alone**2, np.ones(width) / width)[width - 1 :]
    if power.max(initial=0.0) <= 0.0:
        raise CannotDo("the sound font has no sound for the banjo's program (105 counted from 0)")
    delay = int(np.argmax(power > power.max() * 10.0 ** (-BEGINS_DB / 10.0)))
    first = alone[delay : delay + int(LEVEL_SEC * rate)]
    return delay, float(10.0 * np.log10(np.mean(first**2)))


def synthesised(file: mido.MidiFile, font: Path, rate: int) -> np.ndarray:
    """Run FluidSynth; shape (n,), float32, both channels averaged."""
    import soundfile

    program = shutil.which("fluidsynth")
    if program is None:
        raise CannotDo("fluidsynth is not installed (Debian: fluidsynth)")
    with tempfile.TemporaryDirectory() as folder:
        score, sound = Path(folder, "score.mid"), Path(folder, "sound.wav")
        file.save(score)
        _checked_run([
            program, "-ni", "-F", str(sound), "-T", "wav", "-O", "float", "-r", str(rate), "-g", "0.5",
            "-R", "0", "-C", "0", str(font), str(score),
        ])  # fmt: skip
        stereo, _ = soundfile.read(sound, dtype="float32", always_2d=True)
    mono: np.ndarray = stereo.mean(axis=1)
    return mono


def _checked_run(command: Sequence[str]) -> None:
    run = subprocess.run(command, capture_output=True, text=True, check=False)
    # It exits 0, too, where it could not read the font.
    trouble = [line for line in run.stderr.splitlines() if "error" in line.lower()]
    if run.returncode or trouble:
        raise CannotDo(f"fluidsynth failed: {(trouble or [f'exit {run.returncode}'])[0].strip()}")
