"""The licks that come with the program, by name, and licks of the player's own; what each of them trains.

Conventions: a lick's id is the stem of its file. What looks like a path (a separator in it, or `.lick` at
its end) is read as a file; anything else is an id. A lick's *change* is a seventh chord and the chord that
it falls to, as they sound; under a capo it is found by its shapes as well.
"""

from __future__ import annotations

import difflib
from functools import lru_cache
from importlib import resources
from importlib.resources.abc import Traversable
from pathlib import Path

from routines.chords import Chord
from routines.errors import BadLickText, BadRoutine
from routines.lick import Lick
from routines.shapes import shaped
from routines.tab import parse_lick

_SUFFIX = ".lick"
_NEAR_MOST, _NEAR = 3, 0.5


def load(name: str) -> Lick:
    """Read one lick.

    Parameters
    ----------
    name : str
        An id, or the path of a lick text.

    Raises
    ------
    BadRoutine
        If there is no lick of this name; the nearest are named.
    BadLickText
        If its text cannot be read.
    OSError
        If the path cannot be; FileNotFoundError where there is nothing.
    """
    if is_path(name):
        return _read(Path(name))
    files = _files()
    wanted = name.casefold()
    if wanted in files:
        return _read(files[wanted])
    near = difflib.get_close_matches(wanted, files, n=_NEAR_MOST, cutoff=_NEAR)
    hint = (
        f"the nearest: {', '.join(near)}" if near else f"there are {len(files)}, sevenfall licks lists them"
    )
    raise BadRoutine(f"no lick {name!r}: {hint}")


def is_path(name: str) -> bool:
    """Whether a name is that of a file rather than an id: it has a separator in it, or `.lick` at its end."""
    return name.endswith(_SUFFIX) or "/" in name or "\\" in name


@lru_cache(maxsize=1)
def all_licks() -> tuple[Lick, ...]:
    """Read every lick that comes with the program: licks, then drills, then rolls, each by id."""
    order = {"lick": 0, "drill": 1, "roll": 2}
    licks = [_read(file) for file in _files().values()]
    return tuple(sorted(licks, key=lambda lick: (order[lick.kind], lick.id)))


def changes_of(lick: Lick) -> tuple[str, ...]:
    """Return the changes that a lick trains, as they sound, such as ``("A7-D",)``.

    In the order of the lick: each in which a flat seven is asked to go somewhere, or, where none is, each
    in which one is heard as colour.
    """
    return tuple(f"{chord}-{next_chord}" for chord, next_chord in _changes(lick))


def shape_changes_of(lick: Lick) -> tuple[str, ...]:
    """Return the same changes as the hand shapes them under the lick's capo."""
    shapes = [
        [shaped(Chord.parse(symbol), lick.neck.capo).symbol for symbol in pair] for pair in _changes(lick)
    ]
    return tuple("-".join(pair) for pair in shapes)


def techniques_of(lick: Lick) -> tuple[str, ...]:
    """Return what the hands do beside picking: hammer, pull, slide, choke, pinch, in this order."""
    used = {note.technique for note in lick.notes}
    picked = [note.onset_quarters for note in lick.notes if note.finger]
    pinched = len(set(picked)) < len(picked)
    slurs = [technique for technique in ("hammer", "pull", "slide", "choke") if technique in used]
    return (*slurs, *(["pinch"] if pinched else []))


def _changes(lick: Lick) -> list[tuple[str, str]]:
    asked = [ask for ask in lick.sevenths if ask.how != "colour"] or [
        ask for ask in lick.sevenths if ask.next_chord
    ]
    return list(dict.fromkeys((ask.chord, ask.next_chord) for ask in asked))


def _files() -> dict[str, Traversable]:
    folder = resources.files("routines") / "licks"
    files = sorted(
        (file for file in folder.iterdir() if file.name.endswith(_SUFFIX)), key=lambda file: file.name
    )
    return {file.name.removesuffix(_SUFFIX): file for file in files}


def _read(file: Traversable | Path) -> Lick:
    data = file.read_bytes()
    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError as error:
        before = data[: error.start].decode("utf-8").split("\n")
        why = f"byte {data[error.start]:#04x} is not UTF-8: save the text as UTF-8"
        raise BadLickText(str(file), len(before), len(before[-1]) + 1, why) from error
    return parse_lick(text, str(file))
