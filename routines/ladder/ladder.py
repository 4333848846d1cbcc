"""The tempo ladder: which tempo a turn of passes is played at, and why, from what became of those before.

A ladder never changes; each pass gives another one, and the same passes always give the same ladder. It has
no clock: what a pass brings tells when it ended. Passes come in turns at one tempo; what `tempo_half_bpm`,
`unit` and `passes_next` say when a turn is over is played next. A rise that is held (the first two minutes, a
wide spread) is not lost: its row goes on, and when the reason has gone the next count-in is faster.

Passes at another tempo than the turn's own count for home and edge, and in no row. The kin of such rules in
the study of hearing is the transformed up-down staircase (Levitt 1971, Journal of the Acoustical Society of
America 49, 467-477); there all steps are alike, and the level is read from the last of them; here a step is
smaller near the edge, and home and edge are read from all passes together.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal, Self

from routines.ladder.closing import last_pass
from routines.ladder.holds import Limits, playable
from routines.ladder.levels import Levels, Tried
from routines.ladder.rules import LADDER, LadderRules
from routines.ladder.rungs import Now, Rungs
from routines.ladder.seen import PassSeen, Unit
from routines.ladder.standing import Standing
from routines.tempo import FASTEST_HALF_BPM

__all__ = ["Ladder", "PassSeen", "Phase"]

Phase = Literal["climbing", "closing", "over"]

LONGEST_GAP_SEC = 20.0
"""What is longer than that between two passes, or from a pass to its turn's end, is no practice."""
UNCLEAR_TO_SAY = 4


