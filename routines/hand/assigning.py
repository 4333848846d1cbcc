"""Which fingers of the left hand can take what the next notes need.

The problem: two or three stops at one time may be taken by many sets of fingers, some already there, some
by one finger laid over several strings; a slide keeps its finger, a hammer-on needs one above the finger
that holds its first note, and a pull-off one that lies there already.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from routines.hand.costs import BARRE_MOST, CHOKE_STRINGS
from routines.hand.grips import Need, Problem
from routines.hand.reach import FINGERS, THUMB, Grip, Stop, fits_all, held_of, holder


class Assigned(NamedTuple):
    """Fingers for some notes.

    Attributes
    ----------
    stops : dict of int to Stop
        The fingers that the notes need, where they lie.
    fingers : tuple of int
        One for each need; 0 for an open string.
    problems : tuple of Problem
    """

    stops: dict[int, Stop]
    fingers: tuple[int, ...]
    problems: tuple[Problem, ...]


def in_the_way(grip: Grip, needs: tuple[Need, ...]) -> set[int]:
    """Return the fingers that must come off for these notes to sound."""
    off = set()
    for need in needs:
        if need.how != "plant":
            for finger, stop in held_of(grip):
                if stop.fret > need.fret and stop.covers(need.string):
                    off.add(finger)
    return off


def assignments(grip: Grip, needs: tuple[Need, ...], off: set[int]) -> list[Assigned]:
    """Return every set of fingers that makes these notes; where none can, one with its problem.

    Parameters
    ----------
    grip : Grip
        What is held before.
    needs : tuple of Need
    off : set of int
        See `in_the_way`.
    """
    begun = Assigned(_sources(grip, needs), (), ())
    return list(_assign(grip, needs, off, begun)) or [_forced(needs)]


def _sources(grip: Grip, needs: tuple[Need, ...]) -> dict[int, Stop]:
    """Return the fingers that stay down below a hammer-on."""
    held = (holder(grip, n.string, n.other) for n in needs if n.how == "hammer" and n.other)
    return {f: stop for f in held if f is not None and (stop := grip[f - 1]) is not None}


def _assign(grip: Grip, needs: tuple[Need, ...], off: set[int], so_far: Assigned) -> Iterator[Assigned]:
    done = len(so_far.fingers)
    if done == len(needs):
        yield so_far
        return
    need = needs[done]
    problems = so_far.problems
    if need.how != "pick":
        problems += _problems(grip, need)
    for finger, stop in _takers(grip, need, needs, off, so_far.stops):
        stops = so_far.stops if stop is None else {**so_far.stops, finger: stop}
        fingers = (*so_far.fingers, finger)
        yield from _assign(grip, needs, off, Assigned(stops, fingers, problems))


def _takers(
    grip: Grip, need: Need, needs: tuple[Need, ...], off: set[int], stops: dict[int, Stop]
) -> Iterator[tuple[int, Stop | None]]:
    """Yield the fingers that can take one need, and where each then lies."""
    if not need.fret:
        yield 0, None
        return
    own = Stop(need.fret, need.string, need.string)
    there = holder(grip, need.string, need.fret)
    if there is not None and need.how not in ("slide", "inside") and there not in off:
        held = stops.get(there, grip[there - 1])
        if held is not None and fits_all(there, held, stops):
            yield there, held
        return
    sliding = holder(grip, need.string, need.other) if need.how in ("slide", "inside") else None
    for finger in FINGERS if sliding is None else (sliding,):
        if finger in stops:
            wide = wider(finger, stops[finger], need, needs)
        elif finger in off or finger == sliding:
            wide = None
        else:
            wide = wider(finger, grip[finger - 1], need, needs)
        if wide is not None and fits_all(finger, wide, stops):
            yield finger, wide
        if finger not in stops and fits_all(finger, own, stops):
            yield finger, own
    if need.string == 5 and sliding in (None, THUMB) and THUMB not in stops:
        yield THUMB, own


def wider(finger: int, stop: Stop | None, need: Need, needs: tuple[Need, ...]) -> Stop | None:
    """Return the barre that a finger makes when it is laid over one more string, if it can."""
    if stop is None or finger == THUMB or stop.fret != need.fret or need.how not in ("pick", "plant"):
        return None
    wide = Stop(stop.fret, max(stop.low, need.string), min(stop.high, need.string))
    if wide.low - wide.high + 1 > BARRE_MOST[finger]:
        return None
    if any(n.how != "plant" and n.fret < wide.fret and wide.covers(n.string) for n in needs):
        return None
    return wide


def _problems(grip: Grip, need: Need) -> tuple[Problem, ...]:
    """Return what is wrong with one note whichever finger takes it."""
    slurred = need.how in ("hammer", "pull", "slide")
    if slurred and need.other and holder(grip, need.string, need.other) is None:
        return (Problem("left", (need,)),)
    if need.how == "pull" and need.fret and holder(grip, need.string, need.fret) is None:
        return (Problem("nobody", (need,)),)
    if need.how in ("slide", "inside") and (need.other < 1 or not need.fret):
        return (Problem("slide", (need,)),)
    if need.how == "choke" and not need.fret:
        return (Problem("open choke", (need,)),)
    if need.how == "choke" and need.string not in CHOKE_STRINGS:
        return (Problem("choke", (need,)),)
    return ()


def _forced(needs: tuple[Need, ...]) -> Assigned:
    """Return fingers in the order of the frets, for notes that no hand can stop together."""
    stopped = sorted({(n.fret, -n.string) for n in needs if n.fret})
    finger_of = {at: min(number, 4) for number, at in enumerate(stopped, 1)}
    fingers = tuple(finger_of[n.fret, -n.string] if n.fret else 0 for n in needs)
    first = next(n for n in needs if n.fret)
    stop = Stop(first.fret, first.string, first.string)
    problem = Problem("reach", tuple(n for n in needs if n.fret))
    return Assigned(stops={finger_of[first.fret, -first.string]: stop}, fingers=fingers, problems=(problem,))
