"""Timing of a pass: lean, bounce, spread, drift and hurry at the change, each apart.

Medians and a median of slopes (Theil 1950, Sen 1968) are used throughout, so that one late seven does not
make a lean of it. Only picked notes of the right pitch count.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from statistics import mean, median

from feedback.candidates import Pair
from feedback.course import bend_of, slope_of
from feedback.grid import EIGHTH_QUARTERS, HAIR_SEC, Grid, Habits

FEWEST_FOR_BOUNCE = 6
"""Odd and even picked notes that a bounce needs, each."""

FEWEST_FOR_DRIFT = 8
"""Picked notes that a drift needs."""

_SPREAD_OF_MEDIAN = 1.48


@dataclass(frozen=True, slots=True, kw_only=True)
class Deviation:
    """One picked note's deviation.

    Attributes
    ----------
    quarters : float
        Its place in the lick.
    due_sec : float
    sec : float
        Heard minus due.
    """

    quarters: float
    due_sec: float
    sec: float

    @property
    def odd(self) -> bool | None:
        """Whether it lies on an odd eighth (the first is odd); None between eighths."""
        eighths = self.quarters / EIGHTH_QUARTERS
        return None if eighths != int(eighths) else int(eighths) % 2 == 0


def deviations(grid: Grid, pairs: Sequence[Pair], heard_sec: Sequence[float]) -> list[Deviation]:
    """The deviations that timing is measured on.

    Parameters
    ----------
    grid : Grid
    pairs : sequence of Pair
    heard_sec : sequence of float
        For each pair, when it was struck.

    Returns
    -------
    list of Deviation
        Of sure, picked notes of the right pitch.
    """
    found = []
    for pair, sec in zip(pairs, heard_sec, strict=True):
        target = grid.lick.notes[pair.target]
        if pair.right and pair.sure and target.picked:
            due = grid.due_sec(target.onset_quarters)
            found.append(Deviation(quarters=target.onset_quarters, due_sec=due, sec=sec - due))
    return found


def habits_of(played: Sequence[Deviation], earlier: Sequence[Deviation], *, with_drift: bool) -> Habits:
    """Measure what the player does to every note alike.

    Parameters
    ----------
    played : sequence of Deviation
        Of this pass.
    earlier : sequence of Deviation
        Of passes before it at the same tempo, each with its own lean and drift taken off (`steadied`); they
        help to find the bounce.
    with_drift : bool
        Whether a slope and, where it is clearly there, a bend are taken off: only where no click held the
        tempo.

    Returns
    -------
    Habits
    """
    if not played:
        return Habits()
    about = Habits(about_sec=median(d.due_sec for d in played))
    bent = replace(about, bend=_bend(played) if with_drift else 0.0)
    drift = replace(bent, slope=_slope(steadied(played, bent)) if with_drift else 0.0)
    level = steadied(played, drift)
    odd = [d.sec for d in level if d.odd]
    steady = replace(drift, lean_sec=median(odd if odd else [d.sec for d in level]))
    bounce = bounce_sec([*earlier, *steadied(played, steady)])
    return replace(steady, bounce_sec=max(0.0, bounce or 0.0))


def steadied(played: Sequence[Deviation], habits: Habits) -> list[Deviation]:
    """The same deviations with lean, drift and bend taken off, but not the bounce."""
    even = replace(habits, bounce_sec=0.0)
    return [replace(d, sec=d.sec - even.expected_sec(d.quarters, d.due_sec)) for d in played]


def bounce_sec(pool: Sequence[Deviation]) -> float | None:
    """How much later than half way the even eighths come, in seconds; None with too few notes.

    Parameters
    ----------
    pool : sequence of Deviation
        Of one pass or several, `steadied`: a lean that differs from pass to pass is no bounce.

    Returns
    -------
    float or None
    """
    odd = [d.sec for d in pool if d.odd]
    even = [d.sec for d in pool if d.odd is False]
    if min(len(odd), len(even)) < FEWEST_FOR_BOUNCE:
        return None
    return median(even) - median(odd)


def spread_sec(rests_sec: Sequence[float]) -> float | None:
    """1.48 times the median size of the rests: their standard deviation, if they were normal."""
    return _SPREAD_OF_MEDIAN * median(abs(rest) for rest in rests_sec) if rests_sec else None


@dataclass(frozen=True, slots=True, kw_only=True)
class Hurry:
    """The change that was hurried most.

    Attributes
    ----------
    mean_sec : float
        Mean rest of the resolution and the two strokes before it.
    others_sec : float
        Mean rest of the other notes.
    """

    mean_sec: float
    others_sec: float

    def holds(self, window_sec: float) -> bool:
        """Whether the pass hurried there while the rest of it was steady."""
        return self.mean_sec < -window_sec / 2 and abs(self.others_sec) <= window_sec / 4


def hurry_at_change(grid: Grid, rests_sec: dict[int, float]) -> Hurry | None:
    """Measure the hurry at each change and return the worst.

    What came more than half an eighth sooner was played ahead of its place, which is no hurry and no fault.

    Parameters
    ----------
    grid : Grid
    rests_sec : dict of int to float
        Rest of each target that was given its own pitch.

    Returns
    -------
    Hurry or None
        None without a change, or where too little was heard around it.
    """
    notes = grid.lick.notes
    strokes = sorted({note.onset_quarters for note in notes})
    found = []
    for due in sorted({ask.due_note for ask in grid.lick.sevenths if ask.due_note is not None}):
        last = strokes.index(notes[due].onset_quarters)
        near = strokes[max(0, last - 2) : last + 1]
        around = [index for index in rests_sec if notes[index].onset_quarters in near]
        here = [rests_sec[k] for k in around if rests_sec[k] >= -grid.eighth_sec / 2 - HAIR_SEC]
        others = [rest for index, rest in rests_sec.items() if index not in around]
        if len(here) >= 2 and others:
            found.append(Hurry(mean_sec=mean(here), others_sec=mean(others)))
    return min(found, key=lambda hurry: hurry.mean_sec, default=None)


def _slope(played: Sequence[Deviation]) -> float:
    """Median of the slopes between all two notes, seconds of deviation a second."""
    return slope_of([d.due_sec for d in played], [d.sec for d in played], HAIR_SEC)


def _bend(played: Sequence[Deviation]) -> float:
    """How the slope changes on the way, seconds of deviation over seconds squared; 0 if it does not."""
    even = [d.odd is False for d in played]
    return bend_of([d.due_sec for d in played], [d.sec for d in played], even)
