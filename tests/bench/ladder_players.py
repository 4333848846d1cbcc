"""Simulated players whose ability is known: their chance of a clean pass falls with the tempo.

Conventions: tempos are half notes a minute, abilities their logarithm. A player's *edge* at a moment is the
tempo at which four passes in five are clean, over all that changes from pass to pass; *home* is nine in ten.
It grows with clean passes near it (learns), sinks with the minutes (tires), lies lower at first (cold), and
each pass has an ability of its own about it, kin to that of the pass before (bounces). The change by itself
is easier than the whole and takes half as long.
"""

from __future__ import annotations

import math
import random
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from types import MappingProxyType

from routines.ladder.levels import EDGE_CLEAN, HOME_CLEAN, chance_clean
from routines.ladder.seen import PassSeen, Unit

LOOP_EASIER = 0.15
"""Logarithm of the change's edge over the whole's."""
NEAR_TO_LEARN = 0.15
COLD_SEC = 60.0
BARS, HALVES_A_BAR = 2, 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Kind:
    """What a player is like.

    Attributes
    ----------
    slope : float
        Width of the curve, in the logarithm of the tempo.
    learns : float
        Of ability, with each clean pass near the edge.
    tires : float
        Of ability, a minute.
    bounces, kinship : float
        Standard deviation of ability from pass to pass, and how much of it the next pass keeps.
    cold : float
        So much less ability at the beginning of a sitting, dying away.
    unclear : float
        Share of the passes that cannot be told.
    spread_ms : float
        About home; from the edge up it grows.
    """

    slope: float = 0.08
    learns: float = 0.0
    tires: float = 0.0
    bounces: float = 0.0
    kinship: float = 0.6
    cold: float = 0.0
    unclear: float = 0.0
    spread_ms: float = 12.0


KINDS: Mapping[str, Kind] = MappingProxyType(
    {
        "steady": Kind(),
        "steep": Kind(slope=0.04),
        "flat": Kind(slope=0.15),
        "learns": Kind(learns=0.001),
        "tires": Kind(tires=0.008),
        "bounces": Kind(slope=0.06, bounces=0.08),
        "cold": Kind(cold=0.10),
        "unclear 5 %": Kind(unclear=0.05),
        "unclear 20 %": Kind(unclear=0.20),
        "all of it": Kind(learns=0.0006, tires=0.004, bounces=0.06, slope=0.06, cold=0.06, unclear=0.05),
    }
)


class Player:
    """One player with one item through one sitting.

    Parameters
    ----------
    kind : Kind
    edge_half_bpm : float
        At the beginning of the sitting, warm.
    seed : int

    Attributes
    ----------
    seconds : float
        Since the sitting began.
    learned : float
        Of ability, in this sitting.
    """

    def __init__(self, kind: Kind, edge_half_bpm: float, seed: int) -> None:
        self.kind = kind
        self.seconds = 0.0
        self._rng = random.Random(seed)
        self._edge = math.log(edge_half_bpm)
        self.learned = 0.0
        self._bounce = self._rng.gauss(0.0, kind.bounces)

    @property
    def edge_half_bpm(self) -> float:
        """True at this moment."""
        kind, minutes = self.kind, self.seconds / 60.0
        cold = kind.cold * math.exp(-self.seconds / COLD_SEC)
        return math.exp(self._edge + self.learned - kind.tires * minutes - cold)

    @property
    def home_half_bpm(self) -> float:
        """True at this moment."""
        return self.edge_half_bpm * math.exp(_level(self.kind, HOME_CLEAN) - _level(self.kind, EDGE_CLEAN))

    def waits(self, seconds: float) -> None:
        """Let time pass."""
        self.seconds += seconds

    def plays(self, tempo_half_bpm: float, unit: Unit) -> PassSeen:
        """One pass."""
        kind, rng = self.kind, self._rng
        half_sec = 60.0 / tempo_half_bpm
        lasted = (BARS * (1.0 if unit == "whole" else 0.5) + 1.0) * HALVES_A_BAR * half_sec
        over = math.log(tempo_half_bpm / self.edge_half_bpm) + _level(kind, EDGE_CLEAN) - self._bounce
        if unit != "whole":
            over -= LOOP_EASIER
        clean = rng.random() < chance_clean(over, kind.slope)
        if clean and abs(over) < NEAR_TO_LEARN:
            self.learned += kind.learns
        spread = kind.spread_ms * (1.0 + 2.0 * max(over, 0.0)) * math.exp(rng.gauss(0.0, 0.2))
        self._bounce = kind.kinship * self._bounce + rng.gauss(
            0.0, kind.bounces * math.sqrt(1.0 - kind.kinship**2)
        )
        self.seconds += lasted
        told = rng.random() >= kind.unclear
        return PassSeen(
            tempo_half_bpm=tempo_half_bpm,
            clean=clean if told else None,
            spread_ms=spread if told else None,
            unit=unit,
            sitting_sec=self.seconds,
            lasted_sec=lasted,
        )


@lru_cache(maxsize=256)
def _level(kind: Kind, clean: float) -> float:
    """Where, about the middle ability's edge, so many passes are clean with all bounces taken together."""
    low, high = -2.0, 2.0
    for _ in range(60):
        middle = (low + high) / 2.0
        low, high = (middle, high) if _mean_clean(kind, middle) > clean else (low, middle)
    return low


def _mean_clean(kind: Kind, over: float) -> float:
    steps = [one / 10.0 for one in range(-40, 41)]
    weights = [math.exp(-0.5 * one * one) for one in steps]
    chances = [chance_clean(over - kind.bounces * one, kind.slope) for one in steps]
    return sum(map(float.__mul__, weights, chances)) / sum(weights)
