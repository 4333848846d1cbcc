"""The marks of a lick text: what each letter means, and whether it says something where it stands.

The problem: a mark that fits no note would be dropped in silence, and the player would believe that it
counts. So something must have come of each mark: an ask that it places, a drone that it makes a seven, a
seven that it frees.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

from routines.asks import Asked, Marks
from routines.errors import BadLickText
from routines.tab_notes import quarters_of
from routines.tab_signs import Sign


def read_marks(signs: Sequence[Sign]) -> Marks:
    """Turn the signs of the mark lines into marks at onsets."""

    def at(mark: str) -> frozenset[float]:
        return frozenset(quarters_of(sign.place) for sign in signs if mark in sign.text)

    return Marks(core=at("*"), resolve=at("r"), third=at("3"), fifth_seven=at("7"), colour=at("x"))


_RULES: Mapping[str, tuple[Callable[[Asked, float], bool], str]] = {
    "r": (
        lambda asked, onset: any(ask.marked and ask.place_quarters == onset for ask in asked.sevenths),
        "expected a note that a flat seven before it falls to, before its next chord ends",
    ),
    "3": (
        lambda asked, onset: any(ask.marked and ask.place_quarters == onset for ask in asked.thirds),
        "expected a note that a seventh chord's third before it goes to, before its next chord ends",
    ),
    "7": (
        lambda asked, onset: any(
            note.role == "seven" and (note.string, note.fret, note.onset_quarters) == (5, 0, onset)
            for note in asked.notes
        ),
        "expected the open fifth string where it is the flat seven of the chord",
    ),
    "x": (
        lambda asked, onset: any(
            ask.marked and ask.how == "colour" and asked.notes[ask.note].onset_quarters == onset
            for ask in asked.sevenths
        ),
        "expected a flat seven",
    ),
}
"""Mark to what must have come of it; `*` fits any note."""


def check_marks(signs: Sequence[Sign], asked: Asked, file: str) -> None:
    """Refuse every mark of which nothing came.

    Raises
    ------
    BadLickText
        Naming the mark's place and what was expected there.
    """
    for sign in signs:
        for offset, mark in enumerate(sign.text):
            if mark not in _RULES:
                continue
            held, expected = _RULES[mark]
            if not held(asked, quarters_of(sign.place)):
                why = f"mark {mark} does not fit here: {expected}"
                raise BadLickText(file, sign.line, sign.column + offset, why)
