"""A stand-in for a microphone: a room whose time goes on when it is asked, and a hand that plays along."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np

from feedback.performance import perform
from feedback.played import as_heard
from feedback.wishes import Wish, Wishes
from listener.expecting import Expectation
from listener.keeper import Back, Lost
from listener.notes import NoteEvent, Report
from listener.run import Condition, Heard
from listener.tape import Tape
from routines.library import load

LICK = load("slab-wood-supper")
TEMPO = 120.0  # a bar lasts a second
RATE = 8000
STEP_SEC = 0.05
TRIP_SEC = 0.02


class Room:
    """Behaves as `listener.live.Live` does, with a hand that plays along from the count-in on.

    Parameters
    ----------
    hand : callable
        Given how many parts were begun, the mistakes of each pass in the part; None plays nothing.
    """

    rate = RATE

    def __init__(self, hand: Callable[[int], Sequence[Sequence[str]] | None]) -> None:
        self._hand = hand
        self.now_sec = 0.0
        self.clock_sec = 100.0
        self.ready = True
        self.tape = Tape(RATE)
        self.parts = 0
        self.laid: list[tuple[float, np.ndarray]] = []
        self.asked: list[Expectation] = []
        self.hushed = self.settled = self.relearnt = 0
        self.lose_at: dict[float, float] = {}  # by the clock: when, and for how long
        self.deaf: list[tuple[float, float]] = []
        self.trip_sec = TRIP_SEC
        self.untold = 0
        self.grown = False
        self.freshened = 0
        self.unsure_sec = 0.003
        self.behind_sec = 0.0  # how late all that is played comes
        self.wishes = Wishes()
        self.wish_at: list[tuple[float, Wish]] = []  # by the clock
        self.tempo = TEMPO  # at which the hand plays along
        self._gone_until: float | None = None
        self._notes: list[NoteEvent] = []
        self._count = 0

    @property
    def condition(self) -> Condition:
        return Condition(
            source="m",
            sink="o",
            rate=RATE,
            block=256,
            round_trip_sec=self.trip_sec,
            unsure_sec=self.unsure_sec,
            basis="stamps",
            drift_ppm=None,
            overflows=0,
            underflows=0,
            dropped=0,
        )

    def clock(self) -> float:
        return self.clock_sec

    def play(self, sound: np.ndarray, at_sec: float) -> None:
        self.laid.append((at_sec, sound))
        self.parts += 1
        mistakes = self._hand(self.parts)
        if mistakes is None:
            return
        bar_sec = 120.0 / self.tempo
        for number, names in enumerate(mistakes):
            start = at_sec + (2 + number * (LICK.bars + 1)) * bar_sec
            played = perform(
                LICK,
                tempo_half_bpm=self.tempo,
                mistakes=names,
                seed=number + 1,
                start_sec=start + self.behind_sec,
            )
            self._notes += as_heard(played)

    def pluck(self, midi: int, after_sec: float) -> None:
        """One string, so long after now."""
        sec = self.now_sec + after_sec
        self._notes.append(
            NoteEvent(
                onset_sec=sec,
                midi=midi,
                cents=0.0,
                level_db=-20.0,
                confidence=0.99,
                heard_sec=sec + 0.03,
                settled_sec=sec + 0.14,
            )
        )

    def freshen(self) -> None:
        self.freshened += 1
        self.grown = False
        self.now_sec = 0.0

    def hush(self) -> None:
        self.hushed += 1

    def expect(self, expectations: Sequence[Expectation]) -> None:
        self.asked = list(expectations)

    def relearn(self) -> None:
        self.relearnt += 1

    def settle(self) -> None:
        self.settled += 1

    def take(self, wait_sec: float) -> list[Heard | Lost | Back]:
        self.clock_sec += STEP_SEC
        while self.wish_at and self.clock_sec >= self.wish_at[0][0]:
            self.wishes.add(self.wish_at.pop(0)[1])
        if self._gone_until is not None:
            if self.clock_sec < self._gone_until:
                return []
            self._gone_until, self.now_sec = None, 0.0  # another stream
            return [Back(stream=None, at_sec=self.clock_sec)]  # type: ignore[arg-type]
        for at in [at for at in self.lose_at if self.clock_sec >= at]:
            self._gone_until = self.clock_sec + self.lose_at.pop(at)
            self._notes = []
            return [Lost(line="unplugged", at_sec=self.clock_sec)]
        self.now_sec += STEP_SEC
        settled = [note for note in self._notes if note.settled_sec <= self.now_sec]
        self._notes = [note for note in self._notes if note.settled_sec > self.now_sec]
        reports = [Report("settled", self._count + k, note) for k, note in enumerate(settled)]
        self._count += len(settled)
        deaf, self.deaf = tuple(self.deaf), []
        return [
            Heard(
                now_sec=self.now_sec,
                reports=tuple(reports),
                deaf=deaf,
                round_trip_sec=self.trip_sec,
                untold=self.untold,
                adc_sec=0.0,
                came_sec=0.0,
                taken_sec=0.0,
                said_sec=0.0,
            )
        ]
