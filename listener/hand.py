"""A hand that rolls over single notes: what is struck when, how loud, for `listener.composing`.

The problem: rolls made of a player's notes are to hold what makes hearing hard: shapes all over the neck,
pinches that are uneven and not quite together, slurs, dead strokes, strings that are stopped. Shares and
spreads are those of hands at large; nothing of a lick is known here.

Conventions: a shape holds one cut note for each string, read some half steps up or down. Eighths go at a
speed that is drawn once.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

_NPS = (4.0, 11.5)
_START_SEC, _REST_SEC = 0.3, 0.3
_SHAPE_EIGHTHS, _NEW_SHAPE_SHARE = 8, 0.6
_UP_SHARE, _UP_HALF_STEPS, _BESIDE = 0.3, (1, 7), (-1, 1)
_STAYS_SHARE = 0.2
_PINCH_SHARE, _REST_SHARE, _DEAD_SHARE, _SLUR_SHARE = 0.08, 0.04, 0.03, 0.14
_STOP_SHARE = 0.12  # of shapes that begin with all strings stopped
_SAME_SHARE = 0.08
_JITTER_SEC, _SPREAD_SEC = 0.006, 0.012
_GAIN_DB, _PINCHED_DB, _SLURRED_DB, _DEAD_DB = 2.5, 4.0, -4.0, -6.0
_HALF_MOST_NPS, _HALF_SHARE = 7.0, 0.4


LEAD_SEC = 0.004
"""A cut note begins so long before its onset."""


@dataclass(frozen=True, slots=True)
class Cut:
    """A single note, cut out.

    Attributes
    ----------
    midi : int
    string : int
    sound : ndarray of float32, shape (n,)
        From `LEAD_SEC` before its onset.
    """

    midi: int
    string: int
    sound: np.ndarray


@dataclass(frozen=True, slots=True)
class Stroke:
    """One stroke of a composed roll.

    Attributes
    ----------
    sec : float
    string : int
    how : {"pick", "slur", "dead"}
        A dead stroke sounds no pitch.
    cut : Cut
        The note that is laid there.
    up : int
        How many half steps higher it is read.
    gain_db : float
        How much louder.
    """

    sec: float
    string: int
    how: Literal["pick", "slur", "dead"]
    cut: Cut
    up: int
    gain_db: float

    @property
    def midi(self) -> int:
        """The pitch that it sounds."""
        return self.cut.midi + self.up


class Hand:
    """A hand that rolls over cut notes.

    Parameters
    ----------
    rng : numpy.random.Generator
    cuts : sequence of Cut
        At least one.

    Attributes
    ----------
    strokes : list of Stroke
        What was played, in no order.
    stops_sec : list of float
        When it stopped all strings.
    """

    def __init__(self, rng: np.random.Generator, cuts: Sequence[Cut]) -> None:
        strings = sorted({cut.string for cut in cuts})
        self.rng = rng
        self.by_string = {string: [cut for cut in cuts if cut.string == string] for string in strings}
        self.strokes: list[Stroke] = []
        self.stops_sec: list[float] = []

    @property
    def strings(self) -> list[int]:
        """The strings that it plays on."""
        return list(self.by_string)

    def play(self, duration_sec: float) -> None:
        """Play on and on, until shortly before the end."""
        rng, nps = self.rng, float(self.rng.uniform(*_NPS))
        sec, eighth, string = _START_SEC, 0, 0
        shape: dict[int, tuple[Cut, int]] = {}
        while sec < duration_sec - _REST_SEC:
            if eighth % _SHAPE_EIGHTHS == 0:
                if not shape or rng.random() < _NEW_SHAPE_SHARE:
                    shape = self._shape()
                if rng.random() < _STOP_SHARE:
                    self.stops_sec.append(sec)
                    sec += 1.0 / nps
            string = self._next(string)
            taken = self._figure(sec + float(rng.normal(0.0, _JITTER_SEC)), string, shape, nps)
            sec, eighth = sec + taken / nps, eighth + taken

    def _shape(self) -> dict[int, tuple[Cut, int]]:
        rng = self.rng
        up = int(rng.integers(_UP_HALF_STEPS[0], _UP_HALF_STEPS[1] + 1)) if rng.random() < _UP_SHARE else 0
        shape = {}
        for string, own in self.by_string.items():
            beside = int(rng.integers(_BESIDE[0], _BESIDE[1] + 1))
            stays = rng.random() < _STAYS_SHARE
            shape[string] = (own[int(rng.integers(len(own)))], beside + (0 if stays else up))
        return shape

    def _next(self, last: int) -> int:
        others = [s for s in self.strings if s != last or self.rng.random() < _SAME_SHARE]
        return int(self.rng.choice(others or self.strings))

    def _figure(self, sec: float, string: int, shape: dict[int, tuple[Cut, int]], nps: float) -> int:
        """One eighth, or two; how many."""
        rng, gain_db = self.rng, float(self.rng.normal(0.0, _GAIN_DB))
        drawn = int(
            np.searchsorted(np.cumsum([_PINCH_SHARE, _REST_SHARE, _DEAD_SHARE]), rng.random(), "right")
        )
        if drawn == 0:
            count = min(len(self.strings), int(rng.integers(2, 4)))
            for other in rng.choice(self.strings, count, replace=False):
                softer = float(rng.uniform(0.0, _PINCHED_DB))
                self._stroke(sec, int(other), "pick", shape[int(other)], gain_db - softer)
                sec += float(rng.uniform(0.0, _SPREAD_SEC))
        elif drawn == 2:
            self._stroke(sec, string, "dead", shape[string], gain_db + _DEAD_DB)
        elif drawn == 3:
            self._stroke(sec, string, "pick", shape[string], gain_db)
            if rng.random() < _SLUR_SHARE:
                return self._slur(sec, string, shape[string], nps)
        return 1

    def _slur(self, sec: float, string: int, from_where: tuple[Cut, int], nps: float) -> int:
        rng, midi = self.rng, from_where[0].midi + from_where[1]
        ends = [
            (own, up)
            for own in self.by_string[string]
            for up in (-1, 0, 1, from_where[1])
            if 1 <= abs(own.midi + up - midi) <= 2
        ]
        if not ends:
            return 1
        half = nps < _HALF_MOST_NPS and rng.random() < _HALF_SHARE
        where = ends[int(rng.integers(len(ends)))]
        gain_db = float(rng.normal(_SLURRED_DB, _GAIN_DB))
        self._stroke(sec + (0.5 if half else 1.0) / nps, string, "slur", where, gain_db)
        return 1 if half else 2

    def _stroke(
        self,
        sec: float,
        string: int,
        how: Literal["pick", "slur", "dead"],
        where: tuple[Cut, int],
        gain_db: float,
    ) -> None:
        self.strokes.append(Stroke(sec, string, how, where[0], where[1], gain_db))
