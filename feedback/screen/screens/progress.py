"""Progress: read from the journal when it is opened, and turned through by keys, pedal or mouse."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

from feedback.remembered import Now, local_now
from feedback.screen.looking_back import looked_back, player_of
from feedback.screen.marks import Picture, Sheet
from feedback.screen.staging import Go, House, Leave, Move
from feedback.screen.views.progress import (
    AGAIN,
    BACK,
    BEFORE,
    BEGIN,
    KINDS,
    NEXT,
    SHOW,
    ProgressState,
    progress_picture,
    things_of,
)

if TYPE_CHECKING:
    from datetime import date

    from routines.journal.journal import Journal
    from routines.progress.types import Progress

_TURNS = {NEXT: 1, BEFORE: -1, "down": 1, "up": -1}


def enter(house: House, what: Any = None) -> ProgressScreen:
    """Open progress; `what` is nothing to it."""
    return ProgressScreen(house)


class ProgressScreen:
    """The screen; see `feedback.screen.staging.Screen`.

    Parameters
    ----------
    house : House
    now : callable
        Gives the moment.
    """

    def __init__(self, house: House, now: Now = local_now) -> None:
        self._house, self._now = house, now
        self._sheet = Sheet()
        self._drawn: tuple[tuple[ProgressState, Sheet, str], Picture] | None = None
        self._player = ""
        self._state = ProgressState(progress=None)

    def picture(self, sheet: Sheet, focus: str) -> Picture:
        """What is turned to; drawn anew only where something has changed."""
        self._sheet = sheet
        if self._player != player_of(self._house.values):
            self._read()
        if self._drawn is not None:
            (state, on, focused), picture = self._drawn
            if state is self._state and (on, focused) == (sheet, focus):
                return picture
        made = progress_picture(self._state, sheet, focus)
        self._drawn = ((self._state, sheet, focus), made)
        return made

    def act(self, does: str) -> Move:
        """Turn, show another kind, read anew, or leave."""
        if does == BACK:
            return Leave()
        if does == BEGIN:
            return Go("licks", instead=True)
        if does == AGAIN and self._state.progress is not None:
            self._state = replace(self._state, trouble="")
        elif does == AGAIN:
            self._read()
        elif does in _TURNS:
            self._turn(_TURNS[does])
        else:
            for kind in KINDS:
                if does == SHOW + kind:
                    self._state = replace(self._state, kind=kind, at=0)
        return None

    def press(self, key: str) -> Move | bool:
        """Up and down turn."""
        return key in ("up", "down") and self._turn(_TURNS[key])

    def tick(self) -> Move:
        """Nothing goes on here."""
        return None

    def close(self) -> None:
        """Nothing is to be ended."""

    def _turn(self, by: int) -> bool:
        things = things_of(self._state, self._sheet)
        if things < 2:
            return False
        self._state = replace(self._state, at=(min(self._state.at, things - 1) + by) % things)
        return True

    def _read(self) -> None:
        self._player = player_of(self._house.values)
        found, trouble = looked_back(_progress, self._player, self._now)
        self._state = replace(self._state, progress=found, trouble=trouble, at=0)


def _progress(journal: Journal, player: str, today: date) -> Progress:
    from routines.progress.progress import progress

    return progress(journal, player, today)
