"""The variety of a set of licks: where the last seven lies, which roll carries it, how it ends.

Conventions: the last seven is that of `routines.checker.places.last_seven`; eighths are counted from 1 in
their bar, and what begins inside an eighth counts to it. A bar's roll is named where the right hand strikes
the strings of one of the five rolls in at least six of its eight eighths; every other bar is a pattern of its
own, told by its fingers (a dot where none strikes). On e1 means: on the first eighth of the bar where the
chord changes, in the seven's own octave.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

from routines.checker.places import EIGHTH_QUARTERS, bar_of, eighth_of, last_seven
from routines.fingers import FINGERS
from routines.lick import Lick

ROLLS: Mapping[str, tuple[int, ...]] = MappingProxyType(
    {
        "forward": (3, 2, 1, 5, 2, 1, 5, 1),
        "backward": (1, 2, 5, 1, 2, 5, 1, 2),
        "alternating": (3, 2, 5, 1, 4, 2, 5, 1),
        "forward-reverse": (3, 2, 1, 5, 1, 2, 3, 1),
        "index-led": (2, 1, 5, 2, 1, 5, 2, 1),
    }
)
"""Name of a roll to the string of each of its eighths."""

ROLL_EIGHTHS = 6
"""So many of eight agree where a bar is one of the rolls."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Figure:
    """One figure of variety.

    Attributes
    ----------
    name : str
    of : callable
        From a lick to what it has there.
    most : float
        No value may have more than this share of the licks.
    """

    name: str
    of: Callable[[Lick], str]
    most: float


def seven_string(lick: Lick) -> str:
    """The string of the last seven."""
    ask = last_seven(lick)
    return "none" if ask is None else f"string {lick.notes[ask.note].string}"


def seven_eighth(lick: Lick) -> str:
    """The eighth of the last seven in its bar."""
    ask = last_seven(lick)
    return "none" if ask is None else f"e{int(eighth_of(lick, lick.notes[ask.note].onset_quarters))}"


def seven_roll(lick: Lick) -> str:
    """The roll of the last seven's bar, or the fingers of a bar that is none."""
    ask = last_seven(lick)
    return "none" if ask is None else roll_of(lick, bar_of(lick, lick.notes[ask.note].onset_quarters))


def roll_of(lick: Lick, bar: int) -> str:
    """Name the roll of a bar, or tell its fingers."""
    begin = (bar - 1) * lick.quarters_a_bar
    eighths = round(lick.quarters_a_bar / EIGHTH_QUARTERS)
    strings: list[list[int]] = [[] for _ in range(eighths)]
    letters = [""] * eighths
    for note in lick.notes:
        place = (note.onset_quarters - begin) / EIGHTH_QUARTERS
        if note.picked and 0 <= place < eighths:
            strings[int(place)].append(note.string)
            letters[int(place)] += note.finger
    for name, roll in ROLLS.items():
        struck = sum(at == [string] for at, string in zip(strings, roll, strict=False))
        if len(roll) == eighths and struck >= ROLL_EIGHTHS:
            return name
    in_order = ("".join(sorted(at, key=FINGERS.index)) or "." for at in letters)
    return "".join(at if len(at) < 2 else f"({at})" for at in in_order)


def ending(lick: Lick) -> str:
    """The eighth of the last onset in its bar, and the role of the note there, or that it is a pinch."""
    last = lick.notes[-1]
    notes = [note for note in lick.notes if note.onset_quarters == last.onset_quarters]
    return f"e{eighth_of(lick, last.onset_quarters):g} {last.role if len(notes) == 1 else 'pinch'}"


def off_the_downbeat(lick: Lick) -> bool | None:
    """Whether the last seven resolves other than on e1; None where it is colour."""
    ask = last_seven(lick)
    if ask is None or ask.place_quarters is None:
        return None
    on_it = ask.place_quarters == ask.change_quarters and ask.place_quarters % lick.quarters_a_bar == 0.0
    return not (on_it and ask.how == "resolve")


FIGURES: tuple[Figure, ...] = (
    Figure(name="string of the last seven", of=seven_string, most=2 / 5),
    Figure(name="its eighth in the bar", of=seven_eighth, most=1 / 4),
    Figure(name="roll of its bar", of=seven_roll, most=1 / 4),
    Figure(name="ending", of=ending, most=1 / 4),
)
"""Figures with a limit."""

OFF_LEAST = 1 / 3
"""At least this share of the licks that resolve does so other than on e1."""


def counted(figure: Figure, licks: Sequence[Lick]) -> Counter[str]:
    """Count what licks have."""
    return Counter(figure.of(lick) for lick in licks)


def off_share(licks: Sequence[Lick]) -> float:
    """Share of the licks that resolve which do so other than on e1; 1 where none resolves."""
    off = [where for lick in licks if (where := off_the_downbeat(lick)) is not None]
    return sum(off) / len(off) if off else 1.0


def beyond_limits(licks: Sequence[Lick]) -> tuple[str, ...]:
    """Say in words which figures of a set lie beyond their limits."""
    words = []
    for figure in FIGURES:
        value, many = counted(figure, licks).most_common(1)[0]
        if many > figure.most * len(licks):
            words.append(f"{figure.name}: {value} in {many} of {len(licks)}, at most {figure.most:.0%}")
    if (share := off_share(licks)) < OFF_LEAST:
        words.append(f"resolved other than on e1: {share:.0%}, at least {OFF_LEAST:.0%}")
    return tuple(words)
