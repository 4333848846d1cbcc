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
from collections.abc import Mapping
from dataclasses import asdict
from functools import lru_cache
from pathlib import Path
from tempfile import TemporaryFile
from typing import Any

from feedback.errors import CannotDo, tell
from feedback.pair_check import FIELDS, Key, PairCheck
from feedback.settings import home
from feedback.writing import beside

VERSION = 1
"""Of the file."""

MOST = 32
"""Pairs that are kept."""


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


def opened_otherwise(kept: Mapping[Key, PairCheck], source: str, sink: str) -> PairCheck | None:
    """The latest check of two devices, however opened, that tells what stamps do not; None without."""
    alike = [one for one in kept.values() if (one.source, one.sink) == (source, sink)]
    return next((one for one in reversed(alike) if one.extra_sec is not None), None)


def prepare(environ: Mapping[str, str] | None = None) -> None:
    """See that a check can be kept, before it is made.

    Raises
    ------
    OSError
        If not: the folder cannot be written to, or a later version of the program wrote the file.
    """
    file = path(environ)
    try:
        _read(file)
    except _Later as error:
        raise CannotDo(str(error)) from error
    except ValueError:
        pass  # `save` puts it aside
    file.parent.mkdir(parents=True, exist_ok=True)
    with TemporaryFile(dir=file.parent):
        pass


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
        aside = _free(file)
        os.replace(file, aside)
        tell(f"{file}: was damaged; it is {aside} now, and a new one is begun")
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
    missing = [name for name in FIELDS if name not in row]
    if missing:
        raise ValueError(f"no {missing[0]}")
    return PairCheck(**{name: row[name] for name in FIELDS})


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
