"""How far the tempo may go: what holds a rise, how large it is, and how large a fall.

Every reason that holds a rise has one plain line, for the player asks why the tempo stays.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, isfinite
from statistics import median

from routines.errors import BadRoutine
from routines.ladder.rules import LadderRules
from routines.ladder.standing import Standing
from routines.tempo import FASTEST_HALF_BPM, SLOWEST_HALF_BPM

_NUMBERS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """What a sitting's tempos are held by, the same throughout it.

    Attributes
    ----------
    rules : LadderRules
    standing : Standing
        Of the item when the sitting began.
    fastest_half_bpm : float
        Of the lick, the player or the program: it rises no farther. SLOWEST_HALF_BPM to FASTEST_HALF_BPM.
    first_half_bpm : float
        Where to begin with an item of which nothing is known.

    Raises
    ------
    BadRoutine
        If `fastest_half_bpm` is out of that range.
    """

    rules: LadderRules
    standing: Standing
    fastest_half_bpm: float
    first_half_bpm: float

    def __post_init__(self) -> None:
        if not SLOWEST_HALF_BPM <= self.fastest_half_bpm <= FASTEST_HALF_BPM:
            raise BadRoutine(
                f"fastest tempo {self.fastest_half_bpm:g}: give {SLOWEST_HALF_BPM:g} to "
                f"{FASTEST_HALF_BPM:g} half notes a minute"
            )

    @property
    def floor_half_bpm(self) -> float:
        """No slower than that, whole; the rules' share of where the sitting began with the item."""
        share = self.rules.floor_share
        floor = SLOWEST_HALF_BPM if share is None else round(share * self.first()[0])
        return float(max(floor, SLOWEST_HALF_BPM))

    @property
    def change_falls(self) -> int | None:
        """After so many falls of the change by itself the item is left for today."""
        known = self.standing.levels is not None
        return self.rules.change_falls if known else self.rules.new_change_falls

    def top(self, home_half_bpm: float | None) -> tuple[float, str]:
        """The fastest tempo that may be risen to, and what sets it, in a line.

        Parameters
        ----------
        home_half_bpm : float or None
            As known now.

        Returns
        -------
        tuple of (float, str)
            Whole half notes a minute, and why no faster.
        """
        rules, best = self.rules, self.standing.week_best_half_bpm
        tops = [(whole_under(self.fastest_half_bpm), "{top:g} is as fast as this one goes")]
        if best is not None and (rules.week_where_unfound or self.standing.levels is not None):
            over = f"{percent(rules.week_share)} over the week's best, {best:g}"
            tops.append(
                (whole_under(best * (1.0 + rules.week_share)), over + ": no faster than {top:g} this sitting")
            )
        if rules.ceiling_share is not None and home_half_bpm is not None:
            over = f"{percent(rules.ceiling_share)} of home, {home_half_bpm:g}"
            tops.append(
                (whole_under(home_half_bpm * rules.ceiling_share), over + ": no faster than {top:g} here")
            )
        top, why = min(tops)
        return top, why.format(top=top)

    def first(self) -> tuple[float, str]:
        """Where a sitting begins with the item, and why, in a line.

        Returns
        -------
        tuple of (float, str)
            Whole half notes a minute; the line is empty where nothing was known.

        Raises
        ------
        BadRoutine
            If `first_half_bpm` is no finite number.
        """
        tempo, said = self._known()
        levels = self.standing.levels
        top, why = self.top(levels.home_half_bpm if levels else None)
        if playable(tempo) > top:
            tempo, said = top, why
        return float(round(playable(tempo))), said

    def _known(self) -> tuple[float, str]:
        """The same, whatever limits it."""
        share = self.rules.start_share
        levels, tried = self.standing.levels, self.standing.tried
        clean = [row.tempo_half_bpm for row in tried if row.clean > row.unclean]
        if levels is not None:
            edge = levels.edge_half_bpm
            return edge * share, f"{percent(share)} of the edge, which was {levels.bound or 'at'} {edge:g}"
        if clean:
            return max(clean) * share, f"{percent(share)} of the fastest that was clean"
        if tried:
            slowest = min(row.tempo_half_bpm for row in tried)
            return min(self.first_half_bpm, slowest * (1.0 - self.rules.fall_share)), "slower than it was"
        return self.first_half_bpm, ""

    def held(self, sitting_sec: float, spreads_ms: Sequence[float]) -> str:
        """Why nothing may rise now, whatever the tempo; empty where it may.

        Parameters
        ----------
        sitting_sec : float
            Since the sitting began.
        spreads_ms : sequence of float
            Of the passes in the row: their middle one counts, for one pass's spread is a rough figure.

        Returns
        -------
        str
        """
        if sitting_sec < self.rules.still_sec:
            first, left = minutes(self.rules.still_sec), _clock(self.rules.still_sec - sitting_sec)
            return f"the first {first} are for settling in: no rise yet, {left} to go"
        home = self.standing.home_spread_ms
        if home is not None and spreads_ms and median(spreads_ms) > home * (1.0 + self.rules.spread_share):
            return f"spread {median(spreads_ms):.0f} ms, at home {home:.0f}: no rise yet"
        return ""


