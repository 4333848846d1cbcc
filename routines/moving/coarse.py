"""A first look for places: where the notes would lie if hand positions alone decided.

The problem: the hand model (`routines.hand`) weighs every finger, which takes its time where each note may be
made in three places. Most of those are hopeless, and a rougher look tells so: the hand stands somewhere, a
finger a fret; moving it costs, stretching costs, a note that is still held costs nothing; and the right hand
has a finger for each string and none twice within a quarter. The hand model then has one place for each note
to judge.

The method is dynamic programming over the onsets, in a beam; a state is where the hand stands, what was
picked last and with which fingers. Frets are as in tab, the capo is added for distances; the costs are those
of `routines.hand.costs`, where it has the same.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache, lru_cache
from itertools import combinations, groupby, product
from operator import itemgetter
from typing import NamedTuple

from routines.hand import costs
from routines.hand.reach import nut_to_fret_mm
from routines.hand.wanted import Given, Wanted
from routines.lick import quarter_sec
from routines.neck import Place

_STATES = 8
_MARGIN = 4.0
_FRETS_HELD = 4
_STRETCHED = 0.8
_OUT_OF_REACH = 40.0
_SAME_FRET = 0.5
_BARRE = 0.3
_PICKED_DEAR = 2.5
_HIGH_FRET = 5
_NOTHING_HELD = (0, 0, 0, 0, 0, 0)
_FAR_SEC = 60.0
_PLANTED = tuple(costs.PLANT + costs.WEAK[finger] for finger in (1, 2, 3, 4))
_COST = itemgetter(0)
_Left = tuple[float, int, tuple[int, ...]]


class _Choice(NamedTuple):
    """One set of places for an onset: what is stopped, and how it may be picked (fingers as bits, cost)."""

    places: tuple[Place, ...]
    stops: tuple[tuple[int, int], ...]
    opens: tuple[int, ...]
    strokes: tuple[tuple[int, float], ...]
    low: int
    high: int


class _Node(NamedTuple):
    """A way so far: its cost, where the hand stands (0: nowhere yet), frets held by string, fingers used."""

    cost: float
    position: int
    held: tuple[int, ...]
    fingers: int
    stopped_sec: float
    choice: _Choice | None
    before: _Node | None


class Rough(NamedTuple):
    """What the first look found: a place for each note, and what it guesses that they cost."""

    places: tuple[Place, ...]
    cost: float


def roughly(wanted: Sequence[Wanted], given: Given) -> Rough | None:
    """Choose a place for each note.

    Parameters
    ----------
    wanted : sequence of Wanted
        As for `routines.hand.playing.best`; each with at least one place.
    given : Given

    Returns
    -------
    Rough or None
        None where no set of places has each note on a string of its own, or no
        slur stays on its string.
    """
    row = [_Node(0.0, 0, _NOTHING_HELD, 0, -_FAR_SEC, None, None)]
    sec = quarter_sec(given.tempo_half_bpm)
    onset_of: dict[int, tuple[int, int]] = {}
    last = -_FAR_SEC
    for number, (onset, group) in enumerate(groupby(range(len(wanted)), lambda i: wanted[i].onset_quarters)):
        notes = list(group)
        onset_of |= {i: (number, at) for at, i in enumerate(notes)}
        soon = onset - last < costs.FINGER_FREE_QUARTERS
        if any(wanted[i].picked for i in notes):
            last = onset
        follow = _Onset(
            slid=any(wanted[i].technique == "slide" for i in notes),
            sources=[_source(wanted[i].slurred_from, onset_of, number) for i in notes],
            choices=[choice for choice in _choices(wanted, notes) if choice is not None],
            sec=onset * sec,
            soon=soon,
            capo=given.neck.capo,
        )
        row = follow.after(row)
        if not row:
            return None
    places: list[tuple[Place, ...]] = []
    node: _Node | None = row[0]
    while node is not None and node.choice is not None:
        places.append(node.choice.places)
        node = node.before
    return Rough(tuple(place for each in reversed(places) for place in each), row[0].cost)


def _source(index: int | None, onset_of: dict[int, tuple[int, int]], number: int) -> tuple[int, int] | None:
    """How many onsets back a slur comes from, and from which of the notes there."""
    if index is None:
        return None
    back, at = onset_of[index]
    return number - back, at


def _choices(wanted: Sequence[Wanted], notes: Sequence[int]) -> list[_Choice | None]:
    picked = tuple(wanted[i].picked for i in notes)
    return [_choice(places, picked) for places in product(*(wanted[i].choices for i in notes))]


@lru_cache(maxsize=8192)
def _choice(places: tuple[Place, ...], picked: tuple[bool, ...]) -> _Choice | None:
    strings = [place.string for place in places]
    if len(set(strings)) < len(strings):
        return None
    frets = [place.fret for place in places if place.fret] or [0]
    return _Choice(
        places=places,
        low=min(frets),
        high=max(frets),
        stops=tuple((place.string, place.fret) for place in places if place.fret),
        opens=tuple(place.string for place in places if not place.fret),
        strokes=_strokes(tuple(sorted((s for s, p in zip(strings, picked, strict=True) if p), reverse=True))),
    )


@lru_cache(maxsize=256)
def _strokes(strings: tuple[int, ...]) -> tuple[tuple[int, float], ...]:
    if not strings:
        return ((0, 0.0),)
    strokes = [
        (
            sum(1 << "TIM".index(finger) for finger in fingers),
            sum(costs.PICK[finger][string] for finger, string in zip(fingers, strings, strict=True)),
        )
        for fingers in combinations("TIM", len(strings))
    ]
    least = min(cost for _, cost in strokes)
    return tuple(stroke for stroke in strokes if stroke[1] <= least + _PICKED_DEAR)


class _Onset(NamedTuple):
    """One onset: its choices, where slurs come from, and the time that there was."""

    choices: list[_Choice]
    sources: list[tuple[int, int] | None]
    sec: float
    soon: bool
    slid: bool
    capo: int

    def after(self, row: list[_Node]) -> list[_Node]:
        """The states that the ways of a row lead to, the cheapest first."""
        slurred = any(source is not None for source in self.sources)
        best: dict[tuple[int, int, int], _Node] = {}
        lefts: dict[tuple[int, tuple[int, ...], float, int], list[_Left]] = {}
        for node in row:
            for number, choice in enumerate(self.choices):
                if slurred and not self._slurs_stay(node, choice):
                    continue
                asked = node.position, node.held, node.stopped_sec, number
                ways = lefts.get(asked)
                if ways is None:
                    ways = lefts[asked] = self._left(node, choice)
                stopped = self.sec if choice.stops else node.stopped_sec
                for fingers, picking in choice.strokes:
                    picked = node.cost + picking
                    if self.soon and fingers & node.fingers:
                        picked += costs.PICKED_AGAIN
                    for cost, position, held in ways:
                        total = picked + cost
                        key = position, fingers, number
                        known = best.get(key)
                        if known is None or total < known.cost:
                            best[key] = _Node(total, position, held, fingers, stopped, choice, node)
        nodes = sorted(best.values(), key=_COST)[:_STATES]
        return [node for node in nodes if node.cost <= nodes[0].cost + _MARGIN]

    def _slurs_stay(self, node: _Node, choice: _Choice) -> bool:
        for place, source in zip(choice.places, self.sources, strict=True):
            if source is None:
                continue
            back, at = source
            there: _Node | None = node
            for _ in range(back - 1):
                there = there.before if there is not None else None
            if there is None or there.choice is None or there.choice.places[at].string != place.string:
                return False
        return True

    def _left(self, node: _Node, choice: _Choice) -> list[_Left]:
        """What the left hand pays, where it then stands and what it holds: one entry for each position."""
        here, low, high = node.position, choice.low, choice.high
        if not choice.stops:
            return [(0.0, here, _held(node.held, choice))]
        if here and here <= low and high < here + _FRETS_HELD:
            return [(_planted(node.held, choice, here), here, _held(node.held, choice))]
        found: list[_Left] = []
        if here and here <= low and high == here + _FRETS_HELD:
            cost = _planted(node.held, choice, here) + _STRETCHED
            found.append((cost, here, _held(node.held, choice)))
        wide = high - low - _FRETS_HELD + 1
        strain = 0.0 if wide <= 0 else _STRETCHED if wide == 1 else _OUT_OF_REACH
        new = _held(_NOTHING_HELD, choice)
        first = min(max(1, high - _FRETS_HELD + 1), low)
        # A hand moves as little as it must, or right up to the fret; nowhere yet, it stands where it likes.
        stands = range(first, low + 1) if not here else {first if here < first else low, first, low}
        for position in stands:
            shift = self._shift(here, position, node.stopped_sec) if here else 0.0
            found.append((strain + shift + _planted(_NOTHING_HELD, choice, position), position, new))
        return found

    def _shift(self, here: int, position: int, stopped_sec: float) -> float:
        far = _far_mm(here + self.capo, position + self.capo)
        if self.slid:
            return costs.SLIDE + far * costs.SHIFT_MM * costs.GUIDED
        speed = far / (max(self.sec - stopped_sec, 1e-3) * (1.0 - costs.RINGS))
        moving = costs.SHIFT + far * costs.SHIFT_MM
        if speed <= costs.SHIFT_EASY_MM_A_SEC:
            return moving
        if speed > costs.SHIFT_LIMIT_MM_A_SEC:
            return moving + _OUT_OF_REACH
        most = costs.SHIFT_LIMIT_MM_A_SEC - costs.SHIFT_EASY_MM_A_SEC
        return moving + costs.HURRY * (speed - costs.SHIFT_EASY_MM_A_SEC) / most


@cache
def _far_mm(fret: int, other: int) -> float:
    return abs(nut_to_fret_mm(fret) - nut_to_fret_mm(other))


def _planted(held: tuple[int, ...], choice: _Choice, position: int) -> float:
    cost = 0.0
    for string, fret in choice.stops:
        if held[string] != fret:
            cost += _PLANTED[fret - position if fret - position < _FRETS_HELD else _FRETS_HELD - 1]
            if fret > _HIGH_FRET:
                cost += costs.HIGH_FRET * (fret - _HIGH_FRET)
            if fret in held:
                cost += _BARRE if fret == position else _SAME_FRET
    return cost


def _held(held: tuple[int, ...], choice: _Choice) -> tuple[int, ...]:
    new = list(held)
    for string, fret in choice.stops:
        new[string] = fret
    for string in choice.opens:
        new[string] = 0
    return tuple(new)
