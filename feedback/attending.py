"""Waiting beside the sound: until a rest is over, until a stream is ready, until one that was lost is back.

Whoever plays along must notice at every moment that the sound has gone. So no wait is a sleep: each takes
what comes from what is listened to, and tells of losses as they happen.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from typing import TYPE_CHECKING

from feedback.practice_events import SoundBack, SoundLost
from listener.errors import DeviceTrouble
from listener.keeper import Back, Lost

if TYPE_CHECKING:
    from feedback.practice import Listening
    from listener.run import Heard

PATIENCE_SEC = 600.0
"""So long the sound may be away."""

READY_SEC = 20.0
"""So long a stream that runs may take until its round trip is known."""

LOOK_SEC = 0.02
"""So long is waited for the next item."""


class Attending:
    """Waits beside what is listened to.

    Parameters
    ----------
    live : Listening
    clock : callable
        Seconds that pass.

    Attributes
    ----------
    lost : bool
        Whether the sound is away.
    """

    def __init__(self, live: Listening, clock: Callable[[], float]) -> None:
        self._live, self._clock = live, clock
        self.lost = False

    def watch(self, items: Iterable[Heard | Lost | Back]) -> Iterator[SoundLost | SoundBack]:
        """What items tell of the sound itself."""
        for item in items:
            if isinstance(item, Lost):
                self.lost = True
                yield SoundLost(line=item.line)
            elif isinstance(item, Back):
                self.lost = False
                yield SoundBack()

    def pause(self, sec: float) -> Iterator[SoundLost | SoundBack]:
        """Rest for so long, or until the sound is lost."""
        until = self._clock() + sec
        while self._clock() < until and not self.lost:
            yield from self.watch(self._live.take(LOOK_SEC))

    def until_back(self) -> Iterator[SoundLost | SoundBack]:
        """Wait for a sound that is away.

        Raises
        ------
        DeviceTrouble
            If it stays away for longer than `PATIENCE_SEC`.
        """
        until = self._clock() + PATIENCE_SEC
        while self.lost:
            if self._clock() > until:
                raise DeviceTrouble(f"the sound did not come back within {PATIENCE_SEC / 60:.0f} minutes")
            yield from self.watch(self._live.take(LOOK_SEC))

    def until_ready(self) -> Iterator[SoundLost | SoundBack]:
        """Wait until the round trip of a stream is known, or the sound is lost.

        Raises
        ------
        DeviceTrouble
            If it is not known after `READY_SEC`.
        """
        until = self._clock() + READY_SEC
        while not (self._live.ready or self.lost):
            if self._clock() > until:
                raise DeviceTrouble("the sound device runs, but tells nothing of its time; try another one")
            yield from self.watch(self._live.take(LOOK_SEC))
