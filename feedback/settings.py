"""Settings and where they come from: a flag, then `SEVENFALL_NAME`, then settings.json, then the default.

Each setting is a row of `SETTINGS`. All files lie in one folder per user, which `SEVENFALL_HOME` moves.
"""

from __future__ import annotations

import argparse
import json
import math
import os
from collections.abc import Callable, Mapping
from dataclasses import dataclass, fields, replace
from pathlib import Path

from feedback.errors import Usage
from feedback.judges.limits import WINDOWS, Limits


@dataclass(frozen=True, slots=True, kw_only=True)
class Setting:
    """One row: what it is, how its text is read, and its default."""

    about: str
    accepts: str
    read: Callable[[str], str | float]
    default: str | float


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


def _in_range(about: str, least: float, most: float, default: float) -> Setting:
    return Setting(about=about, accepts=f"{least:g} to {most:g}", read=_number(least, most), default=default)


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
    if not name or not name.isprintable() or len(name) > _LONGEST_KEY:
        raise ValueError(text)
    return name


_LONGEST_KEY = 24
_RATES = (44100, 48000)  # as listener.ear.RATES, which would load numpy
_LIMITS = Limits()
_LIMIT_NAMES = {row.name for row in fields(Limits)}

SETTINGS: dict[str, Setting] = {
    "window": Setting(
        about="how far from its place a note still lands",
        accepts=", ".join(WINDOWS),
        read=_one_of(*WINDOWS),
        default="usual",
    ),
    "spread_limit_ms": _in_range("greatest spread of a clean pass", 5, 200, _LIMITS.spread_limit_ms),
    "swallowed_db": _in_range(
        "how far under its neighbours a seven is swallowed", 3, 30, _LIMITS.swallowed_db
    ),
    "swallowed_slurred_db": _in_range("the same for a slurred seven", 3, 30, _LIMITS.swallowed_slurred_db),
    "sure": _in_range("confidence from which the listener is believed", 0, 1, _LIMITS.sure),
    "blamed": _in_range("confidence from which a note may be called wrong or added", 0, 1, _LIMITS.blamed),
    "lean_unsure_ms": _in_range("a lean is named only beyond this", 0, 100, _LIMITS.lean_unsure_ms),
    "click_db": _in_range("level of the click, its accent's peak", -60, -6, -24),
    "backing_db": _in_range("level of the backing, its bass's peak", -60, -6, -26),
    "model_db": _in_range("level of the lick where the program plays it, its peak", -60, -6, -24),
    "rest_sec": _in_range("rest before the first count-in and between two turns, in seconds", 0, 600, 4),
    "latency": Setting(
        about="how much the sound card keeps ahead",
        accepts="low, high, or 0.001 to 1 seconds",
        read=_latency,
        default="low",
    ),
    "block": Setting(
        about="frames that the sound card hands over at once",
        accepts="32 to 4096",
        read=_whole(32, 4096),
        default=256,
    ),
    "rate": Setting(
        about="samples a second",
        accepts=f"device, {' or '.join(map(str, _RATES))}",
        read=_rate,
        default="device",
    ),
    "channel": Setting(
        about="which channel of its device the microphone is on",
        accepts="1 to 64",
        read=_whole(1, 64),
        default=1,
    ),
    "bleed": Setting(
        about="whether what the program plays is taken out of the microphone's sound, or stays in",
        accepts="out, in",
        read=_one_of("out", "in"),
        default="out",
    ),
    "round_trip_ms": Setting(
        about="the round trip as it was measured, for where the system's time stamps make no sense",
        accepts="unknown, or 1 to 1000",
        read=_known_or(1, 1000),
        default="unknown",
    ),
    "source": Setting(
        about="who plays in the window: you at the microphone, or the simulated player",
        accepts="mic, sim",
        read=_one_of("mic", "sim"),
        default="mic",
    ),
    "look": Setting(
        about="the screen, ink on light paper or by night",
        accepts="paper, night",
        read=_one_of("paper", "night"),
        default="paper",
    ),
    "motion": Setting(
        about="whether the lane flows, or stands still and is turned bars at a time",
        accepts="flowing, stepped",
        read=_one_of("flowing", "stepped"),
        default="flowing",
    ),
    "neck": Setting(
        about="which hand picks: a left-handed neck is drawn the other way round",
        accepts="right, left",
        read=_one_of("right", "left"),
        default="right",
    ),
    "full_screen": Setting(
        about="whether the window fills the screen",
        accepts="on, off",
        read=_one_of("on", "off"),
        default="off",
    ),
    "cue": Setting(
        about="whether three lone open fifth strings, a half note apart, in a rest choose what has the focus",
        accepts="on, off",
        read=_one_of("on", "off"),
        default="on",
    ),
    "pedal_next": Setting(
        about="key that a pedal sends to move on to the next choice",
        accepts="the name of a key, such as page down",
        read=_key_name,
        default="page down",
    ),
    "pedal_choose": Setting(
        about="key that a pedal sends to choose",
        accepts="the name of a key, such as page up",
        read=_key_name,
        default="page up",
    ),
}


