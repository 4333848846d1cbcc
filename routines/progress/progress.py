"""Progress of one player: questions to the journal, and their answers put together.

The journal is asked for sums, never for every day: ten years of practice are answered as fast as a week.
Only the five weeks that the sentence compares, and one lick that is asked for by itself, are read day by day.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import groupby
from operator import attrgetter
from typing import TYPE_CHECKING

from routines.journal.records import GuideDay, Item, LevelsDay, TempoDay
from routines.progress.asked import Asked
from routines.progress.items import LEVELS_HOLD_DAYS, in_order, item_of, keys_of, warm_ups_of
from routines.progress.names import warm_up_of, whole_title
from routines.progress.sentence import WEEK_DAYS, better_this_week, compared_days
from routines.progress.sums import chords_of
from routines.progress.types import (
    LEVELS_SHOWN,
    ItemProgress,
    Progress,
    TempoPoint,
    WeekMinutes,
)

if TYPE_CHECKING:
    from routines.journal.journal import Journal
    from routines.journal.sums import ItemSum

WEEKS = 12
"""Of the span, where no other is asked for: what was longer ago says little about today."""
WEEKS_LEAST = 2
"""However short the time since the first practice: an axis of fewer days shows no course of anything."""
WEEKS_MOST = 1040
"""Twenty years."""
ITEMS_OVER_TIME = 16
"""So many licks and parts of licks, those practised most, have their home and edge told over the whole span;
the others over the last weeks in which they were practised."""
WEEKS_SHOWN = 26
"""So many weeks have their minutes told one by one at most."""
_POINT_DAYS = 7 * 52
_ITEM = attrgetter("item")


def progress(
    journal: Journal,
    player: str,
    today: date,
    *,
    lick: str | None = None,
    key: str | None = None,
    chord: str | None = None,
    weeks: int | None = None,
    with_points: bool = False,
) -> Progress:
    """Tell a player's progress.

    Parameters
    ----------
    journal : Journal
    player : str
    today : datetime.date
        The player's own day.
    lick, key, chord : str, optional
        One of them at most: only what belongs to it, as `routines.progress.asked.Asked` has it.
    weeks : int, optional
        Length of the span, 1 to `WEEKS_MOST`; `WEEKS` where left out. Weeks before the first practice are
        left out, but for `WEEKS_LEAST`.
    with_points : bool
        Whether to tell what was played at which tempo of more licks than one that is asked for: of those
        practised most.

    Returns
    -------
    Progress
        Of a player without a pass: nothing, and a sentence that says so.
    """
    asked = Asked(lick=lick, key=key, chord=chord)
    ever = _Kept(journal, player, asked, today.isoformat())
    span = _span(today, WEEKS if weeks is None else weeks, ever.began)
    sums = ever.sums_since(span.first)
    guides = ever.guides_since(span.first)
    items = _items(journal, player, span, sums, guides, ever, with_points=with_points or lick is not None)
    licks = in_order([one for one in items if not warm_up_of(one.item.lick)])
    told_weeks = _weeks(journal, player, span, ever)
    return Progress(
        player=player,
        asked_for=next(filter(None, (lick, key, chord)), ""),
        asked_kind=asked.kind,
        first_day=span.first,
        today=span.last,
        minutes_week=told_weeks[-1].minutes,
        minutes_span=_minutes(sums),
        minutes_all=_minutes(ever.sums),
        passes_week=told_weeks[-1].passes,
        passes_span=_passes(sums),
        passes_all=_passes(ever.sums),
        began=ever.began,
        items=licks,
        warm_ups=warm_ups_of(items),
        keys=keys_of(licks),
        chords=chords_of(guides),
        weeks=told_weeks,
        sentence=_sentence(journal, player, today, ever),
    )


@dataclass(frozen=True, slots=True)
class _Span:
    """First day and today."""

    first: str
    last: str
    weeks: int
    today: date


class _Kept:
    """What was ever practised, and of that what belongs to what is asked for."""

    def __init__(self, journal: Journal, player: str, asked: Asked, until: str) -> None:
        self._journal, self._player, self._asked, self._until = journal, player, asked, until
        self._with_chord: set[Item] | None = None
        self._guides: list[GuideDay] = []
        if asked.chord is not None:
            self._guides = journal.guide_sums(player, until=until)
            self._with_chord = {row.item for row in self._guides if row.chord == asked.chord}
        self.sums = self.items(journal.item_sums(player, until=until))
        self.began = min((one.first_day for one in self.sums), default="")
        self.titles = {lick: whole_title(title) for lick, title in journal.titles(player).items()}
        self.only_guides = asked.chord is not None

    def fits(self, item: Item) -> bool:
        """Whether an item belongs to it."""
        return self._asked.fits(item) if self._with_chord is None else item in self._with_chord

    def items(self, sums: Iterable[ItemSum]) -> list[ItemSum]:
        """Those that belong to it."""
        return [one for one in sums if self.fits(one.item)]

    def sums_since(self, day: str) -> list[ItemSum]:
        """Sums of items from a day on."""
        if self.began >= day:
            return self.sums
        return self.items(self._journal.item_sums(self._player, since=day, until=self._until))

    def guides_since(self, day: str) -> list[GuideDay]:
        """Sums of guide tones from a day on."""
        if self._guides and self.began >= day:
            return self.guides(self._guides)
        return self.guides(self._journal.guide_sums(self._player, since=day, until=self._until))

    def guides(self, rows: Iterable[GuideDay]) -> list[GuideDay]:
        """Those that belong to it; rows of one item stand together."""
        chord = self._asked.chord
        mine = (row for item, some in groupby(rows, key=_ITEM) if self.fits(item) for row in some)
        return [row for row in mine if chord in (None, row.chord)]


def _span(today: date, weeks: int, began: str) -> _Span:
    """So many weeks, of those before the first practice only such as it takes to see anything."""
    if began:
        practised = (today - date.fromisoformat(began)).days // WEEK_DAYS + 1
        weeks = min(weeks, max(practised, WEEKS_LEAST))
    first = today - timedelta(days=WEEK_DAYS * weeks - 1)
    return _Span(first.isoformat(), today.isoformat(), weeks, today)


def _items(
    journal: Journal,
    player: str,
    span: _Span,
    sums: Sequence[ItemSum],
    guides: Iterable[GuideDay],
    ever: _Kept,
    *,
    with_points: bool,
) -> list[ItemProgress]:
    clean_ever = {one.item: one.clean for one in ever.sums}
    by_item: dict[Item, list[GuideDay]] = defaultdict(list)
    for row in guides:
        by_item[row.item].append(row)
    most = {one.item for one in sorted(sums, key=lambda one: -one.seconds)[:ITEMS_OVER_TIME]}
    levels = _levels(journal, player, span, sums, most)
    return [
        item_of(
            one,
            ever.titles.get(one.item.lick, one.item.lick),
            clean_ever.get(one.item, one.clean),
            levels[one.item],
            by_item[one.item],
            _points(journal, player, one.item, span) if with_points and one.item in most else (),
        )
        for one in sums
    ]


def _levels(
    journal: Journal, player: str, span: _Span, sums: Sequence[ItemSum], most: set[Item]
) -> dict[Item, list[LevelsDay]]:
    """Home and edge over time: of what was practised most over the whole span, of the rest at its end."""
    found: dict[Item, list[LevelsDay]] = {one.item: [] for one in sums}
    ends = journal.last_levels(player, LEVELS_HOLD_DAYS, since=span.first, until=span.last)
    for item, days in groupby(ends, key=_ITEM):
        if item in found and item not in most:
            found[item] = list(days)
    for item in most:
        found[item] = journal.levels_days(
            player, item=item, since=span.first, until=span.last, most=LEVELS_SHOWN
        )
    return found


def _points(journal: Journal, player: str, item: Item, span: _Span) -> tuple[TempoPoint, ...]:
    since = max(span.first, (span.today - timedelta(days=_POINT_DAYS)).isoformat())
    return tuple(
        TempoPoint(
            day=row.day,
            tempo_half_bpm=row.tempo_half_bpm,
            passes=row.passes,
            clean=row.clean,
            unclean=row.unclean,
        )
        for row in journal.tempo_days(player, item=item, since=since, until=span.last)
    )


def _weeks(journal: Journal, player: str, span: _Span, ever: _Kept) -> tuple[WeekMinutes, ...]:
    many = min(span.weeks, WEEKS_SHOWN)
    firsts = [span.today - timedelta(days=WEEK_DAYS * ago - 1) for ago in range(many, 0, -1)]
    week_of = {
        (first + timedelta(days=at)).isoformat(): number
        for number, first in enumerate(firsts)
        for at in range(WEEK_DAYS)
    }
    mine = {one.item for one in ever.sums}
    seconds, passes = [0.0] * many, [0] * many
    for item, rows in groupby(
        journal.day_sums(player, since=firsts[0].isoformat(), until=span.last), key=_ITEM
    ):
        if item in mine:
            for row in rows:
                seconds[week_of[row.day]] += row.seconds
                passes[week_of[row.day]] += row.passes
    return tuple(
        WeekMinutes(first_day=first.isoformat(), minutes=seconds[at] / 60.0, passes=passes[at])
        for at, first in enumerate(firsts)
    )


def _sentence(journal: Journal, player: str, today: date, ever: _Kept) -> str:
    first, _, last = compared_days(today)
    tempos: list[TempoDay] = journal.tempo_days(player, since=first, until=last)
    guides = journal.guide_days(player, since=first, until=last)
    return better_this_week(
        [row for item, rows in groupby(tempos, key=_ITEM) if ever.fits(item) for row in rows],
        ever.guides(guides),
        ever.titles,
        today,
        only_guides=ever.only_guides,
    )


def _minutes(sums: Iterable[ItemSum]) -> float:
    return sum(one.seconds for one in sums) / 60.0


def _passes(sums: Iterable[ItemSum]) -> int:
    return sum(one.passes for one in sums)
