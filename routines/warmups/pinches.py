"""Guide-tone pinches once round the circle of fifths: third and seven together, down a fret at each chord.

In a chain of sevenths both fall a half step and change jobs; only at the plain chord that ends it does the
third rise. Four chains of three sevenths make the round, each beginning on the chord that ended the one
before it. Each round has another pair of strings.
"""

from __future__ import annotations

from functools import cache

from routines.asks import Marks
from routines.chords import Chord
from routines.lick import Lick
from routines.neck import Neck
from routines.warmups.parts import EIGHTH_QUARTERS, Picked, laid_out
from routines.warmups.steps import Step, WarmUp

_NAME = "pinches"
_CHAINS = (
    ("F#7", "B7", "E7", "A"),
    ("A7", "D7", "G7", "C"),
    ("C7", "F7", "Bb7", "Eb"),
    ("Eb7", "Ab7", "Db7", "Gb"),
)
_PAIRS = ((3, 1), (3, 2), (4, 3))
"""The two strings of each round."""

_STROKES, _STROKES_HOME = (0, 3, 6), (0, 3)
"""Eighths of a bar: three and three and two, and home to rest on."""

_LOWEST_FRET, _HIGHEST_FRET = 4, 15
"""Of the first pinch of a chain; there are three frets to fall."""


def _first_frets(chord: Chord, strings: tuple[int, int]) -> tuple[int, int]:
    """The lowest frets that hold third and seven on two strings with room to fall, close together."""
    neck = Neck()
    frets = range(_LOWEST_FRET, _HIGHEST_FRET + 1)
    found = [
        (low, high)
        for low in frets
        for high in frets
        if abs(low - high) <= 2
        and {chord.function_of(neck.midi(strings[0], low)), chord.function_of(neck.midi(strings[1], high))}
        == {"third", "seven"}
    ]
    return min(found, key=sum)


def _pinches(chain: tuple[str, ...], strings: tuple[int, int]) -> list[Picked]:
    first = _first_frets(Chord.parse(chain[0]), strings)
    neck = Neck()
    picks = []
    for bar, symbol in enumerate(chain):
        chord, home = Chord.parse(symbol), bar == len(chain) - 1
        for string, fret in zip(strings, first, strict=True):
            there = fret - bar
            if home and chord.function_of(neck.midi(string, there)) is None:
                there += 2
            picks += [Picked(8 * bar + eighth, string, there) for eighth in _STROKES[: 2 if home else 3]]
    return picks


def _lick(chain: tuple[str, ...], strings: tuple[int, int]) -> Lick:
    root = chain[0].removesuffix("7")
    return laid_out(
        _NAME,
        _step(chain, strings),
        _pinches(chain, strings),
        {8 * bar: chord for bar, chord in enumerate(chain)},
        title=f"{root} round to {chain[-1]}, strings {strings[0]} and {strings[1]}",
        trains="Third and seven in one pinch, both a fret lower at each seventh, until the third may rise.",
        key=chain[-1],
        bars=len(chain),
        marks=Marks(third=frozenset(8 * EIGHTH_QUARTERS * bar for bar in range(1, len(chain)))),
    )


def _step(chain: tuple[str, ...], strings: tuple[int, int]) -> str:
    return f"{chain[0].lower().replace('#', '-sharp-')}-strings-{strings[0]}-{strings[1]}"


@cache
def _steps(number: int) -> tuple[Step, ...]:
    strings = _PAIRS[number]
    return tuple(
        Step(
            name=_step(chain, strings),
            lick=_lick(chain, strings),
            passes=1,
            says=f"{' '.join(chain)}: both fall, at {chain[-1]} the third rises",
        )
        for chain in _CHAINS
    )


WARM_UP = WarmUp(
    name=_NAME,
    title="Pinches round the circle",
    about="All twelve sevenths by their two guide tones: both fall, until the third rises at home.",
    watches="chains",
    rounds=len(_PAIRS),
    steps=_steps,
)
