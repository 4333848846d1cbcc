"""A picture of the simulated player's turn at a moment, without a window and without waiting for it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from feedback.accompanying import accompanied
from feedback.performing import Asked, simulated
from feedback.playstate import PlayState, after_event
from feedback.screen.marks import Picture, Sheet
from feedback.screen.screens.play_along import play_picture
from feedback.wishes import Wishes


class _Reached(Exception):
    """The moment has come."""


class _Clock:
    """A clock that only goes on when it is waited for, up to a moment."""

    def __init__(self, until_sec: float) -> None:
        self.now_sec = 0.0
        self._until_sec = until_sec

    def __call__(self) -> float:
        return self.now_sec

    def wait(self, sec: float) -> None:
        if self.now_sec + sec > self._until_sec:
            self.now_sec = self._until_sec
            raise _Reached
        self.now_sec += sec


def simulated_picture(
    asked: Asked,
    at_sec: float,
    values: Mapping[str, str | float],
    sheet: Sheet | None = None,
    focus: str = "once more",
) -> Picture:
    """What the window shows of the simulated player so long after it has begun.

    Parameters
    ----------
    asked : Asked
    at_sec : float
        0 or more; beyond its end, what is seen after the turn.
    values : mapping
        The settings.
    sheet : Sheet, optional
        1280 by 720 where left out.
    focus : str

    Returns
    -------
    Picture
    """
    clock, wishes = _Clock(at_sec), Wishes()
    nobody = replace(asked, player=None)  # a picture is no practice
    request, company = accompanied(nobody, wishes, clock=clock)
    practice = simulated(asked, wishes, request=request, clock=clock, wait=clock.wait)
    state = PlayState(request=request)
    try:
        for event in practice.events():
            for one in (event, *company.heed(event, practice.request)):
                state = after_event(state, one)
    except _Reached:
        pass
    return play_picture(
        state, practice.part_sec(), clock.now_sec, sheet or Sheet(), focus, str(values["motion"])
    )
