"""Whether two stretches of days differ by more than chance, where what was counted comes in bundles.

The problem: the passes of one day are good or bad together, so fifty falls on three days are fewer than fifty
witnesses; and one stretch may have had the easier licks. Two things keep a comparison honest:

- Like is compared with like only: within each *stratum* (a lick; a lick at one tempo) that both stretches
  have, as Cochran (1954) and Mantel and Haenszel (1959) add up tables.
- The variance is taken from how the days scatter: what passes alone would scatter is multiplied by the design
  effect of days (Kish 1965), estimated from each day's residual, and never taken below 1 for counts
  (McCullagh and Nelder 1989, 4.5). The statistic is read from Student's t with as many degrees of freedom as
  there are days, less two.

It departs from its sources in one thing: the design effect is of all days together, since those of one week
alone are too few to tell it. How right it is, is measured: `tests.bench.better`.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Hashable, Sequence
from dataclasses import dataclass
from typing import NamedTuple

_CONTINUITY = 0.5
_FEWEST_DAYS_OF_FREEDOM = 2
_TINY = 1e-300
_CLOSE = 1e-12
_STEPS = 300


class Cell(NamedTuple):
    """What was counted or measured in one stratum on one day; thousands are made for one sentence.

    Attributes
    ----------
    stratum : hashable
        Only cells of the same stratum are held against one another.
    day : str
    later : bool
        Whether the day belongs to the later stretch.
    number : float
        How many were counted or measured, above 0.
    total : float
        How many of them came about; of measures their sum.
    """

    stratum: Hashable
    day: str
    later: bool
    number: float
    total: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Difference:
    """How the later stretch differs from the earlier one, of the strata that both have.

    Attributes
    ----------
    later_total, later_number, earlier_total, earlier_number : float
    later_days, earlier_days : int
    rise : float
        Mean of the later stretch less that of the earlier one, stratum by stratum.
    chance_rise, chance_fall : float
        How often chance alone would make it rise, or fall, as much or more: 0 to 1.
    """

    later_total: float
    later_number: float
    earlier_total: float
    earlier_number: float
    later_days: int
    earlier_days: int
    rise: float
    chance_rise: float
    chance_fall: float


@dataclass(slots=True)
class _Pair:
    """Sums of one stratum in both stretches; each is 0 before the earlier one, 1 the later one."""

    numbers: list[float]
    totals: list[float]

    @property
    def weight(self) -> float:
        earlier, later = self.numbers
        return later * earlier / (later + earlier)

    @property
    def means(self) -> tuple[float, float]:
        (earlier, later), (below, above) = self.totals, self.numbers
        return earlier / below, later / above


def difference(cells: Sequence[Cell], *, counts: bool) -> Difference | None:
    """Compare the later stretch with the earlier one.

    Parameters
    ----------
    cells : sequence of Cell
    counts : bool
        Whether totals are counts of those that came about (a share); else sums of measures.

    Returns
    -------
    Difference or None
        None where no stratum is in both stretches, or the days are too few for any estimate of their scatter.
    """
    shared = _shared(cells)
    kept = [cell for cell in cells if cell.stratum in shared]
    later_days = len({cell.day for cell in kept if cell.later})
    earlier_days = len({cell.day for cell in kept if not cell.later})
    freedom = later_days + earlier_days - 2
    if not shared or freedom < _FEWEST_DAYS_OF_FREEDOM:
        return None
    pairs = list(shared.values())
    weight = sum(pair.weight for pair in pairs)
    shift = sum(pair.weight * (pair.means[1] - pair.means[0]) for pair in pairs)
    effect = _day_effect(kept, shared, counts=counts)
    variance = sum(map(_binomial, pairs)) * max(effect, 1.0) if counts else weight * effect
    slack = _CONTINUITY if counts else 0.0
    return Difference(
        later_total=sum(pair.totals[1] for pair in pairs),
        later_number=sum(pair.numbers[1] for pair in pairs),
        earlier_total=sum(pair.totals[0] for pair in pairs),
        earlier_number=sum(pair.numbers[0] for pair in pairs),
        later_days=later_days,
        earlier_days=earlier_days,
        rise=shift / weight,
        chance_rise=_chance(shift - slack, variance, freedom),
        chance_fall=_chance(-shift - slack, variance, freedom),
    )


def t_tail(t: float, freedom: float) -> float:
    """Chance that Student's t is at least `t`.

    Parameters
    ----------
    t : float
    freedom : float
        Degrees of freedom, above 0.

    Returns
    -------
    float
        0 to 1.
    """
    square = t * t
    tail = 0.5 * _beta_share(freedom / (freedom + square), square / (freedom + square), freedom / 2.0, 0.5)
    return tail if t >= 0.0 else 1.0 - tail


def normal_tail(z: float) -> float:
    """Chance that a normal deviate is at least `z`."""
    return 0.5 * math.erfc(z / math.sqrt(2.0))


def _chance(shift: float, variance: float, freedom: int) -> float:
    if shift <= 0.0:
        return 1.0
    return t_tail(shift / math.sqrt(variance), freedom) if variance > 0.0 else 0.0


def _shared(cells: Sequence[Cell]) -> dict[Hashable, _Pair]:
    """Sums of each stratum that both stretches have."""
    sums: dict[Hashable, _Pair] = {}
    for stratum, _, later, number, total in cells:
        pair = sums.get(stratum)
        if pair is None:
            pair = sums[stratum] = _Pair([0.0, 0.0], [0.0, 0.0])
        pair.numbers[later] += number
        pair.totals[later] += total
    return {stratum: pair for stratum, pair in sums.items() if all(pair.numbers)}


def _binomial(pair: _Pair) -> float:
    """Variance of a stratum's count in the later stretch, its margins given (hypergeometric)."""
    number, total = sum(pair.numbers), sum(pair.totals)
    if number <= 1.0:
        return 0.0
    return math.prod(pair.numbers) * total * (number - total) / (number**2 * (number - 1.0))


