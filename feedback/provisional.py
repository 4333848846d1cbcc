"""What is said of a pass while it goes on: marks that may change until it is over, and that its seven fell.

The problem: a judgement of a pass costs some milliseconds (so it waits for a frame that is being drawn), and
news of it comes with every note two or three
times. So it is judged anew where there is news, yet not more often than every `LEAST_SEC` of sound. Where
nothing comes at all, time itself tells: what was due and did not come is not heard; then the last judgement
is said again with a later `heard_to_sec`.

How far has been heard: the ear tells of a note up to 58 ms after it began (measured, informed and blind; what
it was sure of sooner it takes back by then), and in pieces of some milliseconds. What it has told and not
settled yet may still change or be taken back, so nothing after that is told for good.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

from feedback.grid import EIGHTH_QUARTERS, Grid
from feedback.onethread import GAP
from feedback.session import SETTLES_SEC, PassGoesOn, SevenFell
from routines.outcome import PassOutcome

LEAST_SEC = 0.04
"""A pass is not judged again sooner."""

TELLS_SEC = 0.1
"""So often it is told how far has been heard, where nothing else is to be told."""

SAYS_SEC = 0.07
"""What was struck so long ago the ear has told."""

_FELL = ("resolved", "ahead", "late")
_SOUNDS_SEC = 0.07  # what the ear takes back, it takes back sooner


class Provisional:
    """One pass while it goes on.

    Parameters
    ----------
    number : int
    grid : Grid
    """

    def __init__(self, number: int, grid: Grid) -> None:
        self._number, self._grid = number, grid
        # What is struck sooner does not concern it.
        self._begins_sec = grid.due_sec(-grid.lick.pickup_quarters - 2 * EIGHTH_QUARTERS)
        self._news = self._fell = False
        self._outcome: PassOutcome | None = None
        self._judged_sec = self._told_sec = self._heard_to_sec = 0.0
        self._ripe_sec: float | None = None

    def feed(
        self,
        now_sec: float,
        growing_sec: float,
        *,
        news: bool,
        judge: Callable[[Grid], PassOutcome],
        falls: bool = True,
    ) -> Iterator[SevenFell | PassGoesOn]:
        """Go on; nothing is said before two eighths before its first bar, or its pickup.

        Parameters
        ----------
        now_sec : float
            Up to which time was listened.
        growing_sec : float
            When the first note began that was heard and is not settled; infinite where there is none.
        news : bool
            Whether anything was reported.
        judge : callable
            Judges the pass by all that was heard.
        falls : bool
            Whether it may be told that the seven fell.

        Yields
        ------
        SevenFell
            At most once, as soon as the due seven and its fall are settled.
        PassGoesOn
        """
        if now_sec < self._begins_sec:
            return
        self._news |= news
        ripe = falls and self._ripe_sec is not None and now_sec >= self._ripe_sec
        if self._outcome is None or ripe or (self._news and now_sec >= self._judged_sec + LEAST_SEC):
            GAP.wait()
            self._outcome = judge(self._grid)
            self._judged_sec, self._news = now_sec, False
            if falls and not self._fell:
                yield from self._fallen(now_sec, growing_sec, self._outcome)
        elif now_sec < self._told_sec + TELLS_SEC:
            return
        self._told_sec = now_sec
        told_for_good_sec = min(now_sec - SAYS_SEC, max(growing_sec, now_sec - SETTLES_SEC))
        self._heard_to_sec = max(self._heard_to_sec, told_for_good_sec)
        yield PassGoesOn(number=self._number, outcome=self._outcome, heard_to_sec=self._heard_to_sec)

    def _fallen(self, now_sec: float, growing_sec: float, outcome: PassOutcome) -> Iterator[SevenFell]:
        self._ripe_sec = _told_from_sec(self._grid, outcome, growing_sec)
        if self._ripe_sec is not None and now_sec >= self._ripe_sec:
            self._fell, self._ripe_sec = True, None
            yield SevenFell(number=self._number, outcome=outcome)


def _told_from_sec(grid: Grid, outcome: PassOutcome, measured_to_sec: float) -> float | None:
    """From when on it may be said where the due sevens went; None while one may still go somewhere else.

    The levels of the sevens must be known, and the note that each fell to must have sounded for a moment.
    """
    asks = {ask.note: ask for ask in grid.lick.sevenths}
    due = [seven for seven in outcome.sevenths if seven.due]
    if not due or any(seven.sounded is None for seven in outcome.sevenths):
        return None
    found = []
    for seven in due:
        place, note = asks[seven.index].place_quarters, outcome.notes[seven.index]
        if seven.resolution not in _FELL or place is None or seven.resolution_ms is None:
            return None
        if note.onset_sec is None or note.onset_sec + (note.deviation_ms or 0.0) / 1e3 >= measured_to_sec:
            return None
        found.append(grid.due_sec(place) + seven.resolution_ms / 1e3 + _SOUNDS_SEC)
    return max(found)
