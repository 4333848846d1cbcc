"""Which devices are meant, and what a refusal means in words: the plain half of `listener.device`."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from listener.errors import DeviceTrouble, NoDevice, WrongDevice

BLOCK = 256
REFUSED_RATE = -9997
"""PortAudio's code for a rate that a device does not take."""

_CODES = {
    -9997: "refuses {rates} Hz",
    -9998: "has not the channels that are needed, one in and one out",
    -9996: "is not there any more",
    -9993: "cannot be opened together: choose microphone and output of one sound system",
    -9985: "busy or gone: another program may hold it; close that one, or choose another with --device",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """Which stream is asked for.

    Attributes
    ----------
    device : str or None
        "IN" or "IN/OUT", each a number or a part of a device's name; None for what the system prefers.
    rate : int or None
        One of `listener.ear.RATES`; None for the microphone's own, if it is one of them.
    block : int
        Frames in a block.
    latency : str or float
        "low", "high", or seconds.
    channel : int
        Which channel the microphone is on, from 1.
    usual : (str, str) or None
        Names of the microphone and the output to be taken where none is asked for and these are there.
    """

    device: str | None = None
    rate: int | None = None
    block: int = BLOCK
    latency: str | float = "low"
    channel: int = 1
    usual: tuple[str, str] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Device:
    """One device as the system lists it."""

    number: int
    name: str
    system: str
    inputs: int
    outputs: int
    rate: float


def chosen(
    asked: Asked, listed: Sequence[Device], preferred: Sequence[int] = (-1, -1)
) -> tuple[Device, Device]:
    """The two devices that are asked for.

    Parameters
    ----------
    asked : Asked
    listed : sequence of Device
    preferred : (int, int)
        Numbers of the microphone and the output that the system prefers; -1 where it does not say.

    Returns
    -------
    (Device, Device)
        Microphone and output.

    Raises
    ------
    DeviceTrouble
        If there is none at all.
    WrongDevice
        If no device has the name or the number, or more than one fits it, or the channel is not there.
    """
    if not listed:
        raise NoDevice("no sound device: plug one in, or start the sound server")
    if asked.device is None and asked.usual is not None:
        pair = _usual(asked, listed)
        if pair is not None:
            return pair
    name_in, _, name_out = (asked.device or "").partition("/")
    source = _one(name_in, listed, "inputs", preferred[0])
    if asked.channel > source.inputs:
        raise WrongDevice(f"{source.name}: channel {asked.channel}; it has 1 to {source.inputs}")
    if name_out:
        return source, _one(name_out, listed, "outputs", preferred[1])
    # An output of the same sound system: PortAudio opens no two systems together.
    beside = [device for device in listed if device.system == source.system]
    able = any(device.outputs > 0 for device in beside)
    return source, _one(name_in, beside if able else listed, "outputs", preferred[1], fall_back=True)


def _usual(asked: Asked, listed: Sequence[Device]) -> tuple[Device, Device] | None:
    """The pair that is taken as a rule, if both are there, each under its very name and only once."""
    assert asked.usual is not None
    sources = [d for d in listed if d.name == asked.usual[0] and d.inputs >= asked.channel]
    sinks = [d for d in listed if d.name == asked.usual[1] and d.outputs > 0]
    together = [(a, b) for a in sources for b in sinks if a.system == b.system]
    return together[0] if together else None


def chosen_output(asked: Asked, listed: Sequence[Device], preferred: int = -1) -> Device:
    """The output that is asked for, where nothing is recorded.

    Raises
    ------
    DeviceTrouble, WrongDevice
        As `chosen`.
    """
    if not listed:
        raise NoDevice("no sound device: plug one in, or start the sound server")
    if asked.device is None and asked.usual is not None:
        usual = [d for d in listed if d.name == asked.usual[1] and d.outputs > 0]
        if usual:
            return usual[0]
    return _one((asked.device or "").rpartition("/")[2], listed, "outputs", preferred)


def same(known: tuple[Device, Device], listed: Sequence[Device]) -> tuple[Device, Device]:
    """The two devices that were open before, by their names, under whatever numbers they have now.

    Raises
    ------
    DeviceTrouble
        If one of them is not there.
    """
    found = []
    for device, way in zip(known, ("inputs", "outputs"), strict=True):
        there = [
            other
            for other in listed
            if (other.name, other.system) == (device.name, device.system) and getattr(other, way) > 0
        ]
        if not there:
            raise DeviceTrouble(f"{device.name}: is not there any more")
        found.append(there[0])
    return found[0], found[1]


def _one(name: str, listed: Sequence[Device], way: str, preferred: int, *, fall_back: bool = False) -> Device:
    """The device that a number or a part of a name means, of those that go this way ("inputs", "outputs")."""
    what = "microphone" if way == "inputs" else "output"
    able = [device for device in listed if getattr(device, way) > 0]
    if name:
        if any(name == str(device.number) for device in listed):
            same = [d for d in able if name == str(d.number)]
        else:
            same = [d for d in able if name == d.name] or [d for d in able if name.lower() in d.name.lower()]
        if len(same) == 1:
            return same[0]
        if not (fall_back and not same):
            names = ", ".join(f"{d.number} {d.name!r} ({d.system})" for d in same or able) or "none"
            raise WrongDevice(
                f"--device, {what} {name!r}: {'more than one' if same else 'none such'}; there are {names}"
            )
    by_choice = [device for device in able if device.number == preferred] or able
    if not by_choice:
        raise NoDevice(f"no {what}: plug one in, or choose one with --device")
    return by_choice[0]


def code_of(error: Exception) -> int | None:
    """PortAudio's number for an error, None where it has none."""
    return error.args[1] if len(error.args) > 1 else None


def said(error: Exception) -> str:
    """PortAudio's words for an error, on one line."""
    return " ".join(str(error.args[0] if error.args else error).split())


def in_words(error: Exception, source: Device, sink: Device, rates: Sequence[int]) -> str:
    """Why two devices could not be opened, in one line."""
    names = source.name if source.name == sink.name else f"{source.name} and {sink.name}"
    words = _CODES.get(code_of(error) or 0, "cannot be opened: {said}")
    return f"{names}: {words.format(rates=' and '.join(map(str, rates)), said=said(error))}"
