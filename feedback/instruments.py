"""The player's instruments: where the profile of each lies, by its name, in the folder of the user's files.

The problem: a name is typed by a player and becomes a file, on systems that take `Five` and `five` for one
file and on others that do not, and that keep some names, `aux` or `com1`, for themselves. So a name is a few
letters, digits, blanks, dashes and underscores, and capitals are the same as small letters. One name is one
profile; the latest sound check is what counts.
"""

from __future__ import annotations

import difflib
import unicodedata
from collections.abc import Mapping
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from feedback.errors import Usage
from feedback.settings import home
from feedback.writing import beside

if TYPE_CHECKING:
    from listener.instrument import Profile

LONGEST = 40
"""Letters of a name, at most."""

_SUFFIX = ".npz"
_BETWEEN = " -_"
_MARKS = ("Mn", "Mc")  # of letters, in many scripts
_TAKEN = {"con", "prn", "aux", "nul", *(f"{port}{n}" for port in ("com", "lpt") for n in range(10))}
HOW = "sevenfall soundcheck --from FILE --instrument NAME"
"""How a profile is made."""


def named(text: str) -> str:
    """The name of an instrument as it is kept.

    Parameters
    ----------
    text : str
        As typed.

    Returns
    -------
    str
        In small letters, single blanks between words.

    Raises
    ------
    Usage
        If it is no name.
    """
    name = unicodedata.normalize("NFC", unicodedata.normalize("NFC", " ".join(text.split())).casefold())
    fits = name not in _TAKEN and all(
        letter.isalnum() or letter in _BETWEEN or unicodedata.category(letter) in _MARKS for letter in name
    )
    if not name or len(name) > LONGEST or not fits or not name[0].isalnum():
        raise Usage(
            f"instrument {text!r}: give 1 to {LONGEST} letters and digits, with blanks, - or _ between them"
        )
    return name


def folder(environ: Mapping[str, str] | None = None) -> Path:
    """Where profiles lie."""
    return home(environ) / "instruments"


def names(environ: Mapping[str, str] | None = None) -> tuple[str, ...]:
    """Every instrument that has a profile, in alphabetical order."""
    try:
        files = list(folder(environ).iterdir())
    except FileNotFoundError:
        return ()
    found = [file.name.removesuffix(_SUFFIX) for file in files if file.name.endswith(_SUFFIX)]
    return tuple(sorted(name for name in found if not name.startswith(".")))


def load(name: str, environ: Mapping[str, str] | None = None) -> Profile:
    """The profile of an instrument.

    Parameters
    ----------
    name : str
        As typed.
    environ : mapping, optional
        Stands for the environment.

    Returns
    -------
    listener.instrument.Profile

    Raises
    ------
    Usage
        If there is none of that name, or the file is no profile that this program can use.
    OSError
        If it cannot be read.
    """
    from listener.instrument import BadProfile, read

    kept = named(name)
    path = _path(kept, environ)
    try:
        return read(path)
    except FileNotFoundError as error:
        raise Usage(f"no instrument {name!r}{_known(kept, environ)}") from error
    except BadProfile as error:
        raise Usage(f"{path}: {error}; make it anew: {HOW}") from error


def save(name: str, profile: Profile, environ: Mapping[str, str] | None = None) -> Path:
    """Keep the profile of an instrument; one of the same name is gone.

    Parameters
    ----------
    name : str
        As typed.
    profile : listener.instrument.Profile
    environ : mapping, optional
        Stands for the environment.

    Returns
    -------
    pathlib.Path
        Where it lies: never half a file, whatever happens.

    Raises
    ------
    Usage
        If it is no name.
    OSError
        If it cannot be written.
    """
    from listener.instrument import write

    path = _path(named(name), environ)
    path.parent.mkdir(parents=True, exist_ok=True)
    beside(path, partial(write, profile))
    return path


def _path(name: str, environ: Mapping[str, str] | None) -> Path:
    return folder(environ) / f"{name}{_SUFFIX}"


def _known(name: str, environ: Mapping[str, str] | None) -> str:
    known = names(environ)
    if not known:
        return f": none is known yet; make one: {HOW}"
    near = difflib.get_close_matches(name, known, n=1)
    hint = f"did you mean {near[0]}? " if near else ""
    return f": {hint}known are {', '.join(known)}; make another: {HOW}"
