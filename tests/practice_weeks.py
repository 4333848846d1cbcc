"""Weeks of practice for tests of progress: passes as a journal takes them, from what shall come of them."""

from __future__ import annotations

import math
import random
from collections.abc import Iterator
from datetime import UTC, date, datetime, time, timedelta

from routines.journal.records import Item, PassRecord
from routines.ladder.levels import chance_clean
from routines.library import load
from routines.outcome import PassOutcome, Resolution, SeventhVerdict, Timing

TODAY = date(2026, 11, 29)


def seven(
    chord: str = "D7",
    next_chord: str = "G",
    *,
    sounded: bool | None = True,
    swallowed: bool | None = False,
    resolution: Resolution = "resolved",
) -> SeventhVerdict:
    """What became of one seven; where it sounded and was not swallowed it landed."""
    landed = None if sounded is None else sounded and not swallowed
    return SeventhVerdict(
        index=0,
        chord=chord,
        next_chord=next_chord,
        midi=60,
        sounded=sounded,
        landed=landed,
        swallowed=None if sounded is None else bool(swallowed),
        due=None if sounded is None else sounded,
        due_midi=59,
        resolution=resolution if sounded else "none",
        resolved_midi=None,
        resolution_ms=None,
        as_asked=None,
    )


def a_pass(
    number: int,
    item: Item,
    *,
    days_ago: int = 0,
    tempo: float = 80.0,
    clean: bool | None = True,
    sevens: tuple[SeventhVerdict, ...] = (),
    thirds: tuple[SeventhVerdict, ...] = (),
    player: str = "me",
    title: str = "",
    spread_ms: float | None = 18.0,
    lean_ms: float | None = -12.0,
    bounce: float | None = 0.56,
) -> PassRecord:
    """One pass of ten seconds on a day."""
    at = datetime.combine(TODAY - timedelta(days=days_ago), time(19), UTC)
    return PassRecord(
        id=f"{player}/{item.lick}/{item.key}/{item.unit}/{days_ago}/{number}",
        sitting=f"{player}/{days_ago}",
        player=player,
        source="sim",
        ended_at=at + timedelta(seconds=10 * number),
        lasted_sec=10.0,
        item=item,
        title=title or item.lick.replace("-", " ").title(),
        outcome=PassOutcome(
            lick=item.lick,
            key=item.key,
            tempo_half_bpm=tempo,
            start_sec=0.0,
            start_found=True,
            clean=clean,
            notes=(),
            extras=(),
            sevenths=sevens,
            thirds=thirds,
            timing=Timing(
                lean_ms=lean_ms,
                bounce=bounce,
                spread_ms=spread_ms,
                drift_percent=None,
                hurry_at_change_ms=None,
            ),
        ),
    )


CHANGES = {"slab-wood-supper": ("A7", "D"), "trimmers-choice": ("E7", "A"), "tally-stick": ("D7", "G")}
"""Licks of `weeks_of_practice`, and the change that each is given here."""


def weeks_of_practice(weeks: int = 6, *, seed: int = 1, player: str = "me") -> Iterator[PassRecord]:
    """A player who gets on: each lick on two days of three, three turns at tempos that climb slowly."""
    chance = random.Random(seed)
    number = 0
    for days_ago in range(7 * weeks - 1, -1, -1):
        come = 1.0 - days_ago / (7 * weeks)
        for name, (chord, next_chord) in CHANGES.items():
            if chance.random() < 0.34:
                continue
            lick = load(name)
            edge = lick.top_tempo_half_bpm * (0.6 + 0.3 * come) * math.exp(chance.gauss(0, 0.03))
            for turn in range(3):
                tempo = round(edge * (0.9 + 0.07 * turn))
                for _ in range(4):
                    number += 1
                    yield a_pass(
                        number,
                        Item(lick.id, next_chord, "change" if turn == 2 and days_ago % 5 == 0 else ""),
                        days_ago=days_ago,
                        tempo=tempo,
                        clean=chance.random() < chance_clean(math.log(tempo / edge), 0.06),
                        sevens=tuple(_drawn(chance, chord, next_chord, 0.6 + 0.3 * come) for _ in range(2)),
                        thirds=(_drawn(chance, chord, next_chord, 0.8),),
                        player=player,
                        title=lick.title,
                        spread_ms=chance.gauss(24 - 6 * come, 2),
                        lean_ms=chance.gauss(-12, 4),
                        bounce=chance.gauss(0.56, 0.01),
                    )


def _drawn(chance: random.Random, chord: str, next_chord: str, resolved: float) -> SeventhVerdict:
    went: Resolution = (
        "resolved" if chance.random() < resolved else chance.choice(("late", "hanging", "ahead"))
    )
    return seven(
        chord, next_chord, sounded=chance.random() < 0.95, swallowed=chance.random() < 0.08, resolution=went
    )
