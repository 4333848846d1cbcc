"""The instruments of the bench: a passage made into sound, each instrument a row of `SOUNDS`.

The problem: a figure over one instrument says what the listener knows of that one. Simulated banjos are drawn
anew for every seed; one sampled banjo may have been learnt from; another one never is.
"""

from __future__ import annotations

import shutil
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from functools import partial
from types import MappingProxyType

import numpy as np

from feedback.errors import CannotDo
from feedback.played import Performance
from feedback.player import TAIL_SEC
from feedback.sound.banjo import Banjo, Manner
from feedback.sound.room import Room, added, limited
from feedback.sound.strings import strings_sound, sympathetic_impulse
from tests.bench.fluid import font_path, through_font, with_noise
from tests.bench.passages import Passage
from tests.bench.takes import Take

RATE = 44_100
_NOISE_DBFS = -62.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Sound:
    """One kind of instrument.

    Attributes
    ----------
    meaning : str
        One line.
    play : callable
        Makes sound of a passage, at `RATE`, and says what came true.
    check : callable
        Raises `CannotDo` where it cannot be had here.
    partial_chokes : bool
        Whether it can choke by fractions of half steps.
    """

    meaning: str
    play: Callable[[Passage], tuple[np.ndarray, Performance]]
    check: Callable[[], object]
    partial_chokes: bool

    def take(self, passage: Passage) -> Take:
        """A passage as this instrument plays it."""
        sound, came_true = self.play(passage)
        return Take(
            nps=passage.performance.tempo_half_bpm / 15.0,
            truth=passage.truth(came_true),
            sound=sound.astype(np.float32),
            rate=RATE,
        )


def _simulated(passage: Passage) -> tuple[np.ndarray, Performance]:
    performance, room = passage.performance, Room()
    banjo = Banjo().varied(np.random.default_rng(performance.seed))
    if passage.tuning_cents is not None:
        banjo = replace(banjo, tuning_cents=passage.tuning_cents)
    last_sec = max((note.onset_sec for note in performance.notes), default=performance.start_sec)
    rng = np.random.default_rng(performance.seed)
    dry = strings_sound(
        performance.notes,
        rate=RATE,
        samples=round((last_sec + TAIL_SEC) * RATE),
        banjo=banjo,
        rng=rng,
        manner=Manner(string_cents=passage.string_cents, choke_reach=passage.choke_reach),
    )
    ringing = added(dry, sympathetic_impulse(list(performance.open_midi.values()), RATE, banjo))
    wet = added(ringing, room.impulse(RATE, rng))
    return limited(with_noise(wet, room.noise_dbfs, rng)), performance


def _sampled(passage: Passage, *, font: str) -> tuple[np.ndarray, Performance]:
    cents = [(passage.tuning_cents or 0.0) + by for by in passage.string_cents]
    sound, came_true, _ = through_font(passage.performance, font=font_path(font), rate=RATE, cents=cents)
    rng = np.random.default_rng(passage.performance.seed)
    return with_noise(sound, _NOISE_DBFS, rng), came_true


def _font_here(font: str) -> None:
    font_path(font)
    if shutil.which("fluidsynth") is None:
        raise CannotDo("fluidsynth is not installed (Debian: fluidsynth)")


SOUNDS: Mapping[str, Sound] = MappingProxyType(
    {
        "simulated": Sound(
            meaning="the simulated player, an instrument drawn for each seed (such were learnt from)",
            play=_simulated,
            check=lambda: None,
            partial_chokes=True,
        ),
        "fluid": Sound(
            meaning="a sampled banjo (FluidR3), which may have been learnt from",
            play=partial(_sampled, font="fluid"),
            check=partial(_font_here, "fluid"),
            partial_chokes=False,
        ),
        "timgm6mb": Sound(
            meaning="a sampled banjo (TimGM6mb), which nothing was trained on",
            play=partial(_sampled, font="timgm6mb"),
            check=partial(_font_here, "timgm6mb"),
            partial_chokes=False,
        ),
    }
)
"""Name of an instrument to how it sounds."""
