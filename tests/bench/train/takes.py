"""Takes without end, each with its truth: an instrument, a hand, a room and a microphone, drawn from a seed.

The problem: a listener learns what it is shown. Here it is shown as many instruments and hands as there are
seeds, and of every note the onset to the sample.

Conventions: `drawn` is a pure function of its arguments: the same seed gives the same take to the sample
(with the same NumPy and the same recorded notes). Takes drawn aside have instruments that are never learned
from. Only NumPy is needed. Pitches are 45 to 88. Some takes hold no note at all,
only what a microphone hears beside the banjo.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from feedback.played import PlayedNote
from tests.bench.train.figures import drawn_playing
from tests.bench.train.hands import COUNTS_DB, Playing, drawn_neck
from tests.bench.train.instruments import drawn_instrument
from tests.bench.train.microphone import Microphone, recorded
from tests.bench.train.sounding import touches_sound

RATES = (44_100, 48_000)
"""Sample rates of takes, the first one twice as often."""

_STREAM = 7305
_TAIL_SEC = 0.9
_LONGEST_SEC = 11.0
_ALONE_SEC = 6.0
_ALONE_SHARE = 0.06
_OFF_SHARE = 0.04
_OFF_CENTS = (20.0, 50.0)
_TUNING_SD_CENTS = 8.0
_TWICE_SEC = 0.025
_NAMED_CENTS = 75.0
_FADE_SEC = 0.02
_HAIR_DB = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class TrueNote:
    """One note that was played.

    Attributes
    ----------
    onset_sec : float
    midi : int
        The pitch that is struck; of a slide out of a sounding note, or a slur, the pitch that it brings.
    how : str
        pick, hammer, pull, slide or choke.
    arrive_sec : float or None
        When a slide or a choke has come where it goes.
    to_midi : int or None
        Where a choke, or a slide that begins with a stroke, goes; None for less than three quarters of a half
        step.
    level_db : float
        Against mezzo-forte.
    counts : bool
        False where an ear may hear it or not: a ghost stroke, or the second of two strings struck together
        on one pitch. Such a note is neither right nor wrong.
    """

    onset_sec: float
    midi: int
    how: str
    arrive_sec: float | None
    to_midi: int | None
    level_db: float
    counts: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class TrueTake:
    """Sound and truth.

    Attributes
    ----------
    seed : int
    kind : str
        Which family of instrument: simulated, modal, or font- and a program.
    nps : float
        Eighths a second.
    rate : int
        44100 or 48000 samples a second.
    sound : numpy.ndarray
        Shape (n,), float32, within -1 and 1.
    notes : tuple of TrueNote
        By onset, then by pitch.
    tuning_cents : float
        What the whole instrument is off by.
    open_midi : tuple of int
        Pitches of strings 5 to 1, capo included.
    """

    seed: int
    kind: str
    nps: float
    rate: int
    sound: np.ndarray
    notes: tuple[TrueNote, ...]
    tuning_cents: float
    open_midi: tuple[int, ...]


def drawn(seed: int, *, aside: bool = False, notes_folder: Path | None = None) -> TrueTake:
    """Draw a take.

    Parameters
    ----------
    seed : int
        0 or more.
    aside : bool
        Whether it is played on an instrument that is never learned from.
    notes_folder : pathlib.Path, optional
        Where `tests.bench.train.fontnotes.build` put its notes; without it, instruments are simulated.

    Returns
    -------
    TrueTake
        Some 6 to 10 seconds.
    """
    root = np.random.default_rng([_STREAM, seed, int(aside)])
    plan, hand, body, strings, around = root.spawn(5)
    rate = RATES[int(plan.random() < 1 / 3)]
    tuning = _tuning_cents(plan)
    playing = drawn_playing(hand, seed, drawn_neck(plan))
    alone = plan.random() < _ALONE_SHARE
    if alone:
        playing = replace(playing, performance=replace(playing.performance, notes=()), touches=())
    performance, reach = playing.performance, playing.hand.choke_reach
    instrument = drawn_instrument(
        body, aside=aside, notes_folder=notes_folder, tuning_cents=tuning, reach=reach
    )
    last_sec = max((note.onset_sec for note in performance.notes), default=_ALONE_SEC)
    samples = round(min(_LONGEST_SEC, last_sec + _TAIL_SEC) * rate)
    dry = instrument.sound(performance, rate, samples, strings)
    dry += touches_sound(playing.touches, instrument, rate, samples, strings)
    fade = int(_FADE_SEC * rate)
    dry[-fade:] *= np.linspace(1.0, 0.0, fade, dtype=np.float32)
    return TrueTake(
        seed=seed,
        kind=instrument.kind,
        nps=playing.hand.nps,
        rate=rate,
        sound=recorded(dry, rate, Microphone.drawn(around, alone=alone), around),
        notes=_truth(playing, samples / rate),
        tuning_cents=tuning,
        open_midi=tuple(performance.open_midi[string] for string in (5, 4, 3, 2, 1)),
    )


def _tuning_cents(rng: np.random.Generator) -> float:
    if rng.random() < _OFF_SHARE:
        return float(rng.choice([-1.0, 1.0]) * rng.uniform(*_OFF_CENTS))
    return float(np.clip(rng.normal(0.0, _TUNING_SD_CENTS), -_OFF_CENTS[0], _OFF_CENTS[0]))


def _truth(playing: Playing, duration_sec: float) -> tuple[TrueNote, ...]:
    notes = [note for note in playing.performance.notes if note.onset_sec < duration_sec]
    return tuple(sorted((_true(n, notes, playing) for n in notes), key=lambda n: (n.onset_sec, n.midi)))


def _true(note: PlayedNote, notes: Sequence[PlayedNote], playing: Playing) -> TrueNote:
    twice = any(
        other is not note
        and other.struck_midi == note.struck_midi
        and abs(other.onset_sec - note.onset_sec) < _TWICE_SEC
        and (other.level_db, -other.onset_sec, other.string) > (note.level_db, -note.onset_sec, note.string)
        for other in notes
    )
    to_midi = None
    if note.midi != note.struck_midi:
        reach = playing.hand.choke_reach if note.how == "choke" else 1.0
        rise = reach * (note.midi - note.struck_midi)
        to_midi = note.struck_midi + round(rise) if abs(100.0 * rise) >= _NAMED_CENTS else None
    return TrueNote(
        onset_sec=note.onset_sec,
        midi=note.struck_midi,
        how=note.how,
        arrive_sec=note.arrive_sec,
        to_midi=to_midi,
        level_db=note.level_db,
        counts=note.level_db > COUNTS_DB - _HAIR_DB and not twice,
    )
