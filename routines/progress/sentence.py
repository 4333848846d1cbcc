"""What got better this week, in one sentence that the data supports, else that it cannot be told yet.

The problem: whoever looks at thirty numbers finds one that rose. So the last seven days are held against the
four weeks before them in every way that can be told, each look knows how often chance alone would make it
look so much better, and the likeliest to be true is said only where it would still be rare among so many
looks (Bonferroni's rule, each look by its weight: Holm 1979, section 4), and where it is big enough to be
worth saying. For a player who does not change, fewer than one week in twenty says something: measured by
`tests.bench.better`. Where nothing stands out, what comes nearest is told as what it is: it may be chance.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, timedelta

from routines.journal.records import GuideDay, TempoDay
from routines.progress.level_looks import level_looks
from routines.progress.looks import FEWEST_BEFORE_DAYS, FEWEST_WEEK_DAYS, Look, guide_looks
from routines.progress.timing_looks import timing_looks

WEEK_DAYS = 7
BEFORE_DAYS = 28
RARE = 0.06
"""The risk that all looks share. Less comes of it, since looks hang together and small gains are not said: of
players who do not change, something was said in 1 to 2 weeks of a hundred, and in 4 of those whose days
differ twice as much as is thought here."""
NEAR = 0.1
"""What chance makes more often than this is near to nothing."""
PLENTY_PASSES = 100
"""In a week: whoever plays so many and more is not helped by being asked for more."""

_CANNOT = "It cannot tell yet what got better: "


def compared_days(today: date) -> tuple[str, str, str]:
    """Return the first day of the four weeks before, the first of the last seven days, and today.

    Parameters
    ----------
    today : datetime.date
    """
    week = today - timedelta(days=WEEK_DAYS - 1)
    return (week - timedelta(days=BEFORE_DAYS)).isoformat(), week.isoformat(), today.isoformat()


def better_this_week(
    tempo_days: Sequence[TempoDay],
    guide_days: Sequence[GuideDay],
    titles: Mapping[str, str],
    today: date,
    *,
    only_guides: bool = False,
) -> str:
    """Say what got better.

    Parameters
    ----------
    tempo_days : sequence of TempoDay
    guide_days : sequence of GuideDay
        Both of the days that `compared_days` names; others are left out.
    titles : mapping of str to str
        A lick's id to its title.
    today : datetime.date
    only_guides : bool
        Whether only guide tones are looked at, neither tempos nor timing: where a chord is asked for.

    Returns
    -------
    str
        One sentence; where it cannot be told, a second one with what comes nearest.
    """
    first, week_begins, last = compared_days(today)
    tempos = [row for row in tempo_days if first <= row.day <= last]
    missing = _missing({row.day for row in tempos}, week_begins)
    if missing:
        return f"{_CANNOT}{missing}."
    guides = [row for row in guide_days if first <= row.day <= last]
    looks = list(guide_looks(guides, tempos, week_begins))
    if not only_guides:
        looks += [*level_looks(tempos, titles, week_begins), *timing_looks(tempos, week_begins)]
    plenty = sum(row.passes for row in tempos if row.day >= week_begins) >= PLENTY_PASSES
    return best(looks, plenty=plenty)


def _missing(days: set[str], week_begins: str) -> str:
    """What there is too little of, in words; empty where there is enough to begin with."""
    week = sum(day >= week_begins for day in days)
    before = len(days) - week
    if not week:
        return "nothing was played in the last seven days"
    if not before:
        return "there is nothing from the four weeks before this one to compare with"
    stretches = (
        ("this week has", week, FEWEST_WEEK_DAYS),
        ("the four weeks before this one have", before, FEWEST_BEFORE_DAYS),
    )
    return "; ".join(
        f"{has} {_days(days)} of practice, and it takes at least {least}"
        for has, days, least in stretches
        if days < least
    )


def best(looks: Sequence[Look], *, plenty: bool) -> str:
    """Say what stands out, else what comes nearest.

    Parameters
    ----------
    looks : sequence of Look
    plenty : bool
        Whether so much was played that more would not help.
    """
    if not looks:
        return f"{_CANNOT}nothing was played often enough, at the same tempos, both this week and before it."
    risk = RARE / sum(look.weight for look in looks)
    sure = [look for look in looks if look.worth and look.chance <= risk * look.weight]
    if sure:
        return min(sure, key=lambda look: look.chance / look.weight).sentence
    things = f"{len(looks)} things" if len(looks) > 1 else "one thing"
    if not any(look.better for look in looks):
        return (
            f"Nothing got better this week that it can tell: it compared {things} with the four weeks before."
        )
    more = "" if plenty else "; more passes tell more"
    near = [look for look in looks if look.better and look.worth and look.chance <= NEAR]
    if near:
        nearest = min(near, key=lambda look: look.chance).nearest
        return (
            f"It cannot tell yet what got better, of {things} compared. Nearest: {nearest}; that may be "
            f"chance yet{more}."
        )
    return f"{_CANNOT}it compared {things} with the four weeks before, and what differs may be chance{more}."


def _days(number: int) -> str:
    return "1 day" if number == 1 else f"{number} days"
