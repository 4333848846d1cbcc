"""A lick in any key, tuning and capo: first the capo answer, then the best fingering.

    moved = move(load("slab-wood-supper"), "A")
    moved.capo.words        what to do with capo and fifth string; the frets stay as written
    moved.fingering.lick    the same lick fingered anew, without a capo

The problem: a jam calls a key, and the lick is in another. Mostly a capo is the answer; where it is not, or
the player wants none, the notes move by the same half steps and the hands look for them anew.
"""

from __future__ import annotations

from routines.lick import Lick
from routines.moving.answers import Moved
from routines.moving.capo import capo_answer
from routines.moving.fingering import fingering
from routines.moving.names import key_moved_to


def move(lick: Lick, key: str, *, tuning: str | None = None, capo: int | None = None) -> Moved:
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

    Raises
    ------
    BadRoutine
        If there is no such key, tuning or capo.
    """
    to = key_moved_to(lick.key, key)
    fingered = fingering(lick, to, tuning=tuning, capo=capo or 0)
    answer = capo_answer(lick, to, tuning=tuning, capo=capo)
    if isinstance(answer, str):
        return Moved(key=to.symbol, capo=None, no_capo=answer, fingering=fingered)
    return Moved(key=to.symbol, capo=answer, no_capo="", fingering=fingered)


def in_key(lick: Lick, key: str) -> Lick:
    """Return the lick in a key as a player would take it.

    That is under a capo where that is sensible, else fingered anew. In its own key it is the lick itself.

    Raises
    ------
    BadRoutine
        If there is no such key.
    """
    to = key_moved_to(lick.key, key)
    answer = capo_answer(lick, to)
    return fingering(lick, to).lick if isinstance(answer, str) else answer.lick
