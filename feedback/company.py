"""Who goes along with a practice: told every event, and may wish something of it, or tell something more.

The problem: what is remembered, how the tempo rises and what a warm-up plays next must be the same at a
microphone and with the simulated player, in the window and in the terminal. So none of it lives in a
practice: each is a companion, and a practice knows only that it has company.

All of it runs on the practice's own thread, between two events; none of it may wait for long, and none of it
may end the practice by a fault of its own disk.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Protocol

from feedback.practice_events import Event
from feedback.practice_request import PracticeRequest
from feedback.wishes import Wish, Wishes


class Companion(Protocol):
    """Goes along with one practice."""

    def told(self, event: Event, request: PracticeRequest) -> Iterator[Wish | Event]:
        """Take note of an event; `request` is what is practised, at the tempo of the next count-in.

        Yields
        ------
        Wish or Event
            A wish is for the practice, an event for whoever watches it.
        """
        ...

    def close(self) -> Iterator[Event]:
        """The practice is over: the last that is to be told."""
        ...


class Company:
    """The companions of one practice, in order.

    Parameters
    ----------
    companions : sequence of Companion
    wishes : Wishes or None
        Of the practice; None where it takes none.
    """

    def __init__(self, companions: Sequence[Companion] = (), wishes: Wishes | None = None) -> None:
        self._companions, self._wishes = tuple(companions), wishes

    def heed(self, event: Event, request: PracticeRequest) -> Iterator[Event]:
        """Tell every companion what happened.

        Parameters
        ----------
        event : Event
        request : PracticeRequest

        Yields
        ------
        Event
            What there is to tell besides.
        """
        for one in self._companions:
            for more in one.told(event, request):
                if not isinstance(more, Wish):
                    yield more
                elif self._wishes is not None:
                    self._wishes.add(more)

    def close(self) -> Iterator[Event]:
        """The practice is over; what there is to tell of that."""
        for one in self._companions:
            yield from one.close()
