"""Home, edge and reach: the tempos at which an item is clean nine times in ten, four in five, just beyond.

Passes at many tempos, each clean or not, are read as one curve: the chance that a pass is clean falls with
the logarithm of the tempo, from nearly 1 (a flawless pass is called unclean now and then, too) to nothing.
Where the curve lies and how steep it is, is not known; every place and steepness of a grid is weighed by how
well it explains the passes, and the middle of all that weight is the answer. A few passes tell little: where
the weight is still spread wide, or lies outside the tempos tried, there is no answer.

Source: Bayesian estimation of a psychometric function on a grid (Watson and Pelli 1983, "QUEST", Perception
& Psychophysics 33, 113-120; slope as well as place: Kontsevich and Tyler 1999, Vision Research 39,
2729-2737) with a rate of lapses (Wichmann and Hill 2001, Perception & Psychophysics 63, 1293-1313).
Departures: older days weigh less, since players learn; a pass weighs less than one independent trial, since
neighbours are alike; tempos are put on the grid's own steps. How right it is: `python -m tests.bench ladder`.

Pure Python, for it is asked at every pass and must not make the program start later.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from itertools import accumulate
from typing import Literal

from routines.errors import BadRoutine
from routines.ladder.rules import LADDER

Bound = Literal["", "at least", "at most"]

HOME_CLEAN = 0.9
EDGE_CLEAN = 0.8

STEP = 0.02
"""Of the grid, in the logarithm of the tempo: two percent; answers lie between its steps."""
FARTHEST = 13
"""Steps that the edge may lie outside the tempos tried: there the passes say nothing."""
SLOPES = (0.03, 0.05, 0.08, 0.12, 0.18)
"""Widths of the curve, in the logarithm of the tempo: from half clean to a quarter is about one of them."""
LAPSE = 0.03
"""Of easy passes that are not clean all the same."""
PASS_WEIGHT = 0.8
HALF_LIFE_DAYS = 2.0
PRIOR_STEPS = 12.5
"""How far from the tempos practised the edge is thought to lie before any pass: people practise near it."""
LEAST_WEIGHT = 5.0
"""Fewer passes than this, as weighed, tell nothing."""
WIDEST = 0.25
"""Where the edge's likely range (four in five) is wider than this, in the logarithm, it cannot be told."""
OVER_FASTEST, UNDER_SLOWEST = 0.02, 0.06
"""An edge farther outside the tempos tried (in the logarithm) is a guess: all was clean, or nothing was."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Tried:
    """Passes of one item at one tempo on one day.

    Attributes
    ----------
    tempo_half_bpm : float
    clean, unclean : int
        Unclear passes stand in neither.
    days_ago : int
        0 is today.
    """

    tempo_half_bpm: float
    clean: int
    unclean: int
    days_ago: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Levels:
    """Where an item stands; home <= edge <= reach.

    Attributes
    ----------
    home_half_bpm, edge_half_bpm, reach_half_bpm : float
        To a tenth.
    low_half_bpm, high_half_bpm : float
        Between these the edge lies, four times in five.
    passes : int
        Clean and unclean ones that this rests on.
    bound : Bound
        "at least" where passes since then were clean faster than the edge, "at most" where none was clean
        even under it, and a new edge cannot be told yet; empty where the edge is as found.
    """

    home_half_bpm: float
    edge_half_bpm: float
    reach_half_bpm: float
    low_half_bpm: float
    high_half_bpm: float
    passes: int
    bound: Bound = ""


def levels_of(tried: Sequence[Tried]) -> Levels | None:
    """Estimate home, edge and reach.

    Parameters
    ----------
    tried : sequence of Tried
        In any order; several rows may have one tempo.

    Returns
    -------
    Levels or None
        None where it cannot be told yet.

    Raises
    ------
    BadRoutine
        A tempo that is not above nothing, a count or an age below nothing.
    """
    bins = _binned(tried)
    if sum(clean + unclean for clean, unclean in bins.values()) < LEAST_WEIGHT:
        return None
    first = min(bins) - FARTHEST
    weights = _weights(bins, first, max(bins) + FARTHEST)
    edges = [sum(column) for column in zip(*weights, strict=True)]
    low, edge, high = (_quantile(edges, share, first) for share in (0.1, 0.5, 0.9))
    tempos = [math.log(row.tempo_half_bpm) for row in tried if row.clean + row.unclean]
    if not min(tempos) - UNDER_SLOWEST <= edge <= max(tempos) + OVER_FASTEST or high - low > WIDEST:
        return None
    home = _home(weights, first)
    return Levels(
        home_half_bpm=round(math.exp(min(home, edge)), 1),
        edge_half_bpm=round(math.exp(edge), 1),
        reach_half_bpm=round(reach_over(math.exp(edge)), 1),
        low_half_bpm=round(math.exp(low), 1),
        high_half_bpm=round(math.exp(high), 1),
        passes=sum(row.clean + row.unclean for row in tried),
    )


def _binned(tried: Sequence[Tried]) -> dict[int, tuple[float, float]]:
    """Clean and unclean by step of the grid, as weighed."""
    bins: dict[int, tuple[float, float]] = {}
    for row in tried:
        if not 0.0 < row.tempo_half_bpm < math.inf or min(row.clean, row.unclean, row.days_ago) < 0:
            raise BadRoutine(f"passes tried: a tempo above 0, counts and days from 0 up, not {row}")
        if not row.clean + row.unclean:
            continue
        weight = PASS_WEIGHT * 0.5 ** (row.days_ago / HALF_LIFE_DAYS)
        place = round(math.log(row.tempo_half_bpm) / STEP)
        clean, unclean = bins.get(place, (0.0, 0.0))
        bins[place] = (clean + weight * row.clean, unclean + weight * row.unclean)
    return bins


def _weights(bins: dict[int, tuple[float, float]], first: int, last: int) -> list[list[float]]:
    """Weight of each edge from step `first` to `last`, a row for each of SLOPES; the greatest is 1."""
    total = sum(clean + unclean for clean, unclean in bins.values())
    middle = sum(place * (clean + unclean) for place, (clean, unclean) in bins.items()) / total
    prior = [-0.5 * ((edge - middle) / PRIOR_STEPS) ** 2 for edge in range(first, last + 1)]
    logs = []
    for slope in SLOPES:
        sums = prior
        for place, (clean, unclean) in bins.items():
            is_clean, is_not = _table(slope, last - first)
            here = slice(last - place, last - place + len(prior))
            sums = [
                known + clean * log_clean + unclean * log_not
                for known, log_clean, log_not in zip(sums, is_clean[here], is_not[here], strict=True)
            ]
        logs.append(sums)
    top = max(max(sums) for sums in logs)
    return [[math.exp(value - top) for value in sums] for sums in logs]


@cache
def _table(slope: float, width: int) -> tuple[list[float], list[float]]:
    """Logarithms of the chances that a pass is clean and that it is not, by its edge's distance.

    Place `width + k` is of an edge `k` steps above the pass's tempo, k from -width to width.
    """
    chances = [chance_clean(-k * STEP, slope, LAPSE) for k in range(-width, width + 1)]
    return [math.log(max(one, 1e-9)) for one in chances], [math.log(1.0 - one) for one in chances]


def reach_over(edge_half_bpm: float) -> float:
    """A rung beyond an edge, in half notes a minute."""
    return max(edge_half_bpm * (1.0 + LADDER.rise_share), edge_half_bpm + LADDER.least_rise_half_bpm)


def chance_clean(over_edge: float, slope: float, lapse: float = LAPSE) -> float:
    """Chance that a pass is clean.

    Parameters
    ----------
    over_edge : float
        Logarithm of its tempo over the edge.
    slope : float
        Width of the curve, above 0.
    lapse : float
        0 to 0.2.

    Returns
    -------
    float
        `EDGE_CLEAN` at the edge.
    """
    at = min(over_edge / slope - _logit(EDGE_CLEAN / (1.0 - lapse)), 500.0)
    return (1.0 - lapse) / (1.0 + math.exp(at))


def _logit(share: float) -> float:
    return math.log(share / (1.0 - share))


def _quantile(weights: Sequence[float], share: float, first: int) -> float:
    """Logarithm of the tempo under which `share` of the weight lies, between two steps of the grid."""
    sums = list(accumulate(weights))
    wanted = share * sums[-1]
    at = next(index for index, value in enumerate(sums) if value >= wanted)
    within = (wanted - (sums[at] - weights[at])) / weights[at]
    return (first + at - 0.5 + within) * STEP


def _home(weights: Sequence[Sequence[float]], first: int) -> float:
    """Median of home, whose distance to the edge is as long as the curve is wide."""
    per_slope = _logit(HOME_CLEAN / (1.0 - LAPSE)) - _logit(EDGE_CLEAN / (1.0 - LAPSE))
    most = math.ceil(max(SLOPES) * per_slope / STEP)
    homes = [0.0] * (len(weights[0]) + most)
    for slope, row in zip(SLOPES, weights, strict=True):
        under = most - math.ceil(slope * per_slope / STEP)
        share = math.ceil(slope * per_slope / STEP) - slope * per_slope / STEP
        for index, weight in enumerate(row, start=under):
            homes[index] += weight * (1.0 - share)
            homes[index + 1] += weight * share
    return _quantile(homes, 0.5, first - most)
