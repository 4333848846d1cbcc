"""Rolls on a held D7, G7, C7 and A7: the thumb strikes the seven last, and it falls on the next downbeat.

What changes in each roll is its seventh eighth: there the thumb goes where the seven lies, on the second
string (C), the fourth (F), the third (Bb) or the fifth, which over A7 is the seven itself (g). The thumb
brings the fall, too, on the same string; but an open fifth string cannot fall, and over D the middle finger
brings F# on the first. Over C7 the thumb begins on the fourth string: so the little finger holds the Bb, and
the other three are near their places in F.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

from routines.asks import Marks
from routines.lick import Lick
from routines.rolling import ROLLS
from routines.warmups.parts import EIGHTH_QUARTERS, Picked, laid_out, picks
from routines.warmups.steps import Step, WarmUp

_NAME = "held-sevens"
_SEVEN_EIGHTH = 6
_ROLLS = ("forward", "alternating thumb", "forward-reverse")
"""That of each round."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Held:
    """A held seventh: its shape by strings, where the seven lies, and the bar that it falls into.

    `first` is the string that the thumb begins on where it is not the roll's own.
    """

    chord: str
    home: str
    seven: str
    shape: Mapping[int, int]
    string: int
    falls: tuple[Picked, ...]
    first: int | None = None


_CHORDS = (
    _Held(
        chord="D7",
        home="G",
        seven="C",
        shape={4: 0, 3: 2, 2: 1, 1: 0},
        string=2,
        falls=picks("2/0T . 1/0M 5/0T 2/0I 1/0M 3/0T .", 8),
    ),
    _Held(
        chord="G7",
        home="C",
        seven="F",
        shape={4: 3, 3: 0, 2: 0, 1: 0},
        string=4,
        falls=picks("4/2T . 1/2M 5/0T 2/1I 1/2M 3/0T .", 8),
    ),
    _Held(
        chord="C7",
        home="F",
        seven="Bb",
        shape={4: 2, 3: 3, 2: 1, 1: 2},
        string=3,
        falls=picks("3/2T . 1/3M . 2/1I 1/3M 3/2T .", 8),
        first=4,
    ),
    _Held(
        chord="A7",
        home="D",
        seven="G",
        shape={4: 2, 3: 2, 2: 2, 1: 2},
        string=5,
        falls=picks("1/4M . 2/3I 3/2T . 2/3I 4/0T .", 8),
    ),
)


def _rolled(held: _Held, roll: str) -> list[Picked]:
    """A bar of the roll over the held seventh, its seventh eighth the thumb on the seven."""
    row = ROLLS[4.0][roll]
    bar = []
    for eighth, (string, finger) in enumerate(zip(row.strings, row.fingers, strict=True)):
        struck = held.string if eighth == _SEVEN_EIGHTH else string
        if eighth == 0 and held.first is not None:
            struck = held.first
        # The index leaves the thumb its string, and the middle finger the downbeat that it is needed for.
        index_there = eighth == _SEVEN_EIGHTH - 1 and string == held.string
        middle_wanted = eighth > _SEVEN_EIGHTH and held.falls[0].finger == finger
        if not (index_there or middle_wanted):
            bar.append(Picked(eighth, struck, 0 if struck == 5 else held.shape[struck], finger))
    return bar


def _lick(held: _Held, roll: str) -> Lick:
    bar = _rolled(held, roll)
    sevens = [pick.eighth * EIGHTH_QUARTERS for pick in bar if pick.string == 5] if held.string == 5 else []
    return laid_out(
        _NAME,
        f"{held.chord.lower()}-{roll.replace(' ', '-')}",
        [*bar, *held.falls],
        {0: held.chord, 8: held.home},
        title=f"{held.chord} held, {roll}",
        trains=_trains(held),
        key=held.home,
        bars=2,
        marks=Marks(fifth_seven=frozenset(sevens)),
    )


def _trains(held: _Held) -> str:
    fall = held.falls[0]
    brings = "the same thumb brings its fall"
    if fall.finger != "T":
        brings = f"the middle finger brings its fall on string {fall.string}"
    return f"{held.seven} under the thumb on the seventh eighth, and {brings}."


@cache
def _steps(number: int) -> tuple[Step, ...]:
    roll = _ROLLS[number]
    return tuple(
        Step(
            name=f"{held.chord.lower()}-{roll.replace(' ', '-')}",
            lick=_lick(held, roll),
            says=f"{held.chord}: {held.seven} under the thumb, string {held.string}",
        )
        for held in _CHORDS
    )


WARM_UP = WarmUp(
    name=_NAME,
    title="Held sevenths",
    about="Rolls on held sevenths: the thumb learns on which string each chord keeps its seven.",
    watches="sevens",
    rounds=len(_ROLLS),
    steps=_steps,
)
