"""Chop sevenths: closed shapes on two and four, the seven's move inside them.

Two shapes, each of three strings and movable. One has the seven on the third string and the root on the
second: when it goes home the second string stays, and the two others move a fret each. The other has the
seven on the first string; there the seven goes down a fret, and the hand takes another shape under it. From a
seventh in this shape to one in the first all three strings go down, two of them a fret and the second string
two: so the last round is chains.
"""

from __future__ import annotations

from functools import cache
from itertools import pairwise

from routines.lick import Lick
from routines.warmups.parts import Picked, laid_out
from routines.warmups.steps import Step, WarmUp

_NAME = "chop-sevenths"
_CHOPS = (2, 6)
"""Eighths of a bar: two and four."""

_STRINGS = (3, 2, 1)
_FINGERS = "TIM"
_Shape = tuple[int, int, int]

_ROUNDS: tuple[tuple[tuple[tuple[str, _Shape], ...], ...], ...] = (
    (
        (("D7", (5, 3, 4)), ("G", (4, 3, 5))),
        (("C7", (3, 1, 2)), ("F", (2, 1, 3))),
        (("E7", (7, 5, 6)), ("A", (6, 5, 7))),
    ),
    (
        (("A7", (6, 5, 5)), ("D", (2, 3, 4))),
        (("C7", (9, 8, 8)), ("F", (5, 6, 7))),
        (("D7", (11, 10, 10)), ("G", (7, 8, 9))),
    ),
    (
        (("A7", (6, 5, 5)), ("D7", (5, 3, 4)), ("G", (4, 3, 5))),
        (("G7", (4, 3, 3)), ("C7", (3, 1, 2)), ("F", (2, 1, 3))),
        (("B7", (8, 7, 7)), ("E7", (7, 5, 6)), ("A", (6, 5, 7))),
    ),
)
"""By round, the steps: each a row of chords with the frets of strings 3, 2 and 1; the last chord is home."""


def _lick(changes: tuple[tuple[str, _Shape], ...]) -> Lick:
    # Home lasts to the end of four bars where there is a chain before it.
    bars = [*changes, changes[-1]] if len(changes) % 2 else list(changes)
    picks = [
        Picked(8 * bar + chop, string, fret, finger)
        for bar, (_, shape) in enumerate(bars)
        for chop in _CHOPS
        for string, fret, finger in zip(_STRINGS, shape, _FINGERS, strict=True)
    ]
    names = [chord for chord, _ in changes]
    return laid_out(
        _NAME,
        _step(changes),
        picks,
        {8 * bar: chord for bar, (chord, _) in enumerate(bars)},
        title=f"Chops from fret {changes[0][1][0]}, {' '.join(names)}",
        trains="Short chops on two and four in which the seven is heard to move.",
        key=names[-1],
        bars=len(bars),
    )


def _step(changes: tuple[tuple[str, _Shape], ...]) -> str:
    return "-".join(f"{chord.lower()}-fret-{shape[0]}" for chord, shape in changes[:1]) + (
        "-chain" if len(changes) > 2 else ""
    )


def _says(changes: tuple[tuple[str, _Shape], ...]) -> str:
    names = " ".join(chord for chord, _ in changes)
    if len(changes) > 2:
        moved = [_moves(before, after) for (_, before), (_, after) in pairwise(changes)]
        return f"{names}: {'; then '.join(moved)}"
    (_, before), (_, after) = changes
    top = before[2] - 1 == after[2]
    string, fret = (1, before[2]) if top else (3, before[0])
    moves = "the seven on top" if top else "the seven inside"
    return f"{names}: {moves}, string {string}, fret {fret} to {fret - 1}"


def _moves(before: _Shape, after: _Shape) -> str:
    """Which strings go where from one shape to the next: a fret, where no number is said."""
    by = {s: there - here for s, here, there in zip(_STRINGS, before, after, strict=True) if here != there}
    ways = {string: "up" if frets > 0 else "down" for string, frets in by.items()}
    if len(by) == len(_STRINGS) and len(set(ways.values())) == 1:
        words = f"all {ways[_STRINGS[0]]}"
    else:
        words = f"string {', '.join(f'{string} {way}' for string, way in ways.items())}"
    far = [f", string {string} by {abs(frets)} frets" for string, frets in by.items() if abs(frets) > 1]
    return words + "".join(far)


@cache
def _steps(number: int) -> tuple[Step, ...]:
    return tuple(
        Step(
            name=_step(changes),
            lick=_lick(changes),
            passes=3 if len(changes) == 2 else 2,
            says=_says(changes),
        )
        for changes in _ROUNDS[number]
    )


WARM_UP = WarmUp(
    name=_NAME,
    title="Chop sevenths",
    about="Closed chops on two and four, short enough to cut and long enough to hear the seven move.",
    watches="chops",
    rounds=len(_ROUNDS),
    steps=_steps,
)
