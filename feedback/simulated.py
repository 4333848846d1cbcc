"""The simulated player's practice, in real time: the same events as at a microphone, and no sound card.

What is played goes through the same ear, block by block, at the pace of a clock; whoever watches sees it
come. The first turn at a seed is heard exactly as `feedback.playing.play_simulated` hears it, so both say the
same. Clock and waiting are arguments: with a clock that only goes on when it is waited for, a turn is over as
soon as it is computed.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Generator, Iterator, Sequence
from dataclasses import replace

from feedback.expect import expectations
from feedback.following import TurnFollower
from feedback.player import render
from feedback.practice_events import (
    CountIn,
    Event,
    GoesOn,
    Opened,
    Passed,
    PracticeRequest,
    Resting,
    TempoSet,
    TurnOver,
)
from feedback.session import PassGoesOn, PassOver, TurnPlan, after_count_in
from feedback.sources import SIMULATED_RATE, listened, simulated_turn
from feedback.wishes import BreakOff, End, Start, Tempo, Wishes
from routines.tempo import FASTEST_HALF_BPM, SLOWEST_HALF_BPM

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
    ) -> None:
        if len(mistakes) != request.passes:
            raise ValueError(f"mistakes of {len(mistakes)} passes; the turn has {request.passes}")
        self.request = request
        self._mistakes, self._seed = mistakes, seed
        self._wishes = wishes or Wishes()
        self._clock, self._wait, self._waits = clock, wait, waits
        self._origin_sec: float | None = None
        self._broken_off = self._ended = False
        self.turns: list[list[PassOver]] = []
        """The passes of each turn so far."""

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
        yield Opened()
        yield from self._rest(self.request.rest_sec)
        while not self._ended:
            yield from self._turn()
            asked = self.request.turns
            last = asked is not None and len(self.turns) >= asked
            if self._ended or (last and not self._waits):
                return
            yield from self._rest(None if self._waits or self._broken_off else self.request.rest_sec)

    def _turn(self) -> Iterator[Event]:
        request = self.request
        plan = after_count_in(
            request.lick, request.tempo_half_bpm, passes=request.passes, rest_bars=request.rest_bars
        )
        source = self._heard(plan, self._seed + 1000 * len(self.turns))
        follower = TurnFollower(plan, request.limits)
        self.turns.append([])
        self._broken_off = False
        number = len(self.turns)
        self._origin_sec = self._clock() + LEAD_SEC
        yield CountIn(turn=number, again=False, plan=plan, begins_sec=self._origin_sec)
        for item in source:
            yield from self._until(self._origin_sec + item.now_sec)
            if self._broken_off or self._ended:
                break
            for found in follower.feed(item):
                yield from self._told(found, number)
            if follower.over:
                break
        over = follower.end(lost=True) if self._broken_off or self._ended else follower.end()
        for one in over:
            yield from self._told(one, number)
        yield TurnOver(turn=number, passes=tuple(self.turns[-1]))

    def _told(self, found: object, turn: int) -> Iterator[Event]:
        if isinstance(found, PassGoesOn):
            yield GoesOn(
                turn=turn, number=found.number, outcome=found.outcome, heard_to_sec=found.heard_to_sec
            )
        elif isinstance(found, PassOver):
            self.turns[-1].append(found)
            yield Passed(turn=turn, over=found)

    def _heard(self, plan: TurnPlan, seed: int) -> Iterator:
        played = simulated_turn(plan, mistakes=self._mistakes, seed=seed)
        sound = render(played, rate=SIMULATED_RATE, seed=seed)
        asked = [one for grid in plan.grids(self.request.limits) for one in expectations(grid)]
        return listened(sound, SIMULATED_RATE, until_sec=plan.end_sec, expectations=asked)

    def _until(self, at_sec: float) -> Iterator[Event]:
        """Let time pass while a turn runs."""
        while True:
            for wish in self._wished():
                if isinstance(wish, BreakOff):
                    self._broken_off = True
                elif isinstance(wish, Tempo):
                    yield self._set(wish)
            left = at_sec - self._clock()
            if left <= 0.0 or self._broken_off or self._ended:
                return
            self._wait(min(left, LOOK_SEC))

    def _rest(self, sec: float | None) -> Iterator[Event]:
        """Rest so long, or until the player wishes to go on."""
        until_sec = None if sec is None else self._clock() + sec
        yield Resting(until_sec=until_sec)
        while not self._ended and (until_sec is None or self._clock() < until_sec):
            for wish in self._wished():
                if isinstance(wish, Start):
                    return
                if isinstance(wish, Tempo):
                    yield self._set(wish)
                elif isinstance(wish, BreakOff) and until_sec is not None:
                    until_sec = None
                    yield Resting(until_sec=None)
            self._wait(LOOK_SEC)

    def _wished(self) -> Iterator[Start | BreakOff | Tempo]:
        while (wish := self._wishes.next()) is not None:
            if isinstance(wish, End):
                self._ended = True
            else:
                yield wish

    def _set(self, wish: Tempo) -> TempoSet:
        tempo = min(max(wish.half_bpm, SLOWEST_HALF_BPM), FASTEST_HALF_BPM)
        self.request = replace(self.request, tempo_half_bpm=tempo)
        return TempoSet(tempo_half_bpm=tempo)
