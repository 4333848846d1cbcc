"""Who goes along with a practice, by what is asked and set, and what is practised first because of that.

Where passes are remembered (`feedback.remembered`) and no tempo is asked for, the ladder leads. A journal
that cannot be asked keeps nobody from playing: then all begins as if nothing were known, and the memory tells
what is wrong.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from contextlib import suppress
from typing import TYPE_CHECKING

from feedback.company import Companion, Company
from feedback.practice_request import PracticeRequest
from feedback.remembered import remembered_of
from feedback.wishes import Wishes

if TYPE_CHECKING:
    from feedback.performing import Asked


def accompanied(
    asked: Asked, wishes: Wishes, *, clock: Callable[[], float] = time.monotonic
) -> tuple[PracticeRequest, Company]:
    """What is practised first, and who goes along.

    Parameters
    ----------
    asked : Asked
    wishes : Wishes
        Of the practice.
    clock : callable
        Seconds that pass for the practice.

    Raises
    ------
    routines.errors.BadRoutine
        If a lick has no such part, or no place in such a form, or there is no such warm-up or player.
    """
    from feedback.begun import NOTHING_KNOWN, begun_of
    from feedback.climbing import Climb
    from feedback.items import item_of
    from feedback.memory import Memory
    from feedback.what_hands_do import Hands, hands_of

    about = remembered_of(asked.values, asked.source, asked.player)
    with_you: list[Companion] = [Memory(about)] if about is not None else []  # first: stored, then told
    if asked.warm_up:
        from feedback.warming import Warming

        hands = Hands()
        with suppress(OSError):
            hands = hands_of(about)
        warming = Warming(asked, hands, clock)
        return warming.request, Company([*with_you, warming], wishes)
    request = asked.request
    leads = about is not None or asked.source == "mic"
    if leads and asked.tempo_half_bpm is None and asked.values["ladder"] == "on":
        begun = NOTHING_KNOWN
        with suppress(OSError):
            begun = begun_of(item_of(request), about)
        climb = Climb(request, begun, clock, waits=asked.waits)
        return climb.request, Company([*with_you, climb], wishes)
    return request, Company(with_you, wishes)
