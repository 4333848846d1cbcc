"""One simulated player's sitting on a ladder, and what is counted of it.

Conventions: minutes begin with the item; *the last third* is that of the sitting's passes of the whole; the
*true edge* is the player's at the moment of a pass. A place against the edge is the logarithm of a tempo over
it, which for small ones is a share. The closing pass at home tempo is in no figure but the time.
"""

from __future__ import annotations

import math
import random
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from itertools import pairwise, product
from statistics import fmean, median
from typing import Protocol, Self

from routines.journal.records import Item, TempoDay
from routines.ladder.levels import Tried, chance_clean, levels_of
from routines.ladder.rules import LADDER
from routines.ladder.seen import PassSeen, Unit
from routines.tempo import FASTEST_HALF_BPM, SLOWEST_HALF_BPM
from tests.bench.ladder_players import Kind, Player

TODAY = date(2026, 11, 29)
ITEM = Item(lick="a-lick", key="G")
FOUND = 0.06
A_TURN, REST_SEC, COUNT_IN_HALVES = 4, 4.0, 4


class Climbs(Protocol):
    """What a sitting asks of a ladder or a peer of it."""

    @property
    def tempo_half_bpm(self) -> float:
        """Of the next count-in."""

    @property
    def unit(self) -> Unit:
        """Of the next count-in."""

    @property
    def phase(self) -> str:
        """Whether it is over."""

    @property
    def passes_next(self) -> int | None:
        """None for as many as usual."""

    def after(self, seen: PassSeen) -> Self:
        """Count a pass."""

    def turn_over(self, sitting_sec: float) -> Self:
        """Begin the next turn."""


