"""The warm-ups: one is chosen by keys, pedal or mouse, and played along."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

from feedback.remembered import Now, local_now
from feedback.screen.looking_back import looked_back, player_of
from feedback.screen.marks import Picture, Sheet
from feedback.screen.staging import Go, House, Leave, Move
from feedback.screen.views.progress_words import ago_text
from feedback.screen.views.warm_up import (
    BEGINS,
    FURTHER,
    WarmUpRow,
    WarmUpsState,
    pages_of,
    rows_on,
    warm_ups_picture,
)
from feedback.warmup_choice import last_days
from routines.warmups.table import WARM_UPS, warm_up

if TYPE_CHECKING:
    from datetime import date

    from routines.journal.journal import Journal

NOT_YET = "not yet"
"""When a warm-up was played that never was."""


def enter(house: House, what: Any = None) -> WarmUps:
    """Open the list; where `what` is the name of a warm-up, that one has the focus."""
    return WarmUps(house, str(what or ""))


class WarmUps:
    """The list; see `feedback.screen.staging.Screen`.

    Parameters
    ----------
    house : House
    first : str
        Name of the warm-up that has the focus; empty for the first one.
    now : callable
        Gives the moment.
    """

    def __init__(self, house: House, first: str = "", now: Now = local_now) -> None:
        self._house, self._now = house, now
        self._sheet = Sheet()
        self._state = WarmUpsState(rows=(), first=first)
        self._turned = not first
        self._stale = True

    def picture(self, sheet: Sheet, focus: str) -> Picture:
        """The list; when each was played is read anew after one was."""
        self._sheet = sheet
        if self._stale:
            self._read()
        if not self._turned:
            names = [row.name for row in self._state.rows]
            first = self._state.first
            page = names.index(first) // rows_on(sheet) if first in names else 0
            self._state, self._turned = replace(self._state, page=page), True
        return warm_ups_picture(self._state, sheet, focus)

    def act(self, does: str) -> Move:
        """Play one, turn the page, or go back."""
        if does == "back":
            return Leave()
        if does == FURTHER:
            pages = pages_of(self._state, self._sheet)
            self._state = replace(self._state, page=(min(self._state.page, pages - 1) + 1) % pages)
        name = does.removeprefix(BEGINS)
        if name in WARM_UPS:
            self._stale = True
            return Go("play along", {"warm_up": name})
        return None

    def press(self, key: str) -> Move | bool:
        """No key is used here."""
        return False

    def tick(self) -> Move:
        """Nothing goes on here."""
        return None

    def close(self) -> None:
        """Nothing is to be ended."""

    def _read(self) -> None:
        lasts, trouble = looked_back(_lasts, player_of(self._house.values), self._now)
        rows = tuple(_row(name, (lasts or {}).get(name, "" if trouble else NOT_YET)) for name in WARM_UPS)
        self._state = replace(self._state, rows=rows, trouble=trouble)
        self._stale = False


def _row(name: str, last: str) -> WarmUpRow:
    found = warm_up(name)
    minutes = found.lasts_sec(found.first_half_bpm) / 60.0
    return WarmUpRow(name=name, title=found.title, about=found.about, minutes=minutes, last=last)


def _lasts(journal: Journal, player: str, today: date) -> dict[str, str]:
    """When each warm-up was played last, in plain words; none that never was."""
    return {name: ago_text(day, today.isoformat()) for name, day in last_days(journal, player).items()}
