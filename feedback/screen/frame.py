"""The frame around the screens: which one is shown, what has the focus, what a key or the mouse does.

It knows no window: keys come in by name, clicks in units of the sheet, and what is to be seen goes out as a
picture. Screens lie on one another; leaving the last one closes the window.

The focus is on one spot of the picture, the first where nothing else is said. It is moved by tab and shift
tab in the order of the spots, by arrows to the nearest spot in that direction, and by the first key of the
pedal, in a ring; enter, space and the second key of the pedal choose what has it, and so does the mouse.
What is not to be seen cannot be chosen.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from feedback.screen.marks import Picture, Sheet, Spot
from feedback.screen.screens import entered
from feedback.screen.staging import Go, House, Leave, Move, Quit, Screen

_ARROWS = {"left": (-1, 0), "right": (1, 0), "up": (0, -1), "down": (0, 1)}
_CHOOSE = ("enter", "space")
_ASIDE = 4.0  # how far a spot lies aside counts so much more than how far it lies ahead


@dataclass(slots=True)
class _Shown:
    """A screen with its focus."""

    screen: Screen
    focus: str = ""
    picture: Picture | None = field(default=None)


class Frame:
    """The screens of one window.

    Parameters
    ----------
    house : House
    first : str
        The screen that is opened first.
    what : object
        What that is given.
    """

    def __init__(self, house: House, first: str = "porch", what: Any = None) -> None:
        self._house = house
        self._shown = [_Shown(entered(first, house, what))]

    @property
    def done(self) -> bool:
        """Whether the last screen was left."""
        return not self._shown

    @property
    def screen(self) -> Screen:
        """The one that is shown."""
        return self._shown[-1].screen

    @property
    def focus(self) -> str:
        """What has the focus; empty for nothing."""
        return self._shown[-1].focus if self._shown else ""

    def tick(self) -> None:
        """Let the shown screen go on."""
        if self._shown:
            self._do(self.screen.tick())

    def picture(self, sheet: Sheet) -> Picture:
        """What is to be seen now."""
        top = self._shown[-1]
        picture = top.screen.picture(sheet, top.focus)
        names = [spot.does for spot in picture.spots]
        if names and top.focus not in names:
            top.focus = names[0]
            picture = top.screen.picture(sheet, top.focus)
        top.picture = picture
        return picture

    def press(self, key: str) -> None:
        """A key was pressed."""
        if not self._shown:
            return
        screen = self.screen
        if not getattr(screen, "learning", False):
            pedal = key.lower() if len(key) == 1 else key  # shift or caps lock is nothing to a pedal
            if pedal == self._house.values["pedal_next"]:
                self._step(+1)
                return
            if pedal == self._house.values["pedal_choose"]:
                self.choose()
                return
        used = screen.press(key)
        if used is not False:
            self._do(None if used is True else used)
        elif key in ("tab", "shift tab"):
            self._step(-1 if key.startswith("shift") else +1)
        elif key in _ARROWS:
            self._toward(*_ARROWS[key])
        elif key in _CHOOSE:
            self.choose()
        elif key == "escape":
            self._do(Leave())

    def click(self, x: float, y: float) -> None:
        """The mouse was pressed at a place of the sheet: the topmost spot there is chosen."""
        for spot in reversed(self._spots()):
            if spot.x <= x <= spot.x + spot.wide and spot.y <= y <= spot.y + spot.high:
                self._focus_on(spot.does)
                self.choose()
                return

    def choose(self) -> None:
        """Choose what has the focus."""
        if any(spot.does == self.focus for spot in self._spots()):
            self._do(self.screen.act(self.focus))

    def close(self) -> None:
        """Leave all screens; where one fails to close, the others are closed all the same."""
        if self._shown:
            try:
                self._shown.pop().screen.close()
            finally:
                self.close()

    def _do(self, move: Move) -> None:
        if isinstance(move, Go):
            if move.instead:
                self._shown.pop().screen.close()
            self._shown.append(_Shown(entered(move.to, self._house, move.what)))
        elif isinstance(move, Leave):
            self._shown.pop().screen.close()
        elif isinstance(move, Quit):
            self.close()

    def _spots(self) -> tuple[Spot, ...]:
        """What could be chosen when the player last saw the screen."""
        picture = self._shown[-1].picture if self._shown else None
        return picture.spots if picture else ()

    def _focus_on(self, does: str) -> None:
        top = self._shown[-1]
        if top.focus != does:
            top.focus = does
            moved = getattr(top.screen, "focused", None)
            if moved is not None:
                moved(does)

    def _step(self, by: int) -> None:
        names = [spot.does for spot in self._spots()]
        if names:
            at = names.index(self.focus) if self.focus in names else -1
            self._focus_on(names[(at + by) % len(names)])

    def _toward(self, dx: int, dy: int) -> None:
        """Move the focus to the nearest spot in a direction; where there is none it stays."""
        spots = self._spots()
        here = next((spot for spot in spots if spot.does == self.focus), None)
        if here is None:
            return
        found = [(far, spot) for spot in spots if (far := _far(here, spot, dx, dy)) is not None]
        if found:
            self._focus_on(min(found, key=lambda one: one[0])[1].does)


def _far(here: Spot, there: Spot, dx: int, dy: int) -> tuple[float, float] | None:
    """How far a spot lies in a direction, and how far out of line; None where it does not lie there."""
    if there.does == here.does:
        return None
    along, across, way = (_across, _down, dx) if dx else (_down, _across, dy)
    (begin, end), (other, other_end) = along(here), along(there)
    if way < 0:
        begin, end, other, other_end = -end, -begin, -other_end, -other
    low, high = across(here)
    other_low, other_high = across(there)
    aside = max(0.0, other_low - high, low - other_high)
    if other < (end if aside else (begin + end) / 2):
        return None
    return max(0.0, other - end) + _ASIDE * aside, abs(other_low + other_high - low - high)


def _across(spot: Spot) -> tuple[float, float]:
    return spot.x, spot.x + spot.wide


def _down(spot: Spot) -> tuple[float, float]:
    return spot.y, spot.y + spot.high
