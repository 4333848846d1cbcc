"""What of a lane depends on the lick, the tempo and the sheet alone: laid out once and kept.

Conventions: x is units from the downbeat of bar 1 of a pass, y that of the sheet.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import cast

from feedback.screen.lane.leading import fall_picture
from feedback.screen.lane.ledges import FallPicture, Ledge
from feedback.screen.lane.room import LEDGE_RANGE, Room, room_of
from feedback.screen.lane.shifting import Same
from feedback.screen.lettering import signed
from feedback.screen.marks import Sheet
from feedback.session import TurnPlan
from feedback.words import chord_name
from routines.chords import ChordSpan
from routines.lick import Lick

RIBBON = 16.0
"""Thickness of a ledge."""

BETWEEN = 82.0
"""Least distance between two ledges: a label under the one, a peg on the other."""

HALF_STEP = 26.0
"""A half step on a ledge, unless there is less room; more on a higher sheet."""

FUNCTIONS = {
    "seven": "♭7",
    "third": "3rd",
    "fifth": "5th",
    "ninth": "9th",
    "sixth": "6th",
    "second": "2nd",
    "fourth": "4th",
    "major seven": "7th",
    "diminished seven": "7th",
}
"""What is written of a tone's function, where that is not its own word."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Page:
    """A lick laid out.

    Attributes
    ----------
    lick : Lick
    tempo_half_bpm : float
    room : Room
    rounds : bool
        Whether passes follow one another without rest.
    spans : tuple of ChordSpan
        The chords; where there is no rest, up to the next round's pickup.
    picture : FallPicture
    half_step, upper, lower : float
        Units of a half step, and the upper edges of both ledges where they begin anew.
    """

    lick: Lick
    tempo_half_bpm: float
    room: Room
    rounds: bool
    spans: tuple[ChordSpan, ...]
    picture: FallPicture
    half_step: float
    upper: float
    lower: float

    def x(self, quarters: float) -> float:
        """Where a place of the lick lies."""
        return quarters * self.room.quarter

    def x_of(self, note: int) -> float:
        """Where a target is due."""
        return self.x(self.lick.notes[note].onset_quarters)

    def x_of_ms(self, ms: float) -> float:
        """How far so many milliseconds reach."""
        return self.x(ms / 1e3 * self.tempo_half_bpm / 30.0)

    def ledge_y(self, upper: bool, step: int) -> float:
        """Upper edge of a ledge."""
        return (self.upper if upper else self.lower) - step * self.half_step

    def slope_x(self, at_quarters: float) -> tuple[float, float]:
        """Where a slope begins and ends: just before its change, clear of the pegs on both sides."""
        end = self.x(at_quarters) - 15.0
        return end - min(46.0, self.room.eighth - 34.0), end


def page_of(plan: TurnPlan, sheet: Sheet, motion: str) -> Page:
    """The page of a plan's lick on a sheet."""
    return _page_of(Same(plan.lick), plan.tempo_half_bpm, plan.rest_bars == 0, sheet, motion)


@lru_cache(maxsize=16)
def _page_of(same: Same, tempo_half_bpm: float, rounds: bool, sheet: Sheet, motion: str) -> Page:
    lick = cast("Lick", same.it)
    room = room_of(sheet, lick, tempo_half_bpm, motion)
    end = lick.end_quarters - (lick.pickup_quarters if rounds else 0.0)
    spans = tuple(
        ChordSpan(s.start_quarters, min(end, s.end_quarters), s.chord)
        for s in lick.chords
        if s.start_quarters < end
    )
    picture = fall_picture(lick, spans)
    steps = {side: [0, *(g.step for g in picture.ledges if g.upper == side)] for side in (True, False)}
    above, below = max(steps[True]), min(steps[False])
    nearer = max([0, *(_nearer(one, picture) for one in picture.ledges if one.upper)])
    most = HALF_STEP * room.ledge_range / LEDGE_RANGE
    half_step = min(most, (room.ledge_range - BETWEEN) / max(1, above - below + nearer))
    return Page(
        lick=lick,
        tempo_half_bpm=tempo_half_bpm,
        room=room,
        rounds=rounds,
        spans=spans,
        picture=picture,
        half_step=half_step,
        upper=room.ledge_top + above * half_step,
        lower=room.ledge_top + room.ledge_range + below * half_step,
    )


def _nearer(one: Ledge, picture: FallPicture) -> int:
    """By how many half steps the ledges under an upper one are nearer to it than where both begin anew."""
    beside = (
        other.step - one.step
        for other in picture.ledges
        if not other.upper
        and other.begin_quarters < one.end_quarters
        and one.begin_quarters < other.end_quarters
    )
    return max([0, *beside])


def chord_words(lick: Lick, span: ChordSpan) -> str:
    """A chord as the hand shapes it under the lick's capo; N.C. where none is played."""
    return signed(chord_name(lick, span.symbol)) if span.chord is not None else "N.C."
