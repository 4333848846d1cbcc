"""A warm-up goes along with a practice: what is played next, at which tempo, and the one remark at the end.

Round after round of short steps, each a turn of its own, with nothing to be touched between. After a round
that was clean the ladder lets the tempo rise; a step that was broken off before a pass was over comes again.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from dataclasses import replace
from typing import TYPE_CHECKING

from feedback.practice_events import Event, NobodyPlays, Opened, Remarked, TempoSet, TurnOver, WarmUpTold
from feedback.practice_request import PracticeRequest
from feedback.session import PassOver
from feedback.warm_up_seen import WarmUpSeen
from feedback.warmup_remarks import remark
from feedback.what_hands_do import Hands
from feedback.wishes import End, Hold, Piece, Wish
from routines.ladder.ladder import Ladder, PassSeen
from routines.ladder.standing import Standing
from routines.tempo import FASTEST_HALF_BPM
from routines.warmups.steps import Step, WarmUp
from routines.warmups.table import warm_up

if TYPE_CHECKING:
    from feedback.performing import Asked

LEAST_HALF_BPM = 44.0
"""No warm-up begins slower by itself: its three minutes would become five."""

SLIPS_SHARE = 1 / 8
"""A round is clean with no more than this share of its passes unclean: short steps, and many of them."""


class Warming:
    """Behaves as `feedback.company.Companion`.

    Parameters
    ----------
    asked : Asked
        With the name of the warm-up.
    hands : Hands
        What is known of the player's hands.
    clock : callable
        Seconds that pass.

    Raises
    ------
    routines.errors.BadRoutine
        If there is no such warm-up.
    """

    def __init__(self, asked: Asked, hands: Hands, clock: Callable[[], float] = time.monotonic) -> None:
        self._asked, self._clock, self._began_sec = asked, clock, clock()
        self._warm_up = warm_up(asked.warm_up)
        self._ladder = _ladder(self._warm_up, hands, asked.tempo_half_bpm)
        self._round, self._at = 0, 0
        self._steps = self._warm_up.steps(0)
        self._played: list[tuple[Step, tuple[PassOver, ...]]] = []
        self._of_round: list[PassOver] = []
        self._remarked = False

    @property
    def request(self) -> PracticeRequest:
        """What is practised first."""
        step, asked = self._step, self._asked.request
        return replace(
            asked,
            lick=step.lick,
            whole=step.lick,
            title=step.lick.title,
            span=None,
            way="",
            tempo_half_bpm=self._ladder.tempo_half_bpm,
            passes=step.passes,
            turns=None,
            click=step.click,
            rest_bars=step.rest_bars,
            rest_sec=max(asked.rest_sec, step.rest_sec, self._rest_after),
            rehear=None,
            model=False,
            routine=self._warm_up.name,
            says=step.says,
        )

    @property
    def seen(self) -> WarmUpSeen:
        """What is shown of it."""
        return WarmUpSeen(
            title=self._warm_up.title,
            says=self._step.says,
            lick=self._step.lick,
            round=self._round + 1,
            rounds=self._warm_up.rounds,
            step=self._at + 1,
            steps=len(self._steps),
            tempo_half_bpm=self._ladder.tempo_half_bpm,
        )

    def told(self, event: Event, request: PracticeRequest) -> Iterator[Wish | Event]:
        """Go on to the next step once a turn is over."""
        match event:
            case Opened():
                yield WarmUpTold(seen=self.seen)
            case TurnOver(passes=passes) if not self._remarked:
                yield from self._over([over for over in passes if over.complete], request)
            case TempoSet(tempo_half_bpm=tempo):
                self._ladder = self._ladder.at(tempo)
                yield WarmUpTold(seen=self.seen)
            case NobodyPlays():
                yield from self._remark()

    def close(self) -> Iterator[Event]:
        """Where it was ended before its time, what can be said of what was played."""
        for told in self._remark():
            if not isinstance(told, Wish):
                yield told

    @property
    def _step(self) -> Step:
        return self._steps[self._at]

    @property
    def _rest_after(self) -> float:
        """Rest after the step that is on: the next one's words are read in it, or the capo is moved."""
        if self._at + 1 < len(self._steps):
            return self._steps[self._at + 1].rest_sec
        return self._warm_up.steps((self._round + 1) % self._warm_up.rounds)[0].rest_sec

    def _over(self, passes: list[PassOver], request: PracticeRequest) -> Iterator[Wish | Event]:
        if passes:
            self._played.append((self._step, tuple(passes)))
            self._of_round += passes
            self._at += 1
        if self._at == len(self._steps):
            yield from self._round_over(request)
            if self._remarked:
                return
        step = self._step
        yield Piece(
            lick=step.lick,
            tempo_half_bpm=self._ladder.tempo_half_bpm,
            passes=step.passes,
            rest_bars=step.rest_bars,
            rest_sec=self._rest_after,
            click=step.click,
            title=step.lick.title,
            says=step.says,
        )
        yield WarmUpTold(seen=self.seen)

    def _round_over(self, request: PracticeRequest) -> Iterator[Wish | Event]:
        now_sec = self._clock() - self._began_sec
        seen = PassSeen(
            tempo_half_bpm=request.tempo_half_bpm,
            clean=_clean(self._of_round),
            sitting_sec=now_sec,
            lasted_sec=0.0,  # how long it takes is the warm-up's to say
        )
        self._ladder = self._ladder.after(seen).turn_over(now_sec)
        self._of_round, self._at = [], 0
        self._round += 1
        if self._round < self._warm_up.rounds:
            self._steps = self._warm_up.steps(self._round)
            return
        self._round, self._at = self._warm_up.rounds - 1, len(self._steps) - 1
        yield from self._remark()
        yield Hold() if self._asked.waits else End()

    def _remark(self) -> Iterator[Wish | Event]:
        """The one remark, once, and only where anything was played."""
        if not self._remarked and self._played:
            self._remarked = True
            said = remark(self._warm_up, self._played)
            yield WarmUpTold(seen=replace(self.seen, remark=said))
            yield Remarked(line=said)


def _clean(passes: list[PassOver]) -> bool | None:
    """Whether a round was clean; None where nothing can be told."""
    told = [over.judged.outcome.clean for over in passes if over.heard]
    known = [clean for clean in told if clean is not None]
    return known.count(False) <= SLIPS_SHARE * len(known) if known else None


def _ladder(warm_up: WarmUp, hands: Hands, asked_half_bpm: float | None) -> Ladder:
    """Its ladder: from a share of what the hands do on licks, never beyond their home there.

    A warm-up by itself cannot tell what the hands can do, since it is never played that fast.
    """
    rules = warm_up.rules
    first, ceiling = warm_up.first_half_bpm, FASTEST_HALF_BPM
    if hands.edge_half_bpm is not None and hands.home_half_bpm is not None:
        first = min(max(rules.start_share * hands.edge_half_bpm, LEAST_HALF_BPM), hands.home_half_bpm)
        ceiling = max(hands.home_half_bpm, asked_half_bpm or 0.0)
    ladder = Ladder.begin(
        Standing(),
        first_half_bpm=float(round(first)),
        can_shrink=False,
        rules=rules,
        fastest_half_bpm=ceiling,
    )
    return ladder if asked_half_bpm is None else ladder.at(asked_half_bpm)
