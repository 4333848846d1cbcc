"""The sound of a take in which a lick is to be found: banjo, talk, and the microphone's noise."""

from __future__ import annotations

import shutil
import subprocess
import tempfile
from pathlib import Path

import numpy as np

from feedback.errors import CannotDo
from feedback.judges.limits import Limits
from feedback.performance import Performance
from feedback.placing import not_found, placed
from feedback.player import render
from feedback.sound.banjo import Banjo
from feedback.takes import judge_placed
from routines.outcome import PassOutcome
from tests.bench.fluid import font_path, through_font, with_noise
from tests.bench.hearers import listener
from tests.bench.start_takes import Take
from tests.bench.train.disturbances import DISTURBANCES

RATE = 44100
SIMULATED = "sim"
SYNTHESISER = "espeak-ng"

_TAIL_SEC = 1.5
_NOISE_DBFS = -60.0
_TALK_PEAK = (0.05, 0.35)
_VOICES = ("en-gb", "en-us", "en-gb-scotland", "de", "it")
_SPOKEN = (
    "All right, let me try that one again from the top.",
    "So this is the lick over D seven, and the C falls to the B when the G comes in.",
    "Is it recording? Yes. Here we go, one, two, ready, go.",
    "Hold on, I want to hear that fourth string, it has gone flat since this morning.",
)


def sounded(take: Take, font: str) -> np.ndarray:
    """Make the sound of a take.

    Parameters
    ----------
    take : Take
    font : str
        "sim", or what `tests.bench.fluid.font_path` takes.

    Returns
    -------
    numpy.ndarray
        Shape (n,), float32, at `RATE`; a second and a half longer than what happens in it.

    Raises
    ------
    CannotDo
        If FluidSynth, the font or the speech synthesiser is missing.
    """
    rng = np.random.default_rng([take.seed, 7])
    last_sec = max([take.talk_sec, *(note.onset_sec for note in take.notes)])
    sound = np.zeros(round((last_sec + _TAIL_SEC) * RATE), np.float32)
    if take.notes:
        banjo = _banjo(take, font, rng)
        sound[: len(banjo)] += banjo[: len(sound)]
    if take.talk_sec:
        samples = round(take.talk_sec * RATE)
        talk = _said(rng, samples) if take.said else DISTURBANCES["speech"](rng, RATE, samples)
        sound[: len(talk)] += (talk * rng.uniform(*_TALK_PEAK)).astype(np.float32)
    return with_noise(sound, _NOISE_DBFS, rng)


def judged(take: Take, font: str) -> PassOutcome:
    """What is said of a take: found by a blind ear, judged by one that is told the lick, as `judge` does."""
    listen = listener(sounded(take, font), RATE)
    blind, limits = listen(()).notes, Limits()
    place = placed(blind, take.lick, limits)
    said = not_found(take.lick, limits, None, blind) if place is None else judge_placed(place, listen)
    return said.outcome


def _banjo(take: Take, font: str, rng: np.random.Generator) -> np.ndarray:
    played = Performance(
        notes=take.notes,
        lick_id=take.lick.id,
        tempo_half_bpm=take.lick.top_tempo_half_bpm,
        start_sec=0.0,
        mistakes=(),
        seed=take.seed,
        open_midi={string: take.lick.neck.open_midi(string) for string in range(1, 6)},
    )
    if font == SIMULATED:
        return render(played, rate=RATE, seed=take.seed, instrument=Banjo().varied(rng))
    sound, _, _ = through_font(played, font=font_path(font), rate=RATE)
    return sound


def _said(rng: np.random.Generator, samples: int) -> np.ndarray:
    """Sentences of a speech synthesiser, one after another; float32 with a peak of 1."""
    import soundfile
    import soxr

    program = shutil.which(SYNTHESISER)
    if program is None:
        raise CannotDo(f"{SYNTHESISER} is not installed (Debian: {SYNTHESISER})")
    words = " ".join(map(str, rng.permutation(_SPOKEN)))
    pitch, speed = rng.integers(20, 80), rng.integers(130, 190)
    with tempfile.TemporaryDirectory() as folder:
        path = str(Path(folder, "said.wav"))
        voice = str(rng.choice(_VOICES))
        command = [program, "-w", path, "-v", voice, "-p", str(pitch), "-s", str(speed), words]
        run = subprocess.run(command, capture_output=True, text=True, check=False)
        if run.returncode:
            raise CannotDo(f"{SYNTHESISER} failed: exit {run.returncode}")
        said, rate = soundfile.read(path, dtype="float32")
    talk = soxr.resample(said, rate, RATE)[:samples]
    fade = min(len(talk), RATE // 20)
    talk[len(talk) - fade :] *= np.linspace(1.0, 0.0, fade, dtype=np.float32)
    peak = float(np.abs(talk).max(initial=0.0))
    spoken: np.ndarray = talk / peak if peak else talk
    return spoken
