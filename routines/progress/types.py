"""What progress is told as: what each lick, warm-up, key and chord has come to, plain facts for every reader.

Conventions: a *span* is the days that are looked at, from `first_day` to `today`; all counts and means are of
the span, home, edge and reach are those of its end. A rate is None where too few were counted to tell one;
the counts it was made of always stand beside it. Chords and keys are named as they sound. Deviations are
heard minus due: a negative lean lies ahead of the click. A bounce of 0.5 is even.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from routines.journal.records import Item, LevelsDay, Voice

HowFar = Literal["", "new to you", "in hand", "jam-ready"]
AskedKind = Literal["", "lick", "key", "chord"]

FEWEST_TO_RATE = 4
"""A rate of fewer says more about chance than about the player: one turn of passes has four."""


@dataclass(frozen=True, slots=True, kw_only=True)
class GuideCounts:
    """What became of guide tones; each attribute as in `routines.journal.records.GuideDay`."""

    asked: int = 0
    unclear: int = 0
    sounded: int = 0
    landed: int = 0
    swallowed: int = 0
    due: int = 0
    resolved: int = 0
    ahead: int = 0
    late: int = 0
    octave: int = 0
    hanging: int = 0
    unclear_falls: int = 0
    as_asked: int = 0

    @property
    def told(self) -> int:
        """How often it could be told whether it sounded; sounded, landed, swallowed are counted of it."""
        return self.asked - self.unclear

    @property
    def falls_told(self) -> int:
        """How often it could be told where a due one went: what the resolutions are counted of."""
        return self.due - self.unclear_falls

    @property
    def sounded_rate(self) -> float | None:
        """Share of those told that sounded, 0 to 1."""
        return _rate(self.sounded, self.told)

    @property
    def landed_rate(self) -> float | None:
        """Share of those told that landed, 0 to 1."""
        return _rate(self.landed, self.told)

    @property
    def swallowed_rate(self) -> float | None:
        """Share of those told that the roll swallowed, 0 to 1."""
        return _rate(self.swallowed, self.told)

    @property
    def resolved_rate(self) -> float | None:
        """Share of the falls told that resolved in their place and octave, 0 to 1."""
        return _rate(self.resolved, self.falls_told)


@dataclass(frozen=True, slots=True, kw_only=True)
class TempoPoint:
    """What was played of one item at one tempo on one day: a mark in a chart.

    Attributes
    ----------
    day : str
    tempo_half_bpm : float
    passes, clean, unclean : int
        Unclear passes are in `passes` only.
    """

    day: str
    tempo_half_bpm: float
    passes: int
    clean: int
    unclean: int


@dataclass(frozen=True, slots=True, kw_only=True)
class ItemProgress:
    """How far one lick, or a part of it, has come.

    Attributes
    ----------
    item : Item
    title : str
        The lick's; its id where no title is stored.
    passes, clean, unclean : int
        Unclear passes are in `passes` only.
    minutes : float
    last_day : str
        On which it was practised.
    how_far : HowFar
        Empty for a part of a lick.
    top_half_bpm : float or None
        Top tempo of the lick; None where it does not come with the program.
    home_half_bpm, edge_half_bpm, reach_half_bpm : float or None
        Half notes a minute, at the end of the span; None where it cannot be told yet.
    levels : tuple of LevelsDay
        Home and edge over time, oldest first, at most `LEVELS_SHOWN` days, the first and last among them; of
        licks that many others were practised more than, only the last four weeks.
    points : tuple of TempoPoint
        What was played at which tempo, day by day; only where progress is asked of this one lick.
    guides, thirds : GuideCounts
        Of its flat sevens, and of its chords' thirds.
    lean_ms, bounce, spread_ms : float or None
        Means over the passes in which they could be told.
    """

    item: Item
    title: str
    passes: int
    clean: int
    unclean: int
    minutes: float
    last_day: str
    how_far: HowFar
    top_half_bpm: float | None
    home_half_bpm: float | None
    edge_half_bpm: float | None
    reach_half_bpm: float | None
    levels: tuple[LevelsDay, ...]
    points: tuple[TempoPoint, ...] = ()
    guides: GuideCounts
    thirds: GuideCounts
    lean_ms: float | None
    bounce: float | None
    spread_ms: float | None

    @property
    def levels_told(self) -> tuple[LevelsDay, ...]:
        """Those of `levels` on which home and edge could be told."""
        return tuple(
            day for day in self.levels if day.home_half_bpm is not None and day.edge_half_bpm is not None
        )

    @property
    def levels_as_of(self) -> str:
        """The day of the newest home and edge, where it was practised on later days; else empty."""
        told = self.levels_told
        return told[-1].day if told and told[-1].day < self.last_day else ""


@dataclass(frozen=True, slots=True, kw_only=True)
class WarmUpProgress:
    """How much of one warm-up was played; its sevens count in chords as well, but in no key."""

    name: str
    passes: int
    clean: int
    minutes: float
    last_day: str


@dataclass(frozen=True, slots=True, kw_only=True)
class KeyProgress:
    """How far the licks of one key have come.

    Attributes
    ----------
    key : str
    licks, jam_ready : int
        How many of its licks were practised in the span, and how many of those are jam-ready.
    passes, clean, unclean : int
    minutes : float
    guides : GuideCounts
        Of flat sevens.
    home_share : float or None
        Median of its licks' homes against their top tempos; None where no home is known.
    """

    key: str
    licks: int
    jam_ready: int
    passes: int
    clean: int
    unclean: int
    minutes: float
    guides: GuideCounts
    home_share: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class ChordProgress:
    """What became of one guide tone of one chord.

    Attributes
    ----------
    chord : str
        As it sounds, such as "D7".
    voice : Voice
        "seven" or "third".
    tone : str
        The guide tone, spelled: "C".
    falls_to : tuple of str
        Each next chord that it was due into, most often first, with the tone it goes to: "G: B".
    guides : GuideCounts
    """

    chord: str
    voice: Voice
    tone: str
    falls_to: tuple[str, ...]
    guides: GuideCounts


@dataclass(frozen=True, slots=True, kw_only=True)
class WeekMinutes:
    """Minutes of one week of the span; `first_day` is the first of its seven days."""

    first_day: str
    minutes: float
    passes: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Progress:
    """All that is told of one player's practice.

    Attributes
    ----------
    player : str
    asked_for : str
        The lick, key or chord that progress was asked of, in words; empty for all.
    asked_kind : AskedKind
        Which of the three that is; empty for all.
    first_day, today : str
        The span, both inclusive; whole weeks.
    minutes_week, minutes_span, minutes_all : float
        Of the last seven days, of the span, and of all days.
    passes_week, passes_span, passes_all : int
    began : str
        The first day on which anything of it was practised; empty where there is nothing.
    items : tuple of ItemProgress
        Licks by minutes, most first; the parts of a lick stand behind it.
    warm_ups : tuple of WarmUpProgress
        By minutes, most first.
    keys : tuple of KeyProgress
        Those in which a lick was practised, by minutes, most first.
    chords : tuple of ChordProgress
        By how often they were asked for, most first; a chord's seven, then its third.
    weeks : tuple of WeekMinutes
        Oldest first, the last one ends today; without a gap.
    sentence : str
        What got better this week, or that it cannot be told.
    """

    player: str
    asked_for: str
    first_day: str
    today: str
    minutes_week: float
    minutes_span: float
    minutes_all: float
    passes_week: int
    passes_span: int
    passes_all: int
    began: str
    items: tuple[ItemProgress, ...]
    warm_ups: tuple[WarmUpProgress, ...]
    keys: tuple[KeyProgress, ...]
    chords: tuple[ChordProgress, ...]
    weeks: tuple[WeekMinutes, ...]
    sentence: str
    asked_kind: AskedKind = ""


LEVELS_SHOWN = 120
"""So many days of home and edge are shown at most: more than that are not told apart in a picture."""


def _rate(hits: int, of: int) -> float | None:
    return hits / of if of >= FEWEST_TO_RATE else None
