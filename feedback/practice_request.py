"""What is to be practised, and how: plain data, as `feedback.practice` takes it."""

from __future__ import annotations

from dataclasses import dataclass, field

from feedback.judges.limits import Limits
from feedback.session import PASSES_A_TURN, REST_BARS
from routines.excerpt import Span
from routines.lick import Lick, quarter_sec

LEVEL_DB = -24.0
"""Level of the click where nothing else is asked for: peak of the accent, in dB of full scale."""

BACKING_DB = -26.0
"""The same of the backing: peak of the bass."""

MODEL_DB = -24.0
"""The same of the model, and of a pass that is heard again."""

REST_SEC = 4.0
"""Rest between two turns, to read one sentence and breathe."""


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
    title : str
        Of the lick that is practised, as it is written; empty for that of `lick`.
    way : str
        How the lick is played in traffic, a row of `routines.traffic.WAYS`; empty for the lick by itself.
    routine : str
        The warm-up that this is a part of; empty for none.
    says : str
        What is said of it before it is played; empty for nothing.
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
    title: str = ""
    way: str = ""
    routine: str = ""
    says: str = ""
    cue: bool = False

    def pass_sec(self, tempo_half_bpm: float) -> float:
        """How long a pass lasts at a tempo, with the rest bars after it, in seconds."""
        bars = self.lick.bars + self.rest_bars
        return bars * self.lick.quarters_a_bar * quarter_sec(tempo_half_bpm)
