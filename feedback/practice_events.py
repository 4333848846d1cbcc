"""What happens while something is practised: plain data, told by `feedback.practice` and its company."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from feedback.ladder_seen import LadderSeen
from feedback.practice_request import PracticeRequest
from feedback.session import PassOver, SevenFell, TurnPlan
from feedback.warm_up_seen import WarmUpSeen
from routines.outcome import PassOutcome

if TYPE_CHECKING:
    import numpy as np

    from feedback.drifting import Drifted
    from listener.run import Heard

QUIET_PASSES = 2
"""Nothing heard in so many whole passes running: the player has gone."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Opened:
    """The sound is there, and its round trip is known; the first count-in comes after a rest."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Begins:
    """The rest is over; a turn is being made ready, its count-in comes in a moment."""

    turn: int


@dataclass(frozen=True, slots=True, kw_only=True)
class CountIn:
    """A count-in begins.

    Attributes
    ----------
    turn : int
        From 1.
    first_number : int
        Number of the plan's first pass within the turn.
    again : bool
        Whether the turn goes on after the sound was lost.
    plan : TurnPlan
        Of the passes that follow.
    begins_sec : float
        When its first stroke is due to leave, by the monotonic clock; some milliseconds unsure.
    """

    turn: int
    again: bool
    plan: TurnPlan
    begins_sec: float
    first_number: int = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Passed:
    """A pass of a turn is over."""

    turn: int
    over: PassOver


@dataclass(frozen=True, slots=True, kw_only=True)
class Fell:
    """The due seven of a running pass has fallen, as far as can be told.

    Attributes
    ----------
    turn : int
    seven : SevenFell
    item : Heard
        What was heard with it.
    origin_sec : float
        When the count-in began, in the times of that item.
    """

    turn: int
    seven: SevenFell
    item: Heard
    origin_sec: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Resting:
    """Nobody plays, a count-in comes: told when a rest begins, and again when its end changes.

    Attributes
    ----------
    until_sec : float or None
        When it is over, by the monotonic clock; None where the player is waited for.
    """

    until_sec: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class GoesOn:
    """What is known by now of a pass that runs: provisional until it is over.

    Attributes
    ----------
    turn, number : int
        From 1.
    outcome : PassOutcome
    heard_to_sec : float
        Up to there, in times of the part, the listener has told all: see `feedback.session.PassGoesOn`.
    """

    turn: int
    number: int
    outcome: PassOutcome
    heard_to_sec: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Cued:
    """The player has played the cue in a rest: three lone open fifth strings, one to each half note."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TempoSet:
    """From the next count-in on this tempo is played."""

    tempo_half_bpm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class PieceSet:
    """From the next count-in on this is practised."""

    request: PracticeRequest


@dataclass(frozen=True, slots=True, kw_only=True)
class LadderTold:
    """How the tempo ladder stands, told where that has changed."""

    seen: LadderSeen


@dataclass(frozen=True, slots=True, kw_only=True)
class WarmUpTold:
    """How a warm-up stands: told before each of its turns, and at its end."""

    seen: WarmUpSeen


@dataclass(frozen=True, slots=True, kw_only=True)
class Trouble:
    """Something beside the practice failed, while the practice goes on.

    Attributes
    ----------
    line : str
        For the player; empty where what failed before is well again.
    lost : int
        Passes that could not be stored anywhere.
    """

    line: str
    lost: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Remarked:
    """All of a warm-up is over, and this is the one thing to be said of it."""

    line: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Kept:
    """The sound of one part of a turn, from the beginning of its count-in.

    Attributes
    ----------
    turn, part : int
        From 1.
    sound : ndarray of float32, shape (n,)
    rate : int
    passes : tuple of PassOver
    full : bool
        Whether it was too long to be kept to its end.
    """

    turn: int
    part: int
    sound: np.ndarray
    rate: int
    passes: tuple[PassOver, ...]
    full: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class TurnOver:
    """A turn has ended with these passes, in the order in which they were played."""

    turn: int
    passes: tuple[PassOver, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class HeardAgain:
    """The last whole pass of a turn is heard again, and the model after it.

    Attributes
    ----------
    turn : int
    speed : float
        1 or less.
    lasts_sec : float
    """

    turn: int
    speed: float
    lasts_sec: float


@dataclass(frozen=True, slots=True, kw_only=True)
class StringOff:
    """A string has drifted since the sitting began."""

    drifted: Drifted


@dataclass(frozen=True, slots=True, kw_only=True)
class SoundLost:
    """The sound has gone; the program tries to get it back."""

    line: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SoundBack:
    """The sound is there again."""


@dataclass(frozen=True, slots=True, kw_only=True)
class NobodyPlays:
    """Nothing was heard in `QUIET_PASSES` whole passes running."""


Event = (
    Opened
    | CountIn
    | Passed
    | Fell
    | Resting
    | Begins
    | GoesOn
    | Cued
    | TempoSet
    | PieceSet
    | LadderTold
    | WarmUpTold
    | Trouble
    | Remarked
    | Kept
    | TurnOver
    | HeardAgain
    | StringOff
    | SoundLost
    | SoundBack
    | NobodyPlays
)
