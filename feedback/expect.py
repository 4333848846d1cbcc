"""What the listener is told of a pass before it is played: asked pitches, their times, likely slips.

The listener knows no lick. It is given seconds and half steps: for each target its pitch about its due time,
nearly sure to come; and, far less sure, what a hand plays in its place: a fret beside it, two frets, the open
drone, an octave, the other voice of a pinch.
"""

from __future__ import annotations

from collections.abc import Sequence

from feedback.grid import Grid
from listener.expecting import Expectation
from routines.lick import TargetNote

ASKED = 0.9
"""Weight of what the lick asks for."""

SLIP = 0.03
"""Weight of each pitch that is likely to come in its place."""

_SLIPS = (-12, -2, -1, 1, 2, 12)
_SPREAD_EIGHTHS = 0.18
_SPREAD_LEAST_SEC, _SPREAD_MOST_SEC = 0.018, 0.035


def expectations(grid: Grid) -> tuple[Expectation, ...]:
    """What one pass through a lick lets expect.

    Parameters
    ----------
    grid : Grid

    Returns
    -------
    tuple of Expectation
        By onset.
    """
    spread = min(max(_SPREAD_EIGHTHS * grid.eighth_sec, _SPREAD_LEAST_SEC), _SPREAD_MOST_SEC)
    drone = grid.lick.neck.open_midi(5)
    found: list[Expectation] = []
    for target in grid.lick.notes:
        sec = grid.due_sec(target.onset_quarters)
        for midi, weight in _pitches(target, drone):
            found.append(Expectation(onset_sec=sec, spread_sec=spread, midi=midi, weight=weight))
    return tuple(found)


def _pitches(target: TargetNote, drone: int) -> Sequence[tuple[int, float]]:
    """The pitches that may begin where a target is due, each with its weight."""
    asked = {target.midi}
    if target.from_midi is not None and target.picked:
        asked.add(target.from_midi)
    slips = {target.midi + step for step in _SLIPS} | {drone}
    return [(midi, ASKED) for midi in sorted(asked)] + [(midi, SLIP) for midi in sorted(slips - asked)]
