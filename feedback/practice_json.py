"""What practising with the microphone tells programs: all turns as one object, and what stands beside a take.

The same facts as in `feedback.practice_report`; passes of one turn are told by `turn`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from feedback.advice import sentence
from feedback.drifting import Drifted
from feedback.offers import Offer
from feedback.practice_events import Kept
from feedback.practice_report import turn_offer, turn_sentence
from feedback.practice_request import PracticeRequest
from feedback.report import outcome_json, to_json
from feedback.session import PassOver

if TYPE_CHECKING:
    from listener.run import Condition


def practice_json(
    request: PracticeRequest,
    turns: Sequence[Sequence[PassOver]],
    condition: Condition | None,
    *,
    ended: str,
    asked: Sequence[PracticeRequest] = (),
    remark: str = "",
    takes: Sequence[str] = (),
    faults: Sequence[str] = (),
    drifted: Sequence[Drifted] = (),
) -> str:
    """All turns as one JSON object.

    Parameters
    ----------
    request : PracticeRequest
        As it was asked last; its limits hold for all turns.
    turns : sequence of sequences of PassOver
    condition : Condition or None
        How the sound was at the end.
    ended : str
        Why: "turns played", "nobody plays", "interrupted", "sound lost".
    asked : sequence of PracticeRequest
        What was practised in each turn; where there is none, `request`.
    remark : str
        What is said of a warm-up; empty where this is none.
    takes : sequence of str
        Files that were kept.
    faults : sequence of str
        Lines about the sound, as they were told.
    drifted : sequence of Drifted
        Strings, as they were told.
    """
    of_turn = [replace(one, limits=request.limits) for one in asked] or [request] * len(turns)
    played = [
        (number, one, passes) for number, (one, passes) in enumerate(zip(of_turn, turns, strict=True), 1)
    ]
    last = next(((one, passes) for _, one, passes in reversed(played) if passes), (request, ()))
    found: dict[str, Any] = {
        **_asked_json(request),
        "hear_last": request.rehear,
        "passes": [
            {"turn": turn, **_pass_json(one, over)} for turn, one, passes in played for over in passes
        ],
        "turns": [
            {
                "turn": turn,
                "lick": one.lick.id,
                "tempo_half_bpm": one.tempo_half_bpm,
                "loop": _loop(one),
                "sentence": turn_sentence(one, passes),
                "offer": _offer_json(turn_offer(one, passes)),
            }
            for turn, one, passes in played
            if passes
        ],
        "sentence": turn_sentence(*last),
        "remark": remark or None,
        "ended": ended,
        "sound": None if condition is None else _condition_json(condition),
        "drifted": [
            {"string": one.string, "note": one.note, "cents": one.cents, "unsure_cents": one.unsure_cents}
            for one in drifted
        ],
        "faults": list(faults),
        "takes": list(takes),
    }
    return to_json(found)


def take_json(request: PracticeRequest, kept: Kept, file: str) -> str:
    """What stands beside a kept take."""
    return to_json(
        {
            "file": file,
            "sample_rate": kept.rate,
            "duration_sec": len(kept.sound) / kept.rate,
            **_asked_json(request),
            "turn": kept.turn,
            "part": kept.part,
            "passes": [_pass_json(request, over) for over in kept.passes],
            "sentence": turn_sentence(request, kept.passes),
        }
    )


def _asked_json(request: PracticeRequest) -> dict[str, Any]:
    return {
        "lick": request.lick.id,
        "title": request.lick.title,
        "key": request.lick.key,
        "tempo_half_bpm": request.tempo_half_bpm,
        "click": request.click,
        "backing": request.backing,
        "model": request.model,
        "loop": _loop(request),
    }


def _pass_json(request: PracticeRequest, over: PassOver) -> dict[str, Any]:
    said = sentence(request.lick, [over.judged], request.limits)
    return {
        "pass": over.number,
        "part": over.part,
        "complete": over.complete,
        "heard": over.heard,
        "moved_ms": over.moved_ms,
        **outcome_json(over.judged.outcome, said),
    }


def _loop(request: PracticeRequest) -> str | None:
    """Which part of the lick is played round and round, by its title; None for all of it."""
    return None if request.span is None else request.lick.title


def _offer_json(offered: Offer | None) -> dict[str, Any] | None:
    if offered is None:
        return None
    return {
        "change": offered.change,
        "failed": offered.failed,
        "tempo_half_bpm": offered.tempo_half_bpm,
        "command": offered.command,
    }


def _condition_json(condition: Condition) -> dict[str, Any]:
    return {
        "microphone": condition.source,
        "output": condition.sink,
        "sample_rate": condition.rate,
        "block": condition.block,
        "round_trip_ms": 1e3 * condition.round_trip_sec,
        "unsure_ms": 1e3 * condition.unsure_sec,
        "basis": condition.basis,
        "drift_ppm": condition.drift_ppm,
        "bleed_db": condition.bleed_db,
        "overflows": condition.overflows,
        "underflows": condition.underflows,
        "dropped": condition.dropped,
    }
