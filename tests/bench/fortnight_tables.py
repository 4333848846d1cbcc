"""A fortnight as tables: its days, each lick as the journal has it, and where the ladder stood.

Conventions: tempos are half notes a minute. A share is of the true edge of that day, hands warm.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from datetime import date
from itertools import pairwise
from statistics import fmean, median

from routines.journal.journal import Journal
from routines.journal.records import Item
from routines.ladder.rules import LADDER
from routines.library import load
from tests.bench.fortnight_days import PLAYER, REPERTOIRE, Fortnight
from tests.bench.fortnight_player import Known, home_over_edge
from tests.bench.fortnight_practice import Done, Practised


def name_of(known: Known) -> str:
    """A short name."""
    return " ".join(filter(None, (known.lick, known.loop, known.way)))


def item_of(known: Known) -> Item:
    """As the journal has it."""
    return Item(known.lick, load(known.lick).key, known.loop or known.way)


def true_edge(known: Known, come: float) -> float:
    """By the plan, without the form of the day."""
    return known.edge_half_bpm(load(known.lick).top_tempo_half_bpm, come)


def days_table(practices: Sequence[Practised]) -> Iterator[str]:
    """A line a day."""
    yield f"{'day':12s} practices  minutes  passes  clean  slip-free, called not clean   licks"
    by_day: dict[str, list[Practised]] = defaultdict(list)
    for one in practices:
        by_day[one.day].append(one)
    for day, of_day in by_day.items():
        done = [one for practice in of_day for one in practice.done]
        told = [clean for one in done if (clean := one.over.judged.outcome.clean) is not None]
        free = [one for one in done if not spoilt(one)]
        blamed = sum(one.over.judged.outcome.clean is False for one in free)
        minutes = sum(one.minutes for one in of_day)
        licks = sorted({name_of(one.known) for one in of_day if one.known is not None})
        yield (
            f"{day:12s} {len(of_day):9d}  {minutes:7.0f}  {len(done):6d}  {_share(told):>5s}  "
            f"{blamed:10d} of {len(free):4d}{'':12s} {', '.join(licks)}"
        )


def licks_table(fortnight: Fortnight, practices: Sequence[Practised]) -> Iterator[str]:
    """What the journal says at the end, beside the truth."""
    yield (
        f"{'':30s} passes  clean   true edge   journal  off   true home  journal  reach"
        "   falls  shrinks  above reach"
    )
    with Journal.open(fortnight.folder, now=fortnight.ended, writes=False) as kept:
        for known in REPERTOIRE:
            of_lick = [one for one in practices if one.known == known]
            if of_lick:
                yield _lick_row(fortnight, known, of_lick, kept)


def ladder_table(practices: Sequence[Practised]) -> Iterator[str]:
    """Where the ladder began and ended each time: share of that day's true edge."""
    yield f"{'':30s} began>ended, in hundredths of the day's true edge (* the program ended it: ten minutes)"
    for known in REPERTOIRE:
        ends = [_ends(one) for one in practices if one.known == known]
        if ends:
            yield f"{name_of(known):30s} {'  '.join(ends)}"
    later = [_began(one) for known in REPERTOIRE for one in _days_after_first(practices, known)]
    if later:
        low, high = min(later), max(later)
        yield (
            f"after its first day a lick began at {median(later):.0%} of the true edge "
            f"({low:.0%} to {high:.0%}; the rule: {LADDER.start_share:.0%} of the edge as known)"
        )
    turns = [back for one in practices if one.known is not None for back in _turned_back(one)]
    yield f"changes of direction in ten turns: {10.0 * fmean(turns):.1f}" if turns else ""


def spoilt(one: Done) -> bool:
    """Whether anything went wrong, in truth, that the judges are to call not clean."""
    return bool(set(one.truth.slips) & set(one.truth.chances))


def _lick_row(fortnight: Fortnight, known: Known, of_lick: Sequence[Practised], kept: Journal) -> str:
    done = [one for practice in of_lick for one in practice.done]
    told = [clean for one in done if (clean := one.over.judged.outcome.clean) is not None]
    said = [event.seen.said for one in of_lick for event in one.ladder]
    whole = [one for one in done if one.request.span is None or known.loop]
    reach = 1.0 + LADDER.rise_share
    above = sum(one.request.tempo_half_bpm > one.truth.edge_half_bpm * reach for one in whole)
    first, last = (true_edge(known, come) for come in (fortnight.come(known.from_day), 1.0))
    cells = [
        f"{name_of(known):30s} {len(done):6d}  {_share(told):>5s}  {first:4.0f} >{last:4.0f}",
        _journal_cells(fortnight, known, kept, last * home_over_edge()),
        f"{sum('down to' in one for one in said):7d}",
        f"{sum('the change by itself' in one for one in said):7d}",
        f"{above / max(1, len(whole)):11.0%}",
    ]
    return "  ".join(cells)


def _journal_cells(fortnight: Fortnight, known: Known, kept: Journal, home_half_bpm: float) -> str:
    """What the journal says: edge and how far that is off on the day of which it is said, home, reach."""
    levels = kept.levels_days(PLAYER, item=item_of(known))
    now = next((one for one in reversed(levels) if one.edge_half_bpm is not None), None)
    if now is None:
        return f"{'-':>7s}  {'-':>4s}  {home_half_bpm:9.0f}  {'-':>7s}  {'-':>5s}"
    home, edge, reach = (one or 0.0 for one in (now.home_half_bpm, now.edge_half_bpm, now.reach_half_bpm))
    of = fortnight.days - 1 - (fortnight.last - date.fromisoformat(now.day)).days
    off = edge / true_edge(known, fortnight.come(of)) - 1.0
    return f"{edge:7.0f}  {off:+4.0%}  {home_half_bpm:9.0f}  {home:7.0f}  {reach:5.0f}"


def _climbed(practice: Practised) -> list[float]:
    """The tempos of its turns of the whole, but for the closing pass."""
    tempos = []
    for told, after in zip(practice.ladder, [*practice.ladder[1:], None], strict=True):
        if told.seen.phase == "climbing" and told.seen.unit == "whole" and after is not None:
            tempos.append(told.seen.tempo_half_bpm)
    return tempos


def _began(practice: Practised) -> float:
    return practice.ladder[0].seen.tempo_half_bpm / practice.edge_half_bpm


def _ends(practice: Practised) -> str:
    tempos = _climbed(practice) or [practice.ladder[0].seen.tempo_half_bpm]
    over = "*" if practice.ladder[-1].seen.phase != "climbing" else ""
    return f"{100.0 * _began(practice):.0f}>{100.0 * tempos[-1] / practice.edge_half_bpm:.0f}{over}"


def _days_after_first(practices: Sequence[Practised], known: Known) -> list[Practised]:
    of_lick = [one for one in practices if one.known == known]
    return [one for one in of_lick if one.day > of_lick[0].day]


def _turned_back(practice: Practised) -> list[float]:
    """Of each turn but the first ones: 1 where the tempo went the other way than it went last."""
    steps = [float((after > before) - (after < before)) for before, after in pairwise(_climbed(practice))]
    found, last = [], 0.0
    for step in steps:
        found.append(float(bool(step and last and step != last)))
        last = step or last
    return found


def _share(told: Sequence[bool]) -> str:
    return f"{fmean(told):.0%}" if told else "-"
