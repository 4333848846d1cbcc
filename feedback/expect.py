"""What the listener is told of a pass before it is played: asked pitches, their times, likely slips.

The listener knows no lick. It is given seconds and half steps: for each target its pitch about its due time,
nearly sure to come; the same pitch later, as a hand that hesitates brings it; and, far less sure, what is
played in its place: a fret beside it, two frets, an octave, the open drone.
"""

from __future__ import annotations

from collections.abc import Iterator

from feedback.candidates import last_sevens
from feedback.grid import Grid, Habits
from listener.expecting import Expectation

ASKED = 0.9
"""Weight of what the lick asks for."""

LATE = 0.1
"""Weight of the same pitch half an eighth late."""

LAST = 0.3
"""Weight of a last seven that comes so late that it is struck with the next note; it may come later still.
The weighers learnt from takes without it (`asked_at` alone): they take it as one more expected pitch."""

SLIP = 0.03
"""Weight of each pitch that is likely to come in its place."""

_SLIPS = (-12, -2, -1, 1, 2, 12)
_SPREAD_EIGHTHS, _LATE_SPREAD_EIGHTHS = 0.18, 0.25
_LAST_EIGHTHS, _LAST_SPREAD_EIGHTHS = 0.8, 0.3
_SPREAD_LEAST_SEC, _SPREAD_MOST_SEC = 0.018, 0.035


def expectations(grid: Grid, habits: Habits | None = None) -> tuple[Expectation, ...]:
    """What one pass through a lick lets expect.

    Parameters
    ----------
    grid : Grid
    habits : Habits, optional
        How the player's time goes, as far as it is known.

    Returns
    -------
    tuple of Expectation
        In the order of the targets.
    """
    drone, known = grid.lick.neck.open_midi(5), habits or Habits()
    found: list[Expectation] = []
    last = last_sevens(grid.lick.sevenths)
    for index, target in enumerate(grid.lick.notes):
        due = grid.due_sec(target.onset_quarters)
        sec = due + known.expected_sec(target.onset_quarters, due)
        asked = {target.midi}
        if target.from_midi is not None and target.picked:
            asked.add(target.from_midi)
        for midi in sorted(asked):
            found += asked_at(sec, midi, eighth_sec=grid.eighth_sec, drone_midi=drone)
        if index in last:
            found.append(_with_the_change(sec, target.midi, grid.eighth_sec))
    return tuple(found)


def _with_the_change(onset_sec: float, midi: int, eighth_sec: float) -> Expectation:
    """The last seven before a change counts up to there, and then often comes with the next stroke."""
    return Expectation(
        onset_sec=onset_sec + _LAST_EIGHTHS * eighth_sec,
        spread_sec=_LAST_SPREAD_EIGHTHS * eighth_sec,
        midi=midi,
        weight=LAST,
    )


def asked_at(onset_sec: float, midi: int, *, eighth_sec: float, drone_midi: int) -> Iterator[Expectation]:
    """What one asked pitch lets expect.

    Parameters
    ----------
    onset_sec : float
        When it is due.
    midi : int
    eighth_sec : float
        An eighth at the tempo of the pass.
    drone_midi : int
        Pitch of the open fifth string.

    Yields
    ------
    Expectation
    """
    spread = min(max(_SPREAD_EIGHTHS * eighth_sec, _SPREAD_LEAST_SEC), _SPREAD_MOST_SEC)
    yield Expectation(onset_sec=onset_sec, spread_sec=spread, midi=midi, weight=ASKED)
    yield Expectation(
        onset_sec=onset_sec + 0.5 * eighth_sec,
        spread_sec=_LATE_SPREAD_EIGHTHS * eighth_sec,
        midi=midi,
        weight=LATE,
    )
    slips = {midi + step for step in _SLIPS} | {drone_midi}
    for slip in sorted(slips - {midi}):
        yield Expectation(onset_sec=onset_sec, spread_sec=spread, midi=slip, weight=SLIP)
