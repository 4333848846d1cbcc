"""Stretches in which the listener could not listen: nothing there is held against the player.

Sound is lost where a sound card's memory overflowed or its round trip jumped. What was heard as asked in
spite of it still counts; whatever else is said there would be a guess. When a note came there may be when it
was cut: it tells nothing of lean, bounce, spread, hurry or tempo.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

Deaf = Sequence[tuple[float, float]]
"""Begin and end of each stretch, in seconds of the take; a take's outside reaches to infinity."""

LEVEL_SEC = 0.070
"""A note's level is measured over so long: if a part of that is lost, its level says nothing."""

SPLICE_SEC = 0.030
"""So near to a lost stretch a new note may be the cut itself."""


def touches(deaf: Deaf, begin_sec: float, end_sec: float) -> bool:
    """Whether any deaf stretch has something in common with the time from begin to end, ends included."""
    return any(begin <= end_sec and end >= begin_sec for begin, end in deaf)


def joined(deaf: Deaf) -> list[tuple[float, float]]:
    """The same stretches in order, those that touch made one."""
    found: list[tuple[float, float]] = []
    for begin, end in sorted(deaf):
        if found and begin <= found[-1][1]:
            found[-1] = (found[-1][0], max(end, found[-1][1]))
        else:
            found.append((begin, end))
    return found


def inside(deaf: Deaf) -> Deaf:
    """Those that lie in the take: it was listened to before and after them."""
    return [(begin, end) for begin, end in deaf if math.isfinite(begin) and math.isfinite(end)]
