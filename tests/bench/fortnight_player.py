"""An invented player of known ability: what they can play on which day, and what goes wrong beyond that.

The problem: whether the program tells a player's progress truly can only be known of a player whose progress
is known. So each lick (or part of one) has a true *edge* on each day, the tempo at which four passes in five
are clean, and around it a curve as `routines.ladder.levels` has it. A pass that is not to be clean is played
with a slip, drawn from named mistakes that the judges call not clean; a habit makes one of them likelier on
one lick, and shows itself in the time of all the others. Edges rise over the fortnight, habits fade, both by
amounts that stand here.

Conventions: `come` is how much of the fortnight is over, 0 to 1. Levels over tempo are logarithms.
"""

from __future__ import annotations

import math
import random
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from types import MappingProxyType

from feedback.grid import Grid
from feedback.judges.deafness import Deaf
from feedback.judges.limits import Limits
from feedback.judges.timing import Deviation
from feedback.judges.whole import Circumstances, Judged, judge_pass
from feedback.performance import HandSettings, Performance, perform
from feedback.played import as_heard
from routines.errors import BadRoutine
from routines.ladder.levels import HOME_CLEAN, chance_clean
from routines.lick import Lick, quarter_sec

SLOPE, LAPSE = 0.06, 0.02
FORM = 0.025
"""Standard deviation, in the logarithm of the tempo, of all edges from day to day."""
COLD, COLD_SEC = 0.05, 60.0
"""So much lower lies every edge when a sitting begins, dying away."""
LOOP_EASIER = 0.15
"""Logarithm of a change's edge over its lick's."""
DEAF_SHARE, DEAF_SEC = 0.02, 1.5
"""Of the passes: something outside could not be told from the banjo for so long."""
LEAN_MS, LEAN_AT_LAST_MS = -22.0, -7.0
JITTER_MS, JITTER_AT_LAST_MS = 9.0, 7.5
BOUNCE = 0.53
BEFORE_SEC = 0.5
"""Silence before the first note of a pass that is heard."""
HABIT, HABIT_AT_LAST = 0.75, 0.15
"""Share of a lick's slips that are its habit; of a hurry, of the passes without a slip."""
HURRY = "hurry-at-change"

