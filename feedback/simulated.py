"""The simulated player's practice, in real time: the same events as at a microphone, and no microphone.

What is played goes through the same ear, block by block, at the pace of a clock; whoever watches sees it
come. The first turn at a seed is heard exactly as `feedback.playing.play_simulated` hears it, so both say the
same. It may be heard meanwhile over a loudspeaker (`feedback.aloud`), which changes nothing of that. Clock
and waiting are arguments: with a clock that only goes on when it is waited for, a turn is over as soon as it
is computed.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Generator, Iterator, Sequence
from functools import partial

import numpy as np

from feedback.aloud import Aloud
from feedback.clicking import CLICKS
from feedback.expect import expectations
from feedback.following import TurnFollower
from feedback.player import render
from feedback.practice_events import Begins, CountIn, Event, GoesOn, Opened, Passed, TurnOver
from feedback.practice_request import PracticeRequest
from feedback.session import PassGoesOn, PassOver, TurnPlan, after_count_in
from feedback.sounding import aloud_sound
from feedback.sources import SIMULATED_RATE, listened, simulated_turn
from feedback.steering import Rest, Steering
from feedback.wishes import Wishes
from routines.errors import BadRoutine

LEAD_SEC = 0.3
"""So long after it is told, a count-in begins."""

LOOK_SEC = 0.01
"""So long is waited at most before wishes are looked for."""


class SimulatedPractice:
    """The simulated player, practising.

    Parameters
    ----------
    request : PracticeRequest
        `turns` None goes on until it is ended; sound levels play no part.
    mistakes : sequence of sequences of str
        For each pass of every turn, what is done wrong.
    seed : int
        Of the first turn; each further one has others.
    wishes : Wishes, optional
    clock : callable
        Seconds that pass.
    wait : callable
        Lets so many of them pass.
    waits : bool
        Whether it waits for `Start` between turns, and after the last one for `Start` or `End`.
    aloud : Aloud, optional
        What its turns are heard by; opened and closed by whoever made it.

    Raises
    ------
    ValueError
        If there are not as many mistakes as passes.
    """

    def __init__(
        self,
        request: PracticeRequest,
        *,
        mistakes: Sequence[Sequence[str]],
        seed: int = 0,
        wishes: Wishes | None = None,
        clock: Callable[[], float] = time.monotonic,
        wait: Callable[[float], object] = time.sleep,
        waits: bool = False,
        aloud: Aloud | None = None,
    ) -> None:
        if len(mistakes) != request.passes:
            raise ValueError(f"mistakes of {len(mistakes)} passes; the turn has {request.passes}")
        self._steering = Steering(request, wishes)
        self._mistakes, self._seed = mistakes, seed
        self._clock, self._wait, self._waits = clock, wait, waits
        self._aloud = aloud
        self._origin_sec: float | None = None
        self.turns: list[list[PassOver]] = []
        """The passes of each turn so far."""
        self.asked: list[PracticeRequest] = []
        """What was asked in each of them."""

    @property
    def request(self) -> PracticeRequest:
        """What is practised, at the tempo of the next count-in."""
        return self._steering.request

    def part_sec(self) -> float | None:
        """Which second of the turn sounds now; None before the first one. From any thread."""
        origin_sec = self._origin_sec
        return None if origin_sec is None else self._clock() - origin_sec

    def events(self) -> Generator[Event, None, None]:
        """Play turns until it is over.

        Yields
        ------
        Event

        Raises
        ------
        routines.errors.BadRoutine
            If a mistake is unknown, or the lick has no place for it.
        """
        steering = self._steering
        yield Opened()
        yield from self._rest(self.request.rest_sec)
        while not steering.ended:
            yield from self._turn()
            asked = self.request.turns
            if steering.ended or (asked is not None and len(self.turns) >= asked and not self._waits):
                return
            if self._waits:
                steering.wait()
            yield from self._rest(self.request.rest_sec)

    def _turn(self) -> Iterator[Event]:
        request, steering = self.request, self._steering
        self.turns.append([])
        self.asked.append(request)
        number = len(self.turns)
        steering.playing = True
        yield Begins(turn=number)
        plan = after_count_in(
            request.lick, request.tempo_half_bpm, passes=request.passes, rest_bars=request.rest_bars
        )
        sound = self._played(plan, self._seed + 1000 * (number - 1))
        source = self._heard(plan, sound)
        thinned = CLICKS[request.click].thinned and not request.backing
        follower = TurnFollower(plan, request.limits, click_off=thinned)
        lead_sec = LEAD_SEC + self._ready(plan, sound)
        self._origin_sec = self._clock() + lead_sec
        self._tend()
        yield CountIn(turn=number, again=False, plan=plan, begins_sec=self._origin_sec)
        for item in source:
            yield from self._until(item.now_sec)
            if steering.stops:
                break
            for found in follower.feed(item):
                yield from self._told(found, number)
            if follower.over:
                break
        if self._aloud is not None and steering.stops:
            self._aloud.silence()
        for one in follower.end(lost=steering.stops):
            yield from self._told(one, number)
        steering.playing = False
        yield TurnOver(turn=number, passes=tuple(self.turns[-1]))

    def _told(self, found: object, turn: int) -> Iterator[Event]:
        if isinstance(found, PassGoesOn):
            yield GoesOn(
                turn=turn, number=found.number, outcome=found.outcome, heard_to_sec=found.heard_to_sec
            )
        elif isinstance(found, PassOver):
            self.turns[-1].append(found)
            yield Passed(turn=turn, over=found)

    def _played(self, plan: TurnPlan, seed: int) -> np.ndarray:
        wrong = [*self._mistakes, *((),) * plan.passes][: plan.passes]
        try:
            played = simulated_turn(plan, mistakes=wrong, seed=seed)
        except BadRoutine:
            if len(self.turns) == 1:
                raise
            # A part of the lick has no place for it.
            played = simulated_turn(plan, mistakes=((),) * plan.passes, seed=seed)
        return render(played, rate=SIMULATED_RATE, seed=seed)

    def _ready(self, plan: TurnPlan, sound: np.ndarray) -> float:
        """Have it ready to be heard; how much longer than usual it takes until it can begin."""
        if self._aloud is None:
            return 0.0
        first = len(self.turns) == 1
        made = partial(aloud_sound, self.request, plan, sound, SIMULATED_RATE, first=first)
        return self._aloud.ready(made)

    def _tend(self) -> None:
        """Stay in step with what is heard."""
        if self._aloud is not None and self._origin_sec is not None:
            self._origin_sec = self._aloud.tend(self._origin_sec)

    def _heard(self, plan: TurnPlan, sound: np.ndarray) -> Iterator:
        asked = [one for grid in plan.grids(self.request.limits) for one in expectations(grid)]
        return listened(sound, SIMULATED_RATE, until_sec=plan.end_sec, expectations=asked)

    def _until(self, at_sec: float) -> Iterator[Event]:
        """Let time pass while a turn runs, up to a second of it."""
        while True:
            yield from self._steering.look()
            self._tend()
            left = (self._origin_sec or 0.0) + at_sec - self._clock()
            if left <= 0.0 or self._steering.stops:
                return
            self._wait(min(left, LOOK_SEC))

    def _rest(self, sec: float) -> Iterator[Event]:
        """Rest so long, or until the player wishes to go on."""
        steering = self._steering
        rest = Rest(steering, self._clock() + sec)
        while True:
            yield from steering.look()
            yield from rest.news()
            if rest.over(self._clock()):
                break
            self._wait(LOOK_SEC)
        steering.begins = False
