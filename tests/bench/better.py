"""What got better this week: how often something is said of players who do not change, and of those who do.

A simulated player practises for five weeks: some days a week, some licks a day, turns of four passes at
tempos that climb with clean turns and fall with unclean ones. Each day and each turn has a form of its own,
so that passes are no independent witnesses; each seven, fall, spread and clean pass is drawn from chances
that depend on the tempo. In the last week something is better, worse, or the same. Counted is in how many of
these weeks `better_this_week` says something, and whether it names what was changed.
"""

from __future__ import annotations

import argparse
import math
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date, timedelta

import numpy as np

from routines.journal.records import GuideDay, Item, TempoDay
from routines.ladder.levels import chance_clean
from routines.progress.sentence import better_this_week

HELP = "what got better this week: said how often of players who do not change, and of those who do"

_TODAY = date(2026, 11, 29)
_CHANGES = (("D7", "G"), ("A7", "D"), ("E7", "A"), ("G7", "C"))
_SLOPE = 0.08


@dataclass(frozen=True, slots=True, kw_only=True)
class Week:
    """What the last week is like, against the four before it; all of it 0: a player who does not change.

    Attributes
    ----------
    resolved, landed, swallowed, sounded : float
        Added to the chance, for the sevens of D7.
    all_landed : float
        The same for every seven.
    edge, all_edges : float
        Share by which the edge of one lick, or of all, is higher.
    spread, lean_ms, bounce : float
        Share by which spread is less; what is taken off lean and bounce.
    slower : float
        Share by which everything is played slower.
    """

    resolved: float = 0.0
    landed: float = 0.0
    swallowed: float = 0.0
    sounded: float = 0.0
    all_landed: float = 0.0
    edge: float = 0.0
    all_edges: float = 0.0
    spread: float = 0.0
    lean_ms: float = 0.0
    bounce: float = 0.0
    slower: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Habit:
    """How a player practises.

    Attributes
    ----------
    days_a_week, licks_a_day, turns : float
        Means; `turns` is of one lick on one day.
    licks : int
    form : float
        Scale of the form of day and turn, 1 is usual.
    climbs_from : float
        Of the edge, where the ladder began five weeks ago.
    """

    days_a_week: float = 5.5
    licks_a_day: int = 4
    turns: int = 3
    licks: int = 8
    form: float = 1.0
    climbs_from: float = 0.9


@dataclass(slots=True)
class _Lick:
    item: Item
    chord: str
    next_chord: str
    edge_half_bpm: float
    tempo_half_bpm: float


@dataclass(slots=True)
class _Sums:
    """Of one day: tempo rows and guide rows by what they are of."""

    tempos: dict[tuple[Item, float], list[tuple[bool, float, float, float]]] = field(
        default_factory=lambda: defaultdict(list)
    )
    guides: dict[tuple[Item, str, str, str], np.ndarray] = field(
        default_factory=lambda: defaultdict(lambda: np.zeros(5, int))
    )


def practised(rng: np.random.Generator, habit: Habit, week: Week) -> tuple[list[TempoDay], list[GuideDay]]:
    """Five weeks of one player, as the totals of their days."""
    licks = []
    for number in range(habit.licks):
        chord, next_chord = _CHANGES[number % len(_CHANGES)]
        edge = float(rng.uniform(70, 110))
        item = Item(f"lick-{number}", next_chord)
        licks.append(_Lick(item, chord, next_chord, edge, edge * habit.climbs_from))
    tempos: list[TempoDay] = []
    guides: list[GuideDay] = []
    for ago in range(34, -1, -1):
        if rng.random() > habit.days_a_week / 7.0:
            continue
        day = (_TODAY - timedelta(days=ago)).isoformat()
        sums = _Sums()
        form = rng.normal(0.0, habit.form, 5)
        for number in rng.permutation(habit.licks)[: habit.licks_a_day]:
            lick = licks[number]
            for _ in range(max(1, rng.poisson(habit.turns))):
                _turn(rng, lick, form, habit, week if ago < 7 else Week(), sums, first=number == 0)
        tempos += _tempo_rows(day, sums)
        guides += _guide_rows(day, sums)
    return tempos, guides


def _turn(
    rng: np.random.Generator,
    lick: _Lick,
    form: np.ndarray,
    habit: Habit,
    week: Week,
    sums: _Sums,
    *,
    first: bool,
) -> None:
    tempo = round(lick.tempo_half_bpm * (1.0 - week.slower))
    here = form + rng.normal(0.0, habit.form, 5)
    edge = lick.edge_half_bpm * (1.0 + week.all_edges) * (1.0 + (week.edge if first else 0.0))
    over = math.log(tempo / edge) - 0.025 * here[0]
    clean = [bool(rng.random() < chance_clean(over, _SLOPE)) for _ in range(4)]
    for passed in clean:
        spread = 20.0 * (1.0 - week.spread) * math.exp(0.07 * here[1] + 0.2 * rng.normal() + 0.5 * over)
        lean = -18.0 + week.lean_ms + 3.0 * here[2] + 4.0 * rng.normal()
        bounce = 0.56 - week.bounce + 0.006 * here[3] + 0.015 * rng.normal() - 0.1 * over
        sums.tempos[lick.item, float(tempo)].append((passed, spread, lean, bounce))
        _sevens(rng, lick, over, here, week, sums)
    lick.tempo_half_bpm *= {4: 1.04, 3: 1.04, 2: 1.0}.get(sum(clean), 0.92)