SLIPS: Mapping[str, float] = MappingProxyType(
    {
        "left-hanging": 4.0,
        "core-missing": 3.0,
        "core-wrong": 3.0,
        "seven-missing": 2.0,
        "seven-late-far": 2.0,
        "resolution-late": 2.0,
        "seven-swallowed": 2.0,
        "core-added": 1.0,
    }
)
"""What goes wrong, and how often against the others; each makes a pass not clean."""
SPOILS: Mapping[str, frozenset[str]] = MappingProxyType(
    {
        "sounded": frozenset({"seven-missing"}),
        "swallowed": frozenset({"seven-swallowed"}),
        "landed": frozenset({"seven-missing", "seven-late-far", "seven-swallowed"}),
        "resolved": frozenset({"left-hanging", "resolution-late"}),
    }
)
"""What of a flat seven each slip spoils."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Known:
    """A lick, or a part of one, as the player can play it.

    Attributes
    ----------
    lick : str
        Its id.
    loop : str or None
    way : str
        As in `feedback.performing.Asked`.
    edge_share, gain : float
        True edge at first, as a share of the lick's top; by how much of itself it is higher at last.
    habit : str
        The slip that is likelier here than elsewhere, or HURRY; empty for none.
    from_day : int
        The first day, from 0, on which it may be practised.
    """

    lick: str
    loop: str | None = None
    way: str = ""
    edge_share: float
    gain: float
    habit: str = ""
    from_day: int = 0

    def edge_half_bpm(self, top_half_bpm: float, come: float) -> float:
        """True edge by the plan, without the form of the day."""
        return self.edge_share * top_half_bpm * (1.0 + self.gain * come)


@dataclass(frozen=True, slots=True, kw_only=True)
class Truth:
    """What was true of a pass before anybody judged it.

    Attributes
    ----------
    edge_half_bpm : float
        Of all of it, at that moment.
    chance_clean : float
    chances : mapping
        Of each slip.
    slips : tuple of str
        Those that were made.
    jitter_ms, lean_ms : float
        Of the hand.
    seed : int
    deaf : bool
        Whether a part of it could not be heard.
    """

    edge_half_bpm: float
    chance_clean: float
    chances: Mapping[str, float]
    slips: tuple[str, ...]
    jitter_ms: float
    lean_ms: float
    seed: int
    deaf: bool = False


@dataclass(slots=True)
class Invented:
    """The player on one day.

    Attributes
    ----------
    rng : random.Random
    come : float
    form : float
        Of the day, added to the logarithm of every edge.
    """

    rng: random.Random
    come: float
    form: float = field(init=False)

    def __post_init__(self) -> None:
        self.form = self.rng.gauss(0.0, FORM)

    def edge_half_bpm(self, planned_half_bpm: float, sitting_sec: float = math.inf) -> float:
        """True at this moment of the sitting."""
        return planned_half_bpm * math.exp(self.form - COLD * math.exp(-sitting_sec / COLD_SEC))

    def plays(
        self,
        lick: Lick,
        tempo_half_bpm: float,
        *,
        edge_half_bpm: float,
        easier: float = 0.0,
        habit: str = "",
        earlier: Sequence[Deviation] = (),
        click_off: bool = False,
    ) -> tuple[Judged, Performance, Truth]:
        """Play a pass and have it judged on what was played.

        Parameters
        ----------
        lick : Lick
        tempo_half_bpm : float
        edge_half_bpm : float
            True, of all of the lick.
        easier : float
            How much easier this part of it is, in the logarithm of the tempo.
        habit : str
        earlier : sequence of Deviation
            Of passes before it at the same tempo.
        click_off : bool
            Whether no click, or a thinned one, held the tempo.
        """
        rng, over = self.rng, math.log(tempo_half_bpm / edge_half_bpm) - easier
        clean = chance_clean(over, SLOPE, LAPSE)
        weights = self._weights(lick, habit)
        total = sum(weights.values())
        chances = {name: (1.0 - clean) * weight / total for name, weight in weights.items()}
        slips = [] if rng.random() < clean or not weights else rng.choices([*weights], [*weights.values()])
        hurries = habit == HURRY and rng.random() < self._faded(HABIT)
        if hurries and not slips and _applicable(lick, (HURRY,)):
            slips.append(HURRY)
        hand = self._hand(tempo_half_bpm, over)
        truth = Truth(
            edge_half_bpm=edge_half_bpm,
            chance_clean=clean,
            chances=chances,
            slips=tuple(slips),
            jitter_ms=hand.jitter_ms,
            lean_ms=hand.lean_ms,
            seed=rng.randrange(2**31),
            deaf=rng.random() < DEAF_SHARE,
        )
        played = perform(
            lick,
            tempo_half_bpm=tempo_half_bpm,
            mistakes=truth.slips,
            seed=truth.seed,
            start_sec=BEFORE_SEC + lick.pickup_quarters * quarter_sec(tempo_half_bpm),
            hand=hand,
        )
        grid = Grid(lick=lick, tempo_half_bpm=tempo_half_bpm, start_sec=played.start_sec, limits=Limits())
        lost: Deaf = [(played.start_sec, played.start_sec + DEAF_SEC)] if truth.deaf else []
        judged = judge_pass(
            grid, as_heard(played), Circumstances(earlier=earlier, deaf=lost, click_off=click_off)
        )
        return judged, played, truth

    def _hand(self, tempo_half_bpm: float, over: float) -> HandSettings:
        steady = JITTER_MS + (JITTER_AT_LAST_MS - JITTER_MS) * self.come
        window_ms = 1e3 * Limits().window_sec(quarter_sec(tempo_half_bpm) / 2.0)
        jitter = min(steady * (1.0 + 2.0 * max(over + 0.1, 0.0)), window_ms / 2.8)
        lean = LEAN_MS + (LEAN_AT_LAST_MS - LEAN_MS) * self.come + self.rng.gauss(0.0, 3.0)
        return HandSettings(jitter_ms=jitter, lean_ms=lean, bounce=BOUNCE)

    def _weights(self, lick: Lick, habit: str) -> dict[str, float]:
        """What may go wrong here: the habit so often, all others in the rest."""
        weights = {name: SLIPS[name] for name in _applicable(lick, tuple(SLIPS))}
        if habit in weights:
            share = self._faded(HABIT)
            rest = sum(weights.values()) - weights[habit]
            weights[habit] = rest * share / (1.0 - share)
        return weights

    def _faded(self, at_first: float) -> float:
        return at_first + (HABIT_AT_LAST - at_first) * self.come


def home_over_edge() -> float:
    """True home, as a share of the true edge."""
    low, high = -1.0, 0.0
    for _ in range(50):
        middle = (low + high) / 2.0
        low, high = (middle, high) if chance_clean(middle, SLOPE, LAPSE) > HOME_CLEAN else (low, middle)
    return math.exp(low)


@lru_cache(maxsize=512)
def _applicable(lick: Lick, names: tuple[str, ...]) -> tuple[str, ...]:
    """Those mistakes for which the lick has a place."""
    found = []
    for name in names:
        try:
            perform(lick, tempo_half_bpm=80.0, mistakes=(name,), seed=1)
        except BadRoutine:
            continue
        found.append(name)
    return tuple(found)
