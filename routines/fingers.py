"""Which finger of the right hand picks which string: thumb, index, middle.

The problem: a tab seldom says. A hand that rolls gives each string to the finger that lies nearest, but
never picks with one finger twice closer than a quarter note (it cannot above some 70 half notes a minute),
so the third string goes to the thumb or to the index by what comes before and after.

The method is shortest path: each stroke has its possible fingerings, each fingering a cost by string and
accent, each pair of neighbours a cost where a finger would have to come back too soon. The costs are those
of `routines.hand.costs`, set so that the five rolls come out as they are taught; here no tempo is known.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise, permutations

from routines.errors import BadRoutine
from routines.hand.costs import FINGER_FREE_QUARTERS, PICKED_AGAIN, PICKED_AGAIN_AFTER_SLUR
from routines.hand.right import FINGERS, own_cost

__all__ = ["FINGERS", "Stroke", "assign_fingers"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Stroke:
    """What the right hand picks at one place.

    Attributes
    ----------
    onset_quarters : float
    strings : tuple of int
        One to three strings, from 5 down to 1.
    fixed : str
        The fingers, in the order of `strings`, where the tab says them; else empty.
    accented : bool
        On a half-note beat.
    slur_before : bool
        Whether a hammer, pull or slide sounds between the stroke before and this one.
    """

    onset_quarters: float
    strings: tuple[int, ...]
    fixed: str = ""
    accented: bool = False
    slur_before: bool = False


def assign_fingers(strokes: Sequence[Stroke]) -> tuple[str, ...]:
    """Give every stroke its fingers.

    Parameters
    ----------
    strokes : sequence of Stroke
        In the order of onset.

    Returns
    -------
    tuple of str
        For each stroke as many of the letters T, I, M as it has strings, in their order. Of equal
        fingerings the one that uses the thumb sooner.

    Raises
    ------
    BadRoutine
        If a stroke has no string or more than three, or `fixed` does not fit its strings.
    """
    if not strokes:
        return ()
    # Each row: fingering -> (cost of the best way there, fingering before it).
    rows: list[dict[str, tuple[float, str]]] = [
        {f: (own_cost(strokes[0].strings, f, strokes[0].accented), "") for f in _choices(strokes[0])}
    ]
    for before, stroke in pairwise(strokes):
        row = {}
        for fingers in _choices(stroke):
            ways = [
                (cost + _between(before, came_from, stroke, fingers), came_from)
                for came_from, (cost, _) in rows[-1].items()
            ]
            cost, came_from = min(ways, key=lambda way: way[0])
            row[fingers] = cost + own_cost(stroke.strings, fingers, stroke.accented), came_from
        rows.append(row)
    fingers = min(rows[-1], key=lambda f: rows[-1][f][0])
    found = []
    for row in reversed(rows):
        found.append(fingers)
        fingers = row[fingers][1]
    return tuple(reversed(found))


def _choices(stroke: Stroke) -> list[str]:
    count = len(stroke.strings)
    if not 1 <= count <= len(FINGERS):
        raise BadRoutine(
            f"{count} strings at one time: accepted are 1 to {len(FINGERS)}, one for each finger"
        )
    choices = ["".join(fingers) for fingers in permutations(FINGERS, count)]
    if not stroke.fixed:
        return choices
    if stroke.fixed not in choices:
        raise BadRoutine(
            f"fingers {stroke.fixed!r} for {count} strings: accepted are T, I, M, a different one for each"
        )
    return [stroke.fixed]


def _between(before: Stroke, fingers_before: str, stroke: Stroke, fingers: str) -> float:
    if stroke.onset_quarters - before.onset_quarters >= FINGER_FREE_QUARTERS:
        return 0.0
    again = len(set(fingers_before) & set(fingers))
    return again * (PICKED_AGAIN_AFTER_SLUR if stroke.slur_before else PICKED_AGAIN)