def _day_effect(cells: Sequence[Cell], pairs: dict[Hashable, _Pair], *, counts: bool) -> float:
    """How much days scatter: against what independent counts would; of measures, per measure."""
    off: dict[str, float] = defaultdict(float)
    expected = 0.0
    means = {stratum: pair.means for stratum, pair in pairs.items()}
    for stratum, day, later, number, total in cells:
        mean = means[stratum][later]
        off[day] += total - number * mean
        one = mean * (1.0 - mean) if counts else 1.0
        expected += number * one * (1.0 - number / pairs[stratum].numbers[later])
    found = sum(value * value for value in off.values())
    if expected <= 0.0:
        return 1.0 if counts else 0.0
    return found / expected


def _beta_share(x: float, rest: float, a: float, b: float) -> float:
    """Regularised incomplete beta function, by its continued fraction (Abramowitz and Stegun 26.5.8).

    `rest` is 1 - x, which as a difference would lose all its digits where it is small.
    """
    if x <= 0.0 or rest <= 0.0:
        return 0.0 if x <= 0.0 else 1.0
    if x > (a + 1.0) / (a + b + 2.0):
        return 1.0 - _beta_share(rest, x, b, a)
    logs = a * math.log(x) + b * math.log(rest) + math.lgamma(a + b) - math.lgamma(a) - math.lgamma(b)
    return math.exp(logs) / a * _fraction(x, a, b)


def _fraction(x: float, a: float, b: float) -> float:
    """The continued fraction, from its front (Lentz 1976)."""
    c, d = 1.0, 1.0 / _away(1.0 - (a + b) * x / (a + 1.0))
    value = d
    for m in range(1, _STEPS):
        even = m * (b - m) * x / ((a + 2 * m - 1) * (a + 2 * m))
        d, c = 1.0 / _away(1.0 + even * d), _away(1.0 + even / c)
        value *= d * c
        odd = -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1))
        d, c = 1.0 / _away(1.0 + odd * d), _away(1.0 + odd / c)
        value *= d * c
        if abs(d * c - 1.0) < _CLOSE:
            break
    return value


def _away(value: float) -> float:
    return value if abs(value) > _TINY else _TINY
