"""The rules of the tempo ladder, each a number with a name.

Tempos are half notes a minute, shares are of the tempo, times are seconds. The last eight say how the
others are meant where they leave it open; what each brings: `python -m tests.bench ladder`.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class LadderRules:
    """The numbers that the ladder goes by.

    Attributes
    ----------
    start_share : float
        Of the edge of the last day on which the item was practised: where a day begins.
    rise_share, least_rise_half_bpm : float
        A rise, and how small one may be.
    near_share, near_rise_share, least_near_rise_half_bpm : float
        Within so much of the edge a rise is the smaller one.
    fall_share, least_fall_half_bpm : float
        A fall.
    clean_to_rise, unclean_to_fall : int
        So many in a row; unclear passes break no row and count in none.
    falls_to_shrink : int
        At this fall of the item the unit shrinks to its change instead, and at each second one after it.
    week_share : float
        No farther over the best of the last seven days in one sitting.
    item_sec : float
        So long one item is practised in a sitting.
    still_sec : float
        So long from the sitting's beginning nothing rises.
    spread_share : float
        No rise where the spread is wider by so much than it is at home.
    ceiling_share : float or None
        No faster than this share of home, where home is known: for warm-ups; None for no such limit.
    far_passes : int or None
        Passes in a turn while the tempo is far under the edge and nothing fell: it gets there sooner. None
        for as many as usual.
    held_rungs : int
        A row that went on while its rise was held is worth a rung for each `clean_to_rise` in it, so many at
        most: each of them was earned by three in a row.
    falls_a_turn : int
        With 2, four in a row not clean in one turn are two falls, but for a tempo in reach; they count as one
        toward shrinking.
    shrinks_in_reach : bool
        After the first time, shrink only where the tempo is no faster than reach: what is far too fast for
        all of the item is slowed.
    week_where_unfound : bool
        Whether the week's best limits an item whose edge was never found, too: the best shows how far one
        came, and not how far one can go.
    floor_share : float or None
        No slower than this share of where the sitting began with the item: what is not clean there either is
        left for today. None for as slow as the program goes.
    change_falls, new_change_falls : int or None
        After so many falls of the change by itself the item is left for today: one whose edge was known when
        the sitting began, and a new one, which may begin far too fast. None for no such end.
    """

    start_share: float = 0.85
    rise_share: float = 0.04
    least_rise_half_bpm: float = 2.0
    near_share: float = 0.06
    near_rise_share: float = 0.02
    least_near_rise_half_bpm: float = 1.0
    fall_share: float = 0.08
    least_fall_half_bpm: float = 2.0
    clean_to_rise: int = 3
    unclean_to_fall: int = 2
    falls_to_shrink: int = 2
    week_share: float = 0.05
    item_sec: float = 600.0
    still_sec: float = 120.0
    spread_share: float = 0.30
    ceiling_share: float | None = None
    far_passes: int | None = 3
    held_rungs: int = 2
    falls_a_turn: int = 1
    shrinks_in_reach: bool = True
    week_where_unfound: bool = False
    floor_share: float | None = 0.5
    change_falls: int | None = 2
    new_change_falls: int | None = 4


LADDER = LadderRules()
"""For licks."""
