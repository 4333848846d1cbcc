"""The porch: where the window opens."""

from __future__ import annotations

from typing import Any

from feedback.screen.marks import Picture, Sheet
from feedback.screen.staging import Go, House, Leave, Move
from feedback.screen.views.offered import SETTING, first_tempo, last_lick
from feedback.screen.views.porch import CHOICES, LEAVE, PorchState, porch_picture


def enter(house: House, what: Any = None) -> Porch:
    """The porch; `what` is nothing to it."""
    return Porch(house)


class Porch:
    """The porch.

    Parameters
    ----------
    house : House
    """

    def __init__(self, house: House) -> None:
        self._house = house
        self._name: object = None
        self._state = self._read()

    def picture(self, sheet: Sheet, focus: str) -> Picture:
        """What can be done, and with which lick."""
        self._state = self._read()
        return porch_picture(self._state, sheet, focus)

    def act(self, does: str) -> Move:
        """Open what was chosen, or leave."""
        if does == LEAVE:
            return Leave()
        name = does.removeprefix("open ")
        if name == "play along":
            return Go(name, {"lick": self._state.lick, "tempo_half_bpm": self._state.tempo_half_bpm})
        return Go(name) if name in CHOICES else None

    def press(self, key: str) -> Move | bool:
        """Escape leaves."""
        return Leave() if key == "escape" else False

    def tick(self) -> Move:
        """Nothing goes on here."""
        return None

    def close(self) -> None:
        """Nothing is to be ended."""

    def _read(self) -> PorchState:
        """The state; the lick is read again only where another one is offered."""
        name, source = self._house.values.get(SETTING), str(self._house.values.get("source", "mic"))
        if self._name != name or name is None:
            lick = last_lick(self._house.values)
            self._name = name
        elif self._state.source == source:
            return self._state
        else:
            lick = self._state.lick
        return PorchState(lick=lick, tempo_half_bpm=first_tempo(lick), source=source)
