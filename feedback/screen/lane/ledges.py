"""The fall picture as data: level ledges, the slopes between them, and the pegs that stand on them.

Conventions: names are those of the shape under a capo. There is an upper and a lower ledge, in the order in
which the lick's own notes lie. `step` is half steps above the level at which a ledge begins anew. How they
are found: `feedback.screen.lane.leading`.
"""

from __future__ import annotations

from dataclasses import dataclass

_HAIR = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True)
class Ledge:
    """A level stretch.

    Attributes
    ----------
    upper : bool
    begin_quarters, end_quarters : float
    step : int
    tone, function : str
        Such as "F#", "third".
    ink : {"seven", "third"}
        The guide tone's over a seventh chord; over a plain one that of the ledge that led there.
    broken : bool
        Whether it goes on from the one before it, which lies elsewhere.
    """

    upper: bool
    begin_quarters: float
    end_quarters: float
    step: int
    tone: str
    function: str
    ink: str
    broken: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Slope:
    """Where a ledge leads from one chord into the next; the change lies at `at_quarters`."""

    upper: bool
    at_quarters: float
    from_step: int
    to_step: int
    function: str
    ink: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Peg:
    """A note that stands on a ledge: its index in the lick, and what it is over its chord."""

    note: int
    upper: bool
    step: int
    function: str


@dataclass(frozen=True, slots=True, kw_only=True)
class FallPicture:
    """All of a lick."""

    ledges: tuple[Ledge, ...]
    slopes: tuple[Slope, ...]
    pegs: tuple[Peg, ...]

    def ledge_at(self, upper: bool, quarters: float) -> Ledge | None:
        """The ledge over a place."""
        for ledge in self.ledges:
            here = ledge.begin_quarters - _HAIR <= quarters < ledge.end_quarters - _HAIR
            if ledge.upper == upper and here:
                return ledge
        return None

    def slope_of(self, function: str, change_quarters: float) -> Slope | None:
        """The slope of a guide tone at a change."""
        for slope in self.slopes:
            if slope.function == function and abs(slope.at_quarters - change_quarters) < _HAIR:
                return slope
        return None
