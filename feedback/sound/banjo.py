"""A banjo as numbers: what its strings, its pick and its head do to a note.

The problem: a listener must not learn one instrument. So everything that differs between two banjos is a
named option with a unit, and `Banjo.varied` draws another instrument from ranges in which banjos lie.

Conventions: strings are written 1 to 5 in tuples. Levels are decibels, frequencies hertz, decays decibels a
second. The head is a handful of resonances over a broad slope: it radiates little below some 300 Hz (the low
strings' fundamentals are weak) and falls above some 3 kHz. After the two-part decay of strings coupled to a
moving bridge (Weinreich, "Coupled piano strings", 1977): the motion across the head is loud and dies fast,
the motion along it is soft and rings on, a trifle out of tune with the first, so a tail beats.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

SCALE_MM = 667.0
"""Bridge to main nut."""

NUT_MIDI = (62, 59, 55, 50, 62)
"""Strings 1 to 5: pitch that the whole scale length would sound (the fifth starts at the fifth fret)."""

_FLOOR_DB = -40.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Manner:
    """How a banjo is kept and touched: what differs between two players of one instrument.

    Attributes
    ----------
    string_cents : tuple of float
        How far each string, 1 to 5, is off from the others.
    ripple_db : float
        Standard deviation of a partial's level from stroke to stroke.
    knock_tick, knock_length : float
        The dry tick in the pick's knock, and how long the knock is against the head's own resonances.
    slur_knock_db, slur_knock_spread_db : float
        A slur's knock against the usual one of its kind, and how much that differs from slur to slur.
    slur_bright, slur_attack : float
        Brightness and rise time of a slur, against the usual ones of its kind.
    touch_sec, touch_left_db, touch_left_sec : float
        How soon a string that is struck again is silenced; what is left of its last note, and for how long.
    lift_sec : float
        How soon a string that the hand leaves is silenced, at most 0.030.
    choke_reach : float
        How much of the rise that a choke asks for its hand brings about.
    """

    string_cents: tuple[float, ...] = (0.0, 0.0, 0.0, 0.0, 0.0)
    ripple_db: float = 1.5
    knock_tick: float = 0.5
    knock_length: float = 1.0
    slur_knock_db: float = 0.0
    slur_knock_spread_db: float = 0.0
    slur_bright: float = 1.0
    slur_attack: float = 1.0
    touch_sec: float = 0.004
    touch_left_db: float = float("-inf")
    touch_left_sec: float = 0.0
    lift_sec: float = 0.012
    choke_reach: float = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Banjo:
    """One instrument, strung, tuned and picked.

    Attributes
    ----------
    tuning_cents : float
        The whole instrument against A4 = 440 Hz.
    intonation_cents : float
        Standard deviation of a single note's pitch.
    pick_mm : float
        Where the picks strike, from the bridge.
    pick_bright_hz : float
        Above this a stroke at mezzo-forte excites less and less.
    stiffness : tuple of float
        Inharmonicity B of each open string, 1 to 5: partial n lies at n f0 sqrt(1 + B n^2).
    string_bright_db : tuple of float
        Tilt of each string, 1 to 5, in decibels an octave above 1 kHz (a wound fourth is duller).
    early_decay_db_per_sec, late_decay_db_per_sec : float
        At 500 Hz, of the loud first part and of the tail.
    decay_power : float
        Decays grow with frequency to this power above 500 Hz.
    decay_stopped : float
        They grow, too, with the shortening of the string to this power, for a finger is a soft nut.
    tail_db : float
        Level of the tail's motion against the first part's at the stroke.
    tail_detune_cents : float
        How far the tail's motion is out of tune with the first part's.
    sharp_cents, sharp_sec : float
        How sharp a stroke at mezzo-forte begins, and how soon that is a third.
    knock_db : float
        Level of the pick's knock on the head against the note, both over the first 70 ms.
    head_hz, head_q, head_db : tuple of float
        The head's resonances, with their widths and heights.
    low_hz, high_hz : float
        Between these the head radiates evenly.
    low_slope_db, high_slope_db : float
        How it falls outside them, in decibels an octave.
    sympathetic_db : float
        How loudly the open strings answer at resonance.
    """

    tuning_cents: float = 0.0
    intonation_cents: float = 2.5
    pick_mm: float = 85.0
    pick_bright_hz: float = 8000.0
    stiffness: tuple[float, ...] = (2.6e-5, 3.2e-5, 5.0e-5, 9.0e-5, 3.0e-5)
    string_bright_db: tuple[float, ...] = (0.0, -0.3, -0.8, -1.5, 0.3)
    early_decay_db_per_sec: float = 52.0
    late_decay_db_per_sec: float = 13.5
    decay_power: float = 0.55
    decay_stopped: float = 0.6
    tail_db: float = -11.0
    tail_detune_cents: float = 1.2
    sharp_cents: float = 9.0
    sharp_sec: float = 0.06
    knock_db: float = -16.0
    head_hz: tuple[float, ...] = (285.0, 470.0, 640.0, 860.0, 1180.0, 1620.0, 2300.0, 3200.0)
    head_q: tuple[float, ...] = (7.0, 6.0, 7.0, 8.0, 7.0, 7.0, 6.0, 5.0)
    head_db: tuple[float, ...] = (2.0, 3.0, 4.0, 5.0, 5.0, 6.0, 8.0, 7.0)
    low_hz: float = 450.0
    high_hz: float = 2500.0
    low_slope_db: float = 12.0
    high_slope_db: float = 1.5
    sympathetic_db: float = -30.0

    def head_gain(self, hz: np.ndarray) -> np.ndarray:
        """Return how strongly the head radiates at frequencies in hertz (same shape), as factors."""
        octaves_low = np.maximum(0.0, np.log2(self.low_hz / hz))
        octaves_high = np.maximum(0.0, np.log2(hz / self.high_hz))
        slope_db = -self.low_slope_db * octaves_low - self.high_slope_db * octaves_high
        peaks_db = np.zeros_like(hz)
        for centre, q, height in zip(self.head_hz, self.head_q, self.head_db, strict=True):
            away = q * (hz / centre - centre / hz)
            peaks_db += height / (1.0 + away**2)
        gain: np.ndarray = 10.0 ** (np.maximum(_FLOOR_DB, slope_db + peaks_db) / 20.0)
        return gain

    def decays(self, hz: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Return the early and the late decay at frequencies in hertz, each in decibels a second."""
        rise = np.maximum(1.0, hz / 500.0) ** self.decay_power
        # Where the head takes much from the string, the string is emptied sooner.
        taken = (self.head_gain(hz) / self.head_gain(np.array([500.0]))) ** 0.3
        return self.early_decay_db_per_sec * rise * taken, self.late_decay_db_per_sec * rise

    def varied(self, rng: np.random.Generator) -> Banjo:
        """Draw another instrument, some way from this one in every option that differs between banjos.

        Parameters
        ----------
        rng : numpy.random.Generator

        Returns
        -------
        Banjo
        """

        def scaled(value: float, least: float, most: float) -> float:
            return float(value * np.exp(rng.uniform(np.log(least), np.log(most))))

        def each(values: Sequence[float], least: float, most: float) -> tuple[float, ...]:
            return tuple(scaled(value, least, most) for value in values)

        def moved(values: Sequence[float], by: float) -> tuple[float, ...]:
            return tuple(float(value + rng.uniform(-by, by)) for value in values)

        size = scaled(1.0, 0.85, 1.18)
        return replace(
            self,
            tuning_cents=float(self.tuning_cents + rng.normal(0.0, 9.0)),
            intonation_cents=scaled(self.intonation_cents, 0.6, 2.0),
            pick_mm=scaled(self.pick_mm, 0.55, 1.7),
            pick_bright_hz=scaled(self.pick_bright_hz, 0.55, 2.0),
            stiffness=each(self.stiffness, 0.5, 2.0),
            string_bright_db=moved(self.string_bright_db, 1.0),
            early_decay_db_per_sec=scaled(self.early_decay_db_per_sec, 0.6, 1.7),
            late_decay_db_per_sec=scaled(self.late_decay_db_per_sec, 0.6, 1.6),
            decay_power=float(self.decay_power + rng.uniform(-0.15, 0.2)),
            decay_stopped=float(self.decay_stopped + rng.uniform(-0.3, 0.4)),
            tail_db=float(self.tail_db + rng.uniform(-5.0, 5.0)),
            tail_detune_cents=float(self.tail_detune_cents + rng.uniform(-1.0, 2.0)),
            sharp_cents=scaled(self.sharp_cents, 0.4, 1.8),
            sharp_sec=scaled(self.sharp_sec, 0.6, 1.6),
            knock_db=float(self.knock_db + rng.uniform(-6.0, 5.0)),
            head_hz=tuple(size * hz * scaled(1.0, 0.93, 1.08) for hz in self.head_hz),
            head_q=each(self.head_q, 0.6, 1.8),
            head_db=moved(self.head_db, 4.0),
            low_hz=scaled(self.low_hz, 0.75, 1.3),
            high_hz=scaled(self.high_hz, 0.75, 1.5),
            low_slope_db=float(self.low_slope_db + rng.uniform(-4.0, 4.0)),
            high_slope_db=float(self.high_slope_db + rng.uniform(-3.0, 3.0)),
            sympathetic_db=float(self.sympathetic_db + rng.uniform(-6.0, 4.0)),
        )
