"""The screen of neck and chord: any chord on any neck, and what to show of it, by keys or mouse.

Two rows under the neck: what there is to choose, and the values of the one that is open. Letters A to G set
the root, # raises it by a half step.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from feedback.screen.furniture import hint
from feedback.screen.lettering import width
from feedback.screen.marks import READABLE, Box, Mark, Picture, Sheet, Spot, Text
from feedback.screen.neck.choices import ROWS, Value, roots, values, with_shape
from feedback.screen.neck.picture import NeckState, neck_picture
from feedback.screen.staging import House, Move
from routines.chords import Chord
from routines.pitch import Tone

_SIDE = 24.0
_HIGH = 50.0
_GAP = 8.0
_FOOT = 2 * _HIGH + 56.0
_HINT = "A to G, #: the root   enter: choose   escape: back"


def enter(house: House, what: Any = None) -> NeckAndChord:
    """Open the screen.

    Parameters
    ----------
    house : House
        Its setting "neck" says which way round the neck is drawn.
    what : str or NeckState, optional
        A chord as it sounds, or all of what is shown; D7 by default.

    Raises
    ------
    BadRoutine
        If the chord is none.
    """
    return NeckAndChord(house, what if isinstance(what, NeckState) else NeckState(symbol=what or "D7"))


class NeckAndChord:
    """The screen; see `feedback.screen.staging.Screen`.

    Attributes
    ----------
    state : NeckState
        What is shown.
    """

    def __init__(self, house: House, state: NeckState) -> None:
        self._house = house
        self._open = "root"
        self._drawn: tuple[tuple[NeckState, str, Sheet, str], Picture] | None = None
        self.state = state

    def picture(self, sheet: Sheet, focus: str) -> Picture:
        """The neck, and what can be chosen under it."""
        state = replace(self.state, left_handed=self._house.values.get("neck") == "left")
        key = (state, self._open, sheet, focus)
        if self._drawn is None or self._drawn[0] != key:
            self._drawn = (key, self._draw(state, sheet, focus))
        return self._drawn[1]

    def _draw(self, state: NeckState, sheet: Sheet, focus: str) -> Picture:
        shown = neck_picture(state, sheet, foot=_FOOT)
        top = sheet.high - _FOOT
        upper, names = _row(sheet, top, [(name, f"row {name}", name == self._open) for name in ROWS], focus)
        offered = [
            (value.says, f"{self._open} {value.says}", value.makes == self.state)
            for value in values(self.state, self._open)
        ]
        lower, spots = _row(sheet, top + _HIGH + _GAP, offered, focus)
        shown = shown.with_marks(*upper, *lower, hint(sheet, _HINT))
        return replace(shown, spots=(*names, *spots))

    def act(self, does: str) -> Move:
        """Open a row, or take one of its values."""
        name, _, said = does.partition(" ")
        if name == "row" and said in ROWS:
            self._open = said
            return None
        value = self._value(name, said)
        if value is not None:
            self.state = value.makes
        return None

    def press(self, key: str) -> Move | bool:
        """Set the root by its letter, or raise it."""
        shape = self.state.shape
        if len(key) == 1 and key.lower() in "abcdefg":
            root = Tone(key.upper())
        elif key == "#":
            root = roots(self.state)[(shape.root.pitch_class + 1) % 12]
        else:
            return False
        self.state = with_shape(self.state, Chord(root, shape.kind), self.state.capo)
        return True

    def tick(self) -> Move:
        """Nothing goes on by itself."""
        return None

    def close(self) -> None:
        """Nothing runs."""

    def _value(self, name: str, said: str) -> Value | None:
        offered = values(self.state, name) if name in ROWS else ()
        return next((value for value in offered if value.says == said), None)


def _row(
    sheet: Sheet, y: float, entries: list[tuple[str, str, bool]], focus: str
) -> tuple[list[Mark], list[Spot]]:
    """Choices side by side, each as wide as its words ask; (words, does, whether it holds)."""
    room = sheet.wide - 2 * _SIDE - _GAP * (len(entries) - 1)
    asked = [width(says, READABLE, True) for says, _, _ in entries]
    pad = (room - sum(asked)) / len(entries)
    marks: list[Mark] = []
    spots: list[Spot] = []
    x = _SIDE
    for (says, does, holds), words in zip(entries, asked, strict=True):
        wide, on = words + pad, does == focus
        marks += _choice(Spot(x=x, y=y, wide=wide, high=_HIGH, does=does, says=says), on, holds, words)
        spots.append(Spot(x=x, y=y, wide=wide, high=_HIGH, does=does, says=says))
        x += wide + _GAP
    return marks, spots


def _choice(spot: Spot, on: bool, holds: bool, words: float) -> list[Mark]:
    """One choice: inked over where it has the focus, underlined and bold where it holds."""
    x, y, middle = spot.x, spot.y, spot.x + spot.wide / 2
    ink, ground = ("paper", "chosen") if on else ("ink", "band")
    marks: list[Mark] = [
        Box(x=x, y=y, wide=spot.wide, high=spot.high, fill=ground, edge="rule", round=6.0),
        Text(x=middle, y=y + 34, text=spot.says, ink=ink, on=ground, bold=holds or on, anchor="center"),
    ]
    if on:
        marks.append(
            Box(x=x + 4, y=y + 4, wide=spot.wide - 8, high=spot.high - 8, fill="", edge="paper", round=4.0)
        )
    if holds:
        marks.append(Box(x=middle - words / 2, y=y + 40, wide=words, high=4, fill=ink))
    return marks
