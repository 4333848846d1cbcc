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
from typing import NamedTuple

from routines.hand import costs
from routines.hand.assigning import Assigned, assignments, in_the_way
from routines.hand.grips import Hand, Need, Problem, Way, grip_of, hand_of
from routines.hand.reach import (
    EMPTY,
    FINGERS,
    THUMB,
    Grip,
    Stop,
    anchor_of,
    fits_all,
    held_of,
    holder,
    nut_to_fret_mm,
    overlap,
    strain,
)

_HIGH_FROM = 5
_WAYS_WITHIN = 3.5
_WHOLE_STEP = 2


class _Move(NamedTuple):
    """One set of fingers for the notes needed: what does not depend on where the hand stands.

    Attributes
    ----------
    stops : dict of int to Stop
        The fingers that the notes need.
    begins : Grip
        Those that slide inside their eighth, where they begin.
    can_stay : dict of int to Stop
        Other fingers that are not in the way.
    off : frozenset of int
        Fingers that must come off.
    new : tuple of (int, Stop)
        Fingers newly set down.
    slides : bool
    cost : float
    fingers, planted, touched, problems
        As in `Way`.
    """

    stops: dict[int, Stop]
    begins: Grip
    can_stay: dict[int, Stop]
    off: frozenset[int]
    new: tuple[tuple[int, Stop], ...]
    slides: bool
    cost: float
    fingers: tuple[int, ...]
    planted: tuple[tuple[int, int], ...]
    touched: tuple[tuple[int, int], ...]
    problems: tuple[Problem, ...]


def ways(hand: Hand, needs: tuple[Need, ...]) -> tuple[Way, ...]:
    """Return the ways to make some notes, the cheapest first.

    There is always one; those that cost over 3.5 more than the first are left out.
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
    for move in sorted(
        (_move(hand.grip, needs, a, off) for a in assignments(hand.grip, needs, off)), key=_cost
    ):
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
    touched = tuple((f, need.string) for f, need in zip(fingers, needs, strict=True) if f)
    if stale and touched:
        stale = stale.difference(fingers)
    there = hand_of(grip, stale, hand.anchor) if off or stale is not hand.stale else hand
    return Way(there, 0.0, 0.0, 0.0, tuple(fingers), (), touched, ())


def _stages(hand: Hand, move: _Move) -> list[Way]:
    """Return the ways that differ in which unneeded fingers stay: all; where they cost, fewer."""
    every = _way(hand, move, move.can_stay)
    if not move.can_stay or every.cost <= move.cost:
        return [every]
    found = [every, _way(hand, move, {})]
    of_the_chord = {f: stop for f, stop in move.can_stay.items() if f not in hand.stale}
    if of_the_chord and len(of_the_chord) < len(move.can_stay):
        found.append(_way(hand, move, of_the_chord))
    return found


def _way(hand: Hand, move: _Move, stays: dict[int, Stop]) -> Way:
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


def _strained(grip: Grip, move: _Move, stays: dict[int, Stop]) -> float:
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


def _lifts(hand: Hand, grip: Grip, move: _Move) -> float:
    """Return what it costs that sounding fingers of the chord leave their notes without need."""
    lifted = 0
    for finger, stop in hand.ringing():
        now = grip[finger - 1]
        if finger in move.off or (now is not None and now.fret == stop.fret and overlap(now, stop)):
            continue
        lifted += 1
    return (costs.LIFT if lifted < 2 else costs.LIFT_SHAPE) * lifted


def _move(grip: Grip, needs: tuple[Need, ...], assigned: Assigned, off: set[int]) -> _Move:
    stops, fingers, problems = assigned
    can_stay = {
        finger: stop
        for finger, stop in held_of(grip)
        if finger not in off and finger not in stops and fits_all(finger, stop, stops)
    }
    planted = _planted(grip, needs, assigned)
    cost = costs.TROUBLE * len(problems) + _barres(grip, stops)
    new = []
    for finger, _ in planted:
        new.append((finger, stops[finger]))
        cost += costs.PLANT + costs.WEAK[finger] + costs.HIGH_FRET * max(0, stops[finger].fret - _HIGH_FROM)
    begins, slid = EMPTY, frozenset[int]()
    if any(need.how != "pick" for need in needs):
        cost += sum(_technique(n, finger) for n, finger in zip(needs, fingers, strict=True))
        begins, slid = _slid(needs, assigned)
    return _Move(
        stops,
        begins,
        can_stay,
        slid.union(off) if slid else frozenset(off),
        tuple(new),
        bool(slid),
        cost,
        fingers,
        planted,
        _touched(grip, needs, fingers),
        problems,
    )


def _slid(needs: tuple[Need, ...], assigned: Assigned) -> tuple[Grip, frozenset[int]]:
    """Return what is held where slides inside their eighth begin, and the fingers that slide."""
    slides = [(n, f) for n, f in zip(needs, assigned.fingers, strict=True) if n.how in ("slide", "inside")]
    begins = {f: Stop(n.other, n.string, n.string) for n, f in slides if n.how == "inside" and n.other > 0}
    return grip_of({**assigned.stops, **begins}) if begins else EMPTY, frozenset(f for _, f in slides)


def _planted(grip: Grip, needs: tuple[Need, ...], assigned: Assigned) -> tuple[tuple[int, int], ...]:
    """Return the fingers that are newly set down, and on which string."""
    found: dict[int, int] = {}
    for need, finger in zip(needs, assigned.fingers, strict=True):
        if not finger or need.how == "slide":
            continue
        before, now = grip[finger - 1], assigned.stops.get(finger)
        at = need.other if need.how == "inside" else need.fret
        if before is None or now is None or before.fret != at or not overlap(before, now):
            found.setdefault(finger, need.string)
    return tuple((f, string) for f, string in found.items() if f in assigned.stops)


def _barres(grip: Grip, stops: dict[int, Stop]) -> float:
    """Return what laying fingers over several strings costs, beyond what they already lie over."""
    cost = 0.0
    for finger, stop in stops.items():
        if stop.low == stop.high:
            continue
        before = grip[finger - 1]
        same = before is not None and before.fret == stop.fret and overlap(before, stop)
        cost += _barre(finger, stop) - (_barre(finger, before) if same and before is not None else 0.0)
    return cost


def _barre(finger: int, stop: Stop) -> float:
    strings = stop.low - stop.high + 1
    return 0.0 if strings == 1 else costs.BARRE[finger] + costs.BARRE_STRING * (strings - 2)


def _technique(need: Need, finger: int) -> float:
    if need.how in ("hammer", "pull"):
        far = max(0, abs(need.fret - need.other) - _WHOLE_STEP) if need.other and need.fret else 0
        little = costs.SLUR_LITTLE if finger == FINGERS[-1] else 0.0
        return costs.SLUR + costs.SLUR_FAR * far + little
    if need.how in ("slide", "inside"):
        return costs.SLIDE
    if need.how == "choke" and finger in costs.CHOKE:
        return costs.CHOKE[finger] + costs.CHOKE_FRET * need.other
    return 0.0


def _touched(grip: Grip, needs: tuple[Need, ...], fingers: tuple[int, ...]) -> tuple[tuple[int, int], ...]:
    """Return the fingers that sound, or pull off, and on which string."""
    found = []
    for need, finger in zip(needs, fingers, strict=True):
        if finger and need.how != "plant":
            found.append((finger, need.string))
        pulls = holder(grip, need.string, need.other) if need.how == "pull" else None
        if pulls is not None:
            found.append((pulls, need.string))
    return tuple(found)


def _cost(one: _Move | Way) -> float:
    return one.cost
