"""Notes of our own that reach the microphone: what coincides with one is nobody's to judge.

Where the lick itself sounds from a loudspeaker while the player plays it, a note that is heard may be either.
What was taken out of the microphone may have taken the player's with it. So a target whose pitch sounded from
the loudspeaker where it may have come is unclear, whatever was heard; nothing of it is added, and it tells
nothing of the player's time. Of the backing, which is not the lick, nothing is taken for added.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence

Own = Sequence[tuple[float, int]]
"""When each of our own notes begins, in seconds of the take, by time; and its MIDI number."""

NEAR_SEC = 0.060
"""So near to a note of our own one of the same pitch may be that."""

HEARD_DB = -35.0
"""What comes back softer than that, against what is played, lies 50 dB and more under the banjo."""


def at_once(own: Own, midi: int, sec: float) -> bool:
    """Whether one of our own notes of a pitch begins within `NEAR_SEC` of a time."""
    at = bisect_left(own, (sec - NEAR_SEC, -1))
    while at < len(own) and own[at][0] <= sec + NEAR_SEC:
        if own[at][1] == midi:
            return True
        at += 1
    return False


def heard(own: Own, bleed_db: float | None) -> Own:
    """Those that the microphone may hear: all, unless next to nothing comes back."""
    return () if bleed_db is not None and bleed_db < HEARD_DB else own
