"""From the command line and the settings to what is listened to and played on.

A pair of devices that a sound check has measured is known by its names; the setting counts before it.
"""

from __future__ import annotations

from collections.abc import Mapping

from feedback import pairs
from listener.clock import MEASURED_SEC
from listener.device import Opener, open_output, renew_library
from listener.devices import Asked
from listener.ear import EarSettings
from listener.live import Live
from listener.run import MeasuredTrip
from listener.speaking import Speaker
from listener.stream import Stream
from listener.taking import Taking

OTHERWISE_SEC = 0.002
"""So much less sure is what was measured of the same devices with another latency, block or rate."""


def asked_stream(device: str | None, values: Mapping[str, str | float]) -> Asked:
    """The stream that the flag and the settings ask for."""
    rate = values["rate"]
    latency = values["latency"]
    return Asked(
        device=device,
        rate=None if rate == "device" else int(rate),
        block=int(values["block"]),
        latency=latency,
        channel=int(values["channel"]),
        usual=pairs.last_pair(),
    )


def microphone(
    asked: Asked, values: Mapping[str, str | float], *, ear: EarSettings | None = None, keep: bool = False
) -> Live:
    """A microphone to be listened to, not started yet."""

    def measured(stream: Stream) -> MeasuredTrip | None:
        return measured_trip(stream, asked, values)

    return Live(
        Opener(asked),
        renew_library,
        settings=ear,
        measured=measured,
        keep=keep,
        bleed_out=values["bleed"] == "out",
    )


def measured_trip(stream: Stream, asked: Asked, values: Mapping[str, str | float]) -> MeasuredTrip | None:
    """What is known of a stream's round trip: the setting, else what a sound check of these devices found."""
    if values["round_trip_ms"] != "unknown":
        return MeasuredTrip(trip_sec=float(values["round_trip_ms"]) / 1e3, unsure_sec=MEASURED_SEC)
    kept = pairs.load()
    found = kept.get((stream.source, stream.sink, stream.rate, stream.block, asked.latency))
    if found is None or found.trip_sec is None:
        alike = pairs.opened_otherwise(kept, stream.source, stream.sink)
        if alike is None:
            return None
        return MeasuredTrip(
            trip_sec=None, extra_sec=alike.extra_sec, unsure_sec=alike.unsure_sec + OTHERWISE_SEC
        )
    return MeasuredTrip(trip_sec=found.trip_sec, extra_sec=found.extra_sec, unsure_sec=found.unsure_sec)


def taking(asked: Asked) -> Taking:
    """A microphone that is taken as it is, for the tuner and the sound check; not started yet."""
    return Taking(Opener(asked), renew_library)


def speaker(asked: Asked) -> Speaker:
    """An output alone; not started yet."""
    return Speaker(lambda: open_output(asked))
