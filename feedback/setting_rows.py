"""The rows of what can be set: what each is, how its text is read, its default, and how it is stepped."""

from __future__ import annotations

from feedback.judges.limits import WINDOWS, Limits
from feedback.setting_kinds import (
    Setting,
    choice,
    in_range,
    key,
    known_or,
    number,
    player,
    whole,
    words,
)

_RATES = (44100, 48000)  # as listener.ear.RATES, which would load numpy

_LIMITS = Limits()

_WHEN_OPENED = "when the sound is opened the next time"
_WHEN_NEXT = "when the next practice begins"
_WHEN_STARTED = "when Sevenfall is started the next time"


def _rate(text: str) -> str | float:
    if text != "device" and int(text) not in _RATES:
        raise ValueError(text)
    return text if text == "device" else int(text)


def _latency(text: str) -> str | float:
    return text if text in ("low", "high") else number(0.001, 1.0)(text)


SETTINGS: dict[str, Setting] = {
    "window": choice("how far from its place a note still lands", tuple(WINDOWS), "usual"),
    "spread_limit_ms": in_range("greatest spread of a clean pass", 5, 200, _LIMITS.spread_limit_ms, 5),
    "swallowed_db": in_range(
        "how far under its neighbours a seven is swallowed", 3, 30, _LIMITS.swallowed_db, 1
    ),
    "swallowed_slurred_db": in_range("the same for a slurred seven", 3, 30, _LIMITS.swallowed_slurred_db, 1),
    "sure": in_range("confidence from which the listener is believed", 0, 1, _LIMITS.sure, 0.05),
    "blamed": in_range(
        "confidence from which a note may be called wrong or added", 0, 1, _LIMITS.blamed, 0.05
    ),
    "lean_unsure_ms": in_range("a lean is named only beyond this", 0, 100, _LIMITS.lean_unsure_ms, 1),
    "click_db": in_range("level of the click, its accent's peak", -60, -6, -24, 2),
    "backing_db": in_range("level of the backing, its bass's peak", -60, -6, -26, 2),
    "model_db": in_range("level of the lick where the program plays it, its peak", -60, -6, -24, 2),
    "rest_sec": in_range("rest before the first count-in and between two turns, in seconds", 0, 600, 4, 1),
    "latency": Setting(
        about="how much the sound card keeps ahead",
        accepts="low, high, or 0.001 to 1 seconds",
        read=_latency,
        default="low",
        choices=("low", "high"),
        holds_from=_WHEN_OPENED,
    ),
    "block": Setting(
        about="frames that the sound card hands over at once",
        accepts="32 to 4096",
        read=whole(32, 4096),
        default=256,
        choices=("32", "64", "128", "256", "512", "1024", "2048", "4096"),
        holds_from=_WHEN_OPENED,
    ),
    "rate": Setting(
        about="samples a second",
        accepts=f"device, {' or '.join(map(str, _RATES))}",
        read=_rate,
        default="device",
        choices=("device", *map(str, _RATES)),
        holds_from=_WHEN_OPENED,
    ),
    "channel": Setting(
        about="which channel of its device the microphone is on",
        accepts="1 to 64",
        read=whole(1, 64),
        default=1,
        step=1,
        least=1,
        most=64,
        holds_from=_WHEN_OPENED,
    ),
    "bleed": choice(
        "whether what the program plays is taken out of the microphone's sound, or stays in",
        ("out", "in"),
        "out",
        _WHEN_OPENED,
    ),
    "round_trip_ms": Setting(
        about="the round trip as it was measured, for where the system's time stamps make no sense",
        accepts="unknown, or 1 to 1000",
        read=known_or(1, 1000),
        default="unknown",
        choices=("unknown",),
        step=1,
        least=1,
        most=1000,
        holds_from=_WHEN_OPENED,
    ),
    "source": choice(
        "who plays in the window: you at the microphone, or the simulated player", ("mic", "sim"), "mic"
    ),
    "heard": choice(
        "whether the simulated player is heard, where there is a loudspeaker",
        ("on", "off"),
        "on",
        "when the simulated player begins the next time",
    ),
    "player": Setting(
        about="whose passes are remembered, where several play",
        accepts="a name of 1 to 60 characters",
        read=player,
        default="me",
        free=True,
        holds_from=_WHEN_NEXT,
    ),
    "journal": choice("whether passes are remembered", ("on", "off"), "on", _WHEN_NEXT),
    "ladder": choice(
        "whether the tempo rises by itself where it is earned, and falls where it must",
        ("on", "off"),
        "on",
        _WHEN_NEXT,
    ),
    "look": choice("the screen, ink on light paper or by night", ("paper", "night"), "paper"),
    "motion": choice(
        "whether the lane flows, or stands still and is turned bars at a time",
        ("flowing", "stepped"),
        "flowing",
    ),
    "neck": choice(
        "which hand picks: a left-handed neck is drawn the other way round", ("right", "left"), "right"
    ),
    "full_screen": choice("whether the window fills the screen", ("on", "off"), "off", _WHEN_STARTED),
    "cue": choice(
        "whether three lone open fifth strings, a half note apart, in the rest begin the next turn",
        ("on", "off"),
        "on",
    ),
    "pedal_next": key("key that a pedal sends to move on to the next choice", "page down"),
    "pedal_choose": key("key that a pedal sends to choose", "page up"),
    "last_lick": Setting(
        about="lick that the porch offers: the one that was played last in the window",
        accepts="the id of a lick, or the path of a .lick file",
        read=words,
        default="slab-wood-supper",
    ),
}
"""Name to row. A name that ends in `_db`, `_ms` or `_sec` says the unit of its number."""
