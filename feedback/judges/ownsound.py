"""Notes of our own that reach the microphone: what coincides with one is nobody's to judge.

Where the lick itself sounds from a loudspeaker while the player plays it, a note that is heard may be either.
What was taken out of the microphone may have taken the player's with it. So a target whose pitch sounded from
the loudspeaker where it may have come is unclear, whatever was heard; nothing of it is added, and it tells
nothing of the player's time.
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


def coincides(own: Own, midi: int, begin_sec: float, end_sec: float) -> bool:
    """Whether a note of ours of a pitch begins from `NEAR_SEC` before a time to so long after another one."""
    at = bisect_left(own, (begin_sec - NEAR_SEC, -1))
    while at < len(own) and own[at][0] <= end_sec + NEAR_SEC:
        if own[at][1] == midi:
            return True
        at += 1
    return False


def heard(own: Own, bleed_db: float | None) -> Own:
    """Those that the microphone may hear: all, unless next to nothing comes back."""
    return () if bleed_db is not None and bleed_db < HEARD_DB else own
