"""Steps of the right hand through some onsets.

Conventions: as in `routines.hand.right`. Only strokes less than a quarter apart disturb each other.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from routines.hand import costs
from routines.hand.asked import Alternative, Onset
from routines.hand.grips import Problem
from routines.hand.right import FINGERS, Lately, own_cost, strokes


class RightStep(NamedTuple):
    """One way on for the right hand."""

    cost: float
    state: Lately
    fingers: str
    problems: tuple[Problem, ...]


class RightHand:
    """Steps of the right hand.

    Parameters
    ----------
    onsets : sequence of Onset
    tempo_half_bpm : float
    slurs : sequence of float
        Onsets, in quarters, at which a slurred note begins.
    """

    def __init__(self, onsets: Sequence[Onset], tempo_half_bpm: float, slurs: Sequence[float]) -> None:
        self._onsets = onsets
        self._fast = tempo_half_bpm > costs.PICKED_AGAIN_MOST_HALF_BPM
        self._slurs = slurs
        self._known: dict[tuple[Lately, int, tuple[int, ...], tuple[str, ...]], list[RightStep]] = {}

    def steps(self, state: Lately, number: int, alternative: Alternative) -> list[RightStep]:
        """Return the ways to pick one alternative of an onset, the cheapest first; there is always one."""
        key = state, number, alternative.strings, alternative.fixed
        found = self._known.get(key)
        if found is None:
            found = self._known[key] = self._steps(state, number, alternative)
        return found

    def _steps(self, state: Lately, number: int, alternative: Alternative) -> list[RightStep]:
        strings = alternative.strings
        if not strings:
            return [RightStep(0.0, self._after(state, number, ""), "", ())]
        fitting = strokes(strings, alternative.fixed)
        if not fitting:
            return [self._forced(state, number, alternative)]
        heavy = self._onsets[number].heavy
        found = []
        for fingers in fitting:
            cost, problems = self._again(state, number, fingers, alternative)
            cost += own_cost(strings, fingers, heavy)
            found.append(RightStep(cost, self._after(state, number, fingers), fingers, problems))
        return sorted(found, key=lambda step: step.cost)

    def _forced(self, state: Lately, number: int, alternative: Alternative) -> RightStep:
        given = alternative.fixed
        many = len(given) > len(FINGERS)
        fingers = "".join(f or FINGERS[min(n, len(FINGERS) - 1)] for n, f in enumerate(given))
        problem = Problem("too many" if many else "crossed", alternative.needs, fingers)
        return RightStep(costs.TROUBLE, self._after(state, number, fingers), fingers, (problem,))

    def _again(
        self, state: Lately, number: int, fingers: str, alternative: Alternative
    ) -> tuple[float, tuple[Problem, ...]]:
        cost, tired = 0.0, ""
        for finger in fingers:
            before = state[FINGERS.index(finger)]
            if before < 0:
                continue
            since, now = self._onsets[before].quarters, self._onsets[number].quarters
            if any(since < slur < now for slur in self._slurs):
                cost += costs.PICKED_AGAIN_AFTER_SLUR
            elif self._fast:
                cost += costs.TROUBLE
                tired += finger
            else:
                cost += costs.PICKED_AGAIN_SLOWLY
        return cost, (Problem("again", alternative.needs, tired),) if tired else ()

    def _after(self, state: Lately, number: int, fingers: str) -> Lately:
        """Return what still matters at the next onset."""
        if number + 1 == len(self._onsets):
            return (-1, -1, -1)
        since = self._onsets[number + 1].quarters - costs.FINGER_FREE_QUARTERS
        t, i, m = (
            when if when >= 0 and self._onsets[when].quarters > since else -1
            for when in (number if f in fingers else w for f, w in zip(FINGERS, state, strict=True))
        )
        return t, i, m
