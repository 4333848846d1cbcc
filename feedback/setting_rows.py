"""The rows of what can be set: what each is, how its text is read, its default, and how it is stepped.

A setting with `choices` goes round in them, one with a `step` goes up and down within its range; one that has
both begins with its choices, and its numbers follow. What is `learnt` is the name of a key, and is best given
by pressing that key.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from feedback.judges.limits import WINDOWS, Limits


@dataclass(frozen=True, slots=True, kw_only=True)
class Setting:
    """One row.

    Attributes
    ----------
    about, accepts : str
        What it is, and which texts are taken.
    read : callable
        Makes the value of a text; raises ValueError where it is not taken.
    default : str or float
    choices : tuple of str
        Texts to choose from, in order; empty where there are none.
    step, least, most : float or None
        Of a number: how far one step goes, and the ends of its range.
    learnt : bool
        Whether it is the name of a key.
    holds_from : str
        From when on a change holds, in words; empty for at once.
    """

    about: str
    accepts: str
    read: Callable[[str], str | float]
    default: str | float
    choices: tuple[str, ...] = ()
    step: float | None = None
    least: float | None = None
    most: float | None = None
    learnt: bool = False
    holds_from: str = ""

    def next_to(self, value: str | float, by: int) -> str | float:
        """The value beside another one.

        Parameters
        ----------
        value : str or float
            One that `read` yields.
        by : int
            1 for the next one, -1 for the one before.

        Returns
        -------
        str or float
            The same value at the end of a range, and where there is nothing to step.
        """
        text = as_text(value)
        if self.step is not None:
            return self._stepped(value, self.step, by)
        if not self.choices:
            return value
        at = self.choices.index(text) + by if text in self.choices else 0
        return self.read(self.choices[at % len(self.choices)])

    def _stepped(self, value: str | float, step: float, by: int) -> str | float:
        least, most = self.least or 0.0, self.most or 0.0
        if isinstance(value, str):
            return self.read(as_text(least)) if by > 0 else value
        if by < 0 and value <= least and self.choices:
            return self.choices[-1]
        return self.read(as_text(min(max(value + by * step, least), most)))


def as_text(value: str | float) -> str:
    """A value as the text that is read to it."""
    return value if isinstance(value, str) else f"{value:.9g}"


def _number(least: float, most: float) -> Callable[[str], float]:
    def read(text: str) -> float:
        value = float(text)
        if not (math.isfinite(value) and least <= value <= most):
            raise ValueError(text)
        return value

    return read


def _one_of(*names: str) -> Callable[[str], str]:
    def read(text: str) -> str:
        if text not in names:
            raise ValueError(text)
        return text

    return read


def _in_range(about: str, least: float, most: float, default: float, step: float) -> Setting:
    return Setting(
        about=about,
        accepts=f"{least:g} to {most:g}",
        read=_number(least, most),
        default=default,
        step=step,
        least=least,
        most=most,
    )


def _choice(about: str, names: tuple[str, ...], default: str, holds_from: str = "") -> Setting:
    return Setting(
        about=about,
        accepts=", ".join(names),
        read=_one_of(*names),
        default=default,
        choices=names,
        holds_from=holds_from,
    )


def _key(about: str, default: str) -> Setting:
    return Setting(
        about=about,
        accepts="page up, page down, home, end, insert, f1 to f12 but f11, or another key that types nothing "
        "and has no use of its own here",
        read=_key_name,
        default=default,
        learnt=True,
    )


def _whole(least: int, most: int) -> Callable[[str], float]:
    def read(text: str) -> float:
        value = int(text)
        if not least <= value <= most:
            raise ValueError(text)
        return value

    return read


def _known_or(least: float, most: float) -> Callable[[str], str | float]:
    return lambda text: text if text == "unknown" else _number(least, most)(text)


def _latency(text: str) -> str | float:
    return text if text in ("low", "high") else _number(0.001, 1.0)(text)


def _rate(text: str) -> str | float:
    if text != "device" and int(text) not in _RATES:
        raise ValueError(text)
    return text if text == "device" else int(text)


def _key_name(text: str) -> str:
    name = " ".join(text.lower().split())
    if len(name) < 2 or name in _USED_KEYS or not name.isprintable() or len(name) > _LONGEST_KEY:
        raise ValueError(text)
    return name


def _name_of_lick(text: str) -> str:
    if not text.strip() or not text.isprintable():
        raise ValueError(text)
    return text


_LONGEST_KEY = 24
_MOVING_KEYS = {"up", "down", "left", "right", "tab", "shift tab"}
_USED_KEYS = _MOVING_KEYS | {
    "enter",
    "return",
    "space",
    "escape",
    "backspace",
    "f11",
}  # by window and screens
_RATES = (44100, 48000)  # as listener.ear.RATES, which would load numpy
_LIMITS = Limits()

_WHEN_OPENED = "when the sound is opened the next time"
_WHEN_STARTED = "when Sevenfall is started the next time"

SETTINGS: dict[str, Setting] = {
    "window": _choice("how far from its place a note still lands", tuple(WINDOWS), "usual"),
    "spread_limit_ms": _in_range("greatest spread of a clean pass", 5, 200, _LIMITS.spread_limit_ms, 5),
    "swallowed_db": _in_range(
        "how far under its neighbours a seven is swallowed", 3, 30, _LIMITS.swallowed_db, 1
    ),
    "swallowed_slurred_db": _in_range("the same for a slurred seven", 3, 30, _LIMITS.swallowed_slurred_db, 1),
    "sure": _in_range("confidence from which the listener is believed", 0, 1, _LIMITS.sure, 0.05),
    "blamed": _in_range(
        "confidence from which a note may be called wrong or added", 0, 1, _LIMITS.blamed, 0.05
    ),
    "lean_unsure_ms": _in_range("a lean is named only beyond this", 0, 100, _LIMITS.lean_unsure_ms, 1),
    "click_db": _in_range("level of the click, its accent's peak", -60, -6, -24, 2),
    "backing_db": _in_range("level of the backing, its bass's peak", -60, -6, -26, 2),
    "model_db": _in_range("level of the lick where the program plays it, its peak", -60, -6, -24, 2),
    "rest_sec": _in_range("rest before the first count-in and between two turns, in seconds", 0, 600, 4, 1),
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
        read=_whole(32, 4096),
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
        read=_whole(1, 64),
        default=1,
        step=1,
        least=1,
        most=64,
        holds_from=_WHEN_OPENED,
    ),
    "bleed": _choice(
        "whether what the program plays is taken out of the microphone's sound, or stays in",
        ("out", "in"),
        "out",
        _WHEN_OPENED,
    ),
    "round_trip_ms": Setting(
        about="the round trip as it was measured, for where the system's time stamps make no sense",
        accepts="unknown, or 1 to 1000",
        read=_known_or(1, 1000),
        default="unknown",
        choices=("unknown",),
        step=1,
        least=1,
        most=1000,
        holds_from=_WHEN_OPENED,
    ),
    "source": _choice(
        "who plays in the window: you at the microphone, or the simulated player", ("mic", "sim"), "mic"
    ),
    "heard": _choice(
        "whether the simulated player is heard, where there is a loudspeaker",
        ("on", "off"),
        "on",
        "when the simulated player begins the next time",
    ),
    "look": _choice("the screen, ink on light paper or by night", ("paper", "night"), "paper"),
    "motion": _choice(
        "whether the lane flows, or stands still and is turned bars at a time",
        ("flowing", "stepped"),
        "flowing",
    ),
    "neck": _choice(
        "which hand picks: a left-handed neck is drawn the other way round", ("right", "left"), "right"
    ),
    "full_screen": _choice("whether the window fills the screen", ("on", "off"), "off", _WHEN_STARTED),
    "cue": _choice(
        "whether three lone open fifth strings, a half note apart, in the rest begin the next turn",
        ("on", "off"),
        "on",
    ),
    "pedal_next": _key("key that a pedal sends to move on to the next choice", "page down"),
    "pedal_choose": _key("key that a pedal sends to choose", "page up"),
    "last_lick": Setting(
        about="lick that the porch offers: the one that was played last in the window",
        accepts="the id of a lick, or the path of a .lick file",
        read=_name_of_lick,
        default="slab-wood-supper",
    ),
}
"""Name to row. A name that ends in `_db`, `_ms` or `_sec` says the unit of its number."""