@dataclass(frozen=True, slots=True, kw_only=True)
class OneUpOneDown:
    """A plain staircase: each clean pass 4 % up, each other one as much down, at the next count-in."""

    tempo_half_bpm: float
    next_half_bpm: float
    phase: str = "climbing"
    unit: Unit = "whole"
    passes_next: int | None = None

    def after(self, seen: PassSeen) -> Self:
        """Count a pass."""
        if seen.clean is None:
            return self
        step = 1.0 + LADDER.rise_share
        return replace(self, next_half_bpm=self.next_half_bpm * (step if seen.clean else 1.0 / step))

    def turn_over(self, sitting_sec: float) -> Self:
        """Begin the next turn."""
        tempo = min(max(round(self.next_half_bpm), SLOWEST_HALF_BPM), FASTEST_HALF_BPM)
        return replace(
            self, tempo_half_bpm=tempo, phase="over" if sitting_sec >= LADDER.item_sec else "climbing"
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Played:
    """A pass with what was true as it was played."""

    seen: PassSeen
    edge_half_bpm: float
    closing: bool

    @property
    def minutes(self) -> float:
        """Since the item began."""
        return self.seen.sitting_sec / 60.0

    @property
    def place(self) -> float:
        """Logarithm of its tempo over the true edge."""
        return math.log(self.seen.tempo_half_bpm / self.edge_half_bpm)


@dataclass(frozen=True, slots=True, kw_only=True)
class Sat:
    """What is counted of one sitting.

    Attributes
    ----------
    found_min : float or None
        When the tempo first was within FOUND of the true edge.
    stands : float
        Median place in the last third.
    turns_back, swing : float
        In the last third: changes of direction in ten passes; fastest over slowest, less 1.
    clean, above, loop : float
        Shares of the passes: clean, faster than the true reach, of the change by itself.
    edge_off, home_off : float or None
        Logarithm of what the day's end says over the truth.
    left : bool
        Whether the item was left for today before its minutes were over.
    """

    found_min: float | None
    stands: float
    turns_back: float
    swing: float
    clean: float
    above: float
    loop: float
    edge_off: float | None
    home_off: float | None
    left: bool


def sit(player: Player, ladder: Climbs) -> list[Played]:
    """Play until the ladder says that it is over."""
    played = []
    while ladder.phase != "over":
        tempo, unit, closing = ladder.tempo_half_bpm, ladder.unit, ladder.phase == "closing"
        player.waits(COUNT_IN_HALVES * 60.0 / tempo)
        for _ in range(ladder.passes_next or A_TURN):
            edge = player.edge_half_bpm
            seen = player.plays(tempo, unit)
            ladder = ladder.after(seen)
            played.append(Played(seen=seen, edge_half_bpm=edge, closing=closing))
        player.waits(REST_SEC)
        ladder = ladder.turn_over(player.seconds)
    return played


def counted(played: Sequence[Played], player: Player, before: Sequence[Tried] = ()) -> Sat:
    """Count a sitting; `before` are the passes of earlier days."""
    climbed = [one for one in played if not one.closing]
    whole = [one for one in climbed if one.seen.unit == "whole"]
    last = [one for one in whole if one.minutes >= whole[-1].minutes * 2.0 / 3.0]
    tempos = [one.seen.tempo_half_bpm for one in last]
    steps = [after - before > 0.0 for before, after in pairwise(tempos) if after != before]
    levels = levels_of([*before, *tried_of(played)])
    reach = math.log(1.0 + LADDER.rise_share)
    return Sat(
        found_min=next((one.minutes for one in whole if abs(math.expm1(one.place)) <= FOUND), None),
        stands=median(one.place for one in last),
        turns_back=10.0 * sum(one != other for one, other in pairwise(steps)) / len(last),
        swing=max(tempos) / min(tempos) - 1.0,
        clean=sum(one.seen.clean is True for one in climbed) / len(climbed),
        above=sum(one.place > reach for one in whole) / len(climbed),
        loop=1.0 - len(whole) / len(climbed),
        edge_off=None if levels is None else math.log(levels.edge_half_bpm / player.edge_half_bpm),
        home_off=None if levels is None else math.log(levels.home_half_bpm / player.home_half_bpm),
        left=60.0 * played[-1].minutes < 0.9 * LADDER.item_sec,
    )


def tried_of(played: Sequence[Played]) -> list[Tried]:
    """Passes of the whole, as the day's totals hold them."""
    sums: dict[float, list[int]] = {}
    for one in played:
        if one.seen.unit == "whole" and one.seen.clean is not None:
            counts = sums.setdefault(one.seen.tempo_half_bpm, [0, 0])
            counts[not one.seen.clean] += 1
    return [
        Tried(tempo_half_bpm=tempo, clean=clean, unclean=unclean) for tempo, (clean, unclean) in sums.items()
    ]


def days_of(played: Sequence[Played], days_ago: int) -> list[TempoDay]:
    """The day's totals, so many days before TODAY."""
    return [
        _tempo_day(row, days_ago, [one.seen.spread_ms for one in played if one.seen.spread_ms is not None])
        for row in tried_of(played)
    ]


def remembered(kind: Kind, edge_half_bpm: float, rng: random.Random) -> list[TempoDay]:
    """Four days of practice at 80 to 100 % of an edge, which is not the one of today."""
    rows = []
    for days_ago, share in product(range(1, 5), (0.8, 0.85, 0.9, 0.95, 1.0)):
        tempo = float(round(share * edge_half_bpm))
        over = math.log(tempo / edge_half_bpm)
        clean = sum(rng.random() < chance_clean(over, kind.slope) for _ in range(12))
        row = Tried(tempo_half_bpm=tempo, clean=clean, unclean=12 - clean)
        rows.append(_tempo_day(row, days_ago, [kind.spread_ms]))
    return rows


def _tempo_day(row: Tried, days_ago: int, spreads_ms: Sequence[float]) -> TempoDay:
    passes = row.clean + row.unclean
    return TempoDay(
        day=(TODAY - timedelta(days=days_ago)).isoformat(),
        item=ITEM,
        tempo_half_bpm=row.tempo_half_bpm,
        passes=passes,
        clean=row.clean,
        unclean=row.unclean,
        unclear=0,
        seconds=4.0 * passes,
        notes=16 * passes,
        landed=16 * passes,
        lean_ms=None,
        lean_passes=0,
        bounce=None,
        bounce_passes=0,
        spread_ms=fmean(spreads_ms) if spreads_ms else None,
        spread_passes=passes if spreads_ms else 0,
    )
