"""Hands that differ, at music that follows no lick: what is struck, when, where, how hard.

The problem: a listener that learns one hand learns its timing, its balance and its habits. So a hand is drawn
from ranges (a hurried one, an uneven one, one that bounces), and the music goes through what makes hearing
hard: pinches that are not together, slurs, unisons, a half step under what still rings, strokes that sound no
pitch at all.

Conventions: `Touch` is what is heard and is no note: a muted stroke, or a hand that stops the strings.
Strings are 1 to 5, levels decibels against mezzo-forte.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields
from types import MappingProxyType
from typing import Literal

import numpy as np

from feedback.played import Performance
from routines.neck import OPEN_TUNINGS, Neck

PITCHES = (45, 88)
"""Least and greatest MIDI pitch that is played."""

GHOST_DB = (-22.0, -14.0)
"""Level of a ghost stroke: between these an ear may hear it or not."""

STOP_DB = (-30.0, -14.0)
"""Level of the noise of a hand that stops the strings."""

COUNTS_DB = -12.0
"""No other note is softer than this."""

ALL_STRINGS = 0
"""The string of a touch that stops them all."""

_USUAL_TUNING_SHARE = 0.55
_CAPO_SHARE = 0.35


@dataclass(frozen=True, slots=True, kw_only=True)
class Hand:
    """How one take is played; shares are of eighths in a roll, 0 to 1.

    Attributes
    ----------
    nps : float
        Eighths a second.
    jitter_ms, bounce, dynamics_db, accent_db : float
        Spread of onsets; by how much of an eighth every second one is late; spread of levels; how much
        louder the first of four is.
    pinch_share, pinch_spread_ms, pinch_uneven_db : float
        How far apart the notes of a pinch begin, and how far apart their levels are, at most.
    slur_share, slur_db, choke_share, ghost_share, dead_share, rest_share : float
        Slurs and their mean level, chokes, ghost strokes, muted strokes, rests.
    choke_reach : float
        How much of the half steps that a choke is after it gets (0.5: a quarter tone, or a half step).
    shape_share : float
        Of bars that begin with a new shape.
    open_share : float
        Of shapes that are low ones with open strings.
    highest_fret : float
        The left hand goes up to it.
    stop_share : float
        Of figures after which a hand stops every string.
    """

    nps: float
    jitter_ms: float
    bounce: float
    dynamics_db: float
    accent_db: float
    pinch_share: float
    pinch_spread_ms: float
    pinch_uneven_db: float
    slur_share: float
    slur_db: float
    choke_share: float
    choke_reach: float
    ghost_share: float
    dead_share: float
    rest_share: float
    shape_share: float
    open_share: float
    highest_fret: float
    stop_share: float

    @classmethod
    def drawn(cls, rng: np.random.Generator) -> Hand:
        """Draw a hand, evenly from `RANGES`."""
        return cls(**{f.name: float(rng.uniform(*RANGES[f.name])) for f in fields(cls)})


RANGES: Mapping[str, tuple[float, float]] = MappingProxyType(
    {
        "nps": (3.5, 12.0),
        "jitter_ms": (0.0, 14.0),
        "bounce": (0.0, 0.3),
        "dynamics_db": (0.3, 5.0),
        "accent_db": (0.0, 4.0),
        "pinch_share": (0.05, 0.20),
        "pinch_spread_ms": (0.0, 18.0),
        "pinch_uneven_db": (0.0, 10.0),
        "slur_share": (0.12, 0.36),
        "slur_db": (-8.0, 0.0),
        "choke_share": (0.0, 0.06),
        "choke_reach": (0.5, 1.1),
        "ghost_share": (0.0, 0.05),
        "dead_share": (0.0, 0.04),
        "rest_share": (0.0, 0.08),
        "shape_share": (0.3, 0.9),
        "open_share": (0.15, 0.6),
        "highest_fret": (7.0, 23.0),
        "stop_share": (0.0, 0.15),
    }
)
"""Attribute of `Hand` to the range that it is drawn from."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Touch:
    """What is heard at a string and is no note."""

    onset_sec: float
    string: int
    level_db: float
    how: Literal["dead", "stop"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Playing:
    """A performance, and the touches between its notes."""

    performance: Performance
    touches: tuple[Touch, ...]
    hand: Hand


def drawn_neck(rng: np.random.Generator) -> Neck:
    """Draw a tuning, mostly open G, and a capo at fret 0 to 5."""
    usual = rng.random() < _USUAL_TUNING_SHARE
    tuning = "gDGBD" if usual else str(rng.choice(list(OPEN_TUNINGS)))
    capo = int(rng.integers(1, 6)) if rng.random() < _CAPO_SHARE else 0
    return Neck(tuning=tuning, capo=capo)
