"""Rows of clean and unclean passes, and the rung that they lead to.

What is decided in a turn holds from the next count-in on. Three clean in a row earn a rise; the next pass of
the same turn takes it back where it is not clean. Two unclean in a row are a fall, which stands. Rows belong
to a tempo and a unit: where either changes they begin anew.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Self

from routines.ladder.bounds import bounded
from routines.ladder.holds import Limits, fallen, in_words, risen
from routines.ladder.levels import Levels, Tried, levels_of
from routines.ladder.seen import PassSeen, Unit

LEAVE = "leave this one for today: listen to it, or check the sound"


@dataclass(frozen=True, slots=True, kw_only=True)
class Now:
    """What a decision rests on besides the rows.

    Attributes
    ----------
    limits : Limits
    can_shrink : bool
    today : tuple of Tried
        Passes of the whole in this sitting.
    found : Levels or None
        Levels as told last in this sitting.
    sitting_sec : float
    """

    limits: Limits
    can_shrink: bool
    today: tuple[Tried, ...]
    found: Levels | None
    sitting_sec: float

    @property
    def told(self) -> Levels | None:
        """Home, edge and reach by all passes; None where these do not tell."""
        return _levels(self.limits.standing.tried + self.today)

    @property
    def known(self) -> Levels | None:
        """As told now or else last; None where they never were."""
        return self.told or self.found or self.limits.standing.levels

    @property
    def levels(self) -> Levels | None:
        """The same, as far as today's passes leave what was told last."""
        told, known = self.told, self.known
        if told is not None or known is None:
            return told
        earlier = (row for row in self.limits.standing.tried if not row.days_ago)
        return bounded(known, (*earlier, *self.today))


