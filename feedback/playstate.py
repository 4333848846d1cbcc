"""What a screen needs to know of a practice while it goes on: one immutable state, folded from its events.

Times are seconds of the part that runs, from the beginning of its count-in, as in its plan; a part begins
anew where the sound was lost. What is drawn at a moment is this state together with one number: which time of
the part sounds just now.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Literal

from feedback.ladder_seen import LadderSeen
from feedback.offers import Offer
from feedback.practice_events import (
    Begins,
    CountIn,
    Cued,
    Event,
    GoesOn,
    HeardAgain,
    LadderTold,
    NobodyPlays,
    Passed,
    PieceSet,
    Resting,
    SoundBack,
    SoundLost,
    StringOff,
    TempoSet,
    Trouble,
    TurnOver,
    WarmUpTold,
)
from feedback.practice_report import turn_offer, turn_sentence
from feedback.practice_request import PracticeRequest
from feedback.session import PassOver, TurnPlan
from feedback.warm_up_seen import WarmUpSeen
from routines.outcome import PassOutcome

Phase = Literal["opening", "resting", "beginning", "playing", "hearing again", "sound lost", "over"]


@dataclass(frozen=True, slots=True, kw_only=True)
class RunningPass:
    """A pass of the part that runs, as far as it has come.

    Attributes
    ----------
    number : int
        From 1, within its turn.
    outcome : PassOutcome
        Provisional until it is over: it uses the lean and the bounce known so far. Its times are those of the
        part. A target that has not come yet stands in it as missed or unclear: see `heard_to_sec`.
    heard_to_sec : float
        Up to there the listener has told all; what lies later is open still.
    over : PassOver or None
        Once it is over.
    """

    number: int
    outcome: PassOutcome
    heard_to_sec: float
    over: PassOver | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class PlayState:
    """A practice at a moment.

    Attributes
    ----------
    request : PracticeRequest
        Its tempo is the one that is played, or is going to be.
    phase : Phase
        "resting" before the first count-in and after a turn; "beginning" while a turn is made ready;
        "playing" from a count-in to the end of the turn; "over" when nothing comes any more.
    turn : int
        The one that runs, or ran last; 0 before the first.
    plan : TurnPlan or None
        Of the part that runs or ran last.
    first_number : int
        Number of the plan's first pass within its turn.
    running : tuple of RunningPass
        The passes of the part so far, in order; the last may still go on.
    done : tuple of PassOver
        All passes of the turn that was over last with any; empty before.
    done_of : PracticeRequest or None
        What was asked in that turn: `request` may be another one by then. None before.
    sentence : str
        What is said of it.
    offer : Offer or None
        What is offered after it.
    goes_on_sec : float or None
        While resting: when the next count-in comes, by the monotonic clock; None while the player is waited
        for.
    news : str
        What is to be read now in the fixed place: lost sound, a string that has drifted, an error.
    besides : str
        What went wrong beside the practice and is so still, such as passes that are not stored; after a turn
        it stands where there is no news.
    ended : str
        Why it is over, in a few words; empty before.
    trouble : bool
        Whether it is over by a fault.
    devices : str
        Microphone, output and round trip in a line; empty while unknown, and for the simulated player.
    ladder : LadderSeen or None
        How the tempo ladder stands; None where the tempo is the player's own.
    warm_up : WarmUpSeen or None
        How the warm-up stands; None where this is none.
    """

    request: PracticeRequest
    phase: Phase = "opening"
    turn: int = 0
    plan: TurnPlan | None = None
    first_number: int = 1
    running: tuple[RunningPass, ...] = ()
    done: tuple[PassOver, ...] = ()
    done_of: PracticeRequest | None = None
    sentence: str = ""
    offer: Offer | None = None
    goes_on_sec: float | None = None
    news: str = ""
    besides: str = ""
    ended: str = ""
    trouble: bool = False
    devices: str = ""
    ladder: LadderSeen | None = None
    warm_up: WarmUpSeen | None = None

    @property
    def told_of(self) -> PracticeRequest:
        """What the passes of the turn that was over last are passes of."""
        return self.done_of or self.request


STOPPED = "stopped before a pass was over"


def after_event(state: PlayState, event: Event, *, lean_unsure_ms: float | None = None) -> PlayState:
    """The state once something has happened.

    Parameters
    ----------
    state : PlayState
    event : Event
    lean_unsure_ms : float, optional
        A lean within this is not told from none, as far as is known by now; else as the request has it.

    Returns
    -------
    PlayState
    """
    match event:
        case Resting(until_sec=until_sec):
            return replace(state, phase="resting", goes_on_sec=until_sec)
        case Begins(turn=turn):
            return replace(state, phase="beginning", turn=turn, goes_on_sec=None, news="")
        case CountIn(turn=turn, plan=plan, first_number=first):
            return replace(
                state,
                phase="playing",
                turn=turn,
                plan=plan,
                first_number=first,
                running=(),
                goes_on_sec=None,
                news="",
            )
        case GoesOn(number=number, outcome=outcome, heard_to_sec=to_sec):
            return _with_pass(state, RunningPass(number=number, outcome=outcome, heard_to_sec=to_sec))
        case Cued():
            return replace(state, news="the cue was heard")
        case Passed(over=over):
            return _with_pass(
                state,
                RunningPass(
                    number=over.number, outcome=over.judged.outcome, heard_to_sec=math.inf, over=over
                ),
            )
        case TurnOver(passes=()):
            return replace(state, phase="resting", goes_on_sec=None, news=STOPPED)
        case TurnOver(passes=passes):
            request = _as_sure(state.request, lean_unsure_ms)
            return replace(
                state,
                phase="resting",
                news=state.news or state.besides,
                done=passes,
                done_of=state.request,
                sentence=turn_sentence(request, passes),
                offer=turn_offer(request, passes),
                goes_on_sec=None,
            )
        case HeardAgain():
            return replace(state, phase="hearing again", goes_on_sec=None)
        case TempoSet(tempo_half_bpm=tempo):
            return replace(state, request=replace(state.request, tempo_half_bpm=tempo))
        case PieceSet(request=request):
            return replace(state, request=request)
        case LadderTold(seen=seen):
            return replace(state, ladder=seen)
        case Trouble(line=line):
            return replace(state, besides=line)
        case WarmUpTold(seen=seen):
            return replace(state, warm_up=seen)
        case SoundLost(line=line):
            return replace(state, phase="sound lost", news=line, goes_on_sec=None)
        case SoundBack():
            return replace(state, news="the sound is back")
        case StringOff(drifted=drifted):
            return replace(state, news=drifted.text)
        case NobodyPlays():
            return replace(state, news="nothing was heard in two whole passes")
    return state


def _with_pass(state: PlayState, told: RunningPass) -> PlayState:
    """The state with a pass of the part that runs told anew."""
    kept = tuple(one for one in state.running if one.number != told.number)
    return replace(state, running=(*kept, told))


def _as_sure(request: PracticeRequest, lean_unsure_ms: float | None) -> PracticeRequest:
    if lean_unsure_ms is None or lean_unsure_ms <= request.limits.lean_unsure_ms:
        return request
    return replace(request, limits=replace(request.limits, lean_unsure_ms=lean_unsure_ms))
