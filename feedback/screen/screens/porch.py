"""The porch: where the window opens."""

from __future__ import annotations

from typing import Any

from feedback.screen.marks import Picture, Sheet
from feedback.screen.staging import Go, House, Leave, Move
from feedback.screen.views.offered import SETTING, climbed_from, first_tempo, last_lick
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
        self._read_for: object = None
        self._tempo: float | None = None
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
            return Go(name, {"lick": self._state.lick, "tempo_half_bpm": self._tempo})
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
        """The state; lick and journal are read again only where that may be another one."""
        values, begun = self._house.values, self._house.begun
        depends = values.get(SETTING), values.get("player"), values.get("ladder"), values.get("journal")
        source = str(values.get("source", "mic"))
        read_for = (*depends, source, len(begun), self._house.ending)
        if self._read_for == read_for:
            return self._state
        self._read_for = read_for
        lick = last_lick(values)
        climbs = climbed_from(self._house, lick)
        tempo = first_tempo(lick)
        self._tempo = tempo if climbs is None else None
        return PorchState(lick=lick, tempo_half_bpm=climbs or tempo, source=source)
