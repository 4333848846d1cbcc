"""How items and guide tones are named to a player: a lick with its key and part, a seven with its tone.

Chords and keys are named as they sound, also under a capo.
"""

from __future__ import annotations

import re
from functools import lru_cache

from routines.chords import Chord, seven_falls, third_moves
from routines.errors import BadRoutine
from routines.journal.records import Item, Voice
from routines.warmups.steps import LICK_BEGINS

"""What the lick of a warm-up's step begins with; its name and that of the step follow."""

_UNITS = {"": "", "traffic": "in traffic", "change": "the change"}
_NUMBERS = ("", "first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth")


def item_name(item: Item, title: str) -> str:
    """Name a lick, its key and the part of it that is practised.

    Parameters
    ----------
    item : Item
    title : str
        The lick's; that of a moved lick ends with its key already, that of a part may end with the part.

    Returns
    -------
    str
        Such as "Slab Wood Supper in A, the change".
    """
    ending, part = f" in {item.key}", unit_words(item.unit)
    title = whole_title(title)
    name = title if title.endswith(ending) else f"{title}{ending}"
    return ", ".join(filter(None, (name, part)))


def whole_title(title: str) -> str:
    """The title of the whole lick, also where that of a part was stored: "Wet Rope, the change"."""
    return _PART.sub("", title)


_PART = re.compile(r", (the change|change \d+|in traffic|in a form of \d+|bars? \d+(-\d+)?)$")


def unit_words(unit: str) -> str:
    """Name a part of a lick; empty for all of it."""
    if unit in _UNITS:
        return _UNITS[unit]
    if unit.startswith("change"):
        number = unit.removeprefix("change")
        known = number.isdecimal() and int(number) < len(_NUMBERS)
        return f"the {_NUMBERS[int(number)]} change" if known else f"change {number}"
    if unit.startswith("form "):
        return f"in a form of {unit.removeprefix('form ')}"
    return f"bars {unit}" if "-" in unit else f"bar {unit}"


def warm_up_of(lick: str) -> str:
    """Name of the warm-up that a lick is a step of; empty where it is none."""
    return lick.removeprefix(LICK_BEGINS).partition("/")[0] if lick.startswith(LICK_BEGINS) else ""


@lru_cache(maxsize=256)
def guide_tone(chord: str, voice: Voice) -> str:
    """Spell a guide tone; where the chord is none that can be read, it is called by its voice."""
    try:
        tone = Chord.parse(chord).tone(voice)
    except BadRoutine:
        tone = None
    return f"the {voice}" if tone is None else str(tone)


@lru_cache(maxsize=512)
def goes_to(chord: str, next_chord: str, voice: Voice) -> str:
    """Spell where a guide tone goes in the next chord; empty where it goes nowhere."""
    try:
        here, there = Chord.parse(chord), Chord.parse(next_chord)
    except BadRoutine:
        return ""
    move = seven_falls(here, there) if voice == "seven" else third_moves(here, there)
    return "" if move is None else str(move.to_tone)
