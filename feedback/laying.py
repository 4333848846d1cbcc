"""Laying a part of a turn on the stream: what sounds, what the ear is to expect, and who follows it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from feedback.clicking import CLICKS
from feedback.expect import expectations
from feedback.following import TurnFollower
from feedback.judges.timing import Deviation
from feedback.judges.whole import Judged
from feedback.listening import Listening
from feedback.practice_request import PracticeRequest
from feedback.session import PassOver, TurnPlan
from feedback.sounding import backing_notes, turn_sound

LEAD_SEC = 0.3
"""So far ahead a count-in is laid."""

BOUNCE_PASSES = 12
"""So many of the latest passes may tell of the player's bounce."""

NEAR_SHARE = 0.10
"""What was played within so much of the tempo tells of the bounce, too, as a share of its eighths.

The tempo ladder moves the tempo after most turns, and on a lick with few odd or even eighths one pass alone
tells no bounce. Measured: of faithful passes bounced 53:47 on such licks 4 to 10 in a hundred were called not
clean while nothing was known of the bounce, 1 to 4 once it was.
"""


def lay(
    live: Listening,
    asked: PracticeRequest,
    plan: TurnPlan,
    *,
    turns: Sequence[Sequence[PassOver]],
    first_number: int,
) -> tuple[TurnFollower, float]:
    """Lay a part of a turn.

    Parameters
    ----------
    live : Listening
    asked : PracticeRequest
    plan : TurnPlan
        Of the passes that are left of the turn.
    turns : sequence of sequence of PassOver
        The passes of each turn so far, this one the last. The first turn's count-ins begin softly; what the
        latest passes near this tempo tell of the player's bounce is made use of.
    first_number : int
        Number of the plan's first pass within the turn.

    Returns
    -------
    TurnFollower
    float
        When the count-in begins, in times of the stream.
    """
    sound, own = turn_sound(asked, plan, live.rate, first=len(turns) == 1)
    follower = TurnFollower(
        plan,
        asked.limits,
        click_off=CLICKS[asked.click].thinned and not asked.backing,
        first_number=first_number,
        earlier=told_of_bounce([over.judged for passes in turns for over in passes], plan.tempo_half_bpm),
        own=own,
        beside=backing_notes(asked, plan),
    )
    expected = [one for grid in plan.grids(asked.limits) for one in expectations(grid)]
    live.relearn()
    live.settle()
    origin_sec = live.now_sec + LEAD_SEC
    live.expect([replace(one, onset_sec=one.onset_sec + origin_sec) for one in expected])
    live.play(sound, origin_sec)
    return follower, origin_sec


def told_of_bounce(passes: Sequence[Judged], tempo_half_bpm: float) -> list[Deviation]:
    """What the latest passes at or near a tempo tell of the player's bounce, as it would be at that tempo.

    Parameters
    ----------
    passes : sequence of Judged
        In the order in which they were played.
    tempo_half_bpm : float
    """
    found = []
    for judged in passes[-BOUNCE_PASSES:]:
        share = judged.outcome.tempo_half_bpm / tempo_half_bpm
        if abs(share - 1.0) <= NEAR_SHARE:
            found += [replace(one, sec=one.sec * share) for one in judged.played]
    return found
