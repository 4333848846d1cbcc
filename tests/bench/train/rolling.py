"""A hand that rolls over shapes, with pinches, slurs, chokes, ghost and muted strokes.

Conventions: places in time are in eighths, frets are tab frets.
"""

from __future__ import annotations

import numpy as np

from routines.lick import Technique
from tests.bench.rolls import CLOSED_SHAPES, OPEN_SHAPES, PINCHES, ROLLS
from tests.bench.train.clock import Score
from tests.bench.train.hands import COUNTS_DB, GHOST_DB

DEAD_DB = (-14.0, 0.0)
"""Level of a muted stroke's knock, against a note."""

SLIDE_SEC = (0.015, 0.080)
CHOKE_SEC = (0.060, 0.200)
"""How long a slide, and a choke, are under way."""

_HALF_EIGHTH_SEC = 0.060
_HIGH_SHARE = 0.3


class Player:
    """Plays figure after figure, and remembers the shape that the left hand holds."""

    def __init__(self, score: Score) -> None:
        self.score, self.rng, self.hand = score, score.rng, score.hand
        self.shape: dict[int, int] = {}
        self.new_shape()

    def new_shape(self) -> None:
        """Take another shape, low or up the neck."""
        rng = self.rng
        top = min(int(self.hand.highest_fret), self.score.neck.last_fret)
        if rng.random() < self.hand.open_share:
            frets: tuple[int, ...] = OPEN_SHAPES[int(rng.integers(len(OPEN_SHAPES)))]
        else:
            closed = CLOSED_SHAPES[int(rng.integers(len(CLOSED_SHAPES)))]
            highest = max(1, top - max(closed))
            lowest = int(
                rng.integers(1 + (2 * highest // 3 if rng.random() < _HIGH_SHARE else 0), highest + 1)
            )
            frets = tuple(lowest + fret for fret in closed)
        high = min(frets) >= 6 and rng.random() < 0.2
        self.shape = {**dict(zip((4, 3, 2, 1), frets, strict=True)), 5: min(frets) if high else 0}

    def any_of(self, table: tuple[tuple[int, ...], ...]) -> tuple[int, ...]:
        """One row of a table."""
        return table[int(self.rng.integers(len(table)))]

    def roll(self, at: int) -> int:
        """A bar of a roll, with whatever this hand puts into it."""
        rng, hand, score = self.rng, self.hand, self.score
        if at and rng.random() < hand.shape_share:
            self.new_shape()
            score.lift(at)
        roll = self.any_of(ROLLS) if rng.random() < 0.7 else self._random_roll()
        shares = np.cumsum(
            [
                hand.rest_share,
                hand.pinch_share,
                hand.slur_share,
                hand.choke_share,
                hand.ghost_share,
                hand.dead_share,
            ]
        )
        taken = False
        for eighth, string in enumerate(roll):
            place = at + eighth
            if taken:
                taken = False
                continue
            kind = int(np.searchsorted(shares, rng.random(), side="right"))
            if kind == 1:
                self.pinch(place)
            elif kind == 2 and string != 5:
                taken = self.slur(place, string, self.shape[string])
            elif kind == 3 and string in (1, 2, 3) and self.shape[string] >= 2:
                self.choke(place, string)
            elif kind == 4:
                score.note(place, string, self.shape[string], level_db=float(rng.uniform(*GHOST_DB)))
            elif kind == 5:
                score.touch(place, string, float(rng.uniform(*DEAD_DB)), "dead")
            elif kind != 0:
                score.note(place, string, self.shape[string])
        return 8

    def pinch(self, place: float, strings: tuple[int, ...] | None = None) -> None:
        """Two or three strings together, more or less, and not equally loud."""
        rng, hand = self.rng, self.hand
        if strings is None:
            size = 3 if rng.random() < 0.3 else 2
            usual = rng.random() < 0.65
            strings = self.any_of(PINCHES) if usual else tuple(1 + rng.permutation(5)[:size])
        late, spread = self.score.jitter(), 1e-3 * hand.pinch_spread_ms * float(rng.random())
        whole_db = self.score.level(place)
        for string in rng.permutation(strings):
            softer = float(rng.uniform(0.0, hand.pinch_uneven_db)) * (rng.random() < 0.6)
            self.score.note(
                place,
                int(string),
                self.shape[int(string)],
                late_sec=late + spread * float(rng.random()),
                level_db=max(COUNTS_DB, whole_db - softer),
            )

    def slur(self, place: float, string: int, fret: int) -> bool:
        """A stroke and what is slurred from it; whether the next eighth is taken."""
        rng, score = self.rng, self.score
        by = int(rng.choice([1, 2, 3, 4], p=[0.45, 0.4, 0.1, 0.05]))
        how: Technique = "hammer"
        begins, ends = (fret - by, fret) if fret >= by and rng.random() < 0.4 else (fret, fret + by)
        if fret >= by and rng.random() < 0.4:
            how, begins, ends = "pull", fret, fret - by
        elif fret > by and rng.random() < 0.4:
            how = "slide"
            begins, ends = (fret - by, fret) if rng.random() < 0.6 else (fret, fret - by)
        if not (score.has(string, begins) and score.has(string, ends)):
            score.note(place, string, fret)
            return False
        eighth_sec = 1.0 / self.hand.nps
        half = 0.5 * eighth_sec >= _HALF_EIGHTH_SEC and rng.random() < 0.4
        moving = float(min(rng.uniform(*SLIDE_SEC), 0.5 * eighth_sec)) if how == "slide" else None
        if how == "slide" and rng.random() < 0.2:
            midi = score.neck.midi(string, begins)
            score.note(place, string, ends, how, picked=True, from_midi=midi, moving_sec=moving)
            return False
        score.note(place, string, begins)
        score.note(place + (0.5 if half else 1.0), string, ends, how, moving_sec=moving)
        return not half

    def choke(self, place: float, string: int) -> None:
        """A string bent, and perhaps let down again."""
        rng, fret = self.rng, self.shape[string]
        begins, by = self.score.neck.midi(string, fret), int(rng.integers(1, 3))
        takes = float(min(rng.uniform(*CHOKE_SEC), 0.8 / self.hand.nps))
        held = float(rng.uniform(0.0, 0.3)) if rng.random() < 0.3 else None
        self.score.note(
            place, string, fret, "choke", from_midi=begins, moving_sec=takes, raised=by, held_sec=held
        )

    def _random_roll(self) -> tuple[int, ...]:
        """Eight strings, none twice running."""
        strings = [int(self.rng.integers(1, 6))]
        while len(strings) < 8:
            strings.append(int(self.rng.choice([s for s in range(1, 6) if s != strings[-1]])))
        return tuple(strings)
