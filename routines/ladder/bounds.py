"""What an edge found earlier is still worth, where the passes since then tell of none.

After a very good day the edge lies somewhere above all that was played, after a very bad one somewhere below:
neither day tells where. What was known before is no longer true as it stands, yet nearer to the truth than
nothing: a day that begins from nothing knows neither yesterday's edge nor home.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from routines.ladder.levels import EDGE_CLEAN, Levels, Tried, reach_over
from routines.ladder.rules import LADDER

LEAST_UNCLEAN = 4
"""So many passes, most of them not clean at every tempo, say that the edge lies no higher than these."""


def bounded(levels: Levels, since: Sequence[Tried]) -> Levels:
    """Keep an edge that was found, as far as later passes leave it.

    Parameters
    ----------
    levels : Levels
        As found.
    since : sequence of Tried
        Passes of which no edge could be told.

    Returns
    -------
    Levels
        Its edge is no slower than what was clean since then as often as a rise asks for (home stays), and,
        where at no tempo most passes were clean, no faster than the slowest of these (home goes down with
        it).
    """
    clean = [row.tempo_half_bpm for row in since if _is_clean(row)]
    fastest = max(clean, default=0.0)
    if fastest > levels.edge_half_bpm:
        edge = round(fastest, 1)
        return replace(
            levels,
            edge_half_bpm=edge,
            reach_half_bpm=round(reach_over(edge), 1),
            low_half_bpm=max(levels.low_half_bpm, edge),
            high_half_bpm=max(levels.high_half_bpm, edge),
            bound="at least",
        )
    slowest = min((row.tempo_half_bpm for row in since), default=levels.edge_half_bpm)
    if slowest < levels.edge_half_bpm and _is_hopeless(since):
        edge = round(slowest, 1)
        home = levels.home_half_bpm * edge / levels.edge_half_bpm
        return replace(
            levels,
            home_half_bpm=min(round(home, 1), edge),
            edge_half_bpm=edge,
            reach_half_bpm=round(reach_over(edge), 1),
            low_half_bpm=min(levels.low_half_bpm, edge),
            high_half_bpm=min(levels.high_half_bpm, edge),
            bound="at most",
        )
    return levels


def _is_clean(row: Tried) -> bool:
    passes = row.clean + row.unclean
    return row.clean >= LADDER.clean_to_rise and row.clean >= EDGE_CLEAN * passes - 1e-9


def _is_hopeless(rows: Sequence[Tried]) -> bool:
    unclean = sum(row.unclean for row in rows)
    return unclean >= LEAST_UNCLEAN and all(row.unclean > row.clean for row in rows)
