"""How the left hand gets from what it holds to what the next notes need, and what that costs.

The problem: from one held grip there are many ways on. A finger may stay where it is, and should while it is
not needed elsewhere, for its note rings on; a new stop may be taken by any finger that reaches it; and what
is in the way must come off.

Conventions: frets are real. A way follows these rules, and there are no others:

- A finger that already holds what is needed keeps it, at no cost.
- A finger on a string that must be open, or above a lower stop of its string, comes off at no cost.
- Every finger that reaches it, or lies at that fret and can be laid over it, is tried for a new stop.
- Of the fingers that are not needed either all stay that can, or those of the chord of the moment, or none.

Ways depend on the hand and on what is needed, not on time: they are worked out once and kept with the hand.
"""

from __future__ import annotations

from math import inf

from routines.hand import costs
from routines.hand.assigning import in_the_way
from routines.hand.grips import Hand, Need, Way, grip_of, hand_of
from routines.hand.moves import Move, moves_to
from routines.hand.reach import (
    EMPTY,
    THUMB,
    Grip,
    Stop,
    anchor_of,
    held_of,
    holder,
    nut_to_fret_mm,
    overlap,
    strain,
)

_WAYS_WITHIN = 2.0


def ways(hand: Hand, needs: tuple[Need, ...]) -> tuple[Way, ...]:
    """Return the ways to make some notes, the cheapest first.

    There is always one; those that cost over 2.0 more than the first are left out.
    """
    found = hand.known.get(needs)
    if found is None:
        found = hand.known[needs] = _ways(hand, needs)
    return found


def _ways(hand: Hand, needs: tuple[Need, ...]) -> tuple[Way, ...]:
    off = in_the_way(hand.grip, needs)
    at_once = _at_once(hand, needs, off)
    if at_once is not None:
        return (at_once,)
    found: list[Way] = []
    least = inf
    for move in sorted(moves_to(hand.grip, needs, off), key=_cost):
        if move.cost > least + _WAYS_WITHIN:
            break
        stages = _stages(hand, move)
        least = min(least, *(way.cost for way in stages)) if len(stages) > 1 else min(least, stages[0].cost)
        found += stages
    found.sort(key=_cost)
    return tuple(way for way in found if way.cost <= least + _WAYS_WITHIN)


def _at_once(hand: Hand, needs: tuple[Need, ...], off: set[int]) -> Way | None:
    """Return the one way where all strings are open or held already; it costs nothing."""
    fingers = []
    for need in needs:
        finger = holder(hand.grip, need.string, need.fret) if need.fret else 0
        if need.how != "pick" or finger is None or finger in off:
            return None
        fingers.append(finger)
    grip, stale = hand.grip, hand.stale
    if off:
        grip = grip_of({f: stop for f, stop in held_of(grip) if f not in off})
        stale -= off
    touched = tuple((f, need.string, need.fret) for f, need in zip(fingers, needs, strict=True) if f)
    if stale and touched:
        stale = stale.difference(fingers)
    there = hand_of(grip, stale, hand.anchor) if off or stale is not hand.stale else hand
    return Way(there, 0.0, 0.0, 0.0, tuple(fingers), (), touched, ())


def _stages(hand: Hand, move: Move) -> list[Way]:
    """Return the ways that differ in which unneeded fingers stay: all; where they cost, fewer."""
    every = _way(hand, move, move.can_stay)
    if not move.can_stay or every.cost <= move.cost:
        return [every]
    found = [every, _way(hand, move, {})]
    of_the_chord = {f: stop for f, stop in move.can_stay.items() if f not in hand.stale}
    if of_the_chord and len(of_the_chord) < len(move.can_stay):
        found.append(_way(hand, move, of_the_chord))
    return found


def _way(hand: Hand, move: Move, stays: dict[int, Stop]) -> Way:
    grip = grip_of({**stays, **move.stops}) if stays else grip_of(move.stops)
    before = hand.anchor
    if move.begins is not EMPTY:
        before = anchor_of(move.begins, before)
    anchor = anchor_of(grip, before)
    to = before if move.slides else anchor
    shift_mm, slid_mm = _apart_mm(hand.anchor, to), _apart_mm(to, anchor)
    cost = move.cost + _lifts(hand, grip, move)
    if move.new:
        cost += _strained(grip, move, stays)
        if anchor is not None:
            for finger, stop in move.new:
                cost += _off(finger, stop.fret, anchor)
    if shift_mm or slid_mm:
        cost += _shift(shift_mm) + costs.GUIDED * _shift(slid_mm)
    stale = hand.stale.intersection(stays) if hand.stale else hand.stale
    return Way(
        hand_of(grip, stale, anchor),
        cost,
        shift_mm,
        slid_mm,
        move.fingers,
        move.planted,
        move.touched,
        move.problems,
    )


def _strained(grip: Grip, move: Move, stays: dict[int, Stop]) -> float:
    """Return how much harder to hold a grip is for the fingers newly set down."""
    all_of_it = strain(grip)
    if not all_of_it or len(stays) + len(move.stops) == len(move.new):
        return all_of_it
    new = {finger for finger, _ in move.new}
    kept = grip_of({f: stop for f, stop in held_of(grip) if f not in new})
    return max(0.0, all_of_it - strain(kept))


def _off(finger: int, fret: int, anchor: int) -> float:
    if finger == THUMB:
        return costs.THUMB_FAR if _apart_mm(fret, anchor) > costs.THUMB_REACH_MM else 0.0
    return costs.OFF_ITS_FRET * abs(fret - (anchor + finger - 1))


def _apart_mm(anchor: int | None, other: int | None) -> float:
    if anchor == other or anchor is None or other is None:
        return 0.0
    return abs(nut_to_fret_mm(anchor) - nut_to_fret_mm(other))


def _shift(apart_mm: float) -> float:
    return costs.SHIFT + costs.SHIFT_MM * apart_mm if apart_mm else 0.0


def _lifts(hand: Hand, grip: Grip, move: Move) -> float:
    """Return what it costs that sounding fingers of the chord leave their notes without need."""
    lifted = 0
    for finger, stop in hand.ringing():
        now = grip[finger - 1]
        if finger in move.off or (now is not None and now.fret == stop.fret and overlap(now, stop)):
            continue
        lifted += 1
    return (costs.LIFT if lifted < 2 else costs.LIFT_SHAPE) * lifted


def _cost(one: Move | Way) -> float:
    return one.cost
