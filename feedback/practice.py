"""Playing along, turn after turn: count-in, four passes with rest bars, what is to be said, and again.

It runs on the session's thread and waits for nothing but the next items of what is listened to. What it
is given may be a microphone (`listener.live.Live`) or anything that behaves like one. It ends when the
turns that were asked for are over, or when nothing was heard in two whole passes running. Where the sound
goes away, the running pass is not complete, those before it stand; once the sound is back the turn goes
on with a new count-in and the passes that are left.

It is steered by wishes (`feedback.wishes`), which it looks for in every round of every wait and while a turn
runs: within some 20 ms. What a window shows between two events goes by the time of the part that sounds then:
`Practice.part_sec`, which any thread may ask, since it reads one tuple that is stored whole.

Times within a part of a turn (from one count-in to the end, or to where the sound was lost) are seconds
since that count-in began: those of its plan, of its verdicts, and of the take that is kept of it.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Generator, Iterator, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from feedback.attending import LOOK_SEC, Attending
from feedback.drifting import StringDrift
from feedback.following import TurnFollower
from feedback.grid import EIGHTH_QUARTERS
from feedback.laying import LEAD_SEC, lay
from feedback.listening import Listening, since, sounding_sec
from feedback.practice_events import (
    QUIET_PASSES,
    Begins,
    CountIn,
    Event,
    Fell,
    GoesOn,
    HeardAgain,
    Kept,
    NobodyPlays,
    Opened,
    Passed,
    StringOff,
    TurnOver,
)
from feedback.practice_request import PracticeRequest
from feedback.rehearing import LastPass
from feedback.session import PassGoesOn, PassOver, SevenFell, TurnPlan, after_count_in
from feedback.steering import Steering
from feedback.wishes import Wishes
from listener.keeper import Back, Lost
from routines.lick import quarter_sec

if TYPE_CHECKING:
    import numpy as np

    from listener.run import Heard

__all__ = ["LEAD_SEC", "Listening", "Practice"]


class Practice:
    """Practising one lick.

    Parameters
    ----------
    request : PracticeRequest
    live : Listening
        Started already.
    clock : callable
        Seconds that pass.
    wishes : Wishes, optional
        What the player wishes meanwhile. `Start` ends a rest, and is nothing while a turn runs. `BreakOff`
        ends the turn, whose passes so far stand, or the rest; then `Start` is waited for. `End` ends all.
        `Tempo` holds from the next count-in on.
    waits : bool
        Whether it waits for `Start` or `End` where it would end: after the last turn (each `Start` is one
        more), or where nobody plays.
    cue_starts : bool
        Whether the played cue, where the request asks for it, is as good as `Start`; else it is only told.
    """

    def __init__(
        self,
        request: PracticeRequest,
        live: Listening,
        clock: Callable[[], float] = time.monotonic,
        wishes: Wishes | None = None,
        *,
        waits: bool = False,
        cue_starts: bool = True,
    ) -> None:
        self._live, self._clock, self._waits = live, clock, waits
        self._steering = Steering(request, wishes)
        self._sound = Attending(live, clock, self._steering, cue_starts=cue_starts)
        self._strings = StringDrift(request.lick)
        self._quiet = 0
        self._part = 0
        self._origin: tuple[float, int] | None = None  # of the part that runs or ran, and losses by then
        self.last = LastPass()
        """The last whole pass of the turn that is over; gone when the next count-in begins."""
        self.turns: list[list[PassOver]] = []
        """The passes of each turn so far; what was judged stays here whatever happens."""
        self.asked: list[PracticeRequest] = []
        """What was asked in each of them."""
        self.unstored: Kept | None = None
        """After an interruption the part that was cut short; the others were handed on."""

    @property
    def request(self) -> PracticeRequest:
        """What is practised, at the tempo of the next count-in."""
        return self._steering.request

    def part_sec(self) -> float | None:
        """Which second of the running part sounds now; from any thread.

        Returns
        -------
        float or None
            Seconds since its count-in began, negative right before. It goes on after the part's end, until
            the next one begins. None before the first part, and once its stream is lost.
        """
        origin = self._origin
        if origin is None or origin[1] != self._sound.losses:
            return None
        return sounding_sec(self._live) - origin[0]

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
        steering = self._steering
        yield from self._sound.until_ready()
        if not steering.ended:
            yield Opened()
        while not steering.ended and (self._waits or not self._used_up):
            if self._live.grown:
                self._origin = None
                self._live.freshen()
                yield from self._sound.until_ready()
            yield from self._sound.rest(self.request.rest_sec)
            if steering.ended:
                return
            yield from self._turn()
            yield from self._hear_again()
            if self._quiet >= QUIET_PASSES and not self._waits:
                yield NobodyPlays()
                return
            if self._quiet >= QUIET_PASSES or self._used_up:
                self._quiet = 0
                steering.wait()

    @property
    def _used_up(self) -> bool:
        return self.request.turns is not None and len(self.turns) >= self.request.turns

    @property
    def _left(self) -> int:
        return self.request.passes - sum(over.complete for over in self.turns[-1])

    def _turn(self) -> Iterator[Event]:
        self.turns.append([])
        self.asked.append(self.request)
        self._part, self._steering.playing = 0, True
        yield Begins(turn=len(self.turns))
        while self._left and self._quiet < QUIET_PASSES and not self._steering.stops:
            yield from self._play_part()
        self._steering.playing = False
        yield TurnOver(turn=len(self.turns), passes=tuple(self.turns[-1]))

    def _play_part(self) -> Iterator[Event]:
        """From a count-in to the end of the turn, or to where the sound is lost, or nobody plays."""
        yield from self._sound.until_back()
        yield from self._sound.until_ready()
        if self._sound.lost or self._steering.stops:
            return
        asked, live, turn = self.request, self._live, len(self.turns)
        self.last.forget()
        plan = after_count_in(asked.lick, asked.tempo_half_bpm, passes=self._left, rest_bars=asked.rest_bars)
        number = asked.passes - self._left + 1
        follower, origin_sec = lay(live, asked, plan, turns=self.turns, first_number=number)
        self._origin = origin_sec, self._sound.losses
        self._part += 1
        self._strings.begin()
        tape = live.tape
        if asked.keep or asked.rehear:
            tape.begin(round(origin_sec * tape.rate))
        yield CountIn(
            turn=turn,
            again=self._part > 1,
            first_number=number,
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
            yield from self._steering.look()
            if self._steering.stops:
                self._live.hush()
                self._live.expect(())
                for over in follower.end(lost=True):
                    yield Passed(turn=turn, over=self._noted(over))
                return
            if not settled and follower.heard_to_sec >= settle_sec:
                settled = True
                self._live.settle()  # the count-in has told more of the round trip
            items = iter(self._live.take(LOOK_SEC))
            for item in items:
                if isinstance(item, Lost):
                    self._live.hush()
                    yield from self._sound.watch([item])
                    for over in follower.end(least=0.0, lost=True):
                        yield Passed(turn=turn, over=self._noted(over))
                    yield from self._sound.watch(items)
                    return
                if not isinstance(item, Back):
                    yield from self._heard(item, follower, origin_sec)

    def _heard(self, item: Heard, follower: TurnFollower, origin_sec: float) -> Iterator[Event]:
        turn, told = len(self.turns), since(item, origin_sec)
        self._strings.feed(told.reports)
        for found in follower.feed(told):
            match found:
                case SevenFell():
                    yield Fell(turn=turn, seven=found, item=item, origin_sec=origin_sec)
                case PassGoesOn(number=number, outcome=outcome, heard_to_sec=sec):
                    yield GoesOn(turn=turn, number=number, outcome=outcome, heard_to_sec=sec)
                case PassOver():
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
        if self.request.rehear is not None and whole:
            begin_sec = plan.starts_sec[whole[-1][0]]
            tempo, lick = plan.tempo_half_bpm, plan.lick
            self.last.hold(sound, rate, lick=lick, tempo_half_bpm=tempo, begin_sec=begin_sec)

    def _hear_again(self) -> Iterator[Event]:
        """Play the last pass and the model, where that is asked for and somebody plays."""
        speed, last, live = self.request.rehear, self.last, self._live
        steers = self._steering.ended or self._steering.holds
        if speed is None or last.rate != live.rate or self._quiet or steers:
            return
        if self._sound.lost or not live.ready:
            return
        sound = last.against_model(speed, self.request.model_db)
        lasts_sec = LEAD_SEC + len(sound) / live.rate
        live.play(sound, live.now_sec + LEAD_SEC)
        yield HeardAgain(turn=len(self.turns), speed=speed, lasts_sec=lasts_sec)
        try:
            yield from self._sound.pause(lasts_sec)
        finally:
            live.hush()
