"""How far a lick has come: new to you, in hand, jam-ready.

A lick is *new to you* until its edge is known and it was clean three times. It is *in hand* as long as its
home is known, and *jam-ready* where home has come so near to the lick's top tempo that it goes by at the
tempo of a jam. Top tempos are those of the licks that come with the program; a lick in another key keeps it.
"""

from __future__ import annotations

import re
from functools import lru_cache
from importlib import resources

from routines.progress.types import HowFar
from routines.tab_fields import FIELDS

CLEAN_TO_KNOW = 3
"""As many as a rise of the tempo ladder takes: fewer may be luck."""
JAM_SHARE = 0.85
"""Of the top tempo, which is as fast as the lick is ever wanted. Home is where it is clean nine times in ten,
and the edge lies some 5 to 10 % above that: a jam at nine tenths of the top is met four times in five."""

_MOVED = "-in-"


def how_far(
    *, clean: int, home_half_bpm: float | None, edge_half_bpm: float | None, top_half_bpm: float | None
) -> HowFar:
    """Say how far a lick has come.

    Parameters
    ----------
    clean : int
        Clean passes of all of it, ever.
    home_half_bpm, edge_half_bpm, top_half_bpm : float or None
        None where it is not known; without a top tempo no lick is jam-ready.
    """
    if edge_half_bpm is None or home_half_bpm is None or clean < CLEAN_TO_KNOW:
        return "new to you"
    if top_half_bpm is not None and home_half_bpm >= JAM_SHARE * top_half_bpm:
        return "jam-ready"
    return "in hand"


@lru_cache(maxsize=512)
def top_tempo(lick: str) -> float | None:
    """Top tempo of a lick of the library, or of one moved to another key.

    Only its line in the header is read: a hundred licks are asked for at once, and to read them whole takes
    as long as all the rest.

    Parameters
    ----------
    lick : str
        Its id.

    Returns
    -------
    float or None
        Half notes a minute; None where there is no such lick.
    """
    for name in (lick, family_of(lick)):
        try:
            text = (_LICKS / f"{name}.lick").read_text(encoding="utf-8") if _ID.fullmatch(name) else ""
        except OSError:  # there is none, or no file can have so long a name
            continue
        for line in text.splitlines():
            field, _, value = line.partition(":")
            if field == "top":
                return float(FIELDS["top"].read(value.strip()))
    return None


_LICKS = resources.files("routines") / "licks"
_ID = re.compile(r"[a-z0-9-]+")


def family_of(lick: str) -> str:
    """Id of the lick that a moved one was moved from; its own where it was not moved."""
    before, moved, _ = lick.rpartition(_MOVED)
    return before if moved else lick
