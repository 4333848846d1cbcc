"""What is wished of a practice, put in order: what it is to do next, and what is asked of it from now on.

Used by the thread that practises alone; wishes reach it through `feedback.wishes`.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

from feedback.practice_events import PieceSet, Resting, TempoSet
from feedback.practice_request import PracticeRequest
from feedback.wishes import BreakOff, End, Hold, Piece, Start, Tempo, Wishes
from routines.tempo import FASTEST_HALF_BPM, SLOWEST_HALF_BPM


class Steering:
    """Where a practice is steered.

    Parameters
    ----------
    request : PracticeRequest
    wishes : Wishes or None

    Attributes
    ----------
    request : PracticeRequest
        As it is asked for now; the next count-in goes by it.
    playing : bool
        Whether a turn runs; set by whoever plays it.
    ended : bool
        Whether no more is wished.
    holds : bool
        Whether the player is waited for; while a turn runs: whether it is to end for that.
    patient : bool
        Whether the player is waited for in the next rest; nothing that goes on now ends for that.
    begins : bool
        Whether the next count-in is to come at once; taken back by whoever begins it.
    """

    def __init__(self, request: PracticeRequest, wishes: Wishes | None) -> None:
        self.request, self._wishes = request, wishes
        self.playing = self.ended = self.holds = self.patient = self.begins = False

    @property
    def stops(self) -> bool:
        """Whether what goes on now is to end."""
        return self.ended or (self.playing and self.holds)

    @property
    def turned(self) -> bool:
        """Whether anything was wished that ends what is heard between two turns."""
        return self.ended or self.holds or self.begins

    def hold(self) -> None:
        """Wait for the player."""
        self.holds, self.begins = True, False

    def wait(self) -> None:
        """Wait for the player, unless it was wished already that it goes on."""
        self.holds = not self.begins

    def begin(self) -> None:
        """Wait for nothing any more; of no effect while a turn runs."""
        if not self.playing:
            self.holds = self.patient = False
            self.begins = True

    def look(self) -> Iterator[TempoSet | PieceSet]:
        """Take what was wished, in order; what comes after the end of a turn is for the rest after it.

        Yields
        ------
        TempoSet, PieceSet
            Where another tempo, or something else to be practised, holds from now on.
        """
        while not self.stops and self._wishes is not None and (wish := self._wishes.next()) is not None:
            match wish:
                case Start():
                    self.begin()
                case BreakOff():
                    self.hold()
                case Hold() if not (self.playing or self.begins):
                    self.patient = True
                case End():
                    self.ended = True
                case Tempo(half_bpm=tempo) if math.isfinite(tempo):
                    self.request = replace(self.request, tempo_half_bpm=_held(tempo))
                    yield TempoSet(tempo_half_bpm=self.request.tempo_half_bpm)
                case Piece() if math.isfinite(wish.tempo_half_bpm):
                    self.request = _with(self.request, wish)
                    yield PieceSet(request=self.request)


def _held(tempo_half_bpm: float) -> float:
    return min(max(tempo_half_bpm, SLOWEST_HALF_BPM), FASTEST_HALF_BPM)


def _with(request: PracticeRequest, piece: Piece) -> PracticeRequest:
    """What is asked, with something else to be practised."""
    return replace(
        request,
        lick=piece.lick,
        tempo_half_bpm=_held(piece.tempo_half_bpm),
        passes=piece.passes,
        rest_bars=piece.rest_bars,
        rest_sec=request.rest_sec if piece.rest_sec is None else piece.rest_sec,
        click=piece.click or request.click,
        whole=piece.whole or piece.lick,
        span=piece.span,
        title=piece.title or request.title,
        says=piece.says,
    )


class Rest:
    """A rest between two turns: when it is over, and what is to be told of it.

    Parameters
    ----------
    steering : Steering
    over_sec : float
        When it is over by itself, by the clock of whoever rests.
    """

    def __init__(self, steering: Steering, over_sec: float) -> None:
        self._steering, self._over_sec = steering, over_sec
        self._told: list[float | None] = []

    @property
    def _until_sec(self) -> float | None:
        return None if self._steering.holds or self._steering.patient else self._over_sec

    @property
    def _ends(self) -> bool:
        return self._steering.ended or self._steering.begins

    def news(self) -> Iterator[Resting]:
        """Until when it lasts, at its beginning and whenever that has changed."""
        if not self._told or (self._until_sec != self._told[-1] and not self._ends):
            self._told.append(self._until_sec)
            yield Resting(until_sec=self._until_sec)

    def forget(self) -> None:
        """What stands in its place was told: tell it anew."""
        self._told.clear()

    def over(self, now_sec: float, *, lost: bool = False) -> bool:
        """Whether it is over now; where the sound is lost, unless the player is waited for."""
        until_sec = self._until_sec
        return self._ends or (until_sec is not None and (lost or now_sec >= until_sec))
