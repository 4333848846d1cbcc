"""What the right hand's fingers cost: thumb, index, middle.

The problem: a hand that rolls gives each string to the finger that lies nearest, but never picks with one
finger twice closer than a quarter note (it cannot above some 70 half notes a minute), so the third string
goes to the thumb or to the index by what comes before and after.

Conventions: strings of one stroke stand from the fifth down to the first, and its fingers as letters in that
order. A state says which finger picked at which stroke, as far as it still matters.
"""

from __future__ import annotations

from functools import cache
from itertools import combinations
from typing import TypeAlias

from routines.hand import costs

FINGERS = "TIM"
"""Thumb, index, middle, from the fifth string's side of the hand."""

Lately: TypeAlias = tuple[int, int, int]
"""For thumb, index and middle the number of the stroke that each picked less than a quarter ago, or -1."""

NOT_LATELY: Lately = (-1, -1, -1)


def own_cost(strings: tuple[int, ...], fingers: str, heavy: bool) -> float:
    """Return what one stroke costs by itself.

    Parameters
    ----------
    strings : tuple of int
    fingers : str
        As many letters.
    heavy : bool
        Whether it falls on an accent, or is a seven or its due note.
    """
    cost = sum(costs.PICK[finger][string] for finger, string in zip(fingers, strings, strict=True))
    return cost - costs.THUMB_ON_ACCENT if heavy and "T" in fingers else cost


@cache
def strokes(strings: tuple[int, ...], fixed: tuple[str, ...]) -> tuple[str, ...]:
    """Return how a stroke may be fingered, uncrossed; empty where the hand has not the fingers.

    Parameters
    ----------
    strings : tuple of int
    fixed : tuple of str
        For each string the finger that it must have; empty where it is free.
    """
    fitting = (
        "".join(fingers)
        for fingers in combinations(FINGERS, len(strings))
        if all(f in ("", given) for f, given in zip(fixed, fingers, strict=True))
    )
    return tuple(fitting)
