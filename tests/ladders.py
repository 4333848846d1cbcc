"""A ladder played in turns, for tests: what became of each pass is a letter."""

from __future__ import annotations

from dataclasses import dataclass, replace

from routines.journal.records import Item, TempoDay
from routines.ladder.ladder import Ladder, PassSeen
from routines.ladder.levels import Levels
from routines.ladder.rules import LADDER, LadderRules
from routines.ladder.standing import Standing

FOURS = replace(LADDER, far_passes=None, still_sec=0.0)
KNOWN = Standing(
    levels=Levels(
        home_half_bpm=93.0,
        edge_half_bpm=100.0,
        reach_half_bpm=104.0,
        low_half_bpm=97.0,
        high_half_bpm=103.0,
        passes=80,
    )
)


@dataclass
class Sitting:
    """A ladder played in turns: C is clean, U is not, ? is unclear; a space is between two turns."""

    ladder: Ladder
    sec: float = 0.0
    spread_ms: float | None = None

    def plays(self, marks: str, *, tempo: float | None = None) -> Ladder:
        for turn in marks.split():
            at = self.ladder.tempo_half_bpm if tempo is None else tempo
            unit = self.ladder.unit
            for mark in turn:
                self.sec += 4.5
                seen = PassSeen(
                    tempo_half_bpm=at,
                    clean={"C": True, "U": False, "?": None}[mark],
                    spread_ms=self.spread_ms,
                    unit=unit,
                    sitting_sec=self.sec,
                    lasted_sec=4.5,
                )
                self.ladder = self.ladder.after(seen)
            self.sec += 7.0
            self.ladder = self.ladder.turn_over(self.sec)
        return self.ladder


def begun(
    first: float = 80.0,
    stands: Standing | None = None,
    *,
    rules: LadderRules = FOURS,
    can_shrink: bool = True,
    fastest: float = 240.0,
) -> Sitting:
    return Sitting(
        Ladder.begin(
            stands or Standing(),
            first_half_bpm=first,
            can_shrink=can_shrink,
            rules=rules,
            fastest_half_bpm=fastest,
        )
    )


def day(day: str, tempo: float, clean: int, unclean: int, spread_ms: float | None = None) -> TempoDay:
    passes = clean + unclean
    return TempoDay(
        day=day,
        item=Item(lick="a-lick", key="G"),
        tempo_half_bpm=tempo,
        passes=passes + 2,
        clean=clean,
        unclean=unclean,
        unclear=2,
        seconds=4.0 * passes,
        notes=16 * passes,
        landed=15 * passes,
        lean_ms=None,
        lean_passes=0,
        bounce=None,
        bounce_passes=0,
        spread_ms=spread_ms,
        spread_passes=passes if spread_ms is not None else 0,
    )
