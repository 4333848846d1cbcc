"""What the ladder sees of a pass."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Unit = Literal["whole", "change"]

SAME_TEMPO_HALF_BPM = 0.05


@dataclass(frozen=True, slots=True, kw_only=True)
class PassSeen:
    """One pass.

    Attributes
    ----------
    tempo_half_bpm : float
    clean : bool or None
        None counts neither way.
    spread_ms : float or None
    unit : Unit
        All of the item, or its change by itself.
    sitting_sec : float
        At its end, since the sitting began; pauses are in it.
    lasted_sec : float
        With the rest bars after it.
    """

    tempo_half_bpm: float
    clean: bool | None
    spread_ms: float | None = None
    unit: Unit = "whole"
    sitting_sec: float
    lasted_sec: float

    def is_at(self, tempo_half_bpm: float, unit: Unit) -> bool:
        """Whether that was played."""
        return self.unit == unit and abs(self.tempo_half_bpm - tempo_half_bpm) < SAME_TEMPO_HALF_BPM
