"""What is looked at to find what got better: whether guide tones sounded, landed, were swallowed, resolved.

A *look* is one comparison of the last seven days with the four weeks before them. Only what stands in both
is compared, lick by lick; and where the licks were played slower than before, there is no look at all: what
is easier is not better.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from operator import attrgetter

from routines.journal.records import GuideDay, Item, TempoDay, Voice
from routines.progress.chances import Cell, Difference, difference
from routines.progress.names import guide_tone

FEWEST_WEEK_DAYS = 3
FEWEST_BEFORE_DAYS = 5
"""On fewer days than these, one good or bad day decides."""
FEWEST_COUNTED = 12
"""In each stretch: three turns of four passes."""
ALL_SEVENS_WEIGHT = 2.0
LEAST_SHARE = 0.10
"""Ten points: less is not felt, and is told in no sentence."""
SLOWER = 0.03
"""Licks that were played slower by more than this are not compared: an eased tempo mends most things."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Look:
    """One comparison.

    Attributes
    ----------
    chance : float
        How often chance alone would make it look as much better, or more: 0 to 1.
    better : bool
        Whether it looks better at all.
    worth : bool
        Whether it looks better by so much that it is worth saying.
    sentence : str
        What is said if it is the one.
    nearest : str
        The same in few words, for where it may be chance: what it is, its number this week, and that before.
    weight : float
        How much of the risk to say what is not so it may take: what is looked at all together has more to
        go by than one chord or one lick, and is what a player who gets on does better.
    """

    chance: float
    better: bool
    worth: bool
    sentence: str
    nearest: str
    weight: float = 1.0


@dataclass(frozen=True, slots=True)
class _Measure:
    """What is counted of a guide tone: of which number, which way is better, and its words."""

    name: str
    of: str
    falls: bool
    words: str


BEFORE = "in the four weeks before"
_Row = tuple[int, GuideDay]
"""With the number of its item."""

_MEASURES: Mapping[Voice, tuple[_Measure, ...]] = {
    "seven": (
        _Measure("resolved", "falls_told", False, "resolved"),
        _Measure("landed", "told", False, "landed"),
        _Measure("sounded", "told", False, "was heard"),
        _Measure("swallowed", "told", True, "was swallowed by the roll"),
    ),
    "third": (_Measure("resolved", "falls_told", False, "went on"),),
}
_ALL_SEVENS = {"was heard": "were heard", "was swallowed by the roll": "were swallowed by the roll"}


def guide_looks(
    guide_days: Sequence[GuideDay], tempo_days: Iterable[TempoDay], week_begins: str
) -> Iterator[Look]:
    """Look at each chord's seven and third, and at all sevens together where there are several chords.

    Parameters
    ----------
    guide_days, tempo_days : sequence
        Of the last seven days and the four weeks before them.
    week_begins : str
        The first of the last seven days.
    """
    items = ItemNumbers()
    tempos = _Tempos(tempo_days, items, week_begins)
    by_chord: dict[tuple[str, Voice], list[_Row]] = defaultdict(list)
    for row in guide_days:
        by_chord[row.chord, row.voice].append((items.of(row.item), row))
    of_all: dict[str, list[Cell]] = defaultdict(list)
    for (chord, voice), rows in sorted(by_chord.items()):
        name = f"{guide_tone(chord, voice)} over {chord}"
        for measure in _MEASURES[voice]:
            cells = _cells(rows, measure, week_begins)
            of_all[measure.name] += cells if voice == "seven" else []
            yield from _look(cells, measure, f"{name} {measure.words}", tempos)
    if sum(voice == "seven" for _, voice in by_chord) > 1:
        for measure in _MEASURES["seven"]:
            words = _ALL_SEVENS.get(measure.words, measure.words)
            for look in _look(of_all[measure.name], measure, f"Flat sevens {words}", tempos):
                yield replace(look, weight=ALL_SEVENS_WEIGHT)


class ItemNumbers:
    """Numbers that stand for items: an item is dear to look up, and stands in thousands of rows."""

    def __init__(self) -> None:
        self.numbers: dict[Item, int] = {}
        self._last: tuple[Item | None, int] = None, -1

    def of(self, item: Item) -> int:
        """The number of an item, from 0; rows of one item mostly follow one another."""
        last, number = self._last
        if item is not last:
            number = self.numbers.setdefault(item, len(self.numbers))
            self._last = item, number
        return number


def enough_days(found: Difference) -> bool:
    """Whether both stretches have days enough to be compared."""
    return found.later_days >= FEWEST_WEEK_DAYS and found.earlier_days >= FEWEST_BEFORE_DAYS


def _look(cells: Sequence[Cell], measure: _Measure, words: str, tempos: _Tempos) -> Iterator[Look]:
    found = difference(cells, counts=True)
    if found is None or not enough_days(found):
        return
    if min(found.later_number, found.earlier_number) < FEWEST_COUNTED or tempos.eased(cells):
        return
    shares = found.later_total / found.later_number, found.earlier_total / found.earlier_number
    sign = -1.0 if measure.falls else 1.0
    gains = (sign * found.rise, sign * (shares[0] - shares[1]))
    whole = sum(cell.number for cell in cells) == found.later_number + found.earlier_number
    now = f"{found.later_total:.0f} of {found.later_number:.0f} times this week"
    before = f"{found.earlier_total:.0f} of {found.earlier_number:.0f}"
    yield Look(
        chance=found.chance_fall if measure.falls else found.chance_rise,
        better=min(gains) > 0.0,
        worth=min(gains) >= LEAST_SHARE,
        sentence=(
            f"{words} {now}, {before} in the four weeks before"
            f"{'' if whole else ', in what was played in both'}."
        ),
        nearest=f"{words.replace('Flat', 'flat')} {now} and {before} {BEFORE}",
    )


def _cells(rows: Iterable[_Row], measure: _Measure, week_begins: str) -> list[Cell]:
    falls, hits = measure.of == "falls_told", attrgetter(measure.name)
    cells = []
    for item, row in rows:
        told = row.due - row.unclear_falls if falls else row.asked - row.unclear
        if told > 0:
            stratum = item, row.chord, row.next_chord
            cells.append(Cell(stratum, row.day, row.day >= week_begins, told, hits(row)))
    return cells


class _Tempos:
    """At which tempos items were played in the two stretches."""

    def __init__(self, tempo_days: Iterable[TempoDay], items: ItemNumbers, week_begins: str) -> None:
        self._logs: dict[tuple[int, bool], tuple[float, int]] = {}
        for row in tempo_days:
            at = items.of(row.item), row.day >= week_begins
            log, passes = self._logs.get(at, (0.0, 0))
            self._logs[at] = log + row.passes * math.log(row.tempo_half_bpm), passes + row.passes

    def eased(self, cells: Iterable[Cell]) -> bool:
        """Whether what was counted was played slower in the later stretch.

        All that is compared is asked at once, never lick by lick: to leave out the licks that were eased
        would keep those that just went well.
        """
        numbers: dict[int, list[float]] = defaultdict(lambda: [0.0, 0.0])
        for stratum, _, is_later, number, _ in cells:
            numbers[stratum[0]][is_later] += number  # type: ignore[index]
        sums = [0.0, 0.0]
        for item, (there, here) in numbers.items():
            later, earlier = self._logs.get((item, True)), self._logs.get((item, False))
            if later is None or earlier is None:
                continue
            weight = here * there / (here + there)
            sums[0] += weight * (later[0] / later[1] - earlier[0] / earlier[1])
            sums[1] += weight
        return bool(sums[1]) and sums[0] < sums[1] * math.log(1.0 - SLOWER)
