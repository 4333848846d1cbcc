"""Playing along, turn after turn: count-in, four passes with rest bars, what is to be said, and again.

It runs on the session's thread and waits for nothing but the next items of what is listened to. What it
is given may be a microphone (`listener.live.Live`) or anything that behaves like one. It ends when the
turns that were asked for are over, or when nothing was heard in two whole passes running. Where the sound
goes away, the running pass is not complete, those before it stand; once the sound is back the turn goes
on with a new count-in and the passes that are left.

Times within a part of a turn (from one count-in to the end, or to where the sound was lost) are seconds
since that count-in began: those of its plan, of its verdicts, and of the take that is kept of it.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Generator, Iterable, Iterator, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Protocol

from feedback.clicking import CLICKS, strokes
from feedback.expect import expectations
from feedback.following import TurnFollower
from feedback.grid import EIGHTH_QUARTERS
from feedback.judges.timing import Deviation
from feedback.practice_events import (
    QUIET_PASSES,
    CountIn,
    Event,
    Fell,
    Kept,
    NobodyPlays,
    Opened,
    Passed,
    PracticeRequest,
    SoundBack,
    SoundLost,
    TurnOver,
)
from feedback.session import Listened, PassOver, SevenFell, TurnPlan, after_count_in
from feedback.sound.click import render
from listener.aligning import shifted
from listener.errors import DeviceTrouble
from listener.expecting import Expectation
from listener.keeper import Back, Lost
from routines.lick import quarter_sec

if TYPE_CHECKING:
    import numpy as np

    from listener.run import Condition, Heard
    from listener.tape import Tape

LEAD_SEC = 0.3
"""So far ahead a count-in is laid."""

PATIENCE_SEC = 600.0
"""So long the sound may be away."""

READY_SEC = 20.0
"""So long a stream that runs may take until its round trip is known."""

_LOOK_SEC = 0.02
_BOUNCE_PASSES = 12


class Listening(Protocol):
    """What is listened to and played on; see `listener.live.Live`."""

    @property
    def rate(self) -> int: ...
    @property
    def now_sec(self) -> float: ...
    @property
    def ready(self) -> bool: ...
    @property
    def tape(self) -> Tape: ...
    @property
    def condition(self) -> Condition: ...
    def play(self, sound: np.ndarray, at_sec: float) -> None: ...
    @property
    def grown(self) -> bool: ...
    def freshen(self) -> None: ...
    def hush(self) -> None: ...
    def expect(self, expectations: Sequence[Expectation]) -> None: ...
    def settle(self) -> None: ...
    def take(self, wait_sec: float) -> list[Heard | Lost | Back]: ...


class Practice:
    """Practising one lick.

    Parameters
    ----------
    request : PracticeRequest
    live : Listening
        Started already.
    clock : callable
        Seconds that pass.
    """

    def __init__(
        self, request: PracticeRequest, live: Listening, clock: Callable[[], float] = time.monotonic
    ) -> None:
        self._request, self._live, self._clock = request, live, clock
        self._quiet = 0
        self._lost = False
        self._part = 0
        self.turns: list[list[PassOver]] = []
        """The passes of each turn so far; what was judged stays here whatever happens."""
        self.unstored: Kept | None = None
        """After an interruption the part that was cut short; the others were handed on."""

    def events(self) -> Generator[Event, None, None]:
        """Play turns until it is over.

        Yields
        ------
        Event

        Raises
        ------
        DeviceTrouble
            If the sound stays away for longer than `PATIENCE_SEC`.
        """
        yield from self._until_ready()
        yield Opened()
        while self._request.turns is None or len(self.turns) < self._request.turns:
            if self._live.grown:
                self._live.freshen()
                yield from self._until_ready()
            yield from self._pause(self._request.rest_sec)
            self.turns.append([])
            self._part = 0
            while self._left and self._quiet < QUIET_PASSES:
                yield from self._play_part()
            yield TurnOver(turn=len(self.turns), passes=tuple(self.turns[-1]))
            if self._quiet >= QUIET_PASSES:
                yield NobodyPlays()
                return

    @property
    def _left(self) -> int:
        return self._request.passes - sum(over.complete for over in self.turns[-1])

    def _earlier(self) -> list[Deviation]:
        """What the latest passes tell of the player's bounce."""
        latest = [over for passes in self.turns for over in passes][-_BOUNCE_PASSES:]
        return [deviation for over in latest for deviation in over.judged.played]

    def _play_part(self) -> Iterator[Event]:
        """From a count-in to the end of the turn, or to where the sound is lost, or nobody plays."""
        if self._lost:
            yield from self._until_back()
        yield from self._until_ready()
        if self._lost:
            return
        asked, live, turn = self._request, self._live, len(self.turns)
        plan = after_count_in(asked.lick, asked.tempo_half_bpm, passes=self._left)
        follower = TurnFollower(
            plan,
            asked.limits,
            click_off=CLICKS[asked.click].thinned,
            first_number=asked.passes - self._left + 1,
            earlier=self._earlier(),
        )
        expected = [one for grid in plan.grids(asked.limits) for one in expectations(grid)]
        click = render(
            strokes(plan, asked.click),
            rate=live.rate,
            level_db=asked.click_db,
            quiet_sec=plan.first_start_sec if turn == 1 else 0.0,
        )
        live.settle()
        origin_sec = live.now_sec + LEAD_SEC
        live.expect([replace(one, onset_sec=one.onset_sec + origin_sec) for one in expected])
        live.play(click, origin_sec)
        self._part += 1
        tape = live.tape
        if asked.keep:
            tape.begin(round(origin_sec * tape.rate))
        yield CountIn(
            turn=turn,
            again=self._part > 1,
            plan=plan,
            begins_sec=self._clock() + origin_sec - live.now_sec,
        )
        begun = len(self.turns[-1])
        try:
            yield from self._follow(follower, plan, origin_sec)
        finally:
            live.hush()
            if not self._lost:
                for over in follower.end(lost=True):  # interrupted, or nobody plays: what was played stands
                    self._noted(over)
            passes = tuple(self.turns[-1][begun:])
            if asked.keep and passes:
                full = tape.full
                self.unstored = Kept(
                    turn=turn, part=self._part, sound=tape.take(), rate=tape.rate, passes=passes, full=full
                )
        if self.unstored is not None:
            yield self.unstored
            self.unstored = None

    def _follow(self, follower: TurnFollower, plan: TurnPlan, origin_sec: float) -> Iterator[Event]:
        turn, settled = len(self.turns), False
        ahead_quarters = plan.lick.pickup_quarters + 4 * EIGHTH_QUARTERS
        settle_sec = plan.first_start_sec - ahead_quarters * quarter_sec(plan.tempo_half_bpm)
        while not follower.over and self._quiet < QUIET_PASSES:
            if not settled and follower.heard_to_sec >= settle_sec:
                settled = True
                self._live.settle()  # the count-in has told more of the round trip
            items = iter(self._live.take(_LOOK_SEC))
            for item in items:
                if isinstance(item, Lost):
                    self._lost = True
                    self._live.hush()
                    yield SoundLost(line=item.line)
                    for over in follower.end(least=0.0, lost=True):
                        yield Passed(turn=turn, over=self._noted(over))
                    yield from self._watch(items)
                    return
                if isinstance(item, Back):
                    continue
                for found in follower.feed(_since(item, origin_sec)):
                    if isinstance(found, SevenFell):
                        yield Fell(turn=turn, seven=found, item=item, origin_sec=origin_sec)
                        continue
                    yield Passed(turn=turn, over=self._noted(found))

    def _noted(self, found: PassOver) -> PassOver:
        """Take note of a pass that is over, in the part that runs."""
        over = replace(found, part=self._part)
        self.turns[-1].append(over)
        if over.heard:
            self._quiet = 0
        elif over.complete:
            self._quiet += 1
        return over

    def _pause(self, sec: float) -> Iterator[Event]:
        """Rest; only the sound is watched."""
        until = self._clock() + sec
        while self._clock() < until and not self._lost:
            yield from self._watch(self._live.take(_LOOK_SEC))

    def _watch(self, items: Iterable[Heard | Lost | Back]) -> Iterator[Event]:
        for item in items:
            if isinstance(item, Lost):
                self._lost = True
                yield SoundLost(line=item.line)
            elif isinstance(item, Back):
                self._lost = False
                yield SoundBack()

    def _until_back(self) -> Iterator[Event]:
        until = self._clock() + PATIENCE_SEC
        while self._lost:
            if self._clock() > until:
                raise DeviceTrouble(f"the sound did not come back within {PATIENCE_SEC / 60:.0f} minutes")
            yield from self._watch(self._live.take(_LOOK_SEC))

    def _until_ready(self) -> Iterator[Event]:
        until = self._clock() + READY_SEC
        while not (self._live.ready or self._lost):
            if self._clock() > until:
                raise DeviceTrouble("the sound device runs, but tells nothing of its time; try another one")
            yield from self._watch(self._live.take(_LOOK_SEC))


def _since(item: Heard, origin_sec: float) -> Listened:
    """What was heard, in times since a count-in began."""
    return Listened(
        now_sec=item.now_sec - origin_sec,
        reports=[shifted(report, -origin_sec) for report in item.reports],
        deaf=[(begin - origin_sec, end - origin_sec) for begin, end in item.deaf],
        round_trip_sec=item.round_trip_sec,
        untold=item.untold,
    )