@dataclass(frozen=True, slots=True, kw_only=True)
class Ladder:
    """One item's ladder in one sitting; `begin` makes one.

    Attributes
    ----------
    rungs : Rungs
        Rows, falls, and the tempo of the next count-in.
    limits : Limits
    can_shrink : bool
    phase : Phase
        "closing" is the pass at home tempo, "over" is after it, or where the item is left for today.
    before_sec, spent_sec : float
        How long the item had been practised in this sitting when it was begun, and has been by now; long
        pauses are not in it.
    sitting_sec : float
    unclear_row : int
    today : tuple of Tried
        Passes of the whole in this sitting.
    found : Levels or None
        Levels as told last in this sitting.
    is_told : bool
        Whether `said` is of a turn that is over.
    """

    rungs: Rungs
    limits: Limits
    can_shrink: bool
    phase: Phase = "climbing"
    before_sec: float = 0.0
    spent_sec: float = 0.0
    sitting_sec: float = 0.0
    unclear_row: int = 0
    today: tuple[Tried, ...] = ()
    found: Levels | None = None
    is_told: bool = True

    @classmethod
    def begin(
        cls,
        standing: Standing,
        *,
        first_half_bpm: float,
        can_shrink: bool,
        sitting_sec: float = 0.0,
        spent_sec: float = 0.0,
        rules: LadderRules = LADDER,
        fastest_half_bpm: float = FASTEST_HALF_BPM,
    ) -> Self:
        """Begin an item.

        Parameters
        ----------
        standing : Standing
        first_half_bpm : float
            Where to begin with an item of which nothing is known.
        can_shrink : bool
            Whether there is a change to loop.
        sitting_sec : float
            Since the sitting began.
        spent_sec : float
            On this item, earlier in this sitting.
        rules : LadderRules
        fastest_half_bpm : float
            It rises no farther by itself. At least SLOWEST_HALF_BPM.

        Returns
        -------
        Ladder

        Raises
        ------
        BadRoutine
            A tempo out of range.
        """
        limits = Limits(
            rules=rules, standing=standing, fastest_half_bpm=fastest_half_bpm, first_half_bpm=first_half_bpm
        )
        tempo, said = limits.first()
        return cls(
            rungs=Rungs(tempo_half_bpm=tempo, played_half_bpm=tempo, said=said),
            limits=limits,
            can_shrink=can_shrink,
            before_sec=spent_sec,
            spent_sec=spent_sec,
            sitting_sec=sitting_sec,
        )

    @property
    def tempo_half_bpm(self) -> float:
        """Of the next count-in: whole, but where the player chose otherwise."""
        return self.rungs.tempo_half_bpm

    @property
    def unit(self) -> Unit:
        """What is played at the next count-in."""
        return self.rungs.unit

    @property
    def passes_next(self) -> int | None:
        """How many passes the next turn has; None for as many as usual."""
        if self.phase == "closing":
            return 1
        rules = self.limits.rules
        return (
            rules.far_passes if self.phase == "climbing" and not self.rungs.falls and self._is_far() else None
        )

    @property
    def row(self) -> int:
        """Clean in a row, at this tempo and of this unit."""
        return self.rungs.row

    @property
    def held(self) -> str:
        """Why an earned rise is held; empty where none is."""
        return self.rungs.held

    @property
    def said(self) -> str:
        """One line on why the next count-in is as it is; empty for nothing new."""
        return self.rungs.said

    @property
    def levels(self) -> Levels | None:
        """By this sitting's passes with those before; else as told last, as far as today's leave that."""
        return self._now.levels

    @property
    def home_half_bpm(self) -> float | None:
        """As known now; None where it cannot be told."""
        return self.levels.home_half_bpm if self.levels else None

    @property
    def edge_half_bpm(self) -> float | None:
        """As known now; None where it cannot be told."""
        return self.levels.edge_half_bpm if self.levels else None

    @property
    def reach_half_bpm(self) -> float | None:
        """As known now; None where it cannot be told."""
        return self.levels.reach_half_bpm if self.levels else None

    def after(self, seen: PassSeen) -> Ladder:
        """Give the ladder after one more pass.

        Parameters
        ----------
        seen : PassSeen

        Returns
        -------
        Ladder
        """
        now = self._waited(seen.sitting_sec, seen.lasted_sec)._quiet()
        if seen.clean is not None and seen.unit == "whole":
            now = replace(now, today=_with(now.today, seen.tempo_half_bpm, seen.clean))
            now = replace(now, found=now._now.told or now.found)
        if now.phase != "climbing":
            return replace(now, phase="over")
        if seen.clean is None:
            return now._unclear()
        return replace(now, rungs=now.rungs.after(seen, now._now), unclear_row=0)

    def at(self, tempo_half_bpm: float) -> Ladder:
        """Give the ladder where the player chose another tempo: rows begin anew, falls and minutes stay.

        Parameters
        ----------
        tempo_half_bpm : float
            Held within what may be played at all; it may be faster than the ladder rises.

        Returns
        -------
        Ladder
        """
        tempo = round(playable(tempo_half_bpm), 1)
        phase: Phase = "climbing" if self.phase == "climbing" else "over"
        return replace(self, rungs=self.rungs.at(tempo, self.unit), phase=phase, is_told=True)

    def turn_over(self, sitting_sec: float) -> Ladder:
        """Give the ladder between two turns; asked before every count-in.

        Parameters
        ----------
        sitting_sec : float
            Since the sitting began.

        Returns
        -------
        Ladder
        """
        now = replace(self._waited(sitting_sec)._quiet(), is_told=True)
        if now.phase != "climbing":
            return now
        if now.rungs.leaves:
            left = now.rungs.at(now.tempo_half_bpm, "whole", now.said)
            return replace(now, rungs=left, phase="over")
        if now.spent_sec >= now.limits.rules.item_sec:
            tempo, said = last_pass(now._now, now.tempo_half_bpm, is_later=now.before_sec > 0.0)
            return replace(now, rungs=now.rungs.at(tempo, "whole", said), phase="closing")
        rungs = now.rungs.reconsidered(now._now)
        if rungs.held and now.said and now.unclear_row >= UNCLEAR_TO_SAY:
            rungs = replace(rungs, said=now.said)
        return replace(now, rungs=rungs.begun())

    @property
    def _now(self) -> Now:
        return Now(
            limits=self.limits,
            can_shrink=self.can_shrink,
            today=self.today,
            found=self.found,
            sitting_sec=self.sitting_sec,
        )

    def _is_far(self) -> bool:
        """Whether the tempo is far under the edge; while none is known, whether all about it was clean."""
        under, edge = 1.0 - self.limits.rules.near_share, self.edge_half_bpm
        if edge is not None:
            return self.tempo_half_bpm < edge * under
        about = (row for row in self.today if row.tempo_half_bpm >= self.tempo_half_bpm * under)
        return not any(row.unclean for row in about)

    def _waited(self, sitting_sec: float, lasted_sec: float = 0.0) -> Ladder:
        """Time that has passed since, `lasted_sec` of it in a pass."""
        gap = sitting_sec - self.sitting_sec - lasted_sec
        spent = lasted_sec + min(max(gap, 0.0), LONGEST_GAP_SEC)
        return replace(self, spent_sec=self.spent_sec + spent, sitting_sec=max(sitting_sec, self.sitting_sec))

    def _quiet(self) -> Ladder:
        """Without what was said of the turn before."""
        return replace(self, rungs=replace(self.rungs, said=""), is_told=False) if self.is_told else self

    def _unclear(self) -> Ladder:
        row = self.unclear_row + 1
        said = self.said
        if row == UNCLEAR_TO_SAY:
            said = f"the last {row} passes could not be told: they count neither way, the tempo stays"
        return replace(self, rungs=replace(self.rungs, said=said), unclear_row=row)


def _with(today: tuple[Tried, ...], tempo_half_bpm: float, clean: bool) -> tuple[Tried, ...]:
    """The passes of today with one more."""
    same = next((row for row in today if row.tempo_half_bpm == tempo_half_bpm), None)
    counts = (same.clean, same.unclean) if same else (0, 0)
    more = Tried(tempo_half_bpm=tempo_half_bpm, clean=counts[0] + clean, unclean=counts[1] + (not clean))
    return (*(row for row in today if row is not same), more)