def _sevens(
    rng: np.random.Generator, lick: _Lick, over: float, here: np.ndarray, week: Week, sums: _Sums
) -> None:
    of_d7 = 1.0 if lick.chord == "D7" else 0.0
    ease = 0.35 * here[4] - 3.0 * over  # in logits, over everything that can go astray
    row = sums.guides[lick.item, lick.chord, lick.next_chord, "seven"]
    for _ in range(2):
        sounded = rng.random() < _eased(0.93, ease, of_d7 * week.sounded)
        swallowed = sounded and rng.random() < 1.0 - _eased(0.85, ease, of_d7 * week.swallowed)
        landed = (
            sounded
            and not swallowed
            and rng.random() < _eased(0.78, ease, of_d7 * week.landed + week.all_landed)
        )
        resolved = sounded and rng.random() < _eased(0.70, ease, of_d7 * week.resolved)
        row += (1, sounded, landed, swallowed, resolved)
    third = rng.random() < _eased(0.75, ease, 0.0)
    sums.guides[lick.item, lick.chord, lick.next_chord, "third"] += (1, 1, 1, 0, third)


def _eased(chance: float, ease: float, more: float) -> float:
    chance = min(chance + more, 0.99)
    return 1.0 / (1.0 + (1.0 - chance) / chance * math.exp(-ease))


def _tempo_rows(day: str, sums: _Sums) -> Iterator[TempoDay]:
    for (item, tempo), passes in sums.tempos.items():
        clean = sum(one[0] for one in passes)
        spread, lean, bounce = (float(np.mean([one[n] for one in passes])) for n in (1, 2, 3))
        yield TempoDay(
            day=day, item=item, tempo_half_bpm=tempo, passes=len(passes), clean=clean,
            unclean=len(passes) - clean, unclear=0, seconds=8.0 * len(passes), notes=16 * len(passes),
            landed=14 * len(passes), lean_ms=lean, lean_passes=len(passes), bounce=bounce,
            bounce_passes=len(passes), spread_ms=spread, spread_passes=len(passes),
        )  # fmt: skip


def _guide_rows(day: str, sums: _Sums) -> Iterator[GuideDay]:
    for (item, chord, next_chord, voice), row in sums.guides.items():
        asked, sounded, landed, swallowed, resolved = (int(value) for value in row)
        yield GuideDay(
            day=day, item=item, chord=chord, next_chord=next_chord, voice=voice, asked=asked, unclear=0,
            sounded=sounded, landed=landed, swallowed=swallowed, due=sounded, resolved=resolved, ahead=0,
            late=0, octave=0, hanging=sounded - resolved, unclear_falls=0, as_asked=resolved,
        )  # fmt: skip


UNCHANGED = {
    "as usual": (Habit(), Week()),
    "three days a week, one turn": (Habit(days_a_week=3.5, licks_a_day=3, turns=1), Week()),
    "one lick only": (Habit(licks=1, licks_a_day=1, turns=5), Week()),
    "twenty licks": (Habit(licks=20, licks_a_day=6, turns=2), Week()),
    "form twice as wayward": (Habit(form=2.0), Week()),
    "ladder began at 60 %": (Habit(climbs_from=0.6), Week()),
    "plays 15 % slower": (Habit(), Week(slower=0.15)),
    "worse all over": (Habit(), Week(resolved=-0.2, all_landed=-0.2, all_edges=-0.1, spread=-0.3)),
}
"""Players who do not get better: what is said of these is false."""

CHANGED = {
    **{f"D7 resolved +{n} points": (Week(resolved=n / 100), "C over D7 resolved") for n in (10, 20, 29)},
    **{f"D7 landed +{n} points": (Week(landed=n / 100), "C over D7 landed") for n in (10, 21)},
    **{f"all sevens landed +{n} points": (Week(all_landed=n / 100), " landed ") for n in (10, 20)},
    **{f"one edge +{n} %": (Week(edge=n / 100), "edge") for n in (5, 10, 20)},
    **{f"all edges +{n} %": (Week(all_edges=n / 100), "edge") for n in (5, 10, 15)},
    **{f"spread -{n} %": (Week(spread=n / 100), "spread") for n in (10, 20, 30)},
    **{f"lean -18 to {n - 18} ms": (Week(lean_ms=n), "the click") for n in (8, 14)},
    **{f"bounce 56 to {56 - n}": (Week(bounce=n / 100), "The roll") for n in (2, 4)},
}
"""Players who do, and a part of the sentence that names it."""


def said(habit: Habit, week: Week, weeks: int, seed: int) -> list[str]:
    """What is said of so many weeks, empty where nothing is."""
    sentences = []
    for number in range(weeks):
        tempos, guides = practised(np.random.default_rng((seed, number)), habit, week)
        sentence = better_this_week(tempos, guides, {}, _TODAY)
        silent = sentence.startswith(("It cannot tell", "Nothing got better"))
        sentences.append("" if silent else sentence)
    return sentences


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare what can be typed after the bench's name."""
    parser.add_argument("--weeks", type=int, default=400, help="of each player (default 400)")
    parser.add_argument("--seed", type=int, default=9)


def run(args: argparse.Namespace) -> int:
    """Print the table."""
    print(f"weeks of each player: {args.weeks}\n\nplayers who do not get better{'':<12}  something said, %")
    for name, (habit, week) in UNCHANGED.items():
        found = said(habit, week, args.weeks, args.seed)
        print(f"  {name:<38} {100 * sum(map(bool, found)) / len(found):18.1f}", flush=True)
    print(f"\nplayers who do{'':<26} something said, %  and it names it, %")
    for name, (week, part) in CHANGED.items():
        found = said(Habit(), week, args.weeks, args.seed + 1)
        named = sum(part in sentence for sentence in found)
        shares = 100 * sum(map(bool, found)) / len(found), 100 * named / len(found)
        print(f"  {name:<38} {shares[0]:18.1f}  {shares[1]:18.1f}", flush=True)
    return 0
