"""The sound check with a microphone, told: lines while it goes on, and the same for programs."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Any

from feedback.checking_events import (
    CheckEvent,
    LevelFound,
    Meter,
    NoiseFound,
    NothingTold,
    PlayAlong,
    PlayAway,
    Still,
    Sweeping,
    TripFound,
)
from feedback.words import counted

if TYPE_CHECKING:
    from feedback.trips import Trip
    from listener.devices import Device

SOFT_PEAK_DB, HOT_PEAK_DB = -30.0, -3.0
"""Playing whose loudest sample is softer is soft, one that is louder nearly too loud."""

_LOUD_NOISE_DB = -45.0
_NEAR_NOISE_DB = 25.0
_BAR_FLOOR_DB = -60.0
_BAR_STEPS = 30


def check_lines(event: CheckEvent) -> Iterator[str]:
    """What is said when something happens."""
    match event:
        case Still(sec=sec):
            yield f"Keep still for {sec:.0f} seconds ..."
        case NoiseFound(noise_db=noise_db):
            yield f"  noise       {'; '.join(noise_words(noise_db))}"
        case Sweeping(level_db=level_db):
            yield f"Quiet sweeps, peaks at {level_db:.0f} dB of full scale: still no playing, please ..."
        case PlayAlong(clicks=clicks, begins_sec=begins_sec):
            yield (
                "  no sweep came back, as with headphones. Hold an earpiece against the microphone and check "
                "once more; or, which tells less,"
            )
            yield (
                f"strike one open string with each click: one, two, rest, one, two, rest, {clicks} in all; "
                f"they begin in {begins_sec:.0f} seconds ..."
            )
        case NothingTold():
            yield "  your strokes told nothing: too few of them, or not with the clicks"
        case TripFound(trip=trip):
            yield from _trip_lines(trip)
        case PlayAway(sec=sec):
            yield f"Get ready, then play as you are going to, up to your loudest, for {sec:.0f} seconds ..."
        case Meter(peak_db=peak_db, full=full):
            share = min(1.0, max(0.0, 1.0 - peak_db / _BAR_FLOOR_DB))
            bar = "=" * round(_BAR_STEPS * share)
            yield f"    {bar:<{_BAR_STEPS}} {peak_db:4.0f} dB{'  too loud' if full else ''}"
        case LevelFound():
            yield f"  level       {'; '.join(level_words(event))}"


def taken_line(source: str, sink: str, rate: int) -> str:
    """Which microphone and output are checked, and at how many samples a second."""
    return f"microphone {source}, output {sink}, {rate} Hz (others: --devices, --device)"


def noise_words(noise_db: float) -> list[str]:
    """What is said of the room, clause by clause."""
    words = [f"{noise_db:.0f} dB of full scale"]
    if noise_db > _LOUD_NOISE_DB:
        words.append("that is loud: go nearer to the microphone, or to a quieter room")
    return words


def trip_words(trip: Trip) -> list[str]:
    """What is said of the round trip, clause by clause, the first being what it is and how sure that is."""
    told, unsure = f"{1e3 * trip.trip_sec:.1f} ms", f"{1e3 * trip.unsure_sec:.1f}"
    if trip.how == "stamps":
        return [f"{told} by the system's time stamps, within {unsure} ms at best", "not measured"]
    if trip.how == "reported":
        return [f"{told}, as the system says", "not measured, not to be trusted"]
    if trip.how == "chirp":
        what = f"measured within {unsure} ms ({trip.agreed} of {trip.sent} sweeps agree)"
    else:
        agreed = f"{trip.agreed} of {counted(trip.sent, 'note')}"
        what = f"by playing along, within {unsure} ms at best ({agreed}): how far you lean by habit is in it"
    stamps = None if trip.stamps_sec is None else f"{1e3 * trip.stamps_sec:.1f} ms"
    return [
        f"{told}, {what}",
        f"the system's time stamps say {stamps}" if stamps else "the system tells no time that makes sense",
    ]


def bleed_words(bleed_db: float) -> list[str]:
    """What is said of a loudspeaker that comes back, clause by clause."""
    return [
        f"comes back {bleed_db:+.0f} dB against what is played: click and backing are taken out of the "
        "microphone",
        "headphones are surer",
    ]


def level_words(found: LevelFound) -> list[str]:
    """What is said of the playing's level, clause by clause."""
    words = [f"peaks at {found.peak_db:.0f} dB of full scale"]
    if found.clipped:
        words.append(f"clipped ({counted(found.clipped, 'sample')}): turn the input down")
    elif found.note_db is None:
        words.append("no note was heard")
    elif found.peak_db < SOFT_PEAK_DB:
        words.append("soft: turn the input up, or go nearer")
    elif found.peak_db > HOT_PEAK_DB:
        words.append("nearly too loud: turn the input down a little")
    else:
        words.append("good")
    if found.note_db is not None and found.noise_db is not None:
        over_db = found.note_db - found.noise_db
        words.append(f"{counted(found.notes, 'note')}, {over_db:.0f} dB over the noise")
        if over_db < _NEAR_NOISE_DB:
            words.append("noisy: go nearer to the microphone")
    return words


def _trip_lines(trip: Trip) -> Iterator[str]:
    yield f"  round trip  {'; '.join(trip_words(trip))}"
    if trip.how == "chirp" and trip.bleed_db is not None:
        yield f"  loudspeaker {'; '.join(bleed_words(trip.bleed_db))}"
    if trip.how == "played" and not trip.apart:
        yield "              no further apart than playing along can tell: the time stamps stay"


def device_lines(listed: Sequence[Device], taken: tuple[str, str] | None = None) -> Iterator[str]:
    """Every device, and which are taken unless `--device` says otherwise."""
    for device in listed:
        ways = [way for way, count in (("in", device.inputs), ("out", device.outputs)) if count > 0]
        used = [way for way, name in zip(("in", "out"), taken or (), strict=False) if name == device.name]
        mark = f"  <- {' and '.join(way for way in used if way in ways)}" if used else ""
        about = f"{device.system}; {' and '.join(ways)}; {device.rate:.0f} Hz"
        yield f"  {device.number:>3} {device.name} ({about}){mark}"


def check_json(
    names: tuple[str, str], rate: int, trip: Trip | None, noise_db: float | None, level: LevelFound | None
) -> dict[str, Any]:
    """What was found, for programs."""
    return {
        "microphone": names[0],
        "output": names[1],
        "sample_rate": rate,
        "noise_db": noise_db,
        "round_trip_ms": None if trip is None else 1e3 * trip.trip_sec,
        "unsure_ms": None if trip is None else 1e3 * trip.unsure_sec,
        "measured_by": None if trip is None else trip.how,
        "stamps_ms": None if trip is None or trip.stamps_sec is None else 1e3 * trip.stamps_sec,
        "agreed": None if trip is None else trip.agreed,
        "sent": None if trip is None else trip.sent,
        "bleed_db": None if trip is None else trip.bleed_db,
        "peak_db": None if level is None else level.peak_db,
        "clipped_samples": None if level is None else level.clipped,
        "note_level_db": None if level is None else level.note_db,
        "notes_heard": None if level is None else level.notes,
    }
