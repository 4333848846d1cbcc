"""Waiting beside the sound: until a rest is over, until a stream is ready, until one that was lost is back.

Whoever plays along must notice at every moment that the sound has gone, and what the player wishes. So no
wait is a sleep: each takes what comes from what is listened to, tells of losses as they happen, and looks for
wishes in every round.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import TYPE_CHECKING

from feedback.cue import Cue
from feedback.practice_events import Cued, Event, SoundBack, SoundLost
from feedback.steering import Rest, Steering
from listener.errors import DeviceTrouble
from listener.keeper import Back, Lost

if TYPE_CHECKING:
    from feedback.listening import Listening
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
    steering : Steering
        Where wishes are put; every wait but a rest ends where it says that all is to stop.
    cue_starts : bool
        Whether the played cue ends a rest.

    Attributes
    ----------
    lost : bool
        Whether the sound is away.
    losses : int
        How often it went.
    """

    def __init__(
        self, live: Listening, clock: Callable[[], float], steering: Steering, *, cue_starts: bool = True
    ) -> None:
        self._live, self._clock, self._steering = live, clock, steering
        self._cue_starts = cue_starts
        self.lost = False
        self.losses = 0

    def watch(self, items: Iterable[Heard | Lost | Back]) -> Iterator[SoundLost | SoundBack]:
        """What items tell of the sound itself."""
        for item in items:
            if isinstance(item, Lost):
                self.lost = True
                self.losses += 1
                yield SoundLost(line=item.line)
            elif isinstance(item, Back):
                self.lost = False
                yield SoundBack()

    def rest(self, sec: float) -> Iterator[Event]:
        """Rest for so long, or until the sound is lost; where the player is waited for, until it is to go on.

        Wishes make it shorter or longer, and so does the cue, where that is asked for.

        Yields
        ------
        Resting, Cued, TempoSet, SoundLost, SoundBack
        """
        steering = self._steering
        rest = Rest(steering, self._clock() + sec)
        cue: Cue | None = None
        while True:
            yield from steering.look()
            yield from rest.news()
            if rest.over(self._clock(), lost=self.lost):
                break
            items = self._live.take(LOOK_SEC)
            for said in self.watch(items):
                rest.forget()
                yield said
            cue = self._cue(cue)
            if cue is not None and self._cued(cue, items):
                yield Cued()
                if self._cue_starts:
                    steering.begin()
        steering.begins = False

    def pause(self, sec: float) -> Iterator[Event]:
        """Wait for so long, or until the sound is lost, or something else is wished."""
        until = self._clock() + sec
        while self._clock() < until and not (self.lost or self._steering.turned):
            yield from self._round()

    def until_back(self) -> Iterator[Event]:
        """Wait for a sound that is away.

        Raises
        ------
        DeviceTrouble
            If it stays away for longer than `PATIENCE_SEC`.
        """
        until = self._clock() + PATIENCE_SEC
        while self.lost and not self._steering.stops:
            if self._clock() > until:
                raise DeviceTrouble(f"the sound did not come back within {PATIENCE_SEC / 60:.0f} minutes")
            yield from self._round()

    def until_ready(self) -> Iterator[Event]:
        """Wait until the round trip of a stream is known, or the sound is lost.

        Raises
        ------
        DeviceTrouble
            If it is not known after `READY_SEC`.
        """
        until = self._clock() + READY_SEC
        while not (self._live.ready or self.lost or self._steering.stops):
            if self._clock() > until:
                raise DeviceTrouble("the sound device runs, but tells nothing of its time; try another one")
            yield from self._round()

    def _round(self) -> Iterator[Event]:
        yield from self.watch(self._live.take(LOOK_SEC))
        yield from self._steering.look()

    def _cue(self, cue: Cue | None) -> Cue | None:
        """The cue at the tempo that is asked for now; None where it is not listened for."""
        request = self._steering.request
        if not request.cue or (cue is not None and cue.tempo_half_bpm == request.tempo_half_bpm):
            return cue
        return Cue(request.lick.neck.open_midi(5), request.tempo_half_bpm, request.limits)

    @staticmethod
    def _cued(cue: Cue, items: Sequence[Heard | Lost | Back]) -> bool:
        found = False
        for item in items:
            if isinstance(item, (Lost, Back)):
                cue.reset()
            else:
                found = cue.feed(item.reports, item.now_sec) or found
        return found
