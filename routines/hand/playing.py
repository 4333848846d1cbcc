"""The best way for both hands through some notes, each with one or several places where it may be made.

The problem: the finger that is nearest now may be the one that is missing two notes later. So the whole way
is weighed: which string, which finger of each hand, what is held and what is let go.

The method is dynamic programming over the onsets. A state is all of the past that still matters: what the
left hand holds and where it stands, which fingers were used within the last eighth, when it last stopped a
string, which notes slurs are still to come from, and which fingers of the right hand picked within the last
quarter. Of the ways into one state only the cheapest is followed.

Where it is exact: where each note has one place the hands do not depend on each other and are found apart,
the right hand exactly. The left hand, and both together where notes have several places, are searched in a
beam: at each onset the cheapest states are kept, so many and so much worse than the cheapest as `_Beam`
says; where that ends in trouble, again in a much wider one. A test compares with all ways of small cases.
The ways of the left hand themselves are those of `routines.hand.left`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from math import inf
from operator import attrgetter
from typing import Any, NamedTuple

from routines.hand.asked import Alternative, Onset, onsets_of
from routines.hand.grips import Problem, forget_hands, hand_of
from routines.hand.pace import LeftHand, LeftState
from routines.hand.picking import RightHand
from routines.hand.right import NOT_LATELY
from routines.hand.troubles import trouble_of
from routines.hand.wanted import Given, Played, Trouble, Wanted, given_of, wanted_of
from routines.lick import Lick
from routines.neck import Place

_HANDS_KEPT = 60_000


class _Beam(NamedTuple):
    """How many states are followed from each onset, and how much worse than the cheapest they may be."""

    states: int
    of_each: int
    cost: float


_ONE_HAND = _Beam(16, 16, 3.0), _Beam(60, 60, 20.0)
_BOTH_HANDS = _Beam(10, 2, 2.5), _Beam(40, 4, 20.0)
"""The beam that is tried first, and the one that must do where that ends in trouble."""

_QUICK = _Beam(8, 8, 2.0)
"""The first beam of one hand where it must be quick; what it misses costs 0.05 a lick in the mean."""


class _Idle(NamedTuple):
    """The step of a hand that is left out."""

    cost: float = 0.0
    state: None = None
    fingers: tuple[()] = ()
    problems: tuple[()] = ()


_IDLE = (_Idle(),)


def _idle(state: None, number: int, alternative: Alternative, most: float = 0.0) -> tuple[_Idle]:
    return _IDLE


class _Reached(NamedTuple):
    """The cheapest way that was found into a state."""

    cost: float
    before: _Reached | None
    alternative: Alternative | None
    state: tuple[Any, Any]
    left: Any
    right: Any


def best(wanted: Sequence[Wanted], given: Given, *, quick: bool = False) -> Played | None:
    """Find the best way for both hands.

    Parameters
    ----------
    wanted : sequence of Wanted
        By onset; notes of one onset stand next to one another.
    given : Given
    quick : bool
        Whether a narrower beam is tried first where each note has one place.

    Returns
    -------
    Played or None
        What no hand does stands in its troubles: ways without any win over all ways with one. None where a
        note has no place.
    """
    if not all(note.choices for note in wanted):
        return None
    if not wanted:
        return Played(places=(), left=(), right=(), cost=0.0, troubles=())
    forget_hands(_HANDS_KEPT)
    onsets = onsets_of(wanted, given)
    alone = all(len(onset.alternatives) == 1 for onset in onsets)
    first, wide = _ONE_HAND if alone else _BOTH_HANDS
    found = _best(wanted, given, onsets, _QUICK if quick and alone else first)
    return _best(wanted, given, onsets, wide) if found.troubles else found


def _best(wanted: Sequence[Wanted], given: Given, onsets: Sequence[Onset], beam: _Beam) -> Played:
    last_slurs = {n.slurred_from: i for i, n in enumerate(wanted) if n.slurred_from is not None}
    left = LeftHand(onsets, last_slurs)
    right = RightHand(onsets, given.tempo_half_bpm, [n.onset_quarters for n in wanted if not n.picked])
    begun = LeftState(hand_of(), (), -1, ())
    if all(len(onset.alternatives) == 1 for onset in onsets):
        lefts = _search(onsets, left.steps, begun, _idle, None, beam)
        rights = _search(onsets, _idle, None, right.steps, NOT_LATELY, beam)
        cost = lefts[-1].cost + rights[-1].cost
    else:
        lefts = rights = _search(onsets, left.steps, begun, right.steps, NOT_LATELY, beam)
        cost = lefts[-1].cost
    return _played(onsets, lefts, rights, cost, given.neck.capo)


def hands(lick: Lick, tempo_half_bpm: float | None = None) -> Played:
    """Find how both hands play a lick as its tab is written.

    Parameters
    ----------
    lick : Lick
    tempo_half_bpm : float, optional
        The lick's top tempo by default.
    """
    played = best(wanted_of(lick), given_of(lick, tempo_half_bpm))
    if played is None:
        raise RuntimeError(f"{lick.id}: a note without a place, which no tab can write")
    return played


def _search(
    onsets: Sequence[Onset],
    left_steps: Callable[[Any, int, Alternative, float], Sequence[Any]],
    left_begun: Any,
    right_steps: Callable[[Any, int, Alternative], Sequence[Any]],
    right_begun: Any,
    beam: _Beam,
) -> list[_Reached]:
    """Return the cheapest way found, one entry for each onset."""
    row = [_Reached(0.0, None, None, (left_begun, right_begun), None, None)]
    for number, onset in enumerate(onsets):
        following: dict[tuple[Any, Any], _Reached] = {}
        most = inf
        for reached in row:
            left_state, right_state = reached.state
            for alternative in onset.alternatives:
                rights = right_steps(right_state, number, alternative)
                least = reached.cost + rights[0].cost
                for left in left_steps(left_state, number, alternative, most - least):
                    so_far = reached.cost + left.cost
                    for right in rights:
                        cost = so_far + right.cost
                        if cost > most:
                            break
                        key = left.state, right.state
                        known = following.get(key)
                        if known is None or cost < known.cost:
                            following[key] = _Reached(cost, reached, alternative, key, left, right)
                            most = min(most, cost + beam.cost)
        row = _followed(following.values(), beam)
    found: _Reached | None = row[0]
    way: list[_Reached] = []
    while found is not None and found.before is not None:
        way.append(found)
        found = found.before
    return way[::-1]


def _followed(reached: Iterable[_Reached], beam: _Beam) -> list[_Reached]:
    """Return what is followed: for the best states of the left hand some of the right, the best first."""
    row: list[_Reached] = []
    counts: dict[Any, int] = {}
    for one in sorted(reached, key=attrgetter("cost")):
        left_state = one.state[0]
        count = counts.get(left_state, 0)
        if count < beam.of_each and (count or len(counts) < beam.states):
            counts[left_state] = count + 1
            row.append(one)
    return row


def _played(
    onsets: Sequence[Onset], lefts: list[_Reached], rights: list[_Reached], cost: float, capo: int
) -> Played:
    places: list[Place] = []
    left_fingers: list[int] = []
    right_fingers: list[str] = []
    troubles: list[Trouble] = []
    for onset, left, right in zip(onsets, lefts, rights, strict=True):
        alternative = left.alternative
        if alternative is None:
            continue
        places += alternative.places
        left_fingers += left.left.fingers[: len(onset.notes)]
        letters = dict(zip(alternative.picked, right.right.fingers, strict=True))
        right_fingers += [letters.get(n, "") for n in range(len(onset.notes))]
        wrong: tuple[Problem, ...] = left.left.problems + right.right.problems
        troubles += [trouble_of(problem, onset.quarters, capo) for problem in wrong]
    return Played(
        places=tuple(places),
        left=tuple(left_fingers),
        right=tuple(right_fingers),
        cost=cost,
        troubles=tuple(dict.fromkeys(troubles)),
    )
