"""A lick through the keys: G shapes under the capo, up the neck fret by fret, as a jam would ask for it.

The frets stay as they are written. Between two keys there is time to move the capo and to see to the fifth
string, and the words say where both go.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cache

from routines.chords import Chord
from routines.errors import BadRoutine
from routines.library import load
from routines.lick import Lick
from routines.moving.answers import CapoAnswer
from routines.moving.capo import capo_answer
from routines.moving.fifth import fifth_words
from routines.warmups.parts import lick_id
from routines.warmups.steps import CAPO_SEC, Step, WarmUp

_NAME = "through-the-keys"
_LICK = "slab-wood-supper"
_KEYS = (("G", "A", "Bb"), ("B", "C"))
"""Those of each round: the capo only ever goes up."""

_PASSES, _REST_BARS = 3, 1


def _in(key: str) -> Lick:
    answer = capo_answer(load(_LICK), Chord.parse(key))
    if not isinstance(answer, CapoAnswer):
        raise BadRoutine(answer)
    return replace(answer.lick, id=lick_id(_NAME, key.lower()), file="", kind="drill")


def _step(key: str) -> Step:
    lick = _in(key)
    fret = lick.neck.capo
    return Step(
        name=key.lower(),
        lick=lick,
        passes=_PASSES,
        rest_bars=_REST_BARS,
        says=f"{key}: capo {fret}, {fifth_words(lick.neck)}" if fret else f"{key}: no capo",
        rest_sec=CAPO_SEC if fret else 2.0,
    )


@cache
def _steps(number: int) -> tuple[Step, ...]:
    return tuple(_step(key) for key in _KEYS[number])


WARM_UP = WarmUp(
    name=_NAME,
    title="Through the keys",
    about="One easy lick in G, A, Bb, B and C by capo: the frets stay, and so should what you do with them.",
    watches="keys",
    rounds=len(_KEYS),
    steps=_steps,
)
