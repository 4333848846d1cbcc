"""Instruments that sound: the simulated banjo, strings assembled from single notes, and toneless touches.

Conventions: dry sound, float32 mono, level 0 at `feedback.sound.voice.REFERENCE_DBFS`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np

from feedback.played import Performance, PlayedNote
from feedback.sound.banjo import Banjo, Manner
from feedback.sound.partials import mean_power
from feedback.sound.room import added
from feedback.sound.strings import strings_sound, sympathetic_impulse
from feedback.sound.voice import LEVEL_SEC, REFERENCE_DBFS, head_knock
from tests.bench.train.fontnotes import FontString
from tests.bench.train.hands import Touch
from tests.bench.train.lines import Touching, lines_sound
from tests.bench.train.microphone import Colour, filtered
from tests.bench.train.modal import Modal

_SLUR_KNOCK_SD_DB = 4.0
_KNOCK_LEAST_DB = -45.0
_STOP_SEC = (0.02, 0.09)
_STOP_DULL_SAMPLES = (4, 40)


class Instrument(Protocol):
    """What plays a performance."""

    @property
    def kind(self) -> str: ...

    def sound(self, played: Performance, rate: int, samples: int, rng: np.random.Generator) -> np.ndarray:
        """The notes' sound, dry; shape (samples,), float32."""
        ...

    def knock(self, rate: int, rng: np.random.Generator) -> np.ndarray:
        """A pick's knock without a note; power 1 over 70 ms."""
        ...


@dataclass(frozen=True, slots=True, kw_only=True)
class Simulated:
    """The simulated banjo."""

    banjo: Banjo
    manner: Manner
    kind: str = "simulated"

    def sound(self, played: Performance, rate: int, samples: int, rng: np.random.Generator) -> np.ndarray:
        dry = strings_sound(
            played.notes, rate=rate, samples=samples, banjo=self.banjo, rng=rng, manner=self.manner
        )
        return added(dry, sympathetic_impulse(list(played.open_midi.values()), rate, self.banjo))

    def knock(self, rate: int, rng: np.random.Generator) -> np.ndarray:
        return head_knock(rate, self.banjo, rng, self.manner)


@dataclass(frozen=True, slots=True, kw_only=True)
class Assembled:
    """Single notes laid on five strings: modal ones, or those of a font."""

    kind: str
    string: Modal | FontString
    touching: Touching
    answering: Banjo | None
    colour: Colour | None
    reach: float
    knocks: Modal
    slur_knock_share: float

    def sound(self, played: Performance, rate: int, samples: int, rng: np.random.Generator) -> np.ndarray:
        string = self.string

        def make(note: PlayedNote, before: PlayedNote | None, count: int) -> tuple[np.ndarray, int]:
            signal, lead = string.made(note, count, rate, self.reach, rng)
            knock_db = self.knocks.knock_db
            if not note.picked:
                slurred_db = rng.normal(self.knocks.slur_knock_db, _SLUR_KNOCK_SD_DB)
                knock_db = knock_db + slurred_db if rng.random() < self.slur_knock_share else -np.inf
            if knock_db > _KNOCK_LEAST_DB:
                knock = self.knocks.knock(rate, rng)[: len(signal) - lead]
                first = signal[lead : lead + int(LEVEL_SEC * rate)]
                size = 10.0 ** (knock_db / 20.0) * mean_power(first) ** 0.5
                signal[lead : lead + len(knock)] += (size * knock).astype(np.float32)
            return signal, lead

        dry = lines_sound(played.notes, rate=rate, samples=samples, touching=self.touching, make=make)
        if self.colour is not None:
            dry = filtered(dry, rate, self.colour)
        if self.answering is None:
            return dry
        return added(dry, sympathetic_impulse(list(played.open_midi.values()), rate, self.answering))

    def knock(self, rate: int, rng: np.random.Generator) -> np.ndarray:
        return self.knocks.knock(rate, rng)


def touches_sound(
    touches: Sequence[Touch], instrument: Instrument, rate: int, samples: int, rng: np.random.Generator
) -> np.ndarray:
    """Make the sound of muted strokes and stopping hands.

    Parameters
    ----------
    touches : sequence of Touch
    instrument : Instrument
    rate, samples : int
    rng : numpy.random.Generator

    Returns
    -------
    numpy.ndarray
        Shape (samples,), float32.
    """
    out = np.zeros(samples)
    for touch in touches:
        if touch.how == "dead":
            wave = instrument.knock(rate, rng)
        else:
            count = int(rng.uniform(*_STOP_SEC) * rate)
            wave = np.convolve(
                rng.standard_normal(count), np.hanning(int(rng.integers(*_STOP_DULL_SAMPLES))), "same"
            )
            wave *= np.hanning(count) / np.sqrt(np.sum(wave**2) / (LEVEL_SEC * rate))
        at = max(0, round(touch.onset_sec * rate))
        heard = wave[: max(0, samples - at)]
        out[at : at + len(heard)] += heard * 10.0 ** ((REFERENCE_DBFS + touch.level_db) / 20.0)
    return out.astype(np.float32)
