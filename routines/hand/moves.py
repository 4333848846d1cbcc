"""Sets of fingers for the next notes, and what they cost wherever the hand stands.

Conventions: as in `routines.hand.left`, which adds what depends on where the hand stands and on what stays.
"""

from __future__ import annotations

from typing import NamedTuple

from routines.hand import costs
from routines.hand.assigning import Assigned, assignments, wider
from routines.hand.grips import Need, Problem, grip_of
from routines.hand.reach import EMPTY, FINGERS, THUMB, Grip, Stop, fits, fits_all, held_of, holder, overlap

_HIGH_FROM = 5
_WHOLE_STEP = 2


class Move(NamedTuple):
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
    touched: tuple[tuple[int, int, int], ...]
    problems: tuple[Problem, ...]


def moves_to(grip: Grip, needs: tuple[Need, ...], off: set[int]) -> list[Move]:
    """Return the sets of fingers that make some notes.

    Parameters
    ----------
    grip : Grip
        What is held before.
    needs : tuple of Need
    off : set of int
        Fingers that must come off.
    """
    if len(needs) == 1 and needs[0].how == "pick" and holder(grip, needs[0].string, needs[0].fret) is None:
        return _moves_to_one(grip, needs[0], off)
    return [_move(grip, needs, one, off) for one in assignments(grip, needs, off)]


def _moves_to_one(grip: Grip, need: Need, off: set[int]) -> list[Move]:
    """Return what `_move` makes of the assignments, for one new stop: most onsets are one, so it is quick."""
    own = Stop(need.fret, need.string, need.string)
    forced = frozenset(off)
    cost = costs.PLANT + costs.HIGH_FRET * max(0, need.fret - _HIGH_FROM)
    found = []
    for finger in (*FINGERS, THUMB) if need.string == 5 else FINGERS:
        at, uses = ((finger, need.string),), ((finger, need.string, need.fret),)
        can_stay = _can_stay_with(grip, finger, own, off)
        set_down = cost + costs.WEAK[finger]
        new = ((finger, own),)
        found.append(
            Move({finger: own}, EMPTY, can_stay, forced, new, False, set_down, (finger,), at, uses, ())
        )
        wide = None if finger in off else wider(finger, grip[finger - 1], need, (need,))
        if wide is not None:
            stops = {finger: wide}
            can_stay = _can_stay_with(grip, finger, wide, off)
            laid = _barres(grip, stops)
            found.append(Move(stops, EMPTY, can_stay, forced, (), False, laid, (finger,), (), uses, ()))
    return found


def _can_stay_with(grip: Grip, finger: int, stop: Stop, off: set[int]) -> dict[int, Stop]:
    """Return the other fingers that are not in the way of one."""
    return {
        f: held
        for f, held in held_of(grip)
        if f != finger and f not in off and (THUMB in (f, finger) or fits(f, held, finger, stop))
    }


def _move(grip: Grip, needs: tuple[Need, ...], assigned: Assigned, off: set[int]) -> Move:
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
    return Move(
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


def _touched(
    grip: Grip, needs: tuple[Need, ...], fingers: tuple[int, ...]
) -> tuple[tuple[int, int, int], ...]:
    """Return the fingers that sound, or pull off, and where."""
    found = []
    for need, finger in zip(needs, fingers, strict=True):
        if finger and need.how != "plant":
            found.append((finger, need.string, need.fret))
        pulls = holder(grip, need.string, need.other) if need.how == "pull" else None
        if pulls is not None:
            found.append((pulls, need.string, need.other))
    return tuple(found)
