"""So many of so many, and how sure that is, where what was counted comes in bundles.

The problem: the notes of one performance are heard well or badly together, performances are independent. The
interval of a share is therefore Wilson's (1927) of 90 %, for as many items as a simple random sample would
need to be as sure: their number over the design effect (Kish 1965), which is the variance of the share over
performances against that of independent items, at least 1. Unlike a bootstrap it says something where no
error was seen, and it needs no random numbers; but there the variance over performances is nought, items
count as independent, and where one performance holds many of them the bound is too kind.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

_Z = 1.6448536269514722
"""90 %, two-sided."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Share:
    """So many of so many, and the interval in which the share lies in nine cases of ten."""

    hits: float
    of: float
    low: float
    high: float

    @property
    def value(self) -> float:
        """The share; nan of nothing."""
        return self.hits / self.of if self.of else math.nan

    def __str__(self) -> str:
        return f"{self.value:.4f} [{self.low:.3f} {self.high:.3f}]" if self.of else f"{'-':^20}"


def share(hits: Sequence[float], of: Sequence[float]) -> Share:
    """The share of hits, counted performance by performance.

    Parameters
    ----------
    hits, of : sequence of float, same length
        For each performance, how many of how many.

    Returns
    -------
    Share
        With Wilson's interval for the effective number of items, see the module.
    """
    h, t = np.asarray(hits, float), np.asarray(of, float)
    total = float(t.sum())
    if not total:
        return Share(hits=0.0, of=0.0, low=0.0, high=1.0)
    p = float(h.sum()) / total
    some = int(np.count_nonzero(t))
    effect = 1.0
    if 0.0 < p < 1.0 and some > 1:
        off = h - p * t
        over_passes = some / (some - 1) * float(off @ off) / total**2
        effect = max(1.0, over_passes / (p * (1.0 - p) / (total - 1)))
    n = total / effect
    middle = (p + _Z**2 / (2 * n)) / (1 + _Z**2 / n)
    half = _Z / (1 + _Z**2 / n) * math.sqrt(p * (1 - p) / n + _Z**2 / (4 * n**2))
    return Share(hits=float(h.sum()), of=total, low=max(0.0, middle - half), high=min(1.0, middle + half))