def playable(tempo_half_bpm: float) -> float:
    """The tempo, no slower and no faster than anything may be played.

    Parameters
    ----------
    tempo_half_bpm : float

    Returns
    -------
    float

    Raises
    ------
    BadRoutine
        If it is no finite number.
    """
    if not isfinite(tempo_half_bpm):
        raise BadRoutine(f"tempo {tempo_half_bpm}: give a number of half notes a minute")
    return min(max(tempo_half_bpm, SLOWEST_HALF_BPM), FASTEST_HALF_BPM)


def risen(tempo_half_bpm: float, edge_half_bpm: float | None, rules: LadderRules) -> tuple[float, bool]:
    """A rung up.

    Parameters
    ----------
    tempo_half_bpm : float
    edge_half_bpm : float or None
    rules : LadderRules

    Returns
    -------
    tuple of (float, bool)
        Whole half notes a minute; whether it is the smaller rung, near the edge.
    """
    near = edge_half_bpm is not None and abs(tempo_half_bpm / edge_half_bpm - 1.0) <= rules.near_share
    share, least = rules.rise_share, rules.least_rise_half_bpm
    if near:
        share, least = rules.near_rise_share, rules.least_near_rise_half_bpm
    return float(max(round(tempo_half_bpm * (1.0 + share)), whole_over(tempo_half_bpm + least))), near


def fallen(tempo_half_bpm: float, rules: LadderRules) -> float:
    """A fall, in whole half notes a minute."""
    share, least = rules.fall_share, rules.least_fall_half_bpm
    return float(min(round(tempo_half_bpm * (1.0 - share)), whole_under(tempo_half_bpm - least)))


def whole_under(tempo_half_bpm: float) -> float:
    """Whole half notes a minute, not above the tempo (a hair's breadth is no difference)."""
    return float((tempo_half_bpm + 1e-6) // 1.0)


def whole_over(tempo_half_bpm: float) -> float:
    """Whole half notes a minute, not below the tempo (a hair's breadth is no difference)."""
    return float(-((1e-6 - tempo_half_bpm) // 1.0))


def percent(share: float) -> str:
    """A share as it is written everywhere."""
    return f"{100.0 * share:.0f} %"


def _clock(seconds: float) -> str:
    left = ceil(seconds)
    return f"{left // 60}:{left % 60:02d}"


def minutes(seconds: float) -> str:
    """Whole minutes, in words."""
    count = round(seconds / 60.0)
    return f"{in_words(count)} minute{'s' * (count != 1)}"


def in_words(count: int) -> str:
    """A count, up to ten in letters."""
    return _NUMBERS[count] if count < len(_NUMBERS) else str(count)
