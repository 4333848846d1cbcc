"""The tempo ladder goes along with a practice: it is told every pass, and says what the next count-in plays.

The ladder itself (`routines.ladder.ladder`) is pure; here it is given its times, and what it wants becomes a
wish. Where the player chooses another tempo meanwhile, it goes on from there.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from dataclasses import replace

from feedback.begun import Begun, ladder_of
from feedback.ladder_seen import LadderSeen
from feedback.practice_events import Event, LadderTold, Opened, Passed, TempoSet, TurnOver
from feedback.practice_request import PracticeRequest
from feedback.session import REST_BARS, PassOver
from feedback.wishes import End, Hold, Piece, Tempo, Wish
from routines.errors import BadRoutine
from routines.excerpt import Span
from routines.ladder.ladder import PassSeen


class Climb:
    """Behaves as `feedback.company.Companion`.

    Parameters
    ----------
    request : PracticeRequest
        What is practised; the ladder sets its tempo.
    begun : Begun
    clock : callable
        Seconds that pass.
    waits : bool
        Whether the player is waited for once the item has had its time; else the practice ends.
    """

    def __init__(
        self,
        request: PracticeRequest,
        begun: Begun,
        clock: Callable[[], float] = time.monotonic,
        *,
        waits: bool = False,
    ) -> None:
        self._clock, self._waits = clock, waits
        self._began_sec = clock() - begun.sitting_sec
        self._asked, self._passes = request, request.passes
        self._loop = _change_of(request)
        self._ladder = ladder_of(begun, request.lick, can_shrink=self._loop is not None)
        self._tempo = self._ladder.tempo_half_bpm

    @property
    def request(self) -> PracticeRequest:
        """What is practised first."""
        return replace(self._asked, tempo_half_bpm=self._tempo)

    @property
    def seen(self) -> LadderSeen:
        """What is shown of it."""
        ladder = self._ladder
        return LadderSeen(
            tempo_half_bpm=ladder.tempo_half_bpm,
            home_half_bpm=ladder.home_half_bpm,
            edge_half_bpm=ladder.edge_half_bpm,
            reach_half_bpm=ladder.reach_half_bpm,
            row=ladder.row,
            needed=ladder.limits.rules.clean_to_rise,
            unit=ladder.unit,
            phase=ladder.phase,
            said=ladder.said,
            minutes_left=0.0
            if ladder.phase == "over"
            else max(0.0, ladder.limits.rules.item_sec - ladder.spent_sec) / 60.0,
        )

    def told(self, event: Event, request: PracticeRequest) -> Iterator[Wish | Event]:
        """Count a pass; say what comes next once a turn is over."""
        match event:
            case Opened():
                yield LadderTold(seen=self.seen)
            case Passed(over=over) if over.complete and over.heard:
                self._ladder = self._ladder.after(self._seen(over, request))
            case TempoSet(tempo_half_bpm=tempo) if tempo != self._tempo:
                self._tempo = tempo
                self._ladder = self._ladder.at(tempo)
                yield LadderTold(seen=self.seen)
            case TurnOver():
                self._ladder = self._ladder.turn_over(self._sitting_sec)
                yield from self._next(request)
                yield LadderTold(seen=self.seen)

    def close(self) -> Iterator[Event]:
        """Nothing is left to be told."""
        yield from ()

    @property
    def _sitting_sec(self) -> float:
        return self._clock() - self._began_sec

    def _seen(self, over: PassOver, request: PracticeRequest) -> PassSeen:
        outcome = over.judged.outcome
        return PassSeen(
            tempo_half_bpm=outcome.tempo_half_bpm,
            clean=outcome.clean,
            spread_ms=outcome.timing.spread_ms,
            unit="whole" if request.span == self._asked.span else "change",
            sitting_sec=self._sitting_sec,
            lasted_sec=request.pass_sec(outcome.tempo_half_bpm),
        )

    def _next(self, request: PracticeRequest) -> Iterator[Wish]:
        """What the practice is to do in the rest that begins now."""
        ladder = self._ladder
        self._tempo = ladder.tempo_half_bpm
        span = self._loop if ladder.unit == "change" else self._asked.span
        passes = min(ladder.passes_next or self._passes, self._passes)
        if (span, passes) != (request.span, request.passes):
            yield self._piece(span, passes)
        elif request.tempo_half_bpm != self._tempo:
            yield Tempo(self._tempo)
        if ladder.phase == "over":
            yield Hold() if self._waits else End()

    def _piece(self, span: Span | None, passes: int) -> Piece:
        asked = self._asked
        whole = asked.whole or asked.lick
        if span == asked.span:
            lick, rest_bars = asked.lick, asked.rest_bars
        else:
            lick, rest_bars = (whole, REST_BARS) if span is None else (span.of(whole), 0)
        return Piece(
            lick=lick,
            tempo_half_bpm=self._tempo,
            passes=passes,
            rest_bars=rest_bars,
            whole=whole,
            span=span,
        )


def _change_of(request: PracticeRequest) -> Span | None:
    """The change alone, where there is one and it is not played alone, or in traffic, already."""
    if request.span is not None or request.way:
        return None
    try:
        Span().of(request.lick)
    except BadRoutine:
        return None
    return Span()
