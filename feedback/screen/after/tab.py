"""What to look at in the tab after a turn: the bar or the two that the sentence is about."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from itertools import product

from feedback.screen.marks import Mark
from feedback.screen.still.tab import still_tab
from routines.lick import Lick

_SIZES = ((True, 38.0), (True, 34.0), (False, 34.0), (False, 32.0))  # fingers, line gap


@dataclass(frozen=True, slots=True, kw_only=True)
class TabCut:
    """Some bars of a lick, to be drawn as a standing tab.

    Attributes
    ----------
    lick : Lick
    first_bar, bars : int
    ringed : collection of int
    fingers : bool
    line_gap : float
    """

    lick: Lick
    first_bar: int
    bars: int
    ringed: Collection[int]
    fingers: bool = True
    line_gap: float = 34.0

    def marks(self, x: float, y: float, wide: float) -> tuple[list[Mark], float]:
        """As `feedback.screen.still.tab.still_tab`."""
        return still_tab(
            self.lick,
            x=x,
            y=y,
            wide=wide,
            first_bar=self.first_bar,
            bars=self.bars,
            ringed=self.ringed,
            fingers=self.fingers,
            line_gap=self.line_gap,
        )


def tab_cut(lick: Lick, look_at: Collection[int], wide: float, room: float) -> tuple[TabCut, float] | None:
    """The bars to be shown and how high they are; None where nothing of them has room.

    Parameters
    ----------
    lick : Lick
    look_at : collection of int
        The notes that are ringed; where there is none, the first bars are shown.
    wide, room : float
        Width and height that there is.
    """
    at = [int(max(0.0, lick.notes[index].onset_quarters) // lick.quarters_a_bar) + 1 for index in look_at]
    first = min(at, default=1)
    two = min(lick.bars, max(at, default=first + 1), first + 1) - first + 1
    for bars, (fingers, gap) in product(sorted({two, 1}, reverse=True), _SIZES):
        cut = TabCut(
            lick=lick, first_bar=first, bars=bars, ringed=tuple(look_at), fingers=fingers, line_gap=gap
        )
        high = cut.marks(0.0, 0.0, wide)[1]
        if high <= room:
            return cut, high
    return None