@dataclass(frozen=True, slots=True, kw_only=True)
class Rungs:
    """Where the rows stand, and what is played at the next count-in.

    Attributes
    ----------
    tempo_half_bpm, unit : float, Unit
        Of the next count-in.
    played_half_bpm, played_unit : float, Unit
        Of the turn that is on.
    row, unclean_row : int
    falls, turn_falls, change_falls : int
        Of the item in this sitting (two in one turn count once), in the turn that is on, and of the change
        since it is played by itself.
    leaves : bool
        Whether it is to be left for today.
    spreads_ms : tuple of float
        Of the last passes of the row, where it could be told.
    held : str
        Why an earned rise is held; empty where none is.
    said : str
        Why the next count-in is as it is; empty for nothing new.
    """

    tempo_half_bpm: float
    unit: Unit = "whole"
    played_half_bpm: float
    played_unit: Unit = "whole"
    row: int = 0
    unclean_row: int = 0
    falls: int = 0
    turn_falls: int = 0
    change_falls: int = 0
    leaves: bool = False
    spreads_ms: tuple[float, ...] = ()
    held: str = ""
    said: str = ""

    def begun(self) -> Self:
        """The next count-in is played: what was decided is the turn's now."""
        if not self._moves:
            return replace(self, turn_falls=0)
        return replace(self._anew(), played_half_bpm=self.tempo_half_bpm, played_unit=self.unit)

    def at(self, tempo_half_bpm: float, unit: Unit, said: str = "") -> Self:
        """Put on another tempo from without; falls stay."""
        return replace(
            self._anew(),
            tempo_half_bpm=tempo_half_bpm,
            played_half_bpm=tempo_half_bpm,
            unit=unit,
            played_unit=unit,
            said=said,
        )

    def after(self, seen: PassSeen, now: Now) -> Self:
        """After a pass that was clean or not; at another tempo than the turn's own it counts in no row."""
        on = self
        if not seen.is_at(self.played_half_bpm, self.played_unit):
            if not seen.is_at(self.tempo_half_bpm, self.unit):
                return self
            on = self.begun()
        return on._clean(seen.spread_ms, now) if seen.clean else on._unclean(now)

    def reconsidered(self, now: Now) -> Self:
        """The same rows, where time has passed: a rise that was held may go on."""
        rules = now.limits.rules
        if self._moves or self.row < rules.clean_to_rise:
            return self
        if self.unit == "change":
            said = f"the change is clean: all of it again at {self.tempo_half_bpm:g}"
            return replace(self, unit="whole", said=said)
        return self._rise(now)

    @property
    def _moves(self) -> bool:
        """Whether the next count-in is another than the turn's."""
        return (self.tempo_half_bpm, self.unit) != (self.played_half_bpm, self.played_unit)

    def _anew(self) -> Self:
        return replace(self, row=0, unclean_row=0, turn_falls=0, spreads_ms=(), held="", leaves=False)

    def _clean(self, spread_ms: float | None, now: Now) -> Self:
        spreads = self.spreads_ms if spread_ms is None else (*self.spreads_ms, spread_ms)
        last = spreads[-now.limits.rules.clean_to_rise :]
        return replace(self, row=self.row + 1, unclean_row=0, spreads_ms=last).reconsidered(now)

    def _unclean(self, now: Now) -> Self:
        rules = now.limits.rules
        counted = replace(self, row=0, spreads_ms=(), held="", unclean_row=self.unclean_row + 1)
        if self.tempo_half_bpm > self.played_half_bpm:
            said = f"{in_words(self.row)} clean, the next not: {self.played_half_bpm:g} once more"
            return replace(counted, tempo_half_bpm=self.played_half_bpm, unclean_row=1, said=said)
        if counted.unclean_row < rules.unclean_to_fall:
            return counted
        if self.turn_falls and (self.turn_falls >= rules.falls_a_turn or self._is_in_reach(now)):
            return counted
        return replace(counted, unclean_row=0)._fall(now)

    def _rise(self, now: Now) -> Self:
        rules, levels, known = now.limits.rules, now.levels, now.known
        why = now.limits.held(now.sitting_sec, self.spreads_ms)
        if why:
            return self._hold(why)
        top, why = now.limits.top(levels.home_half_bpm if levels else None)
        tempo, near = self.tempo_half_bpm, False
        for _ in range(min(self.row // rules.clean_to_rise, rules.held_rungs)):
            tempo, near = risen(tempo, known.edge_half_bpm if known else None, rules)
        if min(tempo, top) <= self.tempo_half_bpm:
            return self._hold(why if self.tempo_half_bpm <= top else f"{why}; {self.tempo_half_bpm:g} stays")
        tempo = min(tempo, top)
        said = f"{in_words(self.row)} clean in a row{', near the edge' * near}: up to {tempo:g}"
        return replace(self, tempo_half_bpm=tempo, held="", said=said)

    def _hold(self, why: str) -> Self:
        return replace(self, held=why, said=why)

    def _fall(self, now: Now) -> Self:
        if self.unit != self.played_unit:
            return self
        rules = now.limits.rules
        fell = replace(
            self,
            turn_falls=self.turn_falls + 1,
            falls=self.falls + (not self.turn_falls),
            change_falls=self.change_falls + (self.unit == "change"),
        )
        if not self.turn_falls and fell._shrinks(now):
            said = f"{in_words(rules.unclean_to_fall)} in a row not clean again: the change by itself"
            return replace(fell, unit="change", change_falls=0, said=said)
        tempo = max(fallen(self.tempo_half_bpm, rules), now.limits.floor_half_bpm)
        if fell.change_falls == now.limits.change_falls:
            return replace(fell, leaves=True, said=LEAVE)
        if tempo >= self.tempo_half_bpm:
            leaves = fell.falls >= rules.falls_to_shrink
            said = LEAVE if leaves else f"{self.tempo_half_bpm:g} once more: the ladder goes no slower"
            return replace(fell, leaves=leaves, said=said)
        row = rules.unclean_to_fall * fell.turn_falls
        said = f"{in_words(row)} in a row not clean: down to {tempo:g}"
        return replace(fell, tempo_half_bpm=tempo, said=said)

    def _shrinks(self, now: Now) -> bool:
        """Whether this fall, which is counted already, shrinks the unit instead."""
        rules = now.limits.rules
        over = self.falls - rules.falls_to_shrink
        if not now.can_shrink or self.unit == "change" or over < 0 or over % 2:
            return False
        return not over or not rules.shrinks_in_reach or self._is_in_reach(now)

    def _is_in_reach(self, now: Now) -> bool:
        """Whether the turn is no faster than reach; where none is known, whether half were clean about it."""
        if now.levels is not None:
            return self.played_half_bpm <= now.levels.reach_half_bpm
        about = self.played_half_bpm * (1.0 - now.limits.rules.fall_share)
        return sum(row.clean - row.unclean for row in now.today if row.tempo_half_bpm >= about) >= 0


@lru_cache(maxsize=64)
def _levels(tried: tuple[Tried, ...]) -> Levels | None:
    return levels_of(tried)
