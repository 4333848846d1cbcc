"""What a player is shown of the tempo ladder: plain data."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class LadderSeen:
    """The ladder of what is practised, as it stands for the next count-in.

    Attributes
    ----------
    tempo_half_bpm : float
        What is played next.
    home_half_bpm, edge_half_bpm, reach_half_bpm : float or None
        As far as they can be told by now.
    row : int
        Clean passes in a row.
    needed : int
        So many of them raise the tempo.
    unit : str
        "whole", or "change" where the change alone is played until it holds.
    phase : str
        "climbing", "closing" (the last pass, at home tempo) or "over".
    said : str
        Why the tempo moves or stays, in a line; empty for nothing new.
    minutes_left : float
        Until this item has had its time.
    """

    tempo_half_bpm: float
    home_half_bpm: float | None = None
    edge_half_bpm: float | None = None
    reach_half_bpm: float | None = None
    row: int = 0
    needed: int = 3
    unit: str = "whole"
    phase: str = "climbing"
    said: str = ""
    minutes_left: float = 0.0
