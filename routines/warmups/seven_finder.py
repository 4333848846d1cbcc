"""The seven finder: one string a round, and on it the seven of each chord that a jam calls, and its fall.

A chord is called; half a beat later its seven sounds, three times on one string, and falls at the next chord.
Nothing else is played, so the eyes may look for the next one. The chords go round by fifths. The fourth
string has no round: it is a D as the first is, and its frets are the same.
"""

from __future__ import annotations

from functools import cache

from routines.chords import Chord, home_of, seven_falls
from routines.keys import CALLED
from routines.lick import Lick
from routines.neck import Neck
from routines.warmups.parts import Picked, laid_out
from routines.warmups.steps import Step, WarmUp

_NAME = "seven-finder"
_STRINGS = (2, 1, 3)
"""That of each round."""

_FINGERS = {3: "TITIT", 2: "ITITI", 1: "MIMIM"}
_SEVENS, _FALLS = (2, 4, 6), (8, 10)
"""Eighths of the two bars that a chord and its fall take."""

_BOTH_BARS = 16
_SEVENTHS = tuple(Chord(Chord.parse(key).root.up(4, 7), "7") for key in reversed(CALLED))


def _found(chord: Chord, string: int) -> tuple[int, int]:
    """The lowest fret of its seven that has room to fall, and how far it falls."""
    fall = seven_falls(chord, home_of(chord))
    half_steps = 0 if fall is None else fall.half_steps
    neck = Neck()
    fret = next(
        fret for fret in range(-half_steps, 13) if chord.function_of(neck.midi(string, fret)) == "seven"
    )
    return fret, half_steps


def _picks(chord: Chord, string: int, begin: int) -> list[Picked]:
    fret, half_steps = _found(chord, string)
    frets = [*[fret] * len(_SEVENS), *[fret + half_steps] * len(_FALLS)]
    return [
        Picked(begin + eighth, string, there, finger)
        for eighth, there, finger in zip((*_SEVENS, *_FALLS), frets, _FINGERS[string], strict=True)
    ]


def _pairs() -> tuple[tuple[Chord, Chord], ...]:
    return tuple(zip(_SEVENTHS[::2], _SEVENTHS[1::2], strict=True))


def _step(pair: tuple[Chord, Chord], string: int) -> str:
    names = "-".join(chord.symbol.lower().replace("#", "-sharp-") for chord in pair)
    return f"{names}-string-{string}"


def _lick(pair: tuple[Chord, Chord], string: int) -> Lick:
    first, second = pair
    chords = {0: first, 8: home_of(first), 16: second, 24: home_of(second)}
    return laid_out(
        _NAME,
        _step(pair, string),
        [*_picks(first, string, 0), *_picks(second, string, _BOTH_BARS)],
        {eighth: chord.symbol for eighth, chord in chords.items()},
        title=f"{first.symbol} and {second.symbol} on string {string}",
        trains=f"Where string {string} keeps the seven of {first.symbol} and of {second.symbol}.",
        key=home_of(second).symbol,
        bars=4,
    )


def _says(pair: tuple[Chord, Chord], string: int) -> str:
    sevens = " ".join(f"{chord.symbol}: {chord.tone('seven')}." for chord in pair)
    return f"String {string}. {sevens}"


@cache
def _steps(number: int) -> tuple[Step, ...]:
    string = _STRINGS[number]
    return tuple(
        Step(name=_step(pair, string), lick=_lick(pair, string), passes=1, says=_says(pair, string))
        for pair in _pairs()
    )


WARM_UP = WarmUp(
    name=_NAME,
    title="Seven finder",
    about="The seven of every chord that a jam calls, on one string after another, each with its fall.",
    watches="strings",
    rounds=len(_STRINGS),
    steps=_steps,
)
