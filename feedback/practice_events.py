"""What is practised, and what happens while it is: plain data, told by `feedback.practice`."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from feedback.judges.limits import Limits
from feedback.session import PASSES_A_TURN, REST_BARS, PassOver, SevenFell, TurnPlan
from routines.excerpt import Span
from routines.lick import Lick
from routines.outcome import PassOutcome

if TYPE_CHECKING:
    import numpy as np

    from feedback.drifting import Drifted
    from listener.run import Heard

LEVEL_DB = -24.0
"""Level of the click where nothing else is asked for: peak of the accent, in dB of full scale."""

BACKING_DB = -26.0
"""The same of the backing: peak of the bass."""

MODEL_DB = -24.0
"""The same of the model, and of a pass that is heard again."""

REST_SEC = 4.0
"""Rest between two turns, to read one sentence and breathe."""

QUIET_PASSES = 2
"""Nothing heard in so many whole passes running: the player has gone."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PracticeRequest:
    """What is to be practised.

    Attributes
    ----------
    lick : Lick
    tempo_half_bpm : float
    passes : int
        In a turn.
    turns : int or None
        At most so many; None goes on until nobody plays.
    click : str
        A row of `feedback.clicking.CLICKS`.
    click_db : float
        Its level, in dB of full scale.
    limits : Limits
    keep : bool
        Whether each part's sound is handed on to be stored.
    rest_sec : float
        Before the first count-in, and between two turns.
    rest_bars : int
        Between two passes; 0 where a loop goes round and round.
    backing : bool
        Whether bass and chop play along.
    backing_db : float
        Their level, in dB of full scale.
    model : bool
        Whether the lick itself sounds along.
    model_db : float
        Its level, in dB of full scale.
    rehear : float or None
        At which speed the last pass is heard again after a turn, the model after it; None for not at all.
    whole : Lick or None
        The lick of which this is a part; None where it is all of it.
    span : Span or None
        Which part.
    typed : str
        Flags of the command line that a command which is offered takes over.
    cue : bool
        Whether the cue is listened for while nobody plays: see `feedback.cue`.
    """

    lick: Lick
    tempo_half_bpm: float
    passes: int = PASSES_A_TURN
    turns: int | None = None
    click: str = "halves"
    click_db: float = LEVEL_DB
    limits: Limits = field(default_factory=Limits)
    keep: bool = False
    rest_sec: float = REST_SEC
    rest_bars: int = REST_BARS
    backing: bool = False
    backing_db: float = BACKING_DB
    model: bool = False
    model_db: float = MODEL_DB
    rehear: float | None = None
    whole: Lick | None = None
    span: Span | None = None
    typed: str = ""
    cue: bool = False


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
    | Kept
    | TurnOver
    | HeardAgain
    | StringOff
    | SoundLost
    | SoundBack
    | NobodyPlays
)
