"""A turn: passes through a lick one after another on one clock; where they lie, and what is said of them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from feedback.grid import Grid
from feedback.judges.limits import Limits
from feedback.judges.whole import Judged
from listener.notes import Report
from routines.lick import Lick, quarter_sec
from routines.outcome import PassOutcome

PASSES_A_TURN = 4
COUNT_IN_BARS = 2
REST_BARS = 1

UNTOLD_MS = 20.0
"""So far the round trip may have moved where sound was lost and nothing told how much."""

MOVED_MS = 5.0
"""A pass in which the round trip moved farther is marked."""

SETTLES_SEC = 0.5
"""How long after its last eighth a pass is kept open, so that its last notes settle."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TurnPlan:
    """Where the passes of a turn lie.

    Attributes
    ----------
    lick : Lick
    tempo_half_bpm : float
    first_start_sec : float
        Downbeat of bar 1 of the first pass, in the time of the source.
    passes : int
    rest_bars : int
        Between two passes.
    """

    lick: Lick
    tempo_half_bpm: float
    first_start_sec: float
    passes: int = PASSES_A_TURN
    rest_bars: int = REST_BARS

    @property
    def bar_sec(self) -> float:
        """Length of a bar in seconds."""
        return self.lick.quarters_a_bar * quarter_sec(self.tempo_half_bpm)

    @property
    def starts_sec(self) -> tuple[float, ...]:
        """Downbeat of bar 1 of each pass."""
        apart = (self.lick.bars + self.rest_bars) * self.bar_sec
        return tuple(self.first_start_sec + k * apart for k in range(self.passes))

    def grids(self, limits: Limits) -> tuple[Grid, ...]:
        """Each pass laid on the clock."""
        return tuple(
            Grid(lick=self.lick, tempo_half_bpm=self.tempo_half_bpm, start_sec=start, limits=limits)
            for start in self.starts_sec
        )

    @property
    def end_sec(self) -> float:
        """When the last pass can be judged."""
        return self.starts_sec[-1] + self.lick.bars * self.bar_sec + SETTLES_SEC


def after_count_in(
    lick: Lick, tempo_half_bpm: float, *, passes: int = PASSES_A_TURN, rest_bars: int = REST_BARS
) -> TurnPlan:
    """The plan of a turn that begins with its count-in: the first pass follows `COUNT_IN_BARS` bars."""
    count_in = COUNT_IN_BARS * lick.quarters_a_bar * quarter_sec(tempo_half_bpm)
    return TurnPlan(
        lick=lick,
        tempo_half_bpm=tempo_half_bpm,
        first_start_sec=count_in,
        passes=passes,
        rest_bars=rest_bars,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Listened:
    """What a source says of the next stretch of sound.

    Attributes
    ----------
    now_sec : float
        Up to which time it has listened.
    reports : sequence of Report
    deaf : sequence of (float, float)
        Stretches that could not be listened to, found since.
    round_trip_sec : float
        As it is taken off by now.
    untold : int
        Times so far that sound was lost and nothing told how much.
    bleed_db : float or None
        How loud what is played comes back, against what is played; None while that is not known.
    """

    now_sec: float
    reports: Sequence[Report] = ()
    deaf: Sequence[tuple[float, float]] = ()
    round_trip_sec: float = 0.0
    untold: int = 0
    bleed_db: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class PassOver:
    """A pass that has just ended.

    Attributes
    ----------
    number : int
        From 1.
    judged : Judged
    complete : bool
        Whether it was listened to from its beginning to its end; one that was not counts neither way.
    heard : bool
        Whether any note was surely heard in it.
    moved_ms : float
        How far the round trip moved meanwhile.
    part : int
        Of its turn: after how many count-ins of it, as each time that the sound was lost there is another.
    """

    number: int
    judged: Judged
    complete: bool = True
    heard: bool = True
    moved_ms: float = 0.0
    part: int = 1

    @property
    def shaken(self) -> bool:
        """Whether the round trip moved so far that its timing is to be taken with care."""
        return self.moved_ms > MOVED_MS


@dataclass(frozen=True, slots=True, kw_only=True)
class SevenFell:
    """While a pass goes on: its seven has fallen where it should, as far as can be told by then."""

    number: int
    outcome: PassOutcome


@dataclass(frozen=True, slots=True, kw_only=True)
class PassGoesOn:
    """While a pass goes on: what can be told of it by now.

    Attributes
    ----------
    number : int
        From 1.
    outcome : PassOutcome
        Provisional: by the lean and the bounce known so far. Targets that have not come yet stand in it as
        missed or unclear.
    heard_to_sec : float
        Whatever began before that time, in the time of the source, has been told for good. So a target that
        stands as missed was not heard if no note that begins later may answer it: one that was due an eighth
        and the player's lean before that time; the last seven before a change, if the change was W before it.
        Sooner a missed target may still come late. A loss of sound that is found afterwards may make it
        unclear.
    """

    number: int
    outcome: PassOutcome
    heard_to_sec: float
