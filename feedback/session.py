"""A turn: passes through a lick one after another on one clock, judged while they go by.

The session knows no sound and no screen. It is given what the ear reports, with the time up to which the ear
has listened, and says when a pass is over. Its source may be a microphone, a file or a simulated player: all
are the same stream of reports.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from feedback.follow import Follower
from feedback.grid import Grid
from feedback.judges.limits import Limits
from feedback.judges.timing import Deviation
from feedback.judges.whole import Circumstances, Judged
from listener.notes import Report
from routines.lick import Lick, quarter_sec

PASSES_A_TURN = 4
COUNT_IN_BARS = 2
REST_BARS = 1

_SETTLES_SEC = 0.5
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
        return self.starts_sec[-1] + self.lick.bars * self.bar_sec + _SETTLES_SEC


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
class PassOver:
    """A pass that has just ended: its number from 1, and how it was judged."""

    number: int
    judged: Judged


def follow_turn(
    plan: TurnPlan,
    source: Iterable[tuple[float, Sequence[Report]]],
    limits: Limits,
    *,
    click_off: bool = False,
) -> Iterator[PassOver]:
    """Follow a turn to its end, or to the end of its source.

    Parameters
    ----------
    plan : TurnPlan
    source : iterable of (float, sequence of Report)
        Time in seconds up to which the ear has listened, and what it said there.
    limits : Limits
    click_off : bool
        Whether no click held the tempo.

    Yields
    ------
    PassOver
        As soon as its notes have settled; passes of which the source does not reach half are left out.
    """
    open_passes = list(enumerate(plan.grids(limits), start=1))
    reports: list[Report] = []
    earlier: list[Deviation] = []
    heard_to = 0.0
    for now_sec, said in source:
        heard_to = now_sec
        reports.extend(said)
        while open_passes and now_sec >= _over_sec(plan, open_passes[0][1].start_sec):
            about = Circumstances(click_off=click_off, earlier=tuple(earlier))
            yield _close(*open_passes.pop(0), reports, about, earlier)
    for number, grid in open_passes:
        if heard_to >= grid.start_sec + plan.lick.bars * plan.bar_sec / 2:
            about = Circumstances(click_off=click_off, earlier=tuple(earlier), deaf=((heard_to, math.inf),))
            yield _close(number, grid, reports, about, earlier)


def _over_sec(plan: TurnPlan, start_sec: float) -> float:
    return start_sec + plan.lick.bars * plan.bar_sec + _SETTLES_SEC


def _close(
    number: int, grid: Grid, reports: Sequence[Report], about: Circumstances, earlier: list[Deviation]
) -> PassOver:
    follower = Follower(grid, about)
    for report in reports:
        follower.feed(report)
    judged = follower.close()
    earlier.extend(judged.played)
    return PassOver(number=number, judged=judged)
