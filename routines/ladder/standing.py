"""Where an item stood before this sitting: what the ladder must know of the days before, from day totals.

Days are the player's own. The *week* is the seven days before today; today is left out of it, so that a
second sitting on one day goes no farther than the first. The *week's best* is the fastest tempo at which a
day saw as many clean passes as a rise asks for.

A day may leave no edge behind: all of it was clean, or nothing was, or it was short. Then the edge of the
last day that left one stands, as far as what was played since leaves it (`routines.ladder.bounds`).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from routines.errors import BadRoutine
from routines.journal.records import TempoDay
from routines.ladder.bounds import bounded
from routines.ladder.levels import Levels, Tried, levels_of
from routines.ladder.rules import LADDER

MEMORY_DAYS = 28
"""Older days say nothing about today."""
WEEK_DAYS = 7
AT_HOME = 0.10
"""Spread at home is that of passes no farther from home than this share of it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """What was known of an item when a sitting began.

    Attributes
    ----------
    levels : Levels or None
        At the end of the last day before today that told them; where only today does, today's. None where
        none of these days did.
    tried : tuple of Tried
        Of the last MEMORY_DAYS days, today's among them.
    week_best_half_bpm : float or None
        None where nothing was clean often enough in the seven days before today.
    home_spread_ms : float or None
        Mean spread of the passes about home; None where home is not known.
    """

    levels: Levels | None = None
    tried: tuple[Tried, ...] = ()
    week_best_half_bpm: float | None = None
    home_spread_ms: float | None = None


def standing(days: Sequence[TempoDay], today: str) -> Standing:
    """Sum up the days of one item, or of one routine.

    Parameters
    ----------
    days : sequence of TempoDay
        In any order; days older than MEMORY_DAYS, and later than today, are passed over.
    today : str
        Such as "2026-11-29".

    Returns
    -------
    Standing

    Raises
    ------
    BadRoutine
        A day that is no date.
    """
    known = [(_days_ago(row.day, today), row) for row in days]
    known = [(ago, row) for ago, row in known if 0 <= ago <= MEMORY_DAYS]
    tried = tuple(
        Tried(tempo_half_bpm=row.tempo_half_bpm, clean=row.clean, unclean=row.unclean, days_ago=ago)
        for ago, row in sorted(known, key=lambda one: (one[0], one[1].tempo_half_bpm, one[1].item))
        if row.clean + row.unclean
    )
    levels = _last_levels(tried)
    week = (row for row in tried if 1 <= row.days_ago <= WEEK_DAYS)
    return Standing(
        levels=levels,
        tried=tried,
        week_best_half_bpm=max(
            (row.tempo_half_bpm for row in week if row.clean >= LADDER.clean_to_rise), default=None
        ),
        home_spread_ms=None if levels is None else _spread_about(levels.home_half_bpm, known),
    )


def _last_levels(tried: Sequence[Tried]) -> Levels | None:
    """Of the last day before today that told them, as far as the days since then leave them."""
    for day in [*sorted({row.days_ago for row in tried if row.days_ago}), 0]:
        levels = levels_of([_as_of(row, day) for row in tried if row.days_ago >= day])
        if levels is not None:
            return bounded(levels, [row for row in tried if 0 < row.days_ago < day])
    return None


def _days_ago(day: str, today: str) -> int:
    try:
        return (date.fromisoformat(today) - date.fromisoformat(day)).days
    except ValueError as error:
        raise BadRoutine(f"days {day!r} and {today!r}: each must be a date such as 2026-11-29") from error


def _as_of(row: Tried, days_ago: int) -> Tried:
    """The same passes, seen from so many days ago."""
    return Tried(
        tempo_half_bpm=row.tempo_half_bpm,
        clean=row.clean,
        unclean=row.unclean,
        days_ago=row.days_ago - days_ago,
    )


def _spread_about(home_half_bpm: float, known: Sequence[tuple[int, TempoDay]]) -> float | None:
    """Mean spread of the passes about home; None where no spread could be told there."""
    total, passes = 0.0, 0
    for _, row in known:
        if row.spread_ms is not None and abs(row.tempo_half_bpm / home_half_bpm - 1.0) <= AT_HOME:
            total += row.spread_ms * row.spread_passes
            passes += row.spread_passes
    return total / passes if passes else None
