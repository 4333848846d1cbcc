"""Instruments to get to know: each with the take that a sound check asks for, and rolls to be tried on.

The problem: whether getting to know an instrument helps can only be told on instruments that the network
never learnt from, of which some are heard badly, and by takes that were not used for getting to know it. So
an instrument, its room and its microphone are drawn once; on it a player follows the list of the sound check,
with slips (a note left out, a wrong fret, a note twice), and random rolls are played.

Conventions: everything follows from the kind and the seed. Kinds are rows of `KINDS`.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from types import MappingProxyType

import numpy as np

from feedback.played import Performance, PlayedNote, rung
from feedback.sound.banjo import Banjo, Manner
from feedback.soundcheck import asked_places
from routines.neck import Neck, Place
from tests.bench.passages import Passage, truth_of
from tests.bench.rolls import RollSettings, random_rolls
from tests.bench.sounds import SOUNDS
from tests.bench.takes import Take
from tests.bench.train.instruments import drawn_instrument
from tests.bench.train.microphone import Microphone, recorded
from tests.bench.train.sounding import Instrument, Simulated

LOOKED_AT = "timgm6mb"
"""The kind that nothing may be chosen by; it needs FluidSynth."""

ROLL_NPS = (4.5, 6.5, 8.5, 10.5)
"""A roll at each of these eighths a second is played on an instrument."""

_STREAM = 4104
_ROLLS = RollSettings(pinch_share=0.10, slur_share=0.15, dynamics_db=3.0, jitter_ms=8.0)
_RATES = (44_100, 48_000)
_TUNING_SD_CENTS = 8.0
_START_SEC, _GAP_SEC, _LATE_SEC, _CHANGE_SEC = (0.4, 1.5), (0.65, 0.95), 0.04, (0.0, 0.8)
_LIFT_SEC, _RING_OUT_SEC = 0.1, 0.9
_DYNAMICS_DB, _SOFTEST_DB, _LOUDEST_DB = (0.5, 3.0), -8.0, 6.0
_LEFT_OUT, _WRONG, _TWICE, _OTHER = 0.02, 0.02, 0.015, 0.01  # shares of the asked notes
_LEFT_OUT_GAP = 0.3
_FADE_SEC = 0.02
_DISTURBED_ASKED_SHARE = 0.3  # where something is heard beside the rolls, it is so often in the sound check


@dataclass(frozen=True, slots=True, kw_only=True)
class Outing:
    """An instrument as it was heard.

    Attributes
    ----------
    kind : str
        A family or a program, finer than the names of `KINDS`.
    neck : Neck
    asked : ndarray of float32, shape (n,)
        The take that the sound check asks for.
    takes : tuple of Take
        Rolls, all at the rate of `asked`.
    """

    kind: str
    neck: Neck
    asked: np.ndarray
    takes: tuple[Take, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Kind:
    """One row: what it is, and how an outing of it is drawn from a seed and the folder of font notes."""

    meaning: str
    draw: Callable[[int, Path | None], Outing]


def asked_performance(rng: np.random.Generator, neck: Neck) -> Performance:
    """A player follows the list of the sound check, with slips.

    Parameters
    ----------
    rng : numpy.random.Generator
    neck : Neck

    Returns
    -------
    Performance
    """
    sec, gap_sec = float(rng.uniform(*_START_SEC)), float(rng.uniform(*_GAP_SEC))
    dynamics_db = float(rng.uniform(*_DYNAMICS_DB))
    notes: list[PlayedNote] = []
    lifts_sec: list[float] = []
    string = 0
    for place in asked_places(neck):
        if string not in (0, place.string):
            lifts_sec.append(sec - _LIFT_SEC)
            sec += float(rng.uniform(*_CHANGE_SEC))
        string = place.string
        struck = _with_slips(rng, place)
        for one in struck:
            level_db = float(np.clip(rng.normal(0.0, dynamics_db), _SOFTEST_DB, _LOUDEST_DB))
            notes.append(
                PlayedNote(
                    onset_sec=sec + float(rng.normal(0.0, _LATE_SEC)),
                    midi=neck.midi(one.string, one.fret),
                    string=one.string,
                    fret=one.fret,
                    level_db=level_db,
                )
            )
            sec += gap_sec
        if not struck:
            sec += _LEFT_OUT_GAP * gap_sec
    return Performance(
        notes=rung(notes, lifts_sec),
        lick_id="",
        tempo_half_bpm=15.0 / gap_sec,
        start_sec=0.0,
        mistakes=(),
        seed=0,
        open_midi={string: neck.open_midi(string) for string in range(1, 6)},
    )


def _with_slips(rng: np.random.Generator, place: Place) -> list[Place]:
    """What becomes of one asked note."""
    slip = int(np.searchsorted(np.cumsum([_LEFT_OUT, _WRONG, _TWICE, _OTHER]), rng.random(), side="right"))
    if slip == 0:
        return []
    if slip == 1 and place.fret:
        return [Place(place.string, place.fret + (1 if rng.random() < 0.5 else -1))]
    if slip == 2:
        return [place, place]
    if slip == 3:
        return [Place(int(rng.choice([s for s in (1, 2, 3, 4) if s != place.string])), 0), place]
    return [place]


def _on(instrument: Instrument, seed: int, root: np.random.Generator, *, elsewhere: bool = False) -> Outing:
    """What is played on an instrument, through one microphone; or the rolls in another room."""
    around, hand, *rolls = root.spawn(2 + len(ROLL_NPS))
    rate = _RATES[int(root.random() < 1 / 3)]
    microphone = Microphone.drawn(around)
    other = Microphone.drawn(around) if elsewhere else microphone
    asked_of = microphone if hand.random() < _DISTURBED_ASKED_SHARE else replace(microphone, disturbances=())
    neck = Neck()
    asked = _recorded(instrument, asked_performance(hand, neck), rate, asked_of, hand)
    takes = []
    for number, (nps, dice) in enumerate(zip(ROLL_NPS, rolls, strict=True)):
        played = random_rolls(seed * len(ROLL_NPS) + number, nps, neck=neck, settings=_ROLLS)
        sound = _recorded(instrument, played, rate, other, dice)
        takes.append(Take(nps=nps, truth=truth_of(played), sound=sound, rate=rate))
    return Outing(kind=instrument.kind, neck=neck, asked=asked, takes=tuple(takes))


def _recorded(
    instrument: Instrument, played: Performance, rate: int, microphone: Microphone, rng: np.random.Generator
) -> np.ndarray:
    samples = round((max(note.onset_sec for note in played.notes) + _RING_OUT_SEC) * rate)
    dry = instrument.sound(played, rate, samples, rng)
    fade = int(_FADE_SEC * rate)
    dry[-fade:] *= np.linspace(1.0, 0.0, fade, dtype=np.float32)
    return recorded(dry, rate, microphone, rng)


def _drawn(seed: int, notes_folder: Path | None, *, aside: bool, elsewhere: bool = False) -> Outing:
    root = np.random.default_rng([_STREAM, seed, int(aside)])
    body = root.spawn(1)[0]
    tuning_cents = float(root.normal(0.0, _TUNING_SD_CENTS))
    instrument = drawn_instrument(
        body, aside=aside, notes_folder=notes_folder, tuning_cents=tuning_cents, reach=1.0
    )
    return _on(instrument, seed, root, elsewhere=elsewhere)


def _far(seed: int, notes_folder: Path | None) -> Outing:
    return _drawn(seed, notes_folder, aside=True)


def _near(seed: int, notes_folder: Path | None) -> Outing:
    return _drawn(seed, notes_folder, aside=False)


def _elsewhere(seed: int, notes_folder: Path | None) -> Outing:
    return _drawn(seed, notes_folder, aside=True, elsewhere=True)


def _sharp(seed: int, notes_folder: Path | None) -> Outing:
    root = np.random.default_rng([_STREAM, seed, 2])
    banjo = Banjo().varied(root)
    stroke_cents = float(root.uniform(5.0, 25.0))
    return _on(
        Simulated(banjo=replace(banjo, tuning_cents=40.0, sharp_cents=stroke_cents), manner=Manner()),
        seed,
        root,
    )


def _uneven(seed: int, notes_folder: Path | None) -> Outing:
    root = np.random.default_rng([_STREAM, seed, 3])
    cents = tuple(float(c) for c in root.uniform(-18.0, 18.0, 5))
    return _on(Simulated(banjo=Banjo().varied(root), manner=Manner(string_cents=cents)), seed, root)


def _sampled(seed: int, notes_folder: Path | None, *, font: str) -> Outing:
    root = np.random.default_rng([_STREAM, seed, 4])
    neck = Neck()
    asked = SOUNDS[font].take(Passage(performance=asked_performance(root, neck), watched={}))
    takes = [
        SOUNDS[font].take(
            Passage(
                performance=random_rolls(seed * len(ROLL_NPS) + number, nps, neck=neck, settings=_ROLLS),
                watched={},
            )
        )
        for number, nps in enumerate(ROLL_NPS)
    ]
    return Outing(kind=font, neck=neck, asked=asked.sound, takes=tuple(takes))


KINDS: Mapping[str, Kind] = MappingProxyType(
    {
        "far": Kind(
            meaning="instruments of kinds that were never learnt from, one room and microphone each",
            draw=_far,
        ),
        "elsewhere": Kind(
            meaning="the same, the rolls in another room by another microphone", draw=_elsewhere
        ),
        "near": Kind(meaning="instruments of kinds that were learnt from", draw=_near),
        "sharp-40": Kind(
            meaning="simulated banjos 40 cents sharp, whose strokes begin 5 to 25 cents sharper", draw=_sharp
        ),
        "strings-off": Kind(
            meaning="simulated banjos, each string up to 18 cents off by itself", draw=_uneven
        ),
        LOOKED_AT: Kind(
            meaning="a sampled banjo (TimGM6mb), which nothing was trained on or chosen by",
            draw=partial(_sampled, font=LOOKED_AT),
        ),
    }
)
"""Name of a kind of instruments to its row."""
