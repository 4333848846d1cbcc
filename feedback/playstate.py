"""What a screen needs to know of a practice while it goes on: one immutable state, folded from its events.

Times are seconds of the part that runs, from the beginning of its count-in, as in its plan; a part begins
anew where the sound was lost. What is drawn at a moment is this state together with one number: which time of
the part sounds just now.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from feedback.offers import Offer
from feedback.practice_events import PracticeRequest
from feedback.session import PassOver, TurnPlan
from routines.outcome import PassOutcome

Phase = Literal["opening", "resting", "playing", "hearing again", "sound lost", "over"]


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
        "resting" before the first count-in and after a turn; "playing" from a count-in to the end of the
        turn; "over" when nothing comes any more.
    turn : int
        The one that runs, or ran last; 0 before the first.
    plan : TurnPlan or None
        Of the part that runs or ran last.
    first_number : int
        Number of the plan's first pass within its turn.
    running : tuple of RunningPass
        The passes of the part so far, in order; the last may still go on.
    done : tuple of PassOver
        All passes of the turn that is over last; empty before.
    sentence : str
        What is said of it.
    offer : Offer or None
        What is offered after it.
    goes_on_sec : float or None
        While resting: when the next count-in comes, by the monotonic clock; None while the player is waited
        for.
    news : str
        What is to be read now in the fixed place: lost sound, a string that has drifted, an error.
    ended : str
        Why it is over, in a few words; empty before.
    devices : str
        Microphone, output and round trip in a line; empty while unknown, and for the simulated player.
    """

    request: PracticeRequest
    phase: Phase = "opening"
    turn: int = 0
    plan: TurnPlan | None = None
    first_number: int = 1
    running: tuple[RunningPass, ...] = ()
    done: tuple[PassOver, ...] = ()
    sentence: str = ""
    offer: Offer | None = None
    goes_on_sec: float | None = None
    news: str = ""
    ended: str = ""
    devices: str = ""
