"""Open-string rolls, soft, after tuning: the right hand alone.

The first step strikes one string with two fingers in turn. What is loud there is the finger and not the
string, which no roll can tell, since in a roll each finger has strings of its own.
"""

from __future__ import annotations

from functools import cache

from routines.chords import Chord
from routines.lick import Lick
from routines.neck import Neck
from routines.rolling import ROLLS, roll_bar
from routines.warmups.parts import Picked, laid_out
from routines.warmups.steps import Step, WarmUp

_NAME = "open-strings"
_TITLE = "Open strings, soft"
_BARS = 2
_ROLLS = (
    ("forward", "backward", "alternating thumb"),
    ("alternating thumb", "forward-reverse", "index-led"),
    ("forward", "backward", "forward-reverse"),
)
"""Those of each round."""


def _even() -> Lick:
    """Thumb and index in turn on the third string, then index and middle on the first."""
    thumb_and_index = [Picked(eighth, 3, 0, "TI"[eighth % 2]) for eighth in range(8)]
    index_and_middle = [Picked(8 + eighth, 1, 0, "MI"[eighth % 2]) for eighth in range(7)]
    return laid_out(
        _NAME,
        "even",
        [*thumb_and_index, *index_and_middle],
        {0: "G"},
        title="One string, two fingers",
        trains="Two fingers in turn on one string, until nobody hears which of them it was.",
        key="G",
        bars=_BARS,
    )


def _rolled(roll: str) -> Lick:
    """Two bars of a roll on the open strings."""
    step = roll.replace(" ", "-")
    home = Chord.parse("G")
    bar = roll_bar(ROLLS[4.0][roll], home, Neck())
    picks = [
        Picked(8 * number + eighth, note.string, 0, note.finger)
        for number in range(_BARS)
        for eighth, note in enumerate(bar)
    ]
    return laid_out(
        _NAME,
        step,
        picks,
        {0: "G"},
        title=f"{roll[0].upper()}{roll[1:]} roll, open",
        trains=f"The {roll} roll on open strings, no note louder than its neighbour.",
        key="G",
        bars=_BARS,
        kind="roll",
    )


@cache
def _steps(number: int) -> tuple[Step, ...]:
    even = Step(name="even", lick=_even(), says="String 3: thumb, index. String 1: middle, index. All alike.")
    rolls = (
        Step(
            name=roll.replace(" ", "-"),
            lick=_rolled(roll),
            says=f"{roll[0].upper()}{roll[1:]} roll, as soft as still rings",
        )
        for roll in _ROLLS[number]
    )
    return (even, *rolls)


WARM_UP = WarmUp(
    name=_NAME,
    title=_TITLE,
    about="Soft rolls on open strings right after tuning: the three fingers come to one loudness.",
    watches="levels",
    rounds=len(_ROLLS),
    steps=_steps,
)
