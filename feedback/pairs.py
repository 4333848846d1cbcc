"""What sound checks found of microphones and outputs, kept for each pair in `sound.json`.

The problem: the round trip belongs to a microphone, an output and how they were opened; a player has several,
and checks each once. The file is a help, never a hindrance: where it is damaged, playing goes on without it
and one line says so; what is in it and is not understood stays in it when something is added.

Conventions: one object with `version` and `pairs`, the oldest first. A pair that is checked anew goes to the
end; of more than `MOST` the first go.
"""

from __future__ import annotations

import json
import os
from collections.abc import Callable, Mapping
from dataclasses import asdict, dataclass, fields
from datetime import datetime
from functools import lru_cache
from pathlib import Path
from typing import Any

from feedback.errors import CannotDo, tell
from feedback.settings import home
from feedback.writing import beside

VERSION = 1
"""Of the file."""

MOST = 32
"""Pairs that are kept."""

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
        for name, (fits, accepted) in _FIELDS.items():
            value = getattr(self, name)
            if not fits(value):
                raise ValueError(f"{name} is {value!r}; accepted: {accepted}")

    @property
    def key(self) -> Key:
        """What it was found for."""
        return (self.source, self.sink, self.rate, self.block, self.latency)


def path(environ: Mapping[str, str] | None = None) -> Path:
    """Where the file lies."""
    return home(environ) / "sound.json"


def load(environ: Mapping[str, str] | None = None) -> dict[Key, PairCheck]:
    """Every check that is kept, the oldest first.

    Parameters
    ----------
    environ : mapping, optional
        Stands for the environment.

    Returns
    -------
    dict
        Empty where there is no file or it cannot be used; that, and each entry that cannot be, is told once
        in one line on standard error.
    """
    file = path(environ)
    found: dict[Key, PairCheck] = {}
    for number, row in enumerate(_looked_at(file).get("pairs", []), 1):
        try:
            check = _check(row)
        except ValueError as error:
            _tell_once(f"{file}: pair {number} is left out: {error}")
            continue
        found[check.key] = check
    return found


def find(
    source: str,
    sink: str,
    rate: int,
    block: int,
    latency: str | float,
    environ: Mapping[str, str] | None = None,
) -> PairCheck | None:
    """What was found for a pair that is opened so; None where it was never checked."""
    return load(environ).get((source, sink, rate, block, latency))


def last_pair(environ: Mapping[str, str] | None = None) -> tuple[str, str] | None:
    """Source and sink of the check that was kept last; None where none was."""
    kept = list(load(environ).values())
    return (kept[-1].source, kept[-1].sink) if kept else None


def save(check: PairCheck, environ: Mapping[str, str] | None = None) -> Path:
    """Keep a check; an earlier one of the same pair, opened alike, is gone.

    Parameters
    ----------
    check : PairCheck
    environ : mapping, optional
        Stands for the environment.

    Returns
    -------
    pathlib.Path
        Where it lies. A damaged file is put beside it first, as `sound.damaged.json`.

    Raises
    ------
    OSError
        If it cannot be written, or a later version of the program wrote it.
    """
    file = path(environ)
    try:
        kept = _read(file)
    except _Later as error:
        raise CannotDo(str(error)) from error
    except ValueError:
        os.replace(file, _free(file))
        kept = {}
    others = [row for row in kept.get("pairs", []) if not _is_of(row, check.key)]
    kept |= {"version": VERSION, "pairs": [*others, asdict(check)][-MOST:]}
    text = json.dumps(kept, indent=1)
    file.parent.mkdir(parents=True, exist_ok=True)
    beside(file, lambda part: part.write_text(text + "\n", encoding="utf-8"))
    return file


class _Later(ValueError):
    """A later version's file."""


def _read(file: Path) -> dict[str, Any]:
    """The file's object, its `pairs` a list; empty where there is none.

    Raises
    ------
    ValueError
        If it is damaged; `_Later` if it is not ours to understand.
    OSError
        If it cannot be read.
    """
    try:
        found = json.loads(file.read_text(encoding="utf-8-sig"))
    except FileNotFoundError:
        return {}
    except (ValueError, RecursionError) as error:  # no UTF-8, no JSON, brackets too deep
        raise ValueError(f"{file}: not JSON that can be read ({type(error).__name__})") from error
    version = found.get("version") if isinstance(found, dict) else None
    if type(version) is int and version > VERSION:
        raise _Later(f"{file}: of version {version}; up to {VERSION} is understood")
    if version != VERSION or not isinstance(found.get("pairs", []), list):
        raise ValueError(f"{file}: no object with version {VERSION} and a list of pairs")
    return dict(found)


def _looked_at(file: Path) -> dict[str, Any]:
    """As `_read`, but what is wrong is told and nothing is found."""
    try:
        return _read(file)
    except OSError as error:
        _tell_once(f"{file}: {error.strerror or error}; what sound checks found is not used")
    except ValueError as error:
        _tell_once(f"{error}; what sound checks found is not used")
    return {}


@lru_cache(maxsize=64)
def _tell_once(line: str) -> None:
    tell(line)


def _check(row: object) -> PairCheck:
    if not isinstance(row, dict):
        raise ValueError("no object")
    missing = [name for name in _FIELDS if name not in row]
    if missing:
        raise ValueError(f"no {missing[0]}")
    return PairCheck(**{name: row[name] for name in _FIELDS})


def _is_of(row: object, key: Key) -> bool:
    try:
        return _check(row).key == key
    except ValueError:
        return False


def _free(file: Path) -> Path:
    """A name beside a file that none has yet."""
    found, number = file.with_name(f"{file.stem}.damaged{file.suffix}"), 2
    while found.exists():
        found, number = file.with_name(f"{file.stem}.damaged{number}{file.suffix}"), number + 1
    return found


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


_FIELDS: dict[str, tuple[Callable[[object], bool], str]] = {
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
assert set(_FIELDS) == {row.name for row in fields(PairCheck)}
