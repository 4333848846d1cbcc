"""Two doors: out of the same bar of D7 the same C falls to the same B, over G, then over Em.

F# rises to G in both. What differs is what stands under them: B is the third of G and the fifth of Em; over
G the fourth and the first string are open (D), over Em both are stopped at fret 2 (E).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from routines.lick import Lick
from routines.warmups.parts import laid_out, picks
from routines.warmups.steps import Step, WarmUp

_NAME = "two-doors"
_ROUNDS = 3
_BAR_EIGHTHS = 8

_BARS = {
    "D7": "4/0T 2/1I 3/2T 1/0M 4/4T 1/0M 2/1I 1/0M",
    "G": " 4/0T 2/0I 3/0T 1/0M 5/0T 2/0I .    1/0M",
    "Em": "4/2T 2/0I 3/0T 1/2M 5/0T 2/0I .    1/2M",
}
"""Each chord's bar."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Door:
    """A step: its chords, a bar each."""

    step: str
    chords: tuple[str, ...]
    passes: int
    title: str
    trains: str
    says: str


_DOORS = (
    _Door(
        step="g",
        chords=("D7", "G"),
        passes=3,
        title="The door to G",
        trains="C to B, F# to G: B is the third of G.",
        says="D7 to G: B is the third, strings 4 and 1 open",
    ),
    _Door(
        step="em",
        chords=("D7", "Em"),
        passes=3,
        title="The door to Em",
        trains="The same C to B, the same F# to G: B is the fifth of Em.",
        says="D7 to Em: the same B is the fifth, strings 4 and 1 at fret 2",
    ),
    _Door(
        step="both",
        chords=("D7", "G", "D7", "Em"),
        passes=2,
        title="Both doors",
        trains="The same two notes through both doors, one after the other.",
        says="G, then Em: C falls to B in both, only E is new",
    ),
)


def _lick(door: _Door) -> Lick:
    return laid_out(
        _NAME,
        door.step,
        picks(" | ".join(_BARS[chord] for chord in door.chords)),
        {_BAR_EIGHTHS * bar: chord for bar, chord in enumerate(door.chords)},
        title=door.title,
        trains=door.trains,
        key="G",
        bars=len(door.chords),
    )


@cache
def _steps(number: int) -> tuple[Step, ...]:
    return tuple(
        Step(name=door.step, lick=_lick(door), passes=door.passes, says=door.says) for door in _DOORS
    )


WARM_UP = WarmUp(
    name=_NAME,
    title="Two doors",
    about="D7 opens to G and to Em by the same C and B: the ear learns the fall apart from the chord.",
    watches="doors",
    rounds=_ROUNDS,
    steps=_steps,
)
