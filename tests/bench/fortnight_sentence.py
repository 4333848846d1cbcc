"""The sentence of `progress` after each week, and whether the truth supports it.

What the player's chances were is known for every pass, so what is said of two stretches can be held against
the mean chance in both: of what was played, at the tempos at which it was played. Edges, lean and spread are
held against the plan.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from statistics import fmean

from routines.journal.journal import Journal
from routines.progress.names import item_name
from routines.progress.progress import progress
from routines.progress.sentence import WEEK_DAYS
from tests.bench.fortnight_days import PLAYER, REPERTOIRE, Fortnight
from tests.bench.fortnight_player import SPOILS, Known
from tests.bench.fortnight_practice import Done, Practised
from tests.bench.fortnight_tables import item_of

_OF_SEVENS = re.compile(
    r"(?:Flat sevens|\S+ over (?P<chord>\S+)) (?P<what>resolved|went on|landed|w\w+ heard|w\w+ swallowed)"
)
_WHAT = {"resolved": "resolved", "went on": "resolved", "landed": "landed"}
_SILENT = ("It cannot tell", "Nothing got better")


@dataclass(frozen=True, slots=True, kw_only=True)
class Said:
    """What was said on a day.

    Attributes
    ----------
    day : str
    sentence : str
    truth : str
        What is true of what was said, with the mean of the weeks before and that of this week.
    supported : bool or None
        None where nothing was said to have got better.
    """

    day: str
    sentence: str
    truth: str
    supported: bool | None


def said_each_week(fortnight: Fortnight, practices: Sequence[Practised]) -> list[Said]:
    """What was said at the end of each whole week."""
    found = []
    for week in range(1, fortnight.days // WEEK_DAYS + 1):
        today = fortnight.last - timedelta(days=fortnight.days - WEEK_DAYS * week)
        with Journal.open(fortnight.folder, now=fortnight.ended, writes=False) as kept:
            sentence = progress(kept, PLAYER, today).sentence
            titles = kept.titles(PLAYER)
        found.append(held(sentence, practices, today, titles))
    return found


def held(sentence: str, practices: Sequence[Practised], today: date, titles: Mapping[str, str]) -> Said:
    """Hold a sentence against the truth.

    Parameters
    ----------
    sentence : str
        As `progress` tells it on `today`.
    practices : sequence of Practised
    today : datetime.date
    titles : mapping of str to str
        A lick's id to its title.
    """
    begins = (today - timedelta(days=WEEK_DAYS - 1)).isoformat()
    weeks = _Weeks(practices, begins, today.isoformat())
    day = today.isoformat()
    if sentence.startswith(_SILENT):
        return Said(day=day, sentence=sentence, truth=weeks.edges(), supported=None)
    of_sevens = _OF_SEVENS.match(sentence)
    if of_sevens:
        before, now = weeks.sevens(
            of_sevens["chord"], _WHAT.get(of_sevens["what"]) or of_sevens["what"].split()[-1]
        )
        better = now < before
        return Said(
            day=day,
            sentence=sentence,
            truth=f"true chance of that slip {before:.0%} > {now:.0%}",
            supported=better,
        )
    for part, measure in _MEASURES.items():
        if part in sentence:
            before, now = weeks.mean(measure)
            better = abs(now) < abs(before)
            return Said(
                day=day, sentence=sentence, truth=f"true mean {before:.1f} > {now:.1f} ms", supported=better
            )
    named = [
        one
        for one in REPERTOIRE
        if sentence.startswith(item_name(item_of(one), titles.get(one.lick, one.lick)))
    ]
    if named:
        before, now = weeks.edge(named[-1])
        truth = f"true edge {before:.1f} > {now:.1f}, {now / before - 1.0:+.0%}" if before else ""
        return Said(day=day, sentence=sentence, truth=truth, supported=now > before)
    rise = weeks.rise()
    return Said(day=day, sentence=sentence, truth=f"the true edges rose by {rise:.0%}", supported=rise > 0.0)


_MEASURES: dict[str, Callable[[Done], float]] = {
    "spread": lambda one: one.truth.jitter_ms,
    "the click": lambda one: one.truth.lean_ms,
}


class _Weeks:
    """The passes of the last week, and those before."""

    def __init__(self, practices: Sequence[Practised], begins: str, until: str) -> None:
        kept = [one for one in practices if one.day <= until]
        self._before = [one for one in kept if one.day < begins]
        self._now = [one for one in kept if one.day >= begins]

    def mean(self, measure: Callable[[Done], float]) -> tuple[float, float]:
        before, now = ([measure(one) for practice in half for one in practice.done] for half in self._halves)
        return fmean(before), fmean(now)

    def edge(self, known: Known) -> tuple[float, float]:
        """Mean true edge of the days on which it was practised; nothing where that was not in both."""
        before, now = ([one.edge_half_bpm for one in half if one.known == known] for half in self._halves)
        return (fmean(before), fmean(now)) if before and now else (0.0, 0.0)

    def rise(self) -> float:
        """By which share the edges of whole licks rose, the mean of those that were practised both times."""
        wholes = [self.edge(one) for one in REPERTOIRE if not (one.loop or one.way)]
        return fmean([now / before - 1.0 for before, now in wholes if before] or [0.0])

    def edges(self) -> str:
        """By how much each edge truly rose, in words."""
        rises = []
        for one in REPERTOIRE:
            before, now = self.edge(one)
            if before:
                rises.append(f"{one.lick} {now / before - 1.0:+.0%}")
        return "true edges: " + ", ".join(rises) if rises else ""

    def sevens(self, chord: str | None, what: str) -> tuple[float, float]:
        """Mean chance that a pass has this spoilt."""
        before, now = (
            [
                sum(chance for slip, chance in one.truth.chances.items() if slip in SPOILS[what])
                for practice in half
                for one in practice.done
                if one.over.judged.outcome.sevenths
                and (chord is None or chord in {seven.chord for seven in one.over.judged.outcome.sevenths})
            ]
            for half in self._halves
        )
        return (fmean(before), fmean(now)) if before and now else (0.0, 0.0)

    @property
    def _halves(self) -> tuple[list[Practised], list[Practised]]:
        return self._before, self._now
