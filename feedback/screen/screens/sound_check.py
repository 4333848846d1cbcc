"""Sound check: noise, round trip and level of a microphone and an output; what was found is kept for both.

It may be entered with a dict: "taking", which makes the microphone in the sound card's place.
"""

from __future__ import annotations

from typing import Any

from feedback.checking_thread import CheckingThread
from feedback.offstage import Microphone
from feedback.printing import print_line
from feedback.screen.marks import Picture, Sheet
from feedback.screen.staging import House, Leave, Move, Screen
from feedback.screen.views.check import check_picture


def enter(house: House, what: Any = None) -> Screen:
    """Begin to check.

    Parameters
    ----------
    house : House
    what : dict, optional
        "taking".
    """
    from feedback import soundcard

    given = dict(what or {})
    asked = soundcard.asked_stream(house.device, house.values)

    def make() -> Microphone:
        return soundcard.taking(asked)

    click_db = float(house.values["click_db"])
    return CheckScreen(
        house, CheckingThread(asked, given.get("taking") or make, click_db=click_db, say=print_line)
    )


class CheckScreen:
    """Behaves as `feedback.screen.staging.Screen`."""

    def __init__(self, house: House, work: CheckingThread) -> None:
        self._house = house
        self._work = work

    def picture(self, sheet: Sheet, focus: str) -> Picture:
        """What is to be seen now."""
        return check_picture(self._work.state, sheet, focus)

    def act(self, does: str) -> Move:
        """Something was chosen."""
        if does == "back":
            return Leave()
        if does == "again":
            self._work.again()
        return None

    def press(self, key: str) -> Move | bool:
        """A key was pressed."""
        if key.lower() != "a":
            return False
        self._work.again()
        return True

    def tick(self) -> Move:
        """Nothing: the work goes on by itself."""
        return None

    def close(self) -> None:
        """Leave the microphone."""
        state = self._work.state
        self._house.trouble = state.news if state.step == "failed" else ""
        self._work.end()
        self._house.hung = self._house.hung or self._work.hung
