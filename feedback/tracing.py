"""Following a lick through a take from a rough place: when each of its notes is played.

Each target takes the nearest sound of its pitch, a course is laid through these (`feedback.course`), and the
nearest sounds are taken anew, from ever nearer. All notes make the course, the even eighths with what they
may come later by: so much is a bounce and no tempo.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from feedback.course import course_of
from feedback.grid import EIGHTH_QUARTERS
from feedback.places import FEWEST, Rough, Votes
from routines.lick import Lick, quarter_sec

_REACH_QUARTERS = (0.4, 0.3, 0.25, 0.25)
_USUAL_CHANGE = 0.08
_MOST_BENT = 0.3


@dataclass(frozen=True, slots=True, kw_only=True)
class Trace:
    """When each place of a lick is played: a parabola about the lick's middle.

    Attributes
    ----------
    middle : float
        Half way between the first and the last note of the lick, in quarters.
    at_sec : float
        When that is played.
    quarter_sec : float
        Length of a quarter there, which is the mean over the lick.
    bend : float
        Seconds over quarters squared: negative is speeding up.
    even_late_sec : float
        How much later than half way the even eighths come.
    """

    middle: float
    at_sec: float
    quarter_sec: float
    bend: float = 0.0
    even_late_sec: float = 0.0

    def sec(self, quarters: np.ndarray) -> np.ndarray:
        """When places of the lick, in quarters, are played."""
        along, even = quarters - self.middle, quarters % 1.0 == EIGHTH_QUARTERS
        straight = self.at_sec + along * self.quarter_sec + even * self.even_late_sec
        sec: np.ndarray = straight + along**2 * self.bend
        return sec


def traced(lick: Lick, votes: Votes, rough: Rough) -> Trace | None:
    """Follow a lick from a rough place.

    Parameters
    ----------
    lick : Lick
    votes : Votes
    rough : Rough

    Returns
    -------
    Trace or None
        None where fewer than `feedback.places.FEWEST` targets are answered near it.
    """
    first, last = lick.notes[0].onset_quarters, lick.notes[-1].onset_quarters
    middle, quarter = (first + last) / 2, quarter_sec(rough.tempo_half_bpm)
    trace = Trace(middle=middle, at_sec=rough.start_sec + middle * quarter, quarter_sec=quarter)
    for reach in _REACH_QUARTERS:
        near = nearest(votes, trace, reach * trace.quarter_sec)
        if len(near) < FEWEST:
            return None
        trace = _fitted(trace, last, votes.quarters[near], votes.sec[near])
        if trace.quarter_sec <= 0.0:
            return None
    return trace


def nearest(votes: Votes, trace: Trace, reach_sec: float) -> np.ndarray:
    """For each target the vote of the sound nearest to its time, if any is within reach.

    Parameters
    ----------
    votes : Votes
    trace : Trace
    reach_sec : float

    Returns
    -------
    ndarray of int, shape (n,)
        Indices of votes, by target.
    """
    away = np.abs(votes.sec - trace.sec(votes.quarters))
    near = np.flatnonzero(away <= reach_sec)
    near = near[np.lexsort((away[near], votes.target[near]))]
    first: np.ndarray = near[np.unique(votes.target[near], return_index=True)[1]]
    return first


def _fitted(trace: Trace, last_quarters: float, quarters: np.ndarray, times: np.ndarray) -> Trace:
    """The trace through what was played; a bend beyond all measure is none."""
    even = quarters % 1.0 == EIGHTH_QUARTERS
    found = course_of(quarters - trace.middle, times, even, _USUAL_CHANGE * trace.quarter_sec)
    bend = found.bend
    if abs(bend) * (last_quarters - trace.middle) > _MOST_BENT / 4 * trace.quarter_sec:
        bend = 0.0
    # About the middle of the lick the bend adds to place and slope.
    return replace(
        trace,
        at_sec=found.level - found.slope * found.about + bend * found.about**2,
        quarter_sec=found.slope - 2.0 * bend * found.about,
        bend=bend,
        even_late_sec=max(0.0, found.even),
    )
