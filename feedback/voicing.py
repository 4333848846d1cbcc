"""How a chord is laid in the register of a mandolin, so that from chord to chord its voices move little.

Conventions: MIDI numbers from the lowest. A voicing has each tone once, at most four: of five the fifth is
left out, as the bass has it. So over A7 and D the seven G is seen to fall to F#, and the third to rise.
"""

from __future__ import annotations

from functools import lru_cache
from itertools import pairwise, product

from routines.chords import Chord

CHOP_LOWEST, CHOP_HIGHEST = 55, 76
"""G3, the lowest string of a mandolin, and E5."""

_MIDDLE = 65.0
_TONES = 4
_CLOSE, _WIDEST = 9, 14
_AWAY_COST, _WIDE_COST, _RUB_COST = 0.5, 0.25, 3.0
"""Against a half step that a voice moves: each one from the middle of the register to that of the voicing,
each one that it is wider than `_CLOSE`, and two voices a half step apart."""


@lru_cache(maxsize=1024)
def voiced(chord: Chord, before: tuple[int, ...] = ()) -> tuple[int, ...]:
    """Lay a chord for the chop.

    Parameters
    ----------
    chord : Chord
    before : tuple of int
        MIDI numbers of what was chopped before; empty for a first one.

    Returns
    -------
    tuple of int
        Each `CHOP_LOWEST` to `CHOP_HIGHEST`: of all ways to lay them there within a ninth the one whose
        voices move least, together and the farthest of them, and that is close, without a rub and near the
        middle of the register.
    """
    functions = [name for name, _ in chord.tones]
    if len(functions) > _TONES:
        functions.remove("fifth")
    classes = [tone.pitch_class for name, tone in chord.tones if name in functions]
    places = [[m for m in range(CHOP_LOWEST, CHOP_HIGHEST + 1) if m % 12 == one] for one in classes]
    laid = [tuple(sorted(one)) for one in product(*places)]

    def cost(midis: tuple[int, ...]) -> tuple[bool, float, tuple[int, ...]]:
        away = abs(sum(midis) / len(midis) - _MIDDLE)
        span = midis[-1] - midis[0]
        rubs = sum(b - a < 2 for a, b in pairwise(midis))
        still = _AWAY_COST * away + _WIDE_COST * max(0, span - _CLOSE) + _RUB_COST * rubs
        return span > _WIDEST, still + _motion(before, midis), midis

    return min(laid, key=cost)


def _motion(before: tuple[int, ...], after: tuple[int, ...]) -> float:
    """Half steps: half the sum of all voices, each going to or coming from the nearest, and the farthest."""
    if not before:
        return 0.0
    moved = [min(abs(a - b) for b in after) for a in before] + [
        min(abs(a - b) for a in before) for b in after
    ]
    return sum(moved) / 2 + max(moved)
