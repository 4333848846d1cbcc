"""Where a moment lies: in which pass, in a count-in or a rest, and which number is counted.

Conventions: places are quarters from the downbeat of bar 1 of the pass that is meant; before a pass (in its
count-in, in the rest before it, in its pickup) they are negative. A pickup belongs to its own pass, also
where rounds follow one another without rest.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from feedback.clicking import METERS
from feedback.session import TurnPlan
from routines.lick import Lick, quarter_sec

Where = Literal["count-in", "pass", "rest", "over"]

_HAIR = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True)
class Moment:
    """A moment of a part.

    Attributes
    ----------
    where : Where
        "over" after the end of the last pass.
    number : int
        From 0 within the plan: the pass that runs, or the one that comes next; the last one when over.
    quarters : float
        Place in that pass.
    """

    where: Where
    number: int
    quarters: float


def apart_quarters(plan: TurnPlan) -> float:
    """From the downbeat of one pass to that of the next."""
    return (plan.lick.bars + plan.rest_bars) * plan.lick.quarters_a_bar


def moment_of(plan: TurnPlan, now_sec: float) -> Moment:
    """Where a second of a part lies."""
    lick, apart = plan.lick, apart_quarters(plan)
    at = (now_sec - plan.first_start_sec) / quarter_sec(plan.tempo_half_bpm) + _HAIR
    number = min(max(0, int((at + lick.pickup_quarters) // apart)), plan.passes - 1)
    within = at - number * apart
    if within < -lick.pickup_quarters:
        return Moment(where="count-in", number=0, quarters=within)
    if within < lick.end_quarters:
        return Moment(where="pass", number=number, quarters=within)
    if number == plan.passes - 1:
        return Moment(where="over", number=number, quarters=within)
    return Moment(where="rest", number=number + 1, quarters=within - apart)


def counts(lick: Lick, bars: int) -> tuple[tuple[float, int], ...]:
    """The numbers that are counted in the bars before a pass, as a band is counted in.

    In the last bar every quarter; in those before it each half note, or in 3/4 each quarter.

    Parameters
    ----------
    lick : Lick
    bars : int
        How many bars there are.

    Returns
    -------
    tuple of (float, int)
        Place and number, in order; all places are negative.
    """
    whole, meter = lick.quarters_a_bar, METERS[lick.meter]
    found = []
    for bar in range(-bars, 0):
        inner = sorted({*meter.beats, *(p for p in meter.between if bar == -1 and p % 1.0 == 0.0)})
        found += [(bar * whole + place, number) for number, place in enumerate(inner, 1)]
    return tuple(found)


def count_at(lick: Lick, bars: int, quarters: float) -> int:
    """The number that is counted at a place before a pass; 0 before the first one."""
    return next((number for place, number in reversed(counts(lick, bars)) if place <= quarters + _HAIR), 0)


def count_in_bars(plan: TurnPlan) -> int:
    """Bars before the first pass; one that has begun before the part counts as whole."""
    return max(1, round(plan.first_start_sec / plan.bar_sec + 0.49))
