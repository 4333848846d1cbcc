"""The days of a fortnight: which of them are missed, what is sat down to and when, and for how long.

A sitting begins with a warm-up, the one that the program would choose; then come licks, each for as long as
the player has patience or the ladder time. Everything follows from the seed, the last day and the journal.
"""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta, timezone
from pathlib import Path

from feedback.performing import Asked
from feedback.remembered import Remembered
from feedback.settings import load as settings
from feedback.warmup_choice import choice_for
from routines.library import load
from routines.warmups.table import warm_up
from tests.bench.fortnight_player import HURRY, Invented, Known
from tests.bench.fortnight_practice import Clock, Doing, Practised, practise

ZONE = timezone(timedelta(hours=1))
PLAYER = str(settings([])["player"])
MISSED = 2
"""Days of fourteen on which nothing is played; never the first or the last."""
SECOND_SITTING = 0.35
MORNING, EVENING = time(7, 40), time(19, 20)
LICK_MIN = (3.5, 10.5)
HANDS_OVER_FIRST = 1.5
"""True edge on the steps of a warm-up, against the tempo at which it begins for whom nothing is known."""

REPERTOIRE = (
    Known(lick="slab-wood-supper", edge_share=0.72, gain=0.12, habit="seven-swallowed"),
    Known(lick="tally-stick", edge_share=0.66, gain=0.15),
    Known(lick="cant-hook-shuffle", edge_share=0.62, gain=0.10, habit=HURRY),
    Known(lick="two-strokes-and-turn", edge_share=0.95, gain=0.03),
    Known(lick="kiln-door-ajar", edge_share=0.50, gain=0.20, from_day=4),
    Known(lick="envelope-with-my-name", loop="change", edge_share=0.80, gain=0.08),
    Known(lick="one-tooth-sings", way="traffic", edge_share=0.65, gain=0.08),
)
"""Several changes and keys, one under a capo, one loop, one in traffic."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Fortnight:
    """What is asked for.

    Attributes
    ----------
    folder : pathlib.Path
        Where the journal is left.
    seed : int
    days : int
        1 or more.
    last : datetime.date
    share : float
        Of the usual time for each lick: less for a short look.
    """

    folder: Path
    seed: int = 0
    days: int = 14
    last: date
    share: float = 1.0

    def come(self, day: int) -> float:
        """How much of it is over on a day from 0."""
        return day / max(1, self.days - 1)

    def ended(self) -> datetime:
        """The moment when it is over."""
        return datetime.combine(self.last, time(23), ZONE)

    def date_of(self, day: int) -> date:
        """The date of a day from 0."""
        return self.last - timedelta(days=self.days - 1 - day)


def practised(fortnight: Fortnight) -> Iterator[Practised]:
    """Practise through all of it, one practice after the other; the journal grows meanwhile."""
    rng = random.Random(fortnight.seed)
    missed = missed_days(fortnight.days, rng)
    for day in range(fortnight.days):
        if day not in missed:
            yield from _Day(fortnight, day, rng).practised()


def missed_days(days: int, rng: random.Random) -> set[int]:
    """Days from 0 on which nothing is played."""
    inner = range(1, days - 1)
    return set(rng.sample(inner, min(len(inner), round(MISSED * days / 14))))


class _Day:
    def __init__(self, fortnight: Fortnight, day: int, rng: random.Random) -> None:
        self._fortnight, self._day, self._rng = fortnight, day, rng
        self._player = Invented(rng, fortnight.come(day))

    def practised(self) -> Iterator[Practised]:
        rng = self._rng
        known = [one for one in REPERTOIRE if one.from_day <= self._day]
        chosen = rng.sample(known, min(len(known), rng.choice((3, 3, 4, 4, 5))))
        yield from self._sitting(MORNING, chosen, warm_ups=rng.choice((1, 1, 2)))
        if rng.random() < SECOND_SITTING:
            yield from self._sitting(EVENING, rng.sample(known, rng.randint(1, 2)), warm_ups=1)

    def _sitting(self, at: time, licks: list[Known], *, warm_ups: int) -> Iterator[Practised]:
        rng = self._rng
        begins = datetime.combine(self._fortnight.date_of(self._day), at, ZONE)
        clock = Clock(begins + timedelta(seconds=rng.randint(-1200, 1200)))
        for one in (*(None,) * warm_ups, *licks):
            yield practise(self._doing(one, clock))
            clock.goes_on(rng.uniform(20.0, 70.0))

    def _doing(self, known: Known | None, clock: Clock) -> Doing:
        about = Remembered(folder=self._fortnight.folder, player=PLAYER, source="sim", now=clock.now)
        if known is None:
            name = choice_for(about, clock.now())
            asked = Asked(whole=warm_up(name).steps(0)[0].lick, values=settings([]), warm_up=name)
            planned, most_sec = HANDS_OVER_FIRST * warm_up(name).first_half_bpm, 900.0
        else:
            lick = load(known.lick)
            asked = Asked(whole=lick, values=settings([]), loop=known.loop, way=known.way)
            planned = known.edge_half_bpm(lick.top_tempo_half_bpm, self._fortnight.come(self._day))
            most_sec = 60.0 * self._rng.uniform(*LICK_MIN)
        return Doing(
            asked=asked,
            about=about,
            clock=clock,
            player=self._player,
            known=known,
            planned_half_bpm=planned,
            sat_sec=clock.seconds,
            most_sec=most_sec * self._fortnight.share,
        )
