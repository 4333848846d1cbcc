"""What time adds to the left hand's way: shifts and hops that must be quick, and slurs that are too quick.

Conventions: a hand may leave a stopped note when half of its time to the next onset has passed (`RINGS`);
every onset until the next stopped note, being open strings, then buys time.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import inf
from typing import NamedTuple, TypeAlias

from routines.hand import costs
from routines.hand.asked import Alternative, Chosen, Onset
from routines.hand.grips import Hand, Need, Places, Problem, Way
from routines.hand.left import ways
from routines.hand.reach import THUMB, least_shift_mm

_EIGHTH_QUARTERS = 0.5
_NEVER = -1


Use: TypeAlias = tuple[int, int, int, int]
"""A note that a finger of the left hand made: finger, string, real fret, number of the onset."""


class LeftState(NamedTuple):
    """All of the past that matters to the left hand.

    Attributes
    ----------
    hand : Hand
    lately : tuple of Use
        For each finger its last use, if that is at most `CROSSED_OVER_QUARTERS` before the next onset.
    stopped : int
        Number of the last onset with a stopped note; -1 where it is long past.
    to_slur : tuple of Chosen
        Notes that slurs are still to come from.
    """

    hand: Hand
    lately: tuple[Use, ...]
    stopped: int
    to_slur: tuple[Chosen, ...]


class LeftStep(NamedTuple):
    """One way on for the left hand."""

    cost: float
    state: LeftState
    fingers: tuple[int, ...]
    problems: tuple[Problem, ...]


class LeftHand:
    """Steps of the left hand through some onsets.

    Parameters
    ----------
    onsets : sequence of Onset
    last_slurs : mapping of int to int
        For each note that slurs come from, the last note that does.
    """

    def __init__(self, onsets: Sequence[Onset], last_slurs: dict[int, int]) -> None:
        self._onsets = onsets
        self._last_slurs = last_slurs
        self._secs = [onset.sec for onset in onsets]
        self._again, self._sometime = _waited_for(onsets)
        self._known: list[dict[Hand, Hand]] = [{} for _ in onsets]
        self._quarters = [onset.quarters for onset in onsets]
        # After the last note nothing follows that could come too soon.
        self._since = [quarters - costs.CROSSED_OVER_QUARTERS for quarters in (*self._quarters[1:], inf)]
        self._steps: list[dict[tuple[LeftState, int], list[LeftStep]]] = [{} for _ in onsets]

    def steps(self, state: LeftState, number: int, alternative: Alternative, most: float) -> list[LeftStep]:
        """Return the ways from a state to one alternative of an onset.

        Only those that cost no more than `most`. What was worked out for a greater `most` is used again.
        """
        known = self._steps[number]
        key = state, id(alternative)
        found = known.get(key)
        if found is None:
            found = known[key] = self._ways(state, number, alternative, most)
        return found

    def _ways(self, state: LeftState, number: int, alternative: Alternative, most: float) -> list[LeftStep]:
        here = alternative.problems
        if alternative.sources and any(source not in state.to_slur for source in alternative.sources):
            here = (*here, Problem("across", alternative.needs))
        most -= costs.TROUBLE * len(here)
        if self._least(state, alternative) > most:
            return []
        to_slur = self._to_slur(state, number, alternative)
        found = []
        for way in ways(state.hand, alternative.needs):
            if way.cost > most:
                break
            cost = way.cost
            problems: tuple[Problem, ...] = ()
            if way.shift_mm or alternative.sources or (state.lately and way.planted):
                added, problems = self._added(state, number, alternative, way)
                cost += added
                if cost > most:
                    continue
            next_state = LeftState(
                self._settled(way.hand, number),
                self._lately(state, number, way),
                number if way.touched else state.stopped,
                to_slur,
            )
            cost += costs.TROUBLE * len(here)
            found.append(LeftStep(cost, next_state, way.fingers, way.problems + here + problems))
        return found

    def _least(self, state: LeftState, alternative: Alternative) -> float:
        """Return what the ways to an alternative cost at least, for shifts alone."""
        anchor = state.hand.anchor
        if anchor is None:
            return 0.0
        far_mm = max(
            (least_shift_mm(anchor, n.fret) for n in alternative.needs if n.fret and n.string != 5),
            default=0.0,
        )
        if not far_mm or any(n.how in ("slide", "inside") for n in alternative.needs):
            return 0.0
        return costs.SHIFT + costs.SHIFT_MM * far_mm

    def _settled(self, hand: Hand, number: int) -> Hand:
        """Return the hand after an onset, with the fingers off that wait for nothing."""
        known = self._known[number]
        found = known.get(hand)
        if found is None:
            found = known[hand] = hand.settled(self._again[number], self._sometime[number])
        return found

    def _to_slur(self, state: LeftState, number: int, alternative: Alternative) -> tuple[Chosen, ...]:
        if not state.to_slur and not alternative.to_slur:
            return ()
        last = self._onsets[number].notes[-1]
        return tuple(one for one in (*state.to_slur, *alternative.to_slur) if self._last_slurs[one[0]] > last)

    def _lately(self, state: LeftState, number: int, way: Way) -> tuple[Use, ...]:
        since = self._since[number]
        here: list[Use] = []
        if way.touched and self._quarters[number] >= since:
            here = [(finger, string, fret, number) for finger, string, fret in way.touched]
        if not state.lately:
            return tuple(here)
        fingers = [use[0] for use in way.touched]
        kept = [use for use in state.lately if self._quarters[use[3]] >= since and use[0] not in fingers]
        return (*kept, *here)

    def _added(
        self, state: LeftState, number: int, alternative: Alternative, way: Way
    ) -> tuple[float, tuple[Problem, ...]]:
        cost, problems = 0.0, []
        eighth_ago = self._quarters[number] - _EIGHTH_QUARTERS
        for finger, string in way.planted:
            stop = way.hand.grip[finger - 1]
            for used, from_string, from_fret, when in state.lately:
                if used < finger < THUMB and stop is not None and from_fret > stop.fret:
                    cost += costs.CROSSED_OVER
                if used != finger or self._quarters[when] < eighth_ago:
                    continue
                if from_string == string:
                    cost += costs.GLIDE
                    continue
                cost += costs.HOP
                if self._secs[number] - self._secs[when] < costs.HOP_LEAST_SEC:
                    problems.append(Problem("hop", alternative.needs))
                    cost += costs.TROUBLE
        if way.shift_mm and state.stopped != _NEVER:
            more, late = self._shift(state, number, way)
            cost += more
            if late:
                cost += costs.TROUBLE
                problems.append(Problem("shift", alternative.needs))
        if alternative.sources and self._slurs_too_quick(number, way):
            cost += costs.TROUBLE
            problems.append(Problem("quick slur", alternative.needs))
        return cost, tuple(problems)

    def _shift(self, state: LeftState, number: int, way: Way) -> tuple[float, bool]:
        left, follows = self._secs[state.stopped], self._secs[state.stopped + 1]
        rings = costs.RINGS * (follows - left)
        speed = way.shift_mm / (self._secs[number] - left - rings)
        easy, limit = costs.SHIFT_EASY_MM_A_SEC, costs.SHIFT_LIMIT_MM_A_SEC
        cost = costs.HURRY * max(0.0, (speed - easy) / (limit - easy))
        eighth_ago = self._quarters[number] - _EIGHTH_QUARTERS
        near = self._quarters[state.stopped] >= eighth_ago
        strings = {use[1] for use in state.lately if self._quarters[use[3]] >= eighth_ago}
        if near and not strings.intersection(string for _, string, _ in way.touched):
            cost += costs.NEW_STRING_AND_SHIFT
        return cost, speed > limit

    def _slurs_too_quick(self, number: int, way: Way) -> bool:
        sec = self._secs[number] - self._secs[number - 1]
        sliding = way.slid_mm > costs.SLIDE_LIMIT_MM_A_SEC * sec
        return sliding or sec < costs.SLUR_LEAST_SEC


def _waited_for(onsets: Sequence[Onset]) -> tuple[list[Places | None], list[Places]]:
    """Return which stops come again after each onset.

    First those before the chord changes, where the next onset begins a bar or a chord, else None; then all.
    """
    again: list[Places | None] = [None]
    sometime: list[Places] = [frozenset()]
    in_chord: Places = frozenset()
    for onset in reversed(onsets[1:]):
        here = {stop for a in onset.alternatives for need in a.needs for stop in _stops(need)}
        in_chord = in_chord | here
        sometime.append(sometime[-1] | here)
        if onset.chord_changed:
            in_chord = frozenset()
        again.append(in_chord if onset.chord_changed or onset.bar_begins else None)
    return again[::-1], sometime[::-1]


def _stops(need: Need) -> tuple[tuple[int, int], ...]:
    """Return the stops that a note needs to be held: also where it is slurred from."""
    if need.how in ("hammer", "pull", "slide", "inside"):
        return (need.string, need.fret), (need.string, need.other)
    return ((need.string, need.fret),)
