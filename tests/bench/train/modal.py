"""A second plucked string, built otherwise than the simulated banjo.

The problem: a listener that learns one model of a string learns its laws. Here a partial's strength follows a
power law (or, in the instruments kept aside, an exponential one), the body is a sum of modes whose phases
make notches as well as peaks (or, aside, a few reflections), every partial of every string has its own fixed
ripple and its own decay, and the knock is shaped noise through the body.

Conventions: as in `feedback.sound.banjo`. Departs from a real string in that a slur does not carry the
string's motion on: it is a duller pluck, some way down its decay.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from feedback.played import PlayedNote
from feedback.sound.banjo import NUT_MIDI, SCALE_MM
from feedback.sound.partials import NEPERS_PER_DB, hz_of, pointers, read_at
from feedback.sound.voice import LEVEL_SEC
from tests.bench.train.lines import gone_cents

PARTIALS = 48
_HIGHEST_HZ = 10_500.0
_BODY_FLOOR = 0.02


@dataclass(frozen=True, slots=True, kw_only=True)
class Body:
    """What radiates: modes, shape (n,), and reflections (seconds, strength), shape (m, 2); either empty."""

    mode_hz: np.ndarray
    mode_q: np.ndarray
    mode_weight: np.ndarray
    reflections: np.ndarray
    low_hz: float
    low_order: float

    def gain(self, hz: np.ndarray) -> np.ndarray:
        """How strongly it radiates at frequencies in hertz (same shape); about 1 on the whole."""
        answer = np.full(hz.shape, 0.25 if len(self.mode_hz) else 1.0, dtype=complex)
        if len(self.mode_hz):
            away = hz[..., None] / self.mode_hz - self.mode_hz / hz[..., None]
            answer += np.sum(self.mode_weight / (1.0 + 1j * self.mode_q * away), axis=-1)
        for sec, strength in self.reflections:
            answer += strength * np.exp(-2j * np.pi * hz * sec)
        low = 1.0 / np.sqrt(1.0 + (self.low_hz / hz) ** (2.0 * self.low_order))
        gain: np.ndarray = np.maximum(_BODY_FLOOR, np.abs(answer)) * low
        return gain


@dataclass(frozen=True, slots=True, kw_only=True)
class Modal:
    """One such instrument.

    Attributes
    ----------
    law : {"power", "exponential"}
        How a partial's strength falls with its number n: n ** -slope, or exp(-n / slope).
    slope : float
    pick_mm : float
        Where it is plucked, from the bridge.
    bright_hz : float
        Above this a stroke excites less and less.
    ripple_db, decay_spread : numpy.ndarray
        Shape (5, PARTIALS): level, and factor on the decay, of each partial of each string.
    decay_db_per_sec, decay_power : float
        At 500 Hz; it grows with frequency to this power.
    tail_db, tail_decay : float
        A second, slower motion: its level at the stroke, and its decay as a share of the first one's.
    tail_cents : float
        How far that is out of tune.
    stiffness : float
        Inharmonicity of the open strings, as in `feedback.sound.banjo.Banjo`.
    string_cents, intonation_cents, sharp_cents, sharp_sec
        As there.
    attack_sec, slur_attack_sec : float
    slur_dull : float
        A slur's `bright_hz` as a share of the stroke's.
    knock_db, knock_sec, knock_hz, slur_knock_db
        The knock's level against the note, its length, where its noise is centred, and a slur's against it.
    """

    law: str
    slope: float
    pick_mm: float
    bright_hz: float
    ripple_db: np.ndarray
    decay_spread: np.ndarray
    decay_db_per_sec: float
    decay_power: float
    tail_db: float
    tail_decay: float
    tail_cents: float
    stiffness: float
    string_cents: np.ndarray
    intonation_cents: float
    sharp_cents: float
    sharp_sec: float
    attack_sec: float
    slur_attack_sec: float
    slur_dull: float
    knock_db: float
    knock_sec: float
    knock_hz: float
    slur_knock_db: float
    tuning_cents: float
    body: Body

    def knock(self, rate: int, rng: np.random.Generator) -> np.ndarray:
        """One knock; float64, power 1 over `LEVEL_SEC`."""
        count = int(min(0.08, 6.0 * self.knock_sec) * rate)
        hz = np.maximum(20.0, np.fft.rfftfreq(count, 1.0 / rate))
        shape = self.body.gain(hz) / (1.0 + (hz / self.knock_hz - self.knock_hz / hz) ** 2)
        noise = np.fft.irfft(np.fft.rfft(rng.standard_normal(count)) * shape, count)
        noise *= np.exp(-np.arange(count) / (self.knock_sec * rate))
        noise[:8] *= np.linspace(0.0, 1.0, 8)
        noise /= np.sqrt(np.sum(noise**2) / (LEVEL_SEC * rate))
        return noise

    def made(
        self, note: PlayedNote, count: int, rate: int, reach: float, rng: np.random.Generator
    ) -> tuple[np.ndarray, int]:
        """One note of `count` samples, float32, none of them (0) before its onset."""
        string = note.string - 1
        cents = self.tuning_cents + self.string_cents[string] + rng.normal(0.0, self.intonation_cents)
        frets = note.midi - NUT_MIDI[string]
        stiffness = self.stiffness * 2.0 ** (max(0, frets) / 6.0)
        numbers = np.arange(1, PARTIALS + 1)
        hz = hz_of(note.midi, cents) * numbers * np.sqrt((1.0 + stiffness * numbers**2) / (1.0 + stiffness))
        keep = hz < min(_HIGHEST_HZ, 0.45 * rate)
        numbers, hz = numbers[keep], hz[keep]
        place = self.pick_mm / (SCALE_MM * 2.0 ** (-frets / 12.0))
        fall = numbers**-self.slope if self.law == "power" else np.exp(-(numbers - 1.0) / self.slope)
        bright_hz = self.bright_hz * 2.0 ** (note.level_db / 24.0) * (1.0 if note.picked else self.slur_dull)
        size = (0.04 + np.abs(np.sin(np.pi * numbers * place))) * fall / (1.0 + (hz / bright_hz) ** 2)
        size *= self.body.gain(hz) * 10.0 ** (self.ripple_db[string, : len(hz)] / 20.0)
        size *= 10.0 ** (rng.normal(0.0, 0.8, len(hz)) / 20.0)
        decay = self.decay_db_per_sec * np.maximum(1.0, hz / 500.0) ** self.decay_power
        decay *= self.decay_spread[string, : len(hz)] * NEPERS_PER_DB
        if not note.picked:
            size *= np.exp(-decay * rng.uniform(0.0, 0.25))
        time = self._time_axis(note, count, rate, reach)
        straight = pointers(
            np.concatenate([size, size * 10.0 ** (self.tail_db / 20.0)]),
            rng.uniform(-np.pi, np.pi, 2 * len(hz)),
            np.concatenate([hz, hz * 2.0 ** (self.tail_cents / 1200.0)]),
            np.concatenate([decay, decay * self.tail_decay]),
            int(time[-1]) + 4,
            rate,
        )
        signal = read_at(straight, time)
        attack = max(2, int((self.attack_sec if note.picked else self.slur_attack_sec) * rate))
        signal[:attack] *= np.sin(np.linspace(0.0, np.pi / 2, attack, dtype=np.float32))[: len(signal)] ** 2
        return signal, 0

    def _time_axis(self, note: PlayedNote, count: int, rate: int, reach: float) -> np.ndarray:
        sec = np.arange(count) / rate
        sharp = self.sharp_cents * 10.0 ** (note.level_db / 20.0) if note.picked else 0.0
        cents = gone_cents(note, sec, reach) + sharp * np.exp(-sec / self.sharp_sec)
        return np.concatenate([[0.0], np.cumsum(2.0 ** (cents[:-1] / 1200.0))])
