"""Settings and where they come from: a flag, then `SEVENFALL_NAME`, then settings.json, then the default.

Each setting is a row of `SETTINGS` (`feedback.setting_rows`). All files lie in one folder per user, which
`SEVENFALL_HOME` moves.
"""

from __future__ import annotations

import argparse
import json
import os
from collections.abc import Mapping
from dataclasses import fields, replace
from pathlib import Path
from typing import Any

from feedback.errors import Usage
from feedback.judges.limits import Limits
from feedback.setting_rows import SETTINGS
from feedback.writing import beside

_LIMIT_NAMES = {row.name for row in fields(Limits)}


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
        if variable(name) in environ:
            values[name] = _read(name, environ[variable(name)], variable(name))
    for flag in flags:
        name, equals, text = flag.partition("=")
        if not equals or name not in SETTINGS:
            raise Usage(f"--set {flag}: give NAME=VALUE with a name of {', '.join(SETTINGS)}")
        values[name] = _read(name, text, "--set")
    return values


def variable(name: str) -> str:
    """The variable of the environment that goes before what is stored of a setting."""
    return f"SEVENFALL_{name.upper()}"


def store(changed: Mapping[str, str], environ: Mapping[str, str] | None = None) -> None:
    """Store settings in settings.json; what else stands in it stays, also names that are unknown.

    Parameters
    ----------
    changed : mapping
        Names of `SETTINGS` to texts as a flag would have them.
    environ : mapping, optional
        Stands for the environment.

    Raises
    ------
    Usage
        If a text is not accepted, or the file that is there cannot be read as settings: it is left alone.
    OSError
        If the file cannot be written.
    """
    path = home(environ) / "settings.json"
    kept = _object(path)
    for name in kept.keys() & SETTINGS.keys():
        _read(name, str(kept[name]), str(path))
    for name, text in changed.items():
        if name not in SETTINGS:
            raise Usage(f"no setting {name!r}; there are {', '.join(SETTINGS)}")
        kept[name] = _read(name, text, "settings")
    made = json.dumps(kept, indent=2, ensure_ascii=False) + "\n"
    path.parent.mkdir(parents=True, exist_ok=True)
    beside(path, lambda part: part.write_text(made, encoding="utf-8"))


def limits(values: Mapping[str, str | float]) -> Limits:
    """The judges' limits that the settings ask for."""
    numbers = {name: float(value) for name, value in values.items() if name in _LIMIT_NAMES}
    return replace(Limits(), **numbers).with_window(str(values["window"]))


def _from_file(path: Path) -> dict[str, str | float]:
    found = _object(path)
    for name in found:
        if name not in SETTINGS:
            raise Usage(f"{path}: no setting {name!r}; there are {', '.join(SETTINGS)}")
    return {name: _read(name, str(value), str(path)) for name, value in found.items()}


def _object(path: Path) -> dict[str, Any]:
    """What the file holds; nothing where there is none."""
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
    return found


def _read(name: str, text: str, place: str) -> str | float:
    row = SETTINGS[name]
    try:
        return row.read(text)
    except ValueError as error:
        raise Usage(f"{place}: {name} {text!r}; accepted: {row.accepts}") from error
