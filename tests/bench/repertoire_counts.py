"""What there is in a set of licks, counted, and what the repertoire is to hold.

Conventions: a lick's change is counted by the key that sounds: V7-I, I7-IV, another, or colour alone. A chop
is a pinch of stopped strings only; a lick chops with the seven on top where the highest note of one is a flat
seven. Minimal is a lick in which one flat seven sounds, once. Up the neck is above fret 7.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby
from types import MappingProxyType

from routines.chords import Chord
from routines.library import changes_of, shape_changes_of, techniques_of
from routines.lick import Lick, TargetNote
from routines.shapes import shaped

UP_THE_NECK_FRET = 7
_CHOP_STRINGS = 2
_FIFTH_UP, _FOURTH_UP = 7, 5


def shape_key(lick: Lick) -> str:
    """The key whose shapes the hand makes under the capo."""
    return shaped(Chord.parse(lick.key), lick.neck.capo).symbol


def relations(lick: Lick) -> tuple[str, ...]:
    """How its changes stand in its key: V7-I, I7-IV, another change; colour; colour on IV."""
    found = [_relation(lick, ask.chord, ask.next_chord) for ask in lick.sevenths if ask.how != "colour"]
    for ask in lick.sevenths:
        if ask.how == "colour":
            found.append("colour on IV" if _degree(lick, ask.chord) == _FOURTH_UP else "colour")
    return tuple(dict.fromkeys(found))


def _degree(lick: Lick, symbol: str) -> int:
    return (Chord.parse(symbol).root.pitch_class - Chord.parse(lick.key).root.pitch_class) % 12


def _relation(lick: Lick, chord: str, next_chord: str) -> str:
    degrees = _degree(lick, chord), _degree(lick, next_chord)
    return {(_FIFTH_UP, 0): "V7-I", (0, _FOURTH_UP): "I7-IV"}.get(degrees, "another change")


def pinches(lick: Lick) -> Iterator[list[TargetNote]]:
    """The notes of each pinch, the lowest first."""
    for _, notes in groupby(lick.notes, key=lambda note: note.onset_quarters):
        together = [note for note in notes if note.picked]
        if len(together) >= _CHOP_STRINGS:
            yield together


def chops(lick: Lick) -> bool:
    """Whether a pinch of stopped strings has the flat seven on top."""
    return any(
        all(note.fret for note in notes) and max(notes, key=lambda note: note.midi).role == "seven"
        for notes in pinches(lick)
    )


def up_the_neck(lick: Lick) -> bool:
    """Whether a note lies above fret 7."""
    return max(note.fret for note in lick.notes) > UP_THE_NECK_FRET


def minimal(lick: Lick) -> bool:
    """Whether one flat seven sounds, once."""
    return len(lick.sevenths) == 1


COUNTS: Mapping[str, Callable[[Lick], Sequence[str]]] = MappingProxyType(
    {
        "changes": changes_of,
        "changes as shapes": shape_changes_of,
        "in the key": relations,
        "keys": lambda lick: (lick.key,),
        "keys as shapes": lambda lick: (shape_key(lick),),
        "capo": lambda lick: (f"capo {lick.neck.capo}",),
        "tuning": lambda lick: (lick.neck.tuning,),
        "hand": lambda lick: (lick.hand,),
        "bars": lambda lick: (f"{lick.bars} bar{'s' * (lick.bars > 1)}",),
        "meter": lambda lick: (lick.meter,),
        "use": lambda lick: (lick.use or "any",),
        "techniques": lambda lick: techniques_of(lick) or ("picked only",),
        "position": lambda lick: ("up the neck" if up_the_neck(lick) else "low",),
        "sevens": lambda lick: (f"{len(lick.sevenths)}",),
        "others": lambda lick: tuple(
            name for name, has in (("chop", chops), ("minimal", minimal)) if has(lick)
        ),
    }
)
"""What is counted: name to what a lick counts for."""


@dataclass(frozen=True, slots=True)
class Wanted:
    """So many licks at least count for a value of a row of `COUNTS`."""

    count: str
    value: str
    least: int


LICKS_LEAST = 90

WANTED: tuple[Wanted, ...] = (
    *(Wanted("keys", key, 5) for key in ("G", "C", "D", "F", "A", "E")),
    Wanted("in the key", "V7-I", 30),
    Wanted("in the key", "I7-IV", 10),
    Wanted("in the key", "colour on IV", 3),
    *(Wanted("hand", hand, 15) for hand in ("easy", "ready", "quick")),
    *(Wanted("bars", bars, 1) for bars in ("1 bar", "2 bars", "3 bars", "4 bars")),
    *(Wanted("use", use, 5) for use in ("kick-off", "turnaround", "fill", "ending", "backup")),
    Wanted("meter", "3/4", 5),
    Wanted("position", "up the neck", 10),
    *(Wanted("techniques", technique, 5) for technique in ("hammer", "pull", "slide", "choke", "pinch")),
    Wanted("others", "chop", 3),
    Wanted("others", "minimal", 10),
)
"""What the repertoire is to hold, beside `LICKS_LEAST` licks."""


def counts(name: str, licks: Sequence[Lick]) -> Counter[str]:
    """Count licks by a row of `COUNTS`."""
    return Counter(value for lick in licks for value in COUNTS[name](lick))


def falls_short(licks: Sequence[Lick]) -> tuple[str, ...]:
    """Say in words what a set lacks."""
    words = [f"licks: {len(licks)}, wanted {LICKS_LEAST}"] if len(licks) < LICKS_LEAST else []
    for want in WANTED:
        if (many := counts(want.count, licks)[want.value]) < want.least:
            words.append(f"{want.count}: {many} of {want.value}, wanted {want.least}")
    return tuple(words)
