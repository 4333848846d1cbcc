"""The live face of the matcher: marks while the pass goes on, and the same verdicts as offline at its end.

A mark is provisional until the pass is closed: it uses the lean and bounce known so far. Closing judges all
that was heard by the very function that judges a file, so the two cannot differ.
"""

from __future__ import annotations

from dataclasses import replace

from feedback.grid import Grid
from feedback.judges.whole import Circumstances, Judged, judge_pass
from listener.notes import Report, doubtful, standing
from routines.outcome import NoteVerdict


class Follower:
    """Follows one pass.

    Parameters
    ----------
    grid : Grid
    circumstances : Circumstances, optional
    """

    def __init__(self, grid: Grid, circumstances: Circumstances | None = None) -> None:
        self._grid = grid
        self._circumstances = circumstances or Circumstances()
        self._reports: dict[int, Report] = {}

    def feed(self, report: Report) -> None:
        """Take in one report of the ear; a later one about the same note replaces it."""
        self._reports[report.number] = report

    def marks(self, now_sec: float) -> tuple[NoteVerdict, ...]:
        """What can be said now.

        Parameters
        ----------
        now_sec : float
            Time of the take, up to which the ear has listened.

        Returns
        -------
        tuple of NoteVerdict
            Of the targets that were answered, or whose time has passed by more than an eighth.
        """
        over = now_sec - self._grid.eighth_sec
        return tuple(
            verdict
            for verdict in self.close().outcome.notes
            if verdict.heard_midi is not None or (verdict.onset_sec is not None and verdict.onset_sec < over)
        )

    def close(self) -> Judged:
        """Judge all that has been heard, as offline."""
        said = list(self._reports.values())
        about = replace(self._circumstances, doubtful=tuple(doubtful(said)))
        return judge_pass(self._grid, standing(said)[0], about)
