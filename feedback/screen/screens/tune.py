"""Tune: string by string, which way, until all five are in tune; or the check of the twelfth fret.

It may be entered with a dict: "neck", the banjo to be tuned (a lick's, so that its capo is set already);
"twelfth"; and "taking", which makes the microphone in the sound card's place.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

from feedback.offstage import Microphone
from feedback.printing import print_line
from feedback.screen.marks import Picture, Sheet
from feedback.screen.staging import House, Leave, Move, Screen
from feedback.screen.views.tune import tune_picture
from feedback.tuning_thread import TuneAsked, TuningThread
from routines.neck import OPEN_TUNINGS, Neck

CAPO_MOST = 7
"""Choosing the capo goes so far up and begins again; a lick may ask for one that is higher."""

KEYS = {"a": "again", "t": "tuning", "c": "capo", "+": "capo", "-": "capo down", "f": "twelfth"}
"""What keys choose."""


def enter(house: House, what: Any = None) -> Screen:
    """Begin to tune.

    Parameters
    ----------
    house : House
    what : dict, optional
        "neck", "twelfth", "taking".
    """
    given = dict(what or {})
    asked = TuneAsked(given.get("neck") or Neck(), bool(given.get("twelfth")))
    return TuneScreen(house, asked, given.get("taking") or card(house))


def card(house: House) -> Callable[[], Microphone]:
    """What makes the microphone of the sound card that the house asks for."""

    def make() -> Microphone:
        from feedback.soundcard import asked_stream, taking

        return taking(asked_stream(house.device, house.values))

    return make


class TuneScreen:
    """Behaves as `feedback.screen.staging.Screen`."""

    def __init__(self, house: House, asked: TuneAsked, make: Callable[[], Microphone]) -> None:
        self._house = house
        self._asked = asked
        self._work = TuningThread(asked, make, say=print_line)

    def picture(self, sheet: Sheet, focus: str) -> Picture:
        """What is to be seen now."""
        return tune_picture(self._work.state, sheet, focus)

    def act(self, does: str) -> Move:
        """Something was chosen."""
        if does == "back":
            return Leave()
        neck = self._asked.neck
        if does == "tuning":
            names = list(OPEN_TUNINGS)
            tuning = names[(names.index(neck.tuning) + 1) % len(names)]
            self._ask(neck=Neck(tuning=tuning, capo=neck.capo))
        elif does == "capo":
            self._ask(neck=Neck(tuning=neck.tuning, capo=neck.capo + 1 if neck.capo < CAPO_MOST else 0))
        elif does == "capo down":
            self._ask(neck=Neck(tuning=neck.tuning, capo=neck.capo - 1 if neck.capo else CAPO_MOST))
        elif does == "twelfth":
            self._ask(twelfth=not self._asked.twelfth)
        elif does == "again":
            self._ask()
        return None

    def press(self, key: str) -> Move | bool:
        """A key was pressed."""
        does = KEYS.get(key.lower())
        if does is None:
            return False
        self.act(does)
        return True

    def tick(self) -> Move:
        """Let what was asked late begin."""
        self._work.tick()
        return None

    def close(self) -> None:
        """Leave the microphone."""
        state = self._work.state
        self._house.trouble = state.news if state.phase == "failed" else ""
        self._work.end()
        self._house.hung = self._house.hung or self._work.hung

    def _ask(self, **changed: Any) -> None:
        self._asked = replace(self._asked, **changed)
        self._work.ask(self._asked)
