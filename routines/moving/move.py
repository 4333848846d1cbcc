"""A lick in any key, tuning and capo: first the capo answer, then the best fingering.

    moved = move(load("slab-wood-supper"), "A")
    moved.capo.words        what to do with capo and fifth string; the frets stay as written
    moved.fingering.lick    the same lick fingered anew, without a capo
    in_key(lick, "A").lick  what a player would take of the two

The problem: a jam calls a key, and the lick is in another. Mostly a capo is the answer; where it is not, or
the player wants none, the notes move by the same half steps and the hands look for them anew.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from routines.chords import Chord
from routines.lick import Lick
from routines.moving.answers import CapoAnswer, Fingering, Moved
from routines.moving.capo import capo_answer
from routines.moving.fingering import Way, fingering
from routines.moving.names import key_moved_to

_CAPO_GLADLY = 4
"""The highest fret up to which a player takes the capo without looking at the fingering."""

_CHEAP_A_NOTE = 0.4
"""What a note may cost in a fingering that is taken instead: four of five licks cost less as written."""

_OWN_KEYS: Mapping[str, str] = MappingProxyType(
    {
        "gDGBD": "G",
        "aDGBD": "D",
        "gCGBD": "C",
        "gCGCD": "C",
        "gDGCD": "G",
        "f#DF#AD": "D",
        "aDF#AD": "D",
    }
)
"""Tuning to the key that it is for: a capo is no help there."""


def move(
    lick: Lick,
    key: str,
    *,
    tuning: str | None = None,
    capo: int | None = None,
    way: Way | None = None,
) -> Moved:
    """Move a lick.

    Parameters
    ----------
    lick : Lick
        Under a capo or not.
    key : str
        The key that is to sound, such as ``A`` or ``Bb``; of a lick in minor ``Am`` or ``A``.
    tuning : str or None
        A key of `routines.neck.OPEN_TUNINGS`; None for the lick's own.
    capo : int or None
        The capo that is asked for, at a real fret. None leaves the capo answer free, and the fingering
        without one.
    way : {"up", "down"} or None
        Where the notes of the fingering are to go; None for the better one.

    Raises
    ------
    BadRoutine
        If there is no such key, tuning or capo.
    """
    to = key_moved_to(lick.key, key)
    fingered = fingering(lick, to, tuning=tuning, capo=capo or 0, way=way)
    answer = capo_answer(lick, to, tuning=tuning, capo=capo)
    if isinstance(answer, str):
        return Moved(key=to.symbol, capo=None, no_capo=answer, fingering=fingered)
    return Moved(key=to.symbol, capo=answer, no_capo="", fingering=fingered)


def in_key(lick: Lick, key: str) -> CapoAnswer | Fingering:
    """Return the one answer that a player would take.

    In its own key that is the lick as it is written, else the capo answer up to a low fret. Beyond that, and
    in the key that the tuning is for, it is the fingering without a capo where that is exact, playable and
    cheap; where it is not, the capo answer if there is one.

    Raises
    ------
    BadRoutine
        If there is no such key.
    """
    to = key_moved_to(lick.key, key)
    as_written = to.symbol == lick.key
    capo = capo_answer(lick, to, capo=lick.neck.capo if as_written else None)
    if isinstance(capo, CapoAnswer) and (as_written or _gladly(lick, to, capo)):
        return capo
    found = fingering(lick, to)
    return found if isinstance(capo, str) or _instead(found) else capo


def _gladly(lick: Lick, key: Chord, capo: CapoAnswer) -> bool:
    """Whether a player takes the capo without looking at the fingering."""
    fret = capo.lick.neck.capo
    own = Chord.parse(_OWN_KEYS[lick.neck.tuning])
    return not fret or (fret <= _CAPO_GLADLY and key.root.pitch_class != own.root.pitch_class)


def _instead(found: Fingering) -> bool:
    """Whether a player takes a fingering instead of a capo."""
    cheap = found.cost <= _CHEAP_A_NOTE * len(found.lick.notes)
    return found.exact and found.playable and cheap
