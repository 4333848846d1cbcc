"""What a sound check found of a pair of devices, each value within its range: a row of `sound.json`."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, fields
from datetime import datetime

HOWS = ("chirp", "played", "stamps", "reported")
"""How a round trip was found: by a sweep, by playing along, or not: by the system's stamps, or its word."""

Key = tuple[str, str, int, int, str | float]
"""Source, sink, rate, block, latency as it was asked for."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PairCheck:
    """What a sound check found.

    Attributes
    ----------
    source, sink : str
        Names of microphone and output.
    rate : int
        Samples a second, 1 to 768000.
    block : int
        Frames, 1 to 65536.
    latency : str or float
        As asked for: "low", "high", or seconds.
    extra_sec : float or None
        The measured round trip less that of the system's time stamps then, -3 to 3; None where stamps made
        no sense.
    trip_sec : float or None
        The whole round trip that was measured, 0 to 3; None where none was.
    unsure_sec : float
        How far that may be off, 0 to 1.
    how : str
        One of `HOWS`.
    checked : str
        When: ISO date, or date and time.
    noise_db : float or None
        Of the room, in decibels of full scale, -200 to 30; None where that is not known.
    bleed_db : float or None
        How loud the loudspeaker comes back, -200 to 100; None where it does not.

    Raises
    ------
    ValueError
        If one is out of range.
    """

    source: str
    sink: str
    rate: int
    block: int
    latency: str | float
    extra_sec: float | None
    trip_sec: float | None
    unsure_sec: float
    how: str
    checked: str
    noise_db: float | None
    bleed_db: float | None

    def __post_init__(self) -> None:
        for name, (fits, accepted) in FIELDS.items():
            value = getattr(self, name)
            if not fits(value):
                raise ValueError(f"{name} is {value!r}; accepted: {accepted}")

    @property
    def key(self) -> Key:
        """What it was found for."""
        return (self.source, self.sink, self.rate, self.block, self.latency)


def _is_name(value: object) -> bool:
    return isinstance(value, str) and 0 < len(value) <= 1000


def _number(least: float, most: float, *, none: bool = False) -> tuple[Callable[[object], bool], str]:
    def fits(value: object) -> bool:
        if isinstance(value, bool) or not isinstance(value, int | float):
            return none and value is None
        return least <= value <= most  # false for what is no number

    return fits, f"{least:g} to {most:g}" + (", or none" if none else "")


def _whole(most: int) -> tuple[Callable[[object], bool], str]:
    return lambda value: type(value) is int and 1 <= value <= most, f"whole, 1 to {most}"


def _is_date(value: object) -> bool:
    try:
        datetime.fromisoformat(str(value))
    except ValueError:
        return False
    return isinstance(value, str)


def _is_latency(value: object) -> bool:
    return value in ("low", "high") if isinstance(value, str) else _number(0.0, 10.0)[0](value)


FIELDS: dict[str, tuple[Callable[[object], bool], str]] = {
    "source": (_is_name, "a name"),
    "sink": (_is_name, "a name"),
    "rate": _whole(768_000),
    "block": _whole(65_536),
    "latency": (_is_latency, "low, high, or 0 to 10 seconds"),
    "extra_sec": _number(-3.0, 3.0, none=True),
    "trip_sec": _number(0.0, 3.0, none=True),
    "unsure_sec": _number(0.0, 1.0),
    "how": (lambda value: value in HOWS, " or ".join(HOWS)),
    "checked": (_is_date, "an ISO date"),
    "noise_db": _number(-200.0, 30.0, none=True),
    "bleed_db": _number(-200.0, 100.0, none=True),
}
assert set(FIELDS) == {row.name for row in fields(PairCheck)}
