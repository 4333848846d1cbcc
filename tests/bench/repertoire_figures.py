"""The variety of a set of licks: where the last seven lies, which roll carries it, how it ends.

Conventions: the last seven is that of `routines.checker.places.last_seven`; eighths are counted from 1 in
their bar, and what begins inside an eighth counts to it. A roll is an order of fingers, for its strings move
with the chord: a bar has the one of the five rolls whose fingers it follows in the most eighths, and in at
least half of all its eighths (a pinch and a rest follow none; of two alike the one whose strings it strikes).
A waltz bar is laid beside their first six eighths. Every other bar is no roll, and no limit of the rolls
binds it: pinches where at least half of its strokes are, few strokes where at most half of its eighths have
one, else a pattern of its own. On e1 means: on the first eighth of the bar where the chord changes, in the
seven's own octave.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from operator import itemgetter

from routines import rolling
from routines.checker.places import EIGHTH_QUARTERS, bar_of, eighth_of, last_seven
from routines.fingers import FINGERS
from routines.lick import Lick, TargetNote
from routines.rolling import Roll

ROLLS: Mapping[str, Roll] = rolling.ROLLS[4.0]
"""Name of a roll to its strings and fingers, eighth by eighth."""

ROLL_SHARE = 0.5
"""A bar is named after a roll whose fingers strike at least this share of its eighths."""

NO_ROLL = frozenset({"pinches", "few strokes", "its own", "none"})
"""What a bar is else; "none" without a seven."""


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
    unbound : set of str
        Values that may.
    """

    name: str
    of: Callable[[Lick], str]
    most: float
    unbound: frozenset[str] = frozenset()


def seven_string(lick: Lick) -> str:
    """The string of the last seven."""
    ask = last_seven(lick)
    return "none" if ask is None else f"string {lick.notes[ask.note].string}"


def seven_eighth(lick: Lick) -> str:
    """The eighth of the last seven in its bar."""
    ask = last_seven(lick)
    return "none" if ask is None else f"e{int(eighth_of(lick, lick.notes[ask.note].onset_quarters))}"


def seven_roll(lick: Lick) -> str:
    """The roll of the last seven's bar, or what the bar is else."""
    ask = last_seven(lick)
    return "none" if ask is None else roll_of(lick, bar_of(lick, lick.notes[ask.note].onset_quarters))


def seven_fingers(lick: Lick) -> str:
    """The fingers of the last seven's bar."""
    ask = last_seven(lick)
    return "none" if ask is None else fingers_of(lick, bar_of(lick, lick.notes[ask.note].onset_quarters))


def roll_of(lick: Lick, bar: int) -> str:
    """Name the roll that a bar mostly follows, or say what it is else: a value of `NO_ROLL`."""
    strokes = _strokes(lick, bar)
    name = max(ROLLS, key=lambda name: _followed(strokes, ROLLS[name]))
    if _followed(strokes, ROLLS[name])[0] >= ROLL_SHARE * len(strokes):
        return name
    struck = [at for at in strokes if at]
    if 2 * sum(len(at) > 1 for at in struck) >= len(struck) > 0:
        return "pinches"
    return "few strokes" if 2 * len(struck) <= len(strokes) else "its own"


def fingers_of(lick: Lick, bar: int) -> str:
    """Tell the fingers of a bar eighth by eighth: a pinch in brackets, a dot where none strikes."""
    letters = ["".join(sorted(_fingers(at), key=FINGERS.index)) for at in _strokes(lick, bar)]
    return "".join(f"({at})" if len(at) > 1 else at or "." for at in letters)


def _strokes(lick: Lick, bar: int) -> list[list[TargetNote]]:
    """What the right hand strikes at each eighth of a bar."""
    begin = (bar - 1) * lick.quarters_a_bar
    strokes: list[list[TargetNote]] = [[] for _ in range(round(lick.quarters_a_bar / EIGHTH_QUARTERS))]
    for note in lick.notes:
        place = (note.onset_quarters - begin) / EIGHTH_QUARTERS
        if note.picked and 0 <= place < len(strokes):
            strokes[int(place)].append(note)
    return strokes


def _followed(strokes: Sequence[Sequence[TargetNote]], roll: Roll) -> tuple[int, int]:
    """In how many eighths a bar has the finger of a roll, and in how many its string."""
    fingers = sum(_fingers(at) == finger for at, finger in zip(strokes, roll.fingers, strict=False))
    strings = sum([n.string for n in at] == [s] for at, s in zip(strokes, roll.strings, strict=False))
    return fingers, strings


def _fingers(notes: Sequence[TargetNote]) -> str:
    return "".join(note.finger for note in notes)


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
    Figure(name="roll of its bar", of=seven_roll, most=1 / 4, unbound=NO_ROLL),
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
        bound = {v: n for v, n in counted(figure, licks).items() if v not in figure.unbound}
        value, many = max(bound.items(), key=itemgetter(1), default=("", 0))
        if many > figure.most * len(licks):
            words.append(f"{figure.name}: {value} in {many} of {len(licks)}, at most {figure.most:.0%}")
    if (share := off_share(licks)) < OFF_LEAST:
        words.append(f"resolved other than on e1: {share:.0%}, at least {OFF_LEAST:.0%}")
    return tuple(words)
