"""Where a lick lies in time: due times of one pass, and the habits that are taken off before blaming.

A deviation is heard minus due. A player's lean, bounce and drift are habits: steady, and no fault of any
one note. The *rest* is what remains of a deviation when the habits known so far are taken off.
"""

from __future__ import annotations

from dataclasses import dataclass

from feedback.judges.limits import Limits
from routines.lick import Lick, TargetNote, quarter_sec

EIGHTH_QUARTERS = 0.5

HAIR_SEC = 1e-6
"""Slack of a comparison of times, so that what lies exactly at a limit is within it."""

SPEAKS_SEC = 0.050
"""A due note counts if it speaks by itself for so long, or for a third of an eighth where that is shorter."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Grid:
    """One pass of a lick laid on the clock of a take.

    Attributes
    ----------
    lick : Lick
    tempo_half_bpm : float
    start_sec : float
        Downbeat of bar 1 in the take.
    limits : Limits
    """

    lick: Lick
    tempo_half_bpm: float
    start_sec: float
    limits: Limits

    @property
    def quarter_sec(self) -> float:
        """Length of a quarter in seconds."""
        return quarter_sec(self.tempo_half_bpm)

    @property
    def eighth_sec(self) -> float:
        """Length of an eighth, `e` in the judges' definitions, in seconds."""
        return EIGHTH_QUARTERS * self.quarter_sec

    @property
    def window_sec(self) -> float:
        """W in seconds."""
        return self.limits.window_sec(self.eighth_sec)

    @property
    def speaks_sec(self) -> float:
        """How long a pitch must be held before another grows out of it, to count as a note of its own."""
        return min(self.eighth_sec / 3, SPEAKS_SEC)

    def window_of(self, target: TargetNote) -> float:
        """W of one target in seconds: wider where it is slurred."""
        return self.window_sec * (1.0 if target.picked else self.limits.slurred_window)

    def due_sec(self, quarters: float) -> float:
        """When a place of the lick is due in the take."""
        return self.start_sec + quarters * self.quarter_sec

    def quarters(self, sec: float) -> float:
        """The place of the lick that is due at a time of the take."""
        return (sec - self.start_sec) / self.quarter_sec


@dataclass(frozen=True, slots=True, kw_only=True)
class Habits:
    """What a player does to every note alike.

    Attributes
    ----------
    lean_sec : float
        Behind (positive) or ahead of the click.
    bounce_sec : float
        How much later than half way the even eighths come.
    slope : float
        Seconds of deviation gained in a second: positive is dragging.
    bend : float
        How the slope changes on the way, seconds of deviation over seconds squared: who speeds up smoothly
        has a negative one. Taken off only where it is clearly there.
    about_sec : float
        The time at which slope and bend add nothing.
    """

    lean_sec: float = 0.0
    bounce_sec: float = 0.0
    slope: float = 0.0
    bend: float = 0.0
    about_sec: float = 0.0

    def expected_sec(self, quarters: float, due_sec: float) -> float:
        """The deviation that the habits alone explain at a place of the lick."""
        phase = (quarters / EIGHTH_QUARTERS) % 2.0
        return (
            self.lean_sec
            + self.bounce_sec * (phase if phase <= 1.0 else 2.0 - phase)
            + self.slope * (due_sec - self.about_sec)
            + self.bend * (due_sec - self.about_sec) ** 2
        )
