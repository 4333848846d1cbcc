"""Where frets lie, and which fingers can stop which frets together.

The problem: reach is a distance. A finger a fret fills the hand at the nut and leaves room to spare at the
tenth fret, and under a capo the same tab is nearer together.

Conventions: frets are real, counted from the main nut (tab fret plus capo). A `Stop` is one finger on one
string, or laid over several (a barre). A `Grip` has five slots: index, middle, ring, little finger, thumb.
The hand stands where its index finger would lie with a finger on each fret: at `anchor`, a real fret, which
may lie below the nut.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache, lru_cache
from itertools import pairwise
from typing import NamedTuple, TypeAlias

from routines.hand.costs import (
    COMFORT_MM,
    CRAMPED,
    LEAN_MM,
    LIMIT_MM,
    SAME_FRET_CROWD,
    SCALE_MM,
    STRETCH,
    TWISTED,
)

FINGERS = (1, 2, 3, 4)
THUMB = 5

_GRIPS_KEPT = 1 << 15
"""Of so many grips it is kept what was worked out; all written tabs of the repertoire make 4,000."""


class Stop(NamedTuple):
    """One finger of the left hand on the neck.

    Attributes
    ----------
    fret : int
        Real fret.
    low, high : int
        The strings that it lies on, from `low` (towards the fifth) to `high` (towards the first); equal
        where it lies on one.
    """

    fret: int
    low: int
    high: int

    def covers(self, string: int) -> bool:
        """Whether it lies on a string."""
        return self.high <= string <= self.low


Grip: TypeAlias = tuple[Stop | None, Stop | None, Stop | None, Stop | None, Stop | None]

EMPTY: Grip = (None, None, None, None, None)


def overlap(stop: Stop, other: Stop) -> bool:
    """Whether two stops share a string."""
    return stop.high <= other.low and other.high <= stop.low


def holder(grip: Grip, string: int, fret: int) -> int | None:
    """Return the finger that lies on a string at a real fret."""
    for finger, stop in held_of(grip):
        if stop.fret == fret and stop.high <= string <= stop.low:
            return finger
    return None


@cache
def nut_to_fret_mm(fret: int) -> float:
    """Return how far a real fret lies from the nut; below the nut it is negative."""
    return SCALE_MM * (1.0 - float(2.0 ** (-fret / 12)))


@lru_cache(maxsize=_GRIPS_KEPT)
def fits(finger: int, stop: Stop, other: int, other_stop: Stop) -> bool:
    """Whether two fingers (1 to 4) can be where they are at one time: uncrossed, within their limit."""
    if finger > other:
        return fits(other, other_stop, finger, stop)
    if stop.fret > other_stop.fret:
        return False
    if stop.fret == other_stop.fret and overlap(stop, other_stop):
        return False
    apart = nut_to_fret_mm(other_stop.fret) - nut_to_fret_mm(stop.fret)
    return apart <= LIMIT_MM[finger, other]


def fits_all(finger: int, stop: Stop, others: Mapping[int, Stop]) -> bool:
    """Whether a finger can be where it is with all others; the thumb is in nobody's way."""
    if finger == THUMB:
        return True
    for other, at in others.items():
        if other not in (finger, THUMB) and not fits(finger, stop, other, at):
            return False
    return True


@lru_cache(maxsize=_GRIPS_KEPT)
def held_of(grip: Grip) -> tuple[tuple[int, Stop], ...]:
    """Return the fingers of a grip that are down, and where they lie."""
    return tuple((finger, stop) for finger, stop in enumerate(grip, 1) if stop is not None)


@lru_cache(maxsize=_GRIPS_KEPT)
def strain(grip: Grip) -> float:
    """Return what it costs to hold a grip: its widest stretch, and how its fingers crowd."""
    held = [(finger, stop) for finger, stop in held_of(grip) if finger != THUMB]
    widest = 0.0
    for index, (finger, stop) in enumerate(held):
        for other, other_stop in held[index + 1 :]:
            apart = nut_to_fret_mm(other_stop.fret) - nut_to_fret_mm(stop.fret)
            comfort, limit = COMFORT_MM[finger, other], LIMIT_MM[finger, other]
            widest = max(widest, (apart - comfort) / (limit - comfort))
    return STRETCH * widest + _crowding(held)


def _crowding(held: list[tuple[int, Stop]]) -> float:
    cost = 0.0
    for (finger, stop), (other, other_stop) in pairwise(held):
        between = other_stop.fret - stop.fret
        cost += CRAMPED * max(0, other - finger - between)
        if between == 0 and other_stop.high > stop.high:
            cost += TWISTED
    frets = [stop.fret for _, stop in held]
    crowd = max((frets.count(fret) for fret in frets), default=0)
    return cost + SAME_FRET_CROWD * max(0, crowd - 2)


def anchor_of(grip: Grip, before: int | None) -> int | None:
    """Return where the hand stands with a grip, moved no farther than it must from where it stood.

    Parameters
    ----------
    grip : Grip
    before : int or None
        None where it has not stood anywhere yet.
    """
    leaning = _leaning_together(grip)
    if leaning is None:
        return before
    least, most = leaning
    if least > most or before is None:
        return (least + most) // 2
    return min(max(before, least), most)


@lru_cache(maxsize=_GRIPS_KEPT)
def _leaning_together(grip: Grip) -> tuple[int, int] | None:
    """Lowest and highest anchor from which all fingers of a grip get to their frets; crossed over if none."""
    ranges = [_leaning(finger, stop.fret) for finger, stop in zip(FINGERS, grip, strict=False) if stop]
    if not ranges:
        return None
    return max(low for low, _ in ranges), min(high for _, high in ranges)


@cache
def _leaning(finger: int, fret: int) -> tuple[int, int]:
    """Lowest and highest anchor from which a finger gets to a fret by leaning."""
    own = fret - (finger - 1)
    here = nut_to_fret_mm(fret)
    lean = 0
    while nut_to_fret_mm(fret + lean + 1) - here <= LEAN_MM:
        lean += 1
    return own - lean, own + lean


@cache
def leaning_of_any(fret: int) -> tuple[int, int]:
    """Lowest and highest anchor from which some finger gets to a fret by leaning."""
    return _leaning(FINGERS[-1], fret)[0], _leaning(FINGERS[0], fret)[1]


@cache
def least_shift_mm(anchor: int, fret: int) -> float:
    """Return how far the hand must move at least before any of its fingers gets to a fret."""
    least, most = leaning_of_any(fret)
    return abs(nut_to_fret_mm(min(max(anchor, least), most)) - nut_to_fret_mm(anchor))
