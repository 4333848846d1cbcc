"""Random banjo music that follows no lick: rolls over chord shapes all over the neck, with pinches and slurs.

The problem: a listener that is tried on licks learns licks. Here the right hand rolls as hands do, the left
holds closed and open shapes from the nut to the seventeenth fret and changes them at bar lines, and every so
often a pinch, a slur, a choke or a rest comes in.

Conventions: eighths, eight a bar; `nps` is eighths a second. A slur takes the place of the next eighth, or,
where there is time, half of its own.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from feedback.played import Performance, PlayedNote, rung
from routines.lick import Technique
from routines.neck import OPEN_TUNINGS, Neck

ROLLS = (
    (3, 2, 1, 5, 2, 1, 5, 1),
    (1, 2, 5, 1, 2, 5, 1, 2),
    (3, 2, 5, 1, 4, 2, 5, 1),
    (3, 2, 1, 5, 1, 2, 3, 1),
    (2, 1, 5, 2, 1, 5, 2, 1),
    (4, 2, 1, 5, 2, 1, 3, 1),
    (2, 3, 1, 5, 2, 3, 1, 5),
    (4, 3, 1, 4, 2, 5, 3, 1),
)
"""Strings struck in the eighths of a bar."""

OPEN_SHAPES = (
    (0, 0, 0, 0),
    (2, 0, 1, 2),
    (2, 0, 0, 2),
    (0, 2, 1, 0),
    (4, 2, 3, 4),
    (2, 2, 2, 2),
    (3, 0, 1, 3),
    (2, 1, 0, 2),
)
"""Frets of strings 4 to 1 in the lowest positions."""

CLOSED_SHAPES = (
    (2, 1, 0, 2),
    (3, 1, 2, 3),
    (1, 1, 1, 1),
    (3, 1, 0, 3),
    (2, 1, 0, 0),
    (1, 1, 0, 2),
    (3, 1, 2, 2),
)
"""Frets of strings 4 to 1 above the lowest fret of a shape that can be moved."""

PINCHES = ((5, 1), (3, 1), (4, 1), (5, 2), (3, 2), (5, 2, 1), (3, 2, 1), (4, 2, 1))

_HALF_EIGHTH_MOST_NPS = 7.0
_WILDEST = 2.5


@dataclass(frozen=True, slots=True, kw_only=True)
class RollSettings:
    """How random rolls are played; shares are of eighths, 0 to 1."""

    pinch_share: float = 0.08
    slur_share: float = 0.12
    choke_share: float = 0.015
    rest_share: float = 0.04
    shape_share: float = 0.6
    highest_fret: int = 17
    jitter_ms: float = 6.0
    dynamics_db: float = 2.5
    slur_db: float = -4.0
    start_sec: float = 0.5


def random_rolls(
    seed: int, nps: float, *, bars: int = 4, neck: Neck | None = None, settings: RollSettings | None = None
) -> Performance:
    """Play random rolls.

    Parameters
    ----------
    seed : int
    nps : float
        Eighths a second, more than 0.
    bars : int
    neck : Neck, optional
        By default one tuning of `OPEN_TUNINGS` is drawn, mostly open G.
    settings : RollSettings, optional

    Returns
    -------
    Performance
        Its `lick_id` is empty.
    """
    rng = np.random.default_rng([seed, bars])
    how = settings or RollSettings()
    if neck is None:
        neck = Neck() if rng.random() < 0.8 else Neck(tuning=str(rng.choice(list(OPEN_TUNINGS))))
    player = _Roller(rng, nps, neck, how)
    for bar in range(bars):
        player.bar(bar)
    lifts = [how.start_sec + 8 * bar / nps for bar in player.changed_bars]
    return Performance(
        notes=rung(player.notes, lifts),
        lick_id="",
        tempo_half_bpm=15.0 * nps,
        start_sec=how.start_sec,
        mistakes=(),
        seed=seed,
        open_midi={string: neck.open_midi(string) for string in range(1, 6)},
    )


class _Roller:
    """Plays bar after bar, and remembers the shape that the left hand holds."""

    def __init__(self, rng: np.random.Generator, nps: float, neck: Neck, how: RollSettings) -> None:
        self._rng, self._nps, self._neck, self._how = rng, nps, neck, how
        self._shape: dict[int, int] = self._new_shape()
        self.notes: list[PlayedNote] = []
        self.changed_bars: list[int] = []

    def bar(self, number: int) -> None:
        """Play one bar."""
        rng, how = self._rng, self._how
        if number and rng.random() < how.shape_share:
            self._shape = self._new_shape()
            self.changed_bars.append(number)
        roll: Sequence[int] = ROLLS[int(rng.integers(len(ROLLS)))]
        slurred = False
        for eighth, string in enumerate(roll):
            if slurred:
                slurred = False
                continue
            shares = (how.rest_share, how.pinch_share, how.slur_share, how.choke_share)
            drawn = int(np.searchsorted(np.cumsum(shares), rng.random(), side="right"))
            place = 8.0 * number + eighth
            if drawn == 0:
                continue
            if drawn == 1:
                self._pinch(place)
            elif drawn == 2 and string != 5:
                slurred = self._slur(place, string, last=eighth == 7)
            elif drawn == 3 and string in (1, 2) and self._shape[string] >= 3:
                self._choke(place, string)
            else:
                self._add(place, string, self._shape[string])

    def _new_shape(self) -> dict[int, int]:
        rng = self._rng
        frets: tuple[int, ...]
        if rng.random() < 0.35:
            frets = OPEN_SHAPES[int(rng.integers(len(OPEN_SHAPES)))]
        else:
            closed = CLOSED_SHAPES[int(rng.integers(len(CLOSED_SHAPES)))]
            lowest = int(rng.integers(1, max(2, self._how.highest_fret - max(closed) + 1)))
            frets = tuple(lowest + fret for fret in closed)
        shape = dict(zip((4, 3, 2, 1), frets, strict=True))
        # Up the neck a finger may stop the fifth string, too.
        high = min(frets) >= 7 and rng.random() < 0.15
        return {**shape, 5: min(frets) if high else 0}

    def _add(
        self,
        eighth: float,
        string: int,
        fret: int,
        technique: Technique = "pick",
        *,
        offset_ms: float | None = None,
        from_midi: int | None = None,
        moving_sec: float | None = None,
        raised: int = 0,
    ) -> None:
        rng, how = self._rng, self._how
        picked = technique in ("pick", "choke")
        jitter = float(np.clip(rng.standard_normal(), -_WILDEST, _WILDEST)) * how.jitter_ms
        onset = how.start_sec + eighth / self._nps + (jitter if offset_ms is None else offset_ms) / 1e3
        level = how.dynamics_db * float(np.clip(rng.standard_normal(), -_WILDEST, _WILDEST))
        self.notes.append(
            PlayedNote(
                onset_sec=onset,
                midi=self._neck.midi(string, fret) + raised,
                string=string,
                fret=fret,
                how=technique,
                picked=picked,
                level_db=level + (0.0 if picked else how.slur_db),
                from_midi=from_midi,
                arrive_sec=None if moving_sec is None else onset + moving_sec,
            )
        )

    def _pinch(self, eighth: float) -> None:
        offset_ms = float(self._rng.normal(0.0, self._how.jitter_ms))
        for string in PINCHES[int(self._rng.integers(len(PINCHES)))]:
            self._add(eighth, string, self._shape[string], offset_ms=offset_ms)
            offset_ms += float(self._rng.uniform(0.5, 4.0))

    def _slur(self, eighth: float, string: int, *, last: bool) -> bool:
        """A stroke and what is slurred from it; whether the next eighth is taken."""
        rng, fret = self._rng, self._shape[string]
        by = int(rng.integers(1, 3))
        kinds: list[tuple[Technique, int, int]] = [("hammer", fret, fret + by)]
        if fret >= by:
            kinds.append(("pull", fret, fret - by))
        if fret > by:
            kinds.append(("slide", fret - by, fret))
        technique, begins, ends = kinds[int(rng.integers(len(kinds)))]
        half = last or (self._nps <= _HALF_EIGHTH_MOST_NPS and rng.random() < 0.4)
        moving_sec = None
        if half and self._nps > _HALF_EIGHTH_MOST_NPS:
            self._add(eighth, string, fret)
            return False
        if technique == "slide":
            moving_sec = float(min(rng.uniform(0.025, 0.045), 0.4 / self._nps))
        self._add(eighth, string, begins)
        self._add(
            eighth + (0.5 if half else 1.0),
            string,
            ends,
            technique,
            from_midi=self._neck.midi(string, begins) if technique == "slide" else None,
            moving_sec=moving_sec,
        )
        return not half

    def _choke(self, eighth: float, string: int) -> None:
        fret = self._shape[string]
        takes = float(min(self._rng.uniform(0.080, 0.150), 0.6 / self._nps))
        begins, by = self._neck.midi(string, fret), int(self._rng.integers(1, 3))
        self._add(eighth, string, fret, "choke", from_midi=begins, moving_sec=takes, raised=by)
