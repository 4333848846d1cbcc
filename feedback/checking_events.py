"""What a sound check asks for and what it finds: plain data, told by `feedback.checking`."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from feedback.trips import Trip


@dataclass(frozen=True, slots=True, kw_only=True)
class Still:
    """The player is to keep still for so long."""

    sec: float


@dataclass(frozen=True, slots=True, kw_only=True)
class NoiseFound:
    """How loud the room is, in dB of full scale."""

    noise_db: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Sweeping:
    """Sweeps are played, their peaks at so many dB of full scale."""

    level_db: float


@dataclass(frozen=True, slots=True, kw_only=True)
class PlayAlong:
    """The player is to strike one string with each of so many clicks.

    Attributes
    ----------
    clicks : int
        In pairs, a beat of rest after each.
    sec : float
        From the first to the last.
    begins_sec : float
        Until the first.
    """

    clicks: int
    sec: float
    begins_sec: float


@dataclass(frozen=True, slots=True, kw_only=True)
class NothingTold:
    """What was played along told nothing of the round trip: too few strokes, or not with the clicks."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TripFound:
    """What is known of the round trip."""

    trip: Trip


@dataclass(frozen=True, slots=True, kw_only=True)
class PlayAway:
    """The player is to play as loud as it will get, for so long."""

    sec: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Meter:
    """How loud the last second was: its greatest sample, and whether that is all there is."""

    peak_db: float
    full: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class LevelFound:
    """How loud the playing is.

    Attributes
    ----------
    peak_db : float
        Greatest sample, in dB of full scale.
    clipped : int
        Samples in flat tops.
    notes : int
        Sure ones that were heard.
    note_db : float or None
        Level of the usual note; None where none was heard.
    noise_db : float or None
        As found before.
    """

    peak_db: float
    clipped: int
    notes: int
    note_db: float | None
    noise_db: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Ended:
    """The check is over."""


CheckEvent = (
    Still
    | NoiseFound
    | Sweeping
    | PlayAlong
    | NothingTold
    | TripFound
    | PlayAway
    | Meter
    | LevelFound
    | Ended
)
