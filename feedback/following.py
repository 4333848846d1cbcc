"""Following a turn while it is played: when a pass is over, how it was judged, whether it was heard in full.

The follower knows no sound and no screen. It is given what the ear reports, with the time up to which the ear
has listened; its source may be a microphone, a file or a simulated player: all are the same stream.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace

from feedback.follow import Follower
from feedback.grid import Grid
from feedback.judges import ownsound
from feedback.judges.deafness import joined
from feedback.judges.limits import Limits
from feedback.judges.timing import Deviation
from feedback.judges.whole import Circumstances, Judged
from feedback.provisional import Provisional
from feedback.session import (
    SETTLES_SEC,
    UNTOLD_MS,
    Listened,
    PassGoesOn,
    PassOver,
    SevenFell,
    TurnPlan,
)
from listener.notes import Report
from routines.outcome import PassOutcome

_HEARD_OUT_SEC = 0.15  # after its last bar line, and a pass has been heard out


class TurnFollower:
    """Follows a turn while it is played.

    Parameters
    ----------
    plan : TurnPlan
    limits : Limits
    click_off : bool
        Whether no click, or a thinned one, held the tempo.
    first_number : int
        Number of the first pass.
    earlier : sequence of Deviation
        Of passes before this turn at the same tempo.
    own : Own
        Notes of the lick that the program itself plays, in seconds of the plan.
    beside : Own
        Other notes that it plays: where they are heard, what coincides with one was not added by the player.
    provisional : bool
        Whether anything is told of a pass before it is over.
    """

    def __init__(
        self,
        plan: TurnPlan,
        limits: Limits,
        *,
        click_off: bool = False,
        first_number: int = 1,
        earlier: Sequence[Deviation] = (),
        own: ownsound.Own = (),
        beside: ownsound.Own = (),
        provisional: bool = True,
    ) -> None:
        self._plan, self._click_off = plan, click_off
        self._own, self._beside = own, beside
        self._bleed_db: float | None = None
        self._open = list(enumerate(plan.grids(limits), start=first_number))
        self._reports: dict[int, Report] = {}
        self._deaf: list[tuple[float, float]] = []
        self._trips: list[tuple[float, float]] = []
        self._untold: list[tuple[float, float]] = []
        self._earlier = list(earlier)
        running = self._open if provisional else []
        self._provisional = {number: Provisional(number, grid) for number, grid in running}
        self.heard_to_sec = 0.0

    @property
    def over(self) -> bool:
        """Whether every pass has ended."""
        return not self._open

    @property
    def earlier(self) -> tuple[Deviation, ...]:
        """What later passes at the same tempo need of these."""
        return tuple(self._earlier)

    def feed(self, listened: Listened) -> Iterator[PassOver | SevenFell | PassGoesOn]:
        """Take in what was heard.

        Yields
        ------
        PassGoesOn
            Of a pass that goes on, where there is news, and now and then without: see `feedback.provisional`.
        SevenFell
            At most once a pass, as soon as its due seven and its fall are settled.
        PassOver
            As soon as the notes of a pass have settled.
        """
        self.heard_to_sec = listened.now_sec
        self._bleed_db = listened.bleed_db
        self._reports.update({report.number: report for report in listened.reports})
        if listened.deaf:
            self._deaf = joined([*self._deaf, *listened.deaf])
        for course, value in ((self._trips, listened.round_trip_sec), (self._untold, listened.untold)):
            if not course or course[-1][1] != value:
                course.append((listened.now_sec, value))
        while self._open and listened.now_sec >= self._over_sec(self._open[0][1]):
            yield self._close(*self._open.pop(0), complete=True)
        yield from self._go_on(news=bool(listened.reports or listened.deaf))

    def _go_on(self, *, news: bool) -> Iterator[SevenFell | PassGoesOn]:
        """What is to be said of the passes that have begun: of two, while one settles as the next begins."""
        growing_sec = self._measured_to_sec
        for number, _ in self._open:
            running = self._provisional.get(number)
            if running is not None:
                falls = number == self._open[0][0]
                yield from running.feed(
                    self.heard_to_sec, growing_sec, news=news, judge=self._outcome_now, falls=falls
                )

    def _outcome_now(self, grid: Grid) -> PassOutcome:
        return self._judged(grid).outcome

    @property
    def _measured_to_sec(self) -> float:
        """Up to there the level of every note is known."""
        growing = [r.note.onset_sec for r in self._reports.values() if r.kind == "heard"]
        return min(growing, default=math.inf)

    def end(self, *, least: float = 0.5, lost: bool = False) -> Iterator[PassOver]:
        """The source has ended, or was lost.

        Parameters
        ----------
        least : float
            Share of a pass that must have been listened to; passes of less are left out.
        lost : bool
            The player may have played on: nothing is known of what would have come. Otherwise it is the end
            of a recording.

        Yields
        ------
        PassOver
            Not complete, but for one that had ended and whose notes had all been heard.
        """
        bars_sec = self._plan.lick.bars * self._plan.bar_sec
        open_passes, self._open = self._open, []
        for number, grid in open_passes:
            if self.heard_to_sec > grid.start_sec and self.heard_to_sec >= grid.start_sec + least * bars_sec:
                until_sec = self._over_sec(grid) + bars_sec if lost else math.inf
                self._deaf.append((self.heard_to_sec, until_sec))
                complete = lost and self.heard_to_sec >= self._end_sec(grid) + _HEARD_OUT_SEC
                yield self._close(number, grid, complete=complete, lost=lost)

    def _over_sec(self, grid: Grid) -> float:
        return self._end_sec(grid) + SETTLES_SEC

    def _end_sec(self, grid: Grid) -> float:
        """The bar line after a pass."""
        return grid.start_sec + self._plan.lick.bars * self._plan.bar_sec

    def _close(self, number: int, grid: Grid, *, complete: bool, lost: bool = False) -> PassOver:
        judged = self._judged(grid)
        self._earlier.extend(judged.played)
        begin = grid.start_sec - self._plan.lick.pickup_quarters * grid.quarter_sec - grid.eighth_sec
        end = self._end_sec(grid)
        ours = [ownsound.heard(notes, self._bleed_db) for notes in (self._own, self._beside)]
        heard = any(
            report.kind in ("heard", "settled")
            and report.note.confidence >= grid.limits.blamed
            and begin <= report.note.onset_sec < end
            and not any(ownsound.at_once(notes, report.note.midi, report.note.onset_sec) for notes in ours)
            for report in self._reports.values()
        )
        # What was reported before this pass, or the two eighths before the next, concerns nobody any more.
        keep = end - 2 * grid.eighth_sec - self._plan.bar_sec
        self._reports = {n: r for n, r in self._reports.items() if r.note.onset_sec >= keep}
        self._deaf = [stretch for stretch in self._deaf if stretch[1] >= keep]
        moved_ms = 1e3 * _moved(self._trips, begin, end)
        if _moved(self._untold, begin, end):
            moved_ms = max(moved_ms, UNTOLD_MS)
        if not heard or (lost and not complete):
            judged = replace(judged, outcome=replace(judged.outcome, clean=None))
        return PassOver(number=number, judged=judged, complete=complete, heard=heard, moved_ms=moved_ms)

    def _judged(self, grid: Grid) -> Judged:
        about = Circumstances(
            click_off=self._click_off,
            earlier=tuple(self._earlier),
            deaf=tuple(self._deaf),
            own=ownsound.heard(self._own, self._bleed_db),
            beside=ownsound.heard(self._beside, self._bleed_db),
        )
        follower = Follower(grid, about)
        for report in self._reports.values():
            follower.feed(report)
        return follower.close()


def _moved(course: Sequence[tuple[float, float]], begin_sec: float, end_sec: float) -> float:
    """How far apart the values lie that held between two times."""
    held = [value for sec, value in course if begin_sec < sec <= end_sec]
    before = [value for sec, value in course if sec <= begin_sec]
    held += before[-1:]
    return max(held) - min(held) if held else 0.0


def follow_turn(
    plan: TurnPlan,
    source: Iterable[Listened],
    limits: Limits,
    *,
    click_off: bool = False,
) -> Iterator[PassOver]:
    """Follow a turn to its end, or to the end of its source.

    Parameters
    ----------
    plan : TurnPlan
    source : iterable of Listened
    limits : Limits
    click_off : bool
        Whether no click held the tempo.

    Yields
    ------
    PassOver
        As soon as its notes have settled; passes of which the source does not reach half are left out.
    """
    follower = TurnFollower(plan, limits, click_off=click_off, provisional=False)
    for listened in source:
        yield from (over for over in follower.feed(listened) if isinstance(over, PassOver))
    yield from follower.end()
