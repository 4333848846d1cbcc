"""The wandering seven: the same bar and the same fall, the seven on eighth 5, 6, 7 and 8 in turn.

All else keeps its order: three notes of the bar's second half close up round the seven as it moves. So what
is heard is how long it hangs, and how hard it leans on the bar line. Each round has another change, and its
seven another string.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from routines.lick import Lick
from routines.warmups.parts import Picked, laid_out
from routines.warmups.steps import Step, WarmUp

_NAME = "wandering-seven"
_FIRST, _LAST = 5, 8
"""The eighths that it goes through, counted from 1."""

_Struck = tuple[int, int]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Change:
    """A change; places are strings and frets, by the eighths on which they stand (counted from 0)."""

    chord: str
    home: str
    seven: str
    due: str
    first_half: dict[int, _Struck]
    around: tuple[_Struck, ...]
    at: _Struck
    falls: dict[int, _Struck]


_CHANGES = (
    _Change(
        chord="D7",
        home="G",
        seven="C",
        due="B",
        first_half={0: (4, 4), 2: (1, 0), 3: (5, 0)},
        around=((1, 0), (3, 2), (1, 0)),
        at=(2, 1),
        falls={8: (2, 0), 10: (1, 0), 11: (5, 0), 12: (3, 0)},
    ),
    _Change(
        chord="G7",
        home="C",
        seven="F",
        due="E",
        first_half={0: (3, 0), 2: (2, 0), 3: (5, 0)},
        around=((2, 0), (3, 0), (2, 0)),
        at=(1, 3),
        falls={8: (1, 2), 10: (2, 1), 11: (5, 0), 12: (3, 0)},
    ),
    _Change(
        chord="C7",
        home="F",
        seven="Bb",
        due="A",
        first_half={0: (4, 2), 2: (1, 2), 3: (5, 0)},
        around=((1, 2), (2, 1), (1, 2)),
        at=(3, 3),
        falls={8: (3, 2), 10: (1, 3), 11: (2, 1), 12: (3, 2)},
    ),
)
"""That of each round."""


def _lick(change: _Change, eighth: int) -> Lick:
    second_half = list(change.around)
    second_half.insert(eighth - _FIRST, change.at)
    places = {**change.first_half, **dict(enumerate(second_half, _FIRST - 1)), **change.falls}
    return laid_out(
        _NAME,
        _step(change, eighth),
        [Picked(place, string, fret) for place, (string, fret) in places.items()],
        {0: change.chord, 8: change.home},
        title=f"{change.seven} on eighth {eighth}",
        trains=f"{change.seven} on eighth {eighth} and {change.due} on the downbeat, all else as before.",
        key=change.home,
        bars=2,
    )


def _step(change: _Change, eighth: int) -> str:
    return f"{change.chord.lower()}-eighth-{eighth}"


@cache
def _steps(number: int) -> tuple[Step, ...]:
    change = _CHANGES[number]
    return tuple(
        Step(
            name=_step(change, eighth),
            lick=_lick(change, eighth),
            says=f"{change.chord} to {change.home}: {change.seven} on eighth {eighth}",
        )
        for eighth in range(_FIRST, _LAST + 1)
    )


WARM_UP = WarmUp(
    name=_NAME,
    title="The wandering seven",
    about="The seven moves through the second half of a bar while its fall stays: hear where it leans most.",
    watches="places",
    rounds=len(_CHANGES),
    steps=_steps,
)
