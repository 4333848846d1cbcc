"""Single plucks whose pitch is known: steady tones, simulated banjos, sampled banjos, other strings ringing.

The problem: a tuner is to be tried on more strings, tunings and disturbances than anyone can record, and each
with a truth. Of a tone that was made the truth is its first partial. Of a banjo's note it is what
`tests.bench.tune_reference` fits to 0.3 to 1.0 s after the pluck.

Conventions: everything follows from a seed. A sound begins with `LEAD_SEC` without the note that is meant.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from feedback.played import Performance, PlayedNote
from feedback.sound.banjo import Banjo, Manner
from feedback.sound.room import Room, added, limited
from feedback.sound.strings import strings_sound, sympathetic_impulse
from routines.neck import Neck
from tests.bench.fluid import font_path, through_font, with_noise

RATE = 44_100
LEAD_SEC, RINGS_SEC = 1.0, 2.0
_NOISE_DBFS = -68.0
_OTHERS_SEC = (0.15, 0.45, 0.75)
_TONE_DBFS = -20.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Pluck:
    """One note to be plucked.

    Attributes
    ----------
    neck : Neck
    string, fret : int
    off_cents : float
        How far the string is off.
    others_db : float or None
        Level of three other strings plucked in the second before, against the note; None for none.
    noise_dbfs : float
    """

    neck: Neck
    string: int
    fret: int = 0
    off_cents: float = 0.0
    others_db: float | None = None
    noise_dbfs: float = _NOISE_DBFS

    @property
    def midi(self) -> int:
        """The pitch that is meant, were the string in tune."""
        return self.neck.midi(self.string, self.fret)


@dataclass(frozen=True, slots=True, kw_only=True)
class Plucked:
    """A pluck as it sounds.

    Attributes
    ----------
    sound, clean : ndarray of float32, shape (n,)
        With the microphone's noise, and without.
    onset_sec : float
    """

    sound: np.ndarray
    clean: np.ndarray
    onset_sec: float


def simulated(pluck: Pluck, seed: int) -> Plucked:
    """A pluck on a simulated banjo drawn for the seed."""
    rng = np.random.default_rng([808, seed])
    banjo = replace(Banjo().varied(rng), tuning_cents=0.0, intonation_cents=0.0)
    performance = _performance(pluck, rng)
    cents = [0.0] * 5
    cents[pluck.string - 1] = pluck.off_cents
    samples = round((LEAD_SEC + RINGS_SEC) * RATE)
    dry = strings_sound(
        performance.notes, rate=RATE, samples=samples, banjo=banjo, rng=rng,
        manner=Manner(string_cents=tuple(cents)),
    )  # fmt: skip
    ringing = added(dry, sympathetic_impulse(list(performance.open_midi.values()), RATE, banjo))
    wet = added(ringing, Room().impulse(RATE, rng))
    clean = limited(wet)
    return Plucked(sound=with_noise(clean, pluck.noise_dbfs, rng), clean=clean, onset_sec=LEAD_SEC)


def sampled(plucks: Sequence[Pluck], font: str, seed: int) -> list[Plucked]:
    """Plucks on a sampled banjo.

    A string off by more than a quarter of a half step is made from the neighbouring half step's recording.
    """
    rng = np.random.default_rng([809, seed])
    span = LEAD_SEC + RINGS_SEC + 2.0  # what is let go fades before the next begins
    found: list[Plucked] = []
    for string in range(1, 6):  # one channel, one tuning a run
        for off in sorted({p.off_cents for p in plucks if p.string == string}):
            turns = [k for k, p in enumerate(plucks) if p.string == string and p.off_cents == off]
            found += _sampled_run(plucks, turns, font, rng, span)
    order = [
        k
        for string in range(1, 6)
        for off in sorted({p.off_cents for p in plucks if p.string == string})
        for k, p in enumerate(plucks)
        if p.string == string and p.off_cents == off
    ]
    by_turn = dict(zip(order, found, strict=True))
    return [by_turn[k] for k in range(len(plucks))]


def _sampled_run(
    plucks: Sequence[Pluck], turns: Sequence[int], font: str, rng: np.random.Generator, span: float
) -> list[Plucked]:
    off = plucks[turns[0]].off_cents
    whole = round(off / 100.0)
    notes: list[PlayedNote] = []
    for number, turn in enumerate(turns):
        shifted = _performance(plucks[turn], rng).notes
        for note in shifted:
            meant = note.string == plucks[turn].string
            notes.append(
                replace(
                    note,
                    onset_sec=note.onset_sec + number * span,
                    midi=note.midi + (whole if meant else 0),
                    duration_sec=LEAD_SEC + RINGS_SEC - note.onset_sec,
                )
            )
    cents = [0.0] * 5
    cents[plucks[turns[0]].string - 1] = off - 100.0 * whole
    performance = Performance(
        notes=tuple(sorted(notes, key=lambda n: n.onset_sec)), lick_id="", tempo_half_bpm=60.0,
        start_sec=0.0, mistakes=(), seed=0, open_midi={},
    )  # fmt: skip
    sound, played, _ = through_font(performance, font=font_path(font), rate=RATE, cents=cents)
    found = []
    for number, turn in enumerate(turns):
        pluck = plucks[turn]
        begin = round(number * span * RATE)
        cut = sound[begin : begin + round((LEAD_SEC + RINGS_SEC) * RATE)]
        onset = next(
            n.onset_sec - number * span
            for n in played.notes
            if n.string == pluck.string and number * span <= n.onset_sec < (number + 1) * span
        )
        noisy = with_noise(cut, pluck.noise_dbfs, rng).astype(np.float32)
        found.append(Plucked(sound=noisy, clean=cut, onset_sec=onset))
    return found


def steady(
    hz: float, seed: int, *, kind: str = "harmonics", noise_db: float = -40.0, seconds: float = 2.0
) -> np.ndarray:
    """A steady tone after `LEAD_SEC` of its noise: sine, harmonics, weak or missing fundamental, stiff."""
    rng = np.random.default_rng([810, seed])
    time = np.arange(round(seconds * RATE)) / RATE
    numbers = np.arange(1, 2 if kind == "sine" else 13)
    stiffness = 1.5e-4 if kind == "stiff" else 0.0
    heights = 1.0 / numbers * 10.0 ** (rng.normal(0.0, 3.0, len(numbers)) / 20.0)
    heights[0] *= {"weak": 0.05, "missing": 0.0}.get(kind, 1.0)
    places = hz * numbers * np.sqrt((1.0 + stiffness * numbers**2) / (1.0 + stiffness))
    phases = rng.uniform(0.0, 2.0 * np.pi, len(numbers))
    tone = heights @ np.sin(2.0 * np.pi * places[:, None] * time + phases[:, None])
    tone *= 10.0 ** (_TONE_DBFS / 20.0) / np.sqrt(np.mean(tone**2))
    whole = np.concatenate([np.zeros(round(LEAD_SEC * RATE)), tone])
    return with_noise(whole, _TONE_DBFS + noise_db, rng).astype(np.float32)


def talk(seed: int, seconds: float = 12.0) -> np.ndarray:
    """Syllables of a voice: harmonics under three formants, gliding, with a hiss before every other one."""
    rng = np.random.default_rng([812, seed])
    sound = np.zeros(round(seconds * RATE))
    base, at = rng.uniform(95.0, 210.0), 0.3
    while at < seconds - 0.5:
        lasts = rng.uniform(0.08, 0.35)
        time = np.arange(round(lasts * RATE)) / RATE
        glide = rng.uniform(-4.0, 2.0) * time / lasts + 0.15 * np.sin(2.0 * np.pi * 5.0 * time)
        f0 = base * 2.0 ** ((rng.uniform(-3.0, 4.0) + glide) / 12.0)
        turned = 2.0 * np.pi * np.cumsum(f0) / RATE
        formants = rng.uniform(300.0, 800.0), rng.uniform(900.0, 2200.0), 2600.0
        middle = float(f0.mean())
        voice = np.zeros(len(time))
        for number in range(1, int(4500.0 / middle)):
            near = sum(1.0 / (1.0 + ((middle * number - hz) / 90.0) ** 2) for hz in formants)
            voice += (near + 0.02) * np.sin(number * turned)
        voice *= np.sin(np.pi * time / lasts) ** 0.5
        voice *= 10.0 ** (rng.uniform(-36.0, -24.0) / 20.0) / np.sqrt(np.mean(voice**2))
        begin = round(at * RATE)
        sound[begin : begin + len(voice)] += voice
        if rng.random() < 0.5:
            sound[begin - 2600 : begin] += 0.01 * np.diff(rng.standard_normal(2601))
        at += lasts + rng.uniform(0.03, 0.3)
    return with_noise(sound, _NOISE_DBFS, rng).astype(np.float32)


def thumps(seed: int, seconds: float = 12.0) -> np.ndarray:
    """A hand on the head and the strings: bursts of noise, each with a damped resonance."""
    rng = np.random.default_rng([813, seed])
    sound = np.zeros(round(seconds * RATE))
    time = np.arange(round(0.15 * RATE)) / RATE
    for at in rng.uniform(0.2, seconds - 0.4, round(3.0 * seconds)):
        begin = round(at * RATE)
        size = 10.0 ** (rng.uniform(-40.0, -16.0) / 20.0)
        burst = rng.standard_normal(len(time)) * np.exp(-time * rng.uniform(20.0, 200.0))
        rings = np.sin(2.0 * np.pi * rng.uniform(150.0, 400.0) * time) * np.exp(
            -time * rng.uniform(40.0, 120.0)
        )
        sound[begin : begin + len(time)] += size * (burst + rng.uniform(0.0, 3.0) * rings)
    return with_noise(sound, _NOISE_DBFS, rng).astype(np.float32)


def _performance(pluck: Pluck, rng: np.random.Generator) -> Performance:
    """The pluck, with three other open strings before it where they are asked for."""
    notes = [
        PlayedNote(
            onset_sec=LEAD_SEC, midi=pluck.midi, string=pluck.string, fret=pluck.fret,
            level_db=float(rng.uniform(-6.0, 3.0)), duration_sec=RINGS_SEC,
        )
    ]  # fmt: skip
    if pluck.others_db is not None:
        others = [s for s in range(1, 6) if s != pluck.string]
        for sec, string in zip(_OTHERS_SEC, rng.permutation(others)[:3], strict=True):
            notes.append(
                PlayedNote(
                    onset_sec=sec, midi=pluck.neck.open_midi(int(string)), string=int(string), fret=0,
                    level_db=notes[0].level_db + pluck.others_db, duration_sec=LEAD_SEC + RINGS_SEC - sec,
                )
            )  # fmt: skip
    notes.sort(key=lambda n: n.onset_sec)
    return Performance(
        notes=tuple(notes), lick_id="", tempo_half_bpm=60.0, start_sec=0.0, mistakes=(), seed=0,
        open_midi={s: pluck.neck.open_midi(s) for s in range(1, 6)},
    )  # fmt: skip
