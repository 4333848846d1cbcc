"""Looks at timing: whether spread, lean or bounce grew smaller, at the same tempos.

Each habit is looked at over everything together, lick by lick and tempo by tempo: a roll that runs evener
because it runs faster has not got evener. A lean or a bounce is a style as long as it is steady; it is only
told where it was plain before and came nearer to none.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Sequence

from routines.journal.records import TempoDay
from routines.progress.chances import Cell, Difference, difference
from routines.progress.looks import BEFORE, FEWEST_COUNTED, ItemNumbers, Look, enough_days

TEMPO_STEP = 0.06
"""Tempos this near to one another are one; the ladder's small rises stay within it."""
LEAST_SPREAD_SHARE, LEAST_SPREAD_MS = 0.10, 2.0
LEAST_LEAN_MS = 10.0
"""How well a sound check knows the round trip: a lean that changes by less may be the sound check's."""
LEAST_BOUNCE = 0.03
PLAIN_BOUNCE = 0.03
"""Nearer to even than this there is no bounce to speak of."""


_Told = tuple[int, float | None]
"""Of one habit: how many passes told it, and their mean."""


def timing_looks(tempo_days: Sequence[TempoDay], week_begins: str) -> Iterator[Look]:
    """Look at spread, lean and bounce.

    Parameters
    ----------
    tempo_days : sequence of TempoDay
        Of the last seven days and the four weeks before them.
    week_begins : str
    """
    places = _places(tempo_days)
    habits: tuple[tuple[Callable[[TempoDay], _Told], Callable[[list[Cell]], Iterator[Look]]], ...] = (
        (lambda row: (row.spread_passes, row.spread_ms), _spread),
        (lambda row: (row.lean_passes, row.lean_ms), _lean),
        (lambda row: (row.bounce_passes, row.bounce), _bounce),
    )
    for habit, look in habits:
        yield from look(_cells(places, map(habit, tempo_days), week_begins))


def _spread(cells: list[Cell]) -> Iterator[Look]:
    logs = [
        cell._replace(total=cell.number * math.log(cell.total / cell.number))
        for cell in cells
        if cell.total > 0
    ]
    found = _found(logs)
    if found is None:
        return
    now, before = (math.exp(mean) for mean in _both(found))
    share = 1.0 - math.exp(found.rise)
    yield Look(
        chance=found.chance_fall,
        better=found.rise < 0.0 and now < before,
        worth=min(share, 1.0 - now / before) >= LEAST_SPREAD_SHARE and before - now >= LEAST_SPREAD_MS,
        sentence=(
            f"The notes lay closer to their places: spread {now:.0f} ms this week, {before:.0f} ms in the "
            "four weeks before, at the same tempos."
        ),
        nearest=f"spread, {now:.0f} ms this week and {before:.0f} {BEFORE}",
    )


def _lean(cells: list[Cell]) -> Iterator[Look]:
    found = _found(cells)
    if found is None:
        return
    now, before = _both(found)
    ahead = before < 0.0
    gain = abs(before) - abs(now)
    yield Look(
        chance=_either_way(found),
        better=gain > 0.0,
        worth=min(gain, abs(found.rise)) >= LEAST_LEAN_MS and (found.rise > 0.0) == ahead,
        sentence=(
            f"The notes lay nearer to the click: {_lean_words(now)} this week, {_lean_words(before)} in the "
            "four weeks before, at the same tempos."
        ),
        nearest=f"the lean, {_lean_words(now, 'the click')} this week and {_lean_words(before)} {BEFORE}",
    )


def _bounce(cells: list[Cell]) -> Iterator[Look]:
    found = _found(cells)
    if found is None:
        return
    now, before = _both(found)
    plain = abs(before - 0.5) >= PLAIN_BOUNCE
    gain = abs(before - 0.5) - abs(now - 0.5)
    late = before > 0.5
    yield Look(
        chance=_either_way(found),
        better=gain > 0.0 and plain,
        worth=plain and min(gain, abs(found.rise)) >= LEAST_BOUNCE and (found.rise < 0.0) == late,
        sentence=(
            f"The roll ran evener: {bounce_words(now)} this week, {bounce_words(before)} in the four weeks "
            "before, at the same tempos."
        ),
        nearest=f"the roll, {bounce_words(now)} this week and {bounce_words(before)} {BEFORE}",
    )


def bounce_words(bounce: float) -> str:
    """Name a bounce as its two eighths in hundredths, such as "56:44"."""
    first = round(100.0 * bounce)
    return f"{first}:{100 - first}"


def _lean_words(lean_ms: float, click: str = "it") -> str:
    if round(abs(lean_ms)) == 0:
        return f"on {click}"
    return f"{abs(lean_ms):.0f} ms {'ahead of' if lean_ms < 0 else 'behind'} {click}"


def _either_way(found: Difference) -> float:
    """Which way is better was chosen by what was seen, so both ways count."""
    return min(2.0 * min(found.chance_rise, found.chance_fall), 1.0)


def _found(cells: Sequence[Cell]) -> Difference | None:
    found = difference(cells, counts=False)
    if found is None or not enough_days(found):
        return None
    return found if min(found.later_number, found.earlier_number) >= FEWEST_COUNTED else None


def _both(found: Difference) -> tuple[float, float]:
    return found.later_total / found.later_number, found.earlier_total / found.earlier_number


def _places(rows: Iterable[TempoDay]) -> list[tuple[tuple[int, int], str]]:
    """Lick, tempo and day of each row; of one lick, tempos that are near to one another are one."""
    items = ItemNumbers()
    return [((items.of(row.item), round(math.log(row.tempo_half_bpm) / TEMPO_STEP)), row.day) for row in rows]


def _cells(
    places: Iterable[tuple[tuple[int, int], str]], told: Iterable[_Told], week_begins: str
) -> list[Cell]:
    """One cell for each lick, tempo and day."""
    sums: dict[tuple[tuple[int, int], str], tuple[float, float]] = {}
    for place, (passes, mean) in zip(places, told, strict=True):
        if mean is not None and passes:
            number, total = sums.get(place, (0.0, 0.0))
            sums[place] = number + passes, total + passes * mean
    return [
        Cell(stratum, day, day >= week_begins, number, total)
        for (stratum, day), (number, total) in sums.items()
    ]