def add_setting_flag(parser: argparse.ArgumentParser) -> None:
    """Give a command `--set NAME=VALUE`."""
    parser.add_argument(
        "--set",
        action="append",
        default=[],
        metavar="NAME=VALUE",
        help=f"a setting for this run: {', '.join(SETTINGS)}",
    )


def home(environ: Mapping[str, str] | None = None) -> Path:
    """The folder of the user's files: `SEVENFALL_HOME`, else where the system keeps a program's data."""
    environ = os.environ if environ is None else environ
    if environ.get("SEVENFALL_HOME"):
        return Path(environ["SEVENFALL_HOME"])
    from platformdirs import user_data_path

    return user_data_path("sevenfall", appauthor=False)


def load(flags: list[str], environ: Mapping[str, str] | None = None) -> dict[str, str | float]:
    """Every setting's value.

    Parameters
    ----------
    flags : list of str
        `NAME=VALUE`, as given to `--set`; the last of a name counts.
    environ : mapping, optional
        Stands for the environment.

    Returns
    -------
    dict
        All names of `SETTINGS`.

    Raises
    ------
    Usage
        Names the place (flag, variable or file), the value and what is accepted.
    """
    environ = os.environ if environ is None else environ
    values: dict[str, str | float] = {name: row.default for name, row in SETTINGS.items()}
    for name, value in _from_file(home(environ) / "settings.json").items():
        values[name] = value
    for name in SETTINGS:
        variable = f"SEVENFALL_{name.upper()}"
        if variable in environ:
            values[name] = _read(name, environ[variable], variable)
    for flag in flags:
        name, equals, text = flag.partition("=")
        if not equals or name not in SETTINGS:
            raise Usage(f"--set {flag}: give NAME=VALUE with a name of {', '.join(SETTINGS)}")
        values[name] = _read(name, text, "--set")
    return values


def limits(values: Mapping[str, str | float]) -> Limits:
    """The judges' limits that the settings ask for."""
    numbers = {name: float(value) for name, value in values.items() if name in _LIMIT_NAMES}
    return replace(Limits(), **numbers).with_window(str(values["window"]))


def _from_file(path: Path) -> dict[str, str | float]:
    try:
        text = path.read_text(encoding="utf-8-sig")
    except FileNotFoundError:
        return {}
    except UnicodeDecodeError as error:
        raise Usage(f"{path}: not UTF-8 text (byte {error.start})") from error
    try:
        found = json.loads(text)
    except json.JSONDecodeError as error:
        raise Usage(f"{path}:{error.lineno}:{error.colno}: not JSON ({error.msg})") from error
    except (ValueError, RecursionError) as error:  # a number of too many digits, brackets too deep
        raise Usage(f"{path}: not JSON that can be read ({type(error).__name__})") from error
    if not isinstance(found, dict):
        raise Usage(f'{path}: give one object of settings, such as {{"window": "loose"}}')
    for name in found:
        if name not in SETTINGS:
            raise Usage(f"{path}: no setting {name!r}; there are {', '.join(SETTINGS)}")
    return {name: _read(name, str(value), str(path)) for name, value in found.items()}


def _read(name: str, text: str, place: str) -> str | float:
    row = SETTINGS[name]
    try:
        return row.read(text)
    except ValueError as error:
        raise Usage(f"{place}: {name} {text!r}; accepted: {row.accepts}") from error
