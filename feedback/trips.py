"""What a sound check says of the round trip, by which means, and how sure it is."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from listener.chirp import Measured
    from listener.clock import StreamClock
    from listener.played_along import PlayedAlong

SHORTEST_SEC = 0.001
"""No round trip is shorter; who plays along may be so far ahead."""

How = Literal["chirp", "played", "stamps", "reported"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Trip:
    """The round trip of a pair of devices.

    Attributes
    ----------
    trip_sec : float
    unsure_sec : float
        How far that may be off.
    how : How
        By sweeps that came back; by playing along; by the system's stamps; by the system's word.
    stamps_sec : float or None
        What the system's stamps say; None where they make no sense.
    agreed, sent : int
        Sweeps, or notes, that told the same, of how many.
    bleed_db : float or None
        How loud a loudspeaker comes back, against what is played; None where nothing came back.
    apart : bool
        Whether it is so far from what the stamps say that it counts in their place.
    """

    trip_sec: float
    unsure_sec: float
    how: How
    stamps_sec: float | None
    agreed: int = 0
    sent: int = 0
    bleed_db: float | None = None
    apart: bool = True

    @property
    def extra_sec(self) -> float | None:
        """By how much it is longer than the stamps say; None where they make no sense."""
        return None if self.stamps_sec is None else self.trip_sec - self.stamps_sec

    @property
    def measured(self) -> bool:
        """Whether anything was found that is worth storing."""
        return self.how == "chirp" or (self.how == "played" and self.apart and self.trip_sec >= SHORTEST_SEC)


def by_sweeps(measured: Measured, clock: StreamClock, position: int, *, bleed_db: float) -> Trip:
    """The round trip by sweeps that came back."""
    return Trip(
        trip_sec=measured.delay_sec,
        unsure_sec=measured.unsure_sec,
        how="chirp",
        stamps_sec=_stamps(clock, position),
        agreed=measured.agreed,
        sent=measured.sent,
        bleed_db=bleed_db,
    )


def by_playing(played: PlayedAlong, clock: StreamClock, position: int) -> Trip:
    """The round trip by what was played along with a click.

    It counts before stamps that make sense only where it contradicts them: a player's own lean is in it.
    """
    stamps_sec = _stamps(clock, position)
    off = None if stamps_sec is None else abs(played.offset_sec - stamps_sec)
    return Trip(
        trip_sec=max(0.0, played.offset_sec),
        unsure_sec=played.unsure_sec,
        how="played",
        stamps_sec=stamps_sec,
        agreed=played.notes,
        sent=played.clicks,
        apart=off is None or off > 2.0 * played.unsure_sec,
    )


def by_stamps(clock: StreamClock, position: int) -> Trip:
    """What the system says, for want of a measurement."""
    stamps_sec = _stamps(clock, position)
    return Trip(
        trip_sec=clock.round_trip_sec(position),
        unsure_sec=clock.unsure_sec,
        how="reported" if stamps_sec is None else "stamps",
        stamps_sec=stamps_sec,
    )


def _stamps(clock: StreamClock, position: int) -> float | None:
    return clock.round_trip_sec(position) if clock.basis == "stamps" else None
