"""Which heard note answers which target: one order-preserving matcher for live use and for files.

Order of preference: most notes explained, then right pitches, then sure notes, then least total
deviation. Which sound may be which target is told by `feedback.candidates`. Strings are never heard, so the
voices of a pinch may speak in any order; and what begins together has none, whatever the targets: a seven
that comes as late as the note after it is heard with it.

The dynamic programme goes over the heard notes in order and keeps, for every place, the best chain that ends
before it and, within a pinch, the best one for each set of voices that have spoken. One note adds a handful
of candidates, so the live face may solve it anew with every note: what is shown while playing and what is
judged afterwards come from the same lines.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import reduce
from itertools import permutations

from feedback.candidates import Pair, bends, candidates, expected_sec, last_sevens, late_limits_sec, together
from feedback.grid import Grid, Habits
from feedback.heard import Sound

_HAIR = 1e-9
_Value = tuple[int, int, int, float]
_Chain = tuple[Pair, "_Chain"] | None
_Best = tuple[_Value, _Chain]
_NOTHING: _Best = ((0, 0, 0, 0.0), None)
_MOST_ORDERED = 3  # so many sounds that begin together are tried in every order


def match(grid: Grid, sounds: Sequence[Sound], habits: Habits) -> list[Pair]:
    """Assign sounds to targets.

    Parameters
    ----------
    grid : Grid
    sounds : sequence of Sound
        By onset.
    habits : Habits
        Taken off every deviation before distances are compared.

    Returns
    -------
    list of Pair
        In the order of the targets; each target and each sound at most once.
    """
    limits = late_limits_sec(grid)
    groups = together(grid.lick.notes)
    strokes = _strokes(sounds, grid.limits.pinch_ms / 1e3)
    forbidden: set[tuple[int, int]] = set()
    expected = expected_sec(grid, habits)
    while True:
        rows = [candidates(grid, expected, limits, j, sound, forbidden) for j, sound in enumerate(sounds)]
        chosen = _solve(groups, rows, strokes)
        objections = [
            objection
            for objection in (
                _straying_seven(grid, chosen),
                _served_twice(grid, sounds, chosen),
                _slide_begins(grid, sounds, chosen),
            )
            if objection
        ]
        if not objections:
            return chosen
        forbidden.update(objections)


def _solve(
    groups: Sequence[Sequence[int]], rows: Sequence[Sequence[Pair]], strokes: Sequence[Sequence[int]]
) -> list[Pair]:
    """The best chain of pairs in which targets rise with the sounds; voices struck together in any order."""
    where = {target: (g, 1 << bit) for g, voices in enumerate(groups) for bit, target in enumerate(voices)}
    best = _Chains.empty(len(groups))
    for stroke in strokes:
        orders = permutations(stroke) if len(stroke) <= _MOST_ORDERED else [tuple(stroke)]
        grown = []
        for order in orders:
            chains = best
            for number in order:
                chains = chains.grown(rows[number], where)
            grown.append(chains)
        best = reduce(_Chains.better, grown)
    chosen = []
    chain = best.upto[-1][1]
    while chain is not None:
        chosen.append(chain[0])
        chain = chain[1]
    return sorted(chosen, key=lambda pair: pair.target)


@dataclass(frozen=True, slots=True)
class _Chains:
    """The best chains so far.

    Attributes
    ----------
    upto : tuple
        For each group, the best chain of targets before it; the last one is of all.
    inside : tuple of dict
        For each group, by the voices of it that it takes last.
    """

    upto: tuple[_Best, ...]
    inside: tuple[dict[int, _Best], ...]

    @staticmethod
    def empty(groups: int) -> _Chains:
        return _Chains((_NOTHING,) * (groups + 1), tuple({} for _ in range(groups)))

    def grown(self, row: Sequence[Pair], where: Mapping[int, tuple[int, int]]) -> _Chains:
        """The best chains when one more sound may be taken."""
        if not row:
            return self
        upto, inside = list(self.upto), list(self.inside)
        for pair in row:
            group, bit = where[pair.target]
            begun = [(taken, best) for taken, best in self.inside[group].items() if not taken & bit]
            for taken, ((count, right, sure, nearness), chain) in [(0, self.upto[group]), *begun]:
                fits = right + 2 * pair.right + pair.began
                value = (count + 1, fits, sure + pair.sure, nearness - abs(pair.rest_sec))
                if value <= inside[group].get(taken | bit, _NOTHING)[0]:
                    continue
                longer: _Best = (value, (pair, chain))
                inside[group] = {**inside[group], taken | bit: longer}
                for place in range(group + 1, len(upto)):
                    if value <= upto[place][0]:
                        break
                    upto[place] = longer
        return _Chains(tuple(upto), tuple(inside))

    def better(self, other: _Chains) -> _Chains:
        """Of each chain the better one of two."""
        # What neither has grown is the same object in both: most of it.
        upto = tuple(
            a if a is b else max(a, b, key=_value) for a, b in zip(self.upto, other.upto, strict=True)
        )
        inside = tuple(
            a
            if a is b
            else {taken: max((c[taken] for c in (a, b) if taken in c), key=_value) for taken in {*a, *b}}
            for a, b in zip(self.inside, other.inside, strict=True)
        )
        return _Chains(upto, inside)


def _value(best: _Best) -> _Value:
    return best[0]


def _strokes(sounds: Sequence[Sound], within_sec: float) -> list[list[int]]:
    """Indices of the sounds, those that begin together in one list: they have no order."""
    found: list[list[int]] = []
    for number, sound in enumerate(sounds):
        if found and sound.onset_sec - sounds[found[-1][0]].onset_sec <= within_sec + _HAIR:
            found[-1].append(number)
        else:
            found.append([number])
    return found


def _straying_seven(grid: Grid, chosen: list[Pair]) -> tuple[int, int] | None:
    """A last seven that took a note beyond half an eighth which a nearer, silent target needs."""
    taken = {pair.target for pair in chosen}
    last = last_sevens(grid.lick.sevenths)
    for pair in chosen:
        if pair.target not in last or pair.rest_sec <= grid.eighth_sec / 2 + _HAIR:
            continue
        place = grid.lick.notes[pair.target].onset_quarters + pair.rest_sec / grid.quarter_sec
        nearest = min(abs(note.onset_quarters - place) for note in grid.lick.notes)
        nearer = [
            index
            for index, note in enumerate(grid.lick.notes)
            if abs(note.onset_quarters - place) <= nearest + _HAIR and index != pair.target
        ]
        if nearer and not any(index in taken for index in nearer):
            return pair.target, pair.sound
    return None


def _served_twice(grid: Grid, sounds: Sequence[Sound], chosen: list[Pair]) -> tuple[int, int] | None:
    """A target that took the pitch which another one's choke or slide had reached."""
    bent = {sounds[p.sound].event for p in chosen if p.right and bends(grid.lick.notes, p.target)}
    for pair in chosen:
        if sounds[pair.sound].moved and sounds[pair.sound].event in bent:
            return pair.target, pair.sound
    return None


def _slide_begins(grid: Grid, sounds: Sequence[Sound], chosen: list[Pair]) -> tuple[int, int] | None:
    """A target far from its place that took the pitch in which the slide after it begins.

    A slide to an eighth of its own may be heard twice, where it begins and where it arrives. What does not
    speak for itself before the slide moves on is the slide, not the note before it.
    """
    answered = {pair.target: sounds[pair.sound].onset_sec for pair in chosen if pair.right}
    notes = grid.lick.notes
    for pair in chosen:
        if abs(pair.rest_sec) <= grid.eighth_sec / 2 + _HAIR:
            continue
        for index, slide in enumerate(notes):
            if index in answered and slide.from_midi == notes[pair.target].midi and index > pair.target:
                before = answered[index] - sounds[pair.sound].onset_sec
                if not bends(notes, index) and 0 < before < grid.speaks_sec:
                    return pair.target, pair.sound
    return None
