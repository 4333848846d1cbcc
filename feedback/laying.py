"""Laying a part of a turn on the stream: what sounds, what the ear is to expect, and who follows it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from feedback.clicking import CLICKS
from feedback.expect import expectations
from feedback.following import TurnFollower
from feedback.judges.timing import Deviation
from feedback.listening import Listening
from feedback.practice_events import PracticeRequest
from feedback.session import PassOver, TurnPlan
from feedback.sounding import backing_notes, turn_sound

LEAD_SEC = 0.3
"""So far ahead a count-in is laid."""

_BOUNCE_PASSES = 12


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
        latest passes at this tempo tell of the player's bounce is made use of.
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
        earlier=_bounce(turns, plan.tempo_half_bpm),
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


def _bounce(turns: Sequence[Sequence[PassOver]], tempo_half_bpm: float) -> list[Deviation]:
    """What the latest passes at a tempo tell of the player's bounce."""
    latest = [over.judged for passes in turns for over in passes][-_BOUNCE_PASSES:]
    same = [judged for judged in latest if judged.outcome.tempo_half_bpm == tempo_half_bpm]
    return [deviation for judged in same for deviation in judged.played]
