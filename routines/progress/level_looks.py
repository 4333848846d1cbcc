"""Looks at the edge: whether a lick, or all licks together, can be played faster than before.

The edge stands for home as well: home is read from the same passes and the same curve, and the edge is the
better known of the two. Each stretch is read by itself, all its days alike; `levels_of` tells between which
tempos an edge lies four times in five, and that is taken as 1.28 standard deviations to each side. Days have
their own form besides, which no number of passes on one day averages out.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from routines.journal.records import TempoDay
from routines.ladder.levels import Levels, Tried, levels_of
from routines.progress.chances import normal_tail
from routines.progress.looks import BEFORE, ItemNumbers, Look
from routines.progress.names import item_name, warm_up_of

LEAST_GAIN = 0.04
"""One rise of the tempo ladder."""
FORM_OF_THE_DAY = 0.04
"""Standard deviation, in the logarithm of the tempo, of an edge from day to day."""
FEWEST_DAYS = 3
"""Of a lick, in each stretch."""
FEWEST_LICKS = 3
"""From so many on they are looked at together as well."""
TOGETHER_WEIGHT = 4.0
"""Whoever gets on mostly gets on with all of it, by less a week than one lick alone can show."""
MOST_LICKS = 8
"""So many are looked at one by one, those practised most this week: each look makes every other less sure."""

_DEVIATIONS = 1.2815515655446004
"""Standard deviations from the middle within which four cases of five lie."""


@dataclass(frozen=True, slots=True)
class _Edge:
    """An edge in one stretch of days: its tempo, and the variance of its logarithm."""

    tempo_half_bpm: float
    variance: float
    passes: int
    days: frozenset[str]

    @property
    def form(self) -> float:
        """What the form of the days adds to the variance."""
        return FORM_OF_THE_DAY**2 / len(self.days)


def level_looks(
    tempo_days: Sequence[TempoDay], titles: Mapping[str, str], week_begins: str
) -> Iterator[Look]:
    """Look at the edges of the licks and parts of licks practised most, and at all of them together.

    Parameters
    ----------
    tempo_days : sequence of TempoDay
        Of the last seven days and the four weeks before them.
    titles : mapping of str to str
        A lick's id to its title.
    week_begins : str
    """
    items = ItemNumbers()
    by_item: dict[int, tuple[list[TempoDay], list[TempoDay]]] = defaultdict(lambda: ([], []))
    for row in tempo_days:
        by_item[items.of(row.item)][row.day >= week_begins].append(row)
    pairs = []
    for item, number in sorted(items.numbers.items()):
        before_rows, week_rows = by_item[number]
        now = None if warm_up_of(item.lick) else _edge(week_rows)
        before = None if now is None else _edge(before_rows)
        if before is not None and now is not None:
            pairs.append((item, before, now))
    for item, before, now in sorted(pairs, key=lambda pair: -pair[2].passes)[:MOST_LICKS]:
        yield _look(item_name(item, titles.get(item.lick, item.lick)), before, now)
    if len(pairs) >= FEWEST_LICKS:
        parts = any(item.unit for item, _, _ in pairs)
        yield _together([(before, now) for _, before, now in pairs], "licks and parts" if parts else "licks")


def _look(name: str, before: _Edge, now: _Edge) -> Look:
    gain = math.log(now.tempo_half_bpm / before.tempo_half_bpm)
    variance = before.variance + before.form + now.variance + now.form
    return Look(
        chance=normal_tail(gain / math.sqrt(variance)),
        better=gain > 0.0,
        worth=math.expm1(gain) >= LEAST_GAIN,
        sentence=(
            f"{name} has its edge at {now.tempo_half_bpm:.0f} half notes a minute this week, at "
            f"{before.tempo_half_bpm:.0f} in the four weeks before."
        ),
        nearest=(
            f"{name}, its edge at {now.tempo_half_bpm:.0f} this week and at "
            f"{before.tempo_half_bpm:.0f} {BEFORE}"
        ),
    )


def _together(pairs: Sequence[tuple[_Edge, _Edge]], licks: str) -> Look:
    """All licks: those of one day share its form, which averages out over days only, and not over licks."""
    weights = [1.0 / (before.variance + before.form + now.variance + now.form) for before, now in pairs]
    shares = [weight / sum(weights) for weight in weights]
    gains = [math.log(now.tempo_half_bpm / before.tempo_half_bpm) for before, now in pairs]
    gain = sum(share * one for share, one in zip(shares, gains, strict=True))
    variance = sum(
        share**2 * (before.variance + now.variance)
        for share, (before, now) in zip(shares, pairs, strict=True)
    )
    of_days: dict[str, float] = defaultdict(float)
    for share, pair in zip(shares, pairs, strict=True):
        for edge in pair:
            for day in edge.days:
                of_days[day] += share / len(edge.days)
    form = FORM_OF_THE_DAY**2 * sum(share**2 for share in of_days.values())
    risen = sum(one > 0.0 for one in gains)
    percent = 100.0 * math.expm1(gain)
    return Look(
        weight=TOGETHER_WEIGHT,
        chance=normal_tail(gain / math.sqrt(variance + form)),
        better=gain > 0.0,
        worth=math.expm1(gain) >= LEAST_GAIN,
        sentence=(
            f"The edge rose in {risen} of {len(pairs)} {licks}, by {percent:.0f} % over all of them, this "
            "week against the four weeks before."
        ),
        nearest=f"the edge, higher by {percent:.0f} % over {len(pairs)} {licks} than {BEFORE}",
    )


def _edge(rows: Sequence[TempoDay]) -> _Edge | None:
    days = frozenset(row.day for row in rows if row.clean + row.unclean)
    if len(days) < FEWEST_DAYS:
        return None
    tempos: dict[float, list[int]] = defaultdict(lambda: [0, 0])
    for row in rows:
        tempos[row.tempo_half_bpm][0] += row.clean
        tempos[row.tempo_half_bpm][1] += row.unclean
    found = levels_of(
        [
            Tried(tempo_half_bpm=tempo, clean=clean, unclean=unclean)
            for tempo, (clean, unclean) in tempos.items()
        ]
    )
    return None if found is None else _Edge(found.edge_half_bpm, _variance(found), found.passes, days)


def _variance(levels: Levels) -> float:
    wide = math.log(levels.high_half_bpm / levels.low_half_bpm)
    return (wide / (2.0 * _DEVIATIONS)) ** 2
