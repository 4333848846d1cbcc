"""A lick in another key, to be played: which keys go round, the lick in one of them, and how it got there.

Conventions: keys go round by fifths, those that jams call and the lick's own; of a lick in minor they are
minor. Of capo and new fingering `routines.moving.move.in_key` takes one; in its own key a lick stays as it is
written. It keeps id, title and file: its key stands beside them wherever it is shown, and whatever names it
names the lick that was written.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from functools import lru_cache

from routines.keys import CALLED
from routines.lick import Lick
from routines.moving.answers import Alteration, CapoAnswer, Fingering
from routines.moving.move import in_key as taken
from routines.moving.names import key_moved_to, string_name

_TIMES = {1: "", 2: " twice"}


@dataclass(frozen=True, slots=True, kw_only=True)
class InKey:
    """A lick as it is played in a key.

    Attributes
    ----------
    lick : Lick
    words : str
        How it got there, in a sentence or two; empty in its own key.
    trains : str
        What it trains, as its text says it; empty where it is fingered anew: its text names other notes.
    """

    lick: Lick
    words: str = ""
    trains: str = ""


def keys_of(lick: Lick) -> tuple[str, ...]:
    """The keys that go round, beginning with the lick's own."""
    called = [key_moved_to(lick.key, key).symbol for key in CALLED]
    at = called.index(lick.key) + 1 if lick.key in called else 0
    return (lick.key, *(key for key in (*called[at:], *called[:at]) if key != lick.key))


@lru_cache(maxsize=64)
def in_key(lick: Lick, key: str) -> InKey:
    """The lick in a key.

    Raises
    ------
    routines.errors.BadRoutine
        If there is no such key.
    """
    if key_moved_to(lick.key, key).symbol == lick.key:
        return InKey(lick=lick, trains=lick.trains)
    found = taken(lick, key)
    if isinstance(found, CapoAnswer):
        words = f"{_hold(found.lick)}, the frets as in {lick.key}."
        return InKey(lick=_named(found.lick, lick), words=words, trains=lick.trains)
    way = found.direction.split(",")[0]
    words = f"{_hold(found.lick)}, fingered anew, {way} from {lick.key}. {not_exact(found)}"
    return InKey(lick=_named(found.lick, lick), words=words.rstrip())


def _named(moved: Lick, lick: Lick) -> Lick:
    return replace(moved, id=lick.id, title=lick.title, file=lick.file)


def _hold(lick: Lick) -> str:
    """Capo and fifth string: "Capo 2, fifth string at a"."""
    neck = lick.neck
    capo = f"Capo {neck.capo}" if neck.capo else "No capo"
    fifth = neck.fifth_string
    if fifth.how == "plain":
        return capo
    return f"{capo}, fifth string at {string_name(fifth.open_midi)}"


def not_exact(found: Fingering) -> str:
    """What is not as it would be, in a sentence; empty where nothing is.

    Octaves are left out where the names tell the notes apart.
    """
    if not found.playable:
        return "No hand plays it at its top tempo."
    told = Counter(_change(one) for one in found.altered)
    changes = ", ".join(f"{change}{_TIMES.get(times, f' {times} times')}" for change, times in told.items())
    return f"Not quite the same: {changes}." if changes else ""


def _change(one: Alteration) -> str:
    if one.index is None:
        return f"{one.after} at most"
    note, _, slurred = one.before.partition(", ")
    if slurred:
        return f"{_plain(note)} picked, not {slurred}"
    if one.after == "left out":
        return f"{_plain(note)} left out"
    if _plain(note) == _plain(one.after):
        return f"{one.after} for {note}"
    return f"{_plain(one.after)} for {_plain(note)}"


def _plain(note: str) -> str:
    """A note without the number of its octave."""
    return note.rstrip("0123456789")
