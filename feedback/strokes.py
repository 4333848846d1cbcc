"""What a hand means to play: the strokes of one pass, still in musical time, where mistakes can be made.

The problem: a mistake is made in music ("the seven comes an eighth late, what stood there gives way"), not in
seconds. So a lick is first drafted as strokes, each with the hand's own unevenness in time and level;
mistakes edit the draft; only then is it laid on the clock (`feedback.performance`).

Conventions: onsets in quarters from the downbeat of bar 1, as in `routines.lick`; an eighth is half of one.
Levels are decibels against a stroke at mezzo-forte. A stroke remembers the target that it answers, an added
one answers none.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

import numpy as np

from feedback.grid import EIGHTH_QUARTERS
from feedback.judges.limits import Limits
from routines.lick import SLURS, Lick, TargetNote, Technique, quarter_sec

TOGETHER_QUARTERS = 1e-6
"""Strokes whose written onsets lie nearer than this are one pinch."""

_WILDEST = 2.5


@dataclass(frozen=True, slots=True, kw_only=True)
class HandSettings:
    """How a hand plays when it makes no mistake.

    Attributes
    ----------
    jitter_ms : float
        Standard deviation of each onset; none goes beyond two and a half of them.
    lean_ms : float
        Behind the click (positive) or ahead of it.
    bounce : float
        Where the even eighth falls within its quarter, 0.5 (even) to below 1.
    drift_percent : float
        How much faster (positive) or slower than asked, in percent of tempo.
    dynamics_db : float
        Standard deviation of each level.
    thumb_db : float
        How much louder the thumb strikes than the fingers.
    slur_db : float
        Level of hammered, pulled and slid notes.
    pinch_ms : float
        Greatest distance between two neighbouring voices of a pinch.
    slide_ms : tuple of float
        Least and greatest time that a slide takes.
    choke_ms : tuple of float
        Least and greatest time in which a choke reaches its pitch.
    lift_ms : tuple of float
        How long after a chord change the hand leaves the old shape, least and most.
    """

    jitter_ms: float = 6.0
    lean_ms: float = 0.0
    bounce: float = 0.5
    drift_percent: float = 0.0
    dynamics_db: float = 1.2
    thumb_db: float = 1.5
    slur_db: float = -4.0
    pinch_ms: float = 4.0
    slide_ms: tuple[float, float] = (25.0, 45.0)
    choke_ms: tuple[float, float] = (80.0, 150.0)
    lift_ms: tuple[float, float] = (-15.0, 20.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Stroke:
    """One note as the hand means to play it.

    Attributes
    ----------
    target : int or None
        Index in `Lick.notes` of the note that it answers; None where nobody asked for it.
    onset_quarters : float
        Where the hand puts it.
    offset_ms : float
        How far it misses that place.
    midi : int
        Sounding pitch; of a slide or choke, the one that is reached.
    string, fret : int
    how : Technique
    from_midi : int or None
        Where a picked slide or a choke begins.
    level_db : float
    """

    target: int | None
    onset_quarters: float
    offset_ms: float
    midi: int
    string: int
    fret: int
    how: Technique
    from_midi: int | None
    level_db: float

    @property
    def picked(self) -> bool:
        """Whether the right hand strikes it: all but slurs, save slides that begin by themselves."""
        return self.how not in SLURS or self.from_midi is not None


@dataclass(frozen=True, slots=True, kw_only=True)
class Draft:
    """A pass as it is meant to be played.

    Attributes
    ----------
    lick : Lick
    tempo_half_bpm : float
    hand : HandSettings
    strokes : tuple of Stroke
        By onset, then by target.
    """

    lick: Lick
    tempo_half_bpm: float
    hand: HandSettings
    strokes: tuple[Stroke, ...]

    @property
    def eighth_ms(self) -> float:
        """Length of an eighth."""
        return 1e3 * EIGHTH_QUARTERS * quarter_sec(self.tempo_half_bpm)

    def window_eighths(self, stroke: Stroke) -> float:
        """Return how far off (in eighths) this stroke may be and still land."""
        limits = Limits()
        window_ms = 1e3 * limits.window_sec(self.eighth_ms / 1e3)
        return window_ms * (1.0 if stroke.picked else limits.slurred_window) / self.eighth_ms

    def stroke_of(self, target: int | None) -> Stroke | None:
        """Return the stroke that answers a target; None where it was left out, or there is no target."""
        return next((s for s in self.strokes if s.target == target), None) if target is not None else None

    def pinched_with(self, stroke: Stroke) -> tuple[Stroke, ...]:
        """Return the other voices of its pinch."""
        return tuple(
            other
            for other in self.strokes
            if other is not stroke and abs(other.onset_quarters - stroke.onset_quarters) <= TOGETHER_QUARTERS
        )

    def changed(self, edit: Callable[[Stroke], Stroke | None]) -> Draft:
        """Return the draft with every stroke edited; those for which `edit` returns None are left out."""
        return self._of(new for new in map(edit, self.strokes) if new is not None)

    def with_stroke(self, old: Stroke, new: Stroke | None) -> Draft:
        """Return the draft with one stroke replaced, or left out."""
        return self.changed(lambda stroke: new if stroke is old else stroke)

    def added(self, stroke: Stroke) -> Draft:
        """Return the draft with one more stroke."""
        return self._of(iter((*self.strokes, stroke)))

    def _of(self, strokes: Iterator[Stroke]) -> Draft:
        last = len(self.lick.notes)
        order = sorted(strokes, key=lambda s: (s.onset_quarters, last if s.target is None else s.target))
        return replace(self, strokes=tuple(order))


def drafted(lick: Lick, tempo_half_bpm: float, hand: HandSettings, rng: np.random.Generator) -> Draft:
    """Draft one faithful pass: every note of the lick, with the hand's unevenness in time and level.

    Parameters
    ----------
    lick : Lick
    tempo_half_bpm : float
        More than 0.
    hand : HandSettings
    rng : numpy.random.Generator

    Returns
    -------
    Draft
    """
    count = len(lick.notes)
    jitter = hand.jitter_ms * np.clip(rng.standard_normal(count), -_WILDEST, _WILDEST)
    louder = hand.dynamics_db * np.clip(rng.standard_normal(count), -_WILDEST, _WILDEST)
    spread = hand.pinch_ms * rng.uniform(0.2, 1.0, count)
    offsets: list[float] = []
    for index, note in enumerate(lick.notes):
        before = lick.notes[index - 1] if index else None
        together = before is not None and note.onset_quarters - before.onset_quarters <= TOGETHER_QUARTERS
        offsets.append(float(offsets[-1] + spread[index] if together else jitter[index]))
    strokes = tuple(
        Stroke(
            target=index,
            onset_quarters=note.onset_quarters,
            offset_ms=offsets[index],
            midi=note.midi,
            string=note.string,
            fret=note.fret,
            how=note.technique,
            from_midi=note.from_midi if note.picked else None,
            level_db=float(louder[index]) + _level_db(note, hand),
        )
        for index, note in enumerate(lick.notes)
    )
    return Draft(lick=lick, tempo_half_bpm=tempo_half_bpm, hand=hand, strokes=strokes)


def _level_db(note: TargetNote, hand: HandSettings) -> float:
    if not note.picked:
        return hand.slur_db
    return hand.thumb_db if note.finger == "T" else 0.0
