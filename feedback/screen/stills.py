"""A picture of the simulated player's turn at a moment, without a window and without waiting for it."""

from __future__ import annotations

from collections.abc import Mapping

from feedback.performing import Asked, simulated
from feedback.playstate import PlayState, after_event
from feedback.screen.marks import Picture, Sheet
from feedback.screen.screens.play_along import play_picture


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
    clock = _Clock(at_sec)
    practice = simulated(asked, clock=clock, wait=clock.wait)
    state = PlayState(request=asked.request)
    try:
        for event in practice.events():
            state = after_event(state, event)
    except _Reached:
        pass
    return play_picture(
        state, practice.part_sec(), clock.now_sec, sheet or Sheet(), focus, str(values["motion"])
    )
