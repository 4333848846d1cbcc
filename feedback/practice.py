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
from collections.abc import Callable, Generator, Iterator, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Protocol

from feedback.attending import LOOK_SEC, Attending
from feedback.clicking import CLICKS
from feedback.drifting import StringDrift
from feedback.expect import expectations
from feedback.following import TurnFollower
from feedback.grid import EIGHTH_QUARTERS
from feedback.judges.timing import Deviation
from feedback.practice_events import (
    QUIET_PASSES,
    CountIn,
    Event,
    Fell,
    HeardAgain,
    Kept,
    NobodyPlays,
    Opened,
    Passed,
    PracticeRequest,
    SoundLost,
    StringOff,
    TurnOver,
)
from feedback.rehearing import LastPass
from feedback.session import Listened, PassOver, SevenFell, TurnPlan, after_count_in
from feedback.sounding import backing_notes, turn_sound
from listener.aligning import shifted
from listener.expecting import Expectation
from listener.keeper import Back, Lost
from routines.lick import quarter_sec

if TYPE_CHECKING:
    import numpy as np

    from listener.run import Condition, Heard
    from listener.tape import Tape

LEAD_SEC = 0.3
"""So far ahead a count-in is laid."""

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
    def relearn(self) -> None: ...
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
        self._sound = Attending(live, clock)
        self._strings = StringDrift(request.lick)
        self._quiet = 0
        self._part = 0
        self.last = LastPass()
        """The last whole pass of the turn that is over; gone when the next count-in begins."""
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
            As `Attending.until_back` and `until_ready`.
        """
        yield from self._sound.until_ready()
        yield Opened()
        while self._request.turns is None or len(self.turns) < self._request.turns:
            if self._live.grown:
                self._live.freshen()
                yield from self._sound.until_ready()
            yield from self._sound.pause(self._request.rest_sec)
            self.turns.append([])
            self._part = 0
            while self._left and self._quiet < QUIET_PASSES:
                yield from self._play_part()
            yield TurnOver(turn=len(self.turns), passes=tuple(self.turns[-1]))
            yield from self._hear_again()
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
        yield from self._sound.until_back()
        yield from self._sound.until_ready()
        if self._sound.lost:
            return
        asked, live, turn = self._request, self._live, len(self.turns)
        self.last.forget()
        plan = after_count_in(asked.lick, asked.tempo_half_bpm, passes=self._left, rest_bars=asked.rest_bars)
        sound, own = turn_sound(asked, plan, live.rate, first=turn == 1)
        follower = TurnFollower(
            plan,
            asked.limits,
            click_off=CLICKS[asked.click].thinned and not asked.backing,
            first_number=asked.passes - self._left + 1,
            earlier=self._earlier(),
            own=own,
            beside=backing_notes(asked, plan),
        )
        expected = [one for grid in plan.grids(asked.limits) for one in expectations(grid)]
        live.relearn()
        live.settle()
        origin_sec = live.now_sec + LEAD_SEC
        live.expect([replace(one, onset_sec=one.onset_sec + origin_sec) for one in expected])
        live.play(sound, origin_sec)
        self._part += 1
        self._strings.begin()
        tape = live.tape
        if asked.keep or asked.rehear:
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
            if not self._sound.lost:
                for over in follower.end(lost=True):  # interrupted, or nobody plays: what was played stands
                    self._noted(over)
            passes = tuple(self.turns[-1][begun:])
            full, kept = tape.full, tape.take()
            self._hold_last(plan, passes, kept, tape.rate)
            if asked.keep and passes:
                self.unstored = Kept(
                    turn=turn, part=self._part, sound=kept, rate=tape.rate, passes=passes, full=full
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
            items = iter(self._live.take(LOOK_SEC))
            for item in items:
                if isinstance(item, Lost):
                    self._sound.lost = True
                    self._live.hush()
                    yield SoundLost(line=item.line)
                    for over in follower.end(least=0.0, lost=True):
                        yield Passed(turn=turn, over=self._noted(over))
                    yield from self._sound.watch(items)
                    return
                if isinstance(item, Back):
                    continue
                since = _since(item, origin_sec)
                self._strings.feed(since.reports)
                for found in follower.feed(since):
                    if isinstance(found, SevenFell):
                        yield Fell(turn=turn, seven=found, item=item, origin_sec=origin_sec)
                        continue
                    yield Passed(turn=turn, over=self._noted(found))
                    for drifted in self._strings.over(found.judged.outcome):
                        yield StringOff(drifted=drifted)

    def _noted(self, found: PassOver) -> PassOver:
        """Take note of a pass that is over, in the part that runs."""
        over = replace(found, part=self._part)
        self.turns[-1].append(over)
        if over.heard:
            self._quiet = 0
        elif over.complete:
            self._quiet += 1
        return over

    def _hold_last(self, plan: TurnPlan, passes: Sequence[PassOver], sound: np.ndarray, rate: int) -> None:
        """Keep the last whole pass of a part in memory, to be heard again."""
        whole = [(k, over) for k, over in enumerate(passes) if over.complete and over.heard]
        if self._request.rehear is not None and whole:
            begin_sec = plan.starts_sec[whole[-1][0]]
            tempo, lick = plan.tempo_half_bpm, plan.lick
            self.last.hold(sound, rate, lick=lick, tempo_half_bpm=tempo, begin_sec=begin_sec)

    def _hear_again(self) -> Iterator[Event]:
        """Play the last pass and the model, where that is asked for and somebody plays."""
        speed, last, live = self._request.rehear, self.last, self._live
        if speed is None or last.rate != live.rate or self._quiet or self._sound.lost or not live.ready:
            return
        sound = last.against_model(speed, self._request.model_db)
        lasts_sec = LEAD_SEC + len(sound) / live.rate
        live.play(sound, live.now_sec + LEAD_SEC)
        yield HeardAgain(turn=len(self.turns), speed=speed, lasts_sec=lasts_sec)
        try:
            yield from self._sound.pause(lasts_sec)
        finally:
            live.hush()


def _since(item: Heard, origin_sec: float) -> Listened:
    """What was heard, in times since a count-in began."""
    return Listened(
        now_sec=item.now_sec - origin_sec,
        reports=[shifted(report, -origin_sec) for report in item.reports],
        deaf=[(begin - origin_sec, end - origin_sec) for begin, end in item.deaf],
        round_trip_sec=item.round_trip_sec,
        untold=item.untold,
        bleed_db=item.bleed_db,
    )
