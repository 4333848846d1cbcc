"""What the journal holds: a pass with all its verdicts, and the totals of a day.

Conventions: a *day* is the player's own, by the clock on their wall, as "2026-11-29"; moments are aware
datetimes. An *item* is what a tempo belongs to: a lick in a key, all of it or one unit of it. A *voice* is
one of the two guide tones of a seventh chord: its flat seven or its third. Whatever counts neither way
(unclear) is counted apart, so that a rate is one sum over another.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from routines.outcome import PassOutcome

Source = Literal["mic", "sim", "file"]
Voice = Literal["seven", "third"]


@dataclass(frozen=True, slots=True, order=True)
class Item:
    """What is practised.

    Attributes
    ----------
    lick : str
        A lick's id; of a warm-up's step "warm-up/NAME/STEP".
    key : str
        As it sounds.
    unit : str
        Empty for all of the lick; else "change", "change2", "2", "2-3" (a loop, as `--loop` names it),
        "traffic", "form 8", "form 16".
    """

    lick: str
    key: str
    unit: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class PassRecord:
    """A finished pass: one that was listened to from its beginning to its end.

    Attributes
    ----------
    id : str
        Its own for ever: "PRACTICE/TURN/PART/NUMBER". What is imported twice is there once.
    sitting : str
        Id of the sitting in which it was played.
    player : str
    source : Source
        Who was heard: a microphone, the simulated player, or a recording.
    ended_at : datetime
        Aware; its offset is the player's own, so that its date is the day.
    lasted_sec : float
        With the rest bars after it; of minutes practised this is a share.
    item : Item
    title : str
        The lick's, for whoever reads the journal without the lick.
    routine : str
        Name of the warm-up that it was part of; empty for none.
    heard : bool
        Whether any note was heard at all; a pass that nobody played is stored, and stands in no total.
    moved_ms : float
        How far the round trip moved meanwhile.
    click : str
        A row of `feedback.clicking.CLICKS`.
    window : str
        The judges' window by which it was judged: "loose", "usual", "tight".
    outcome : PassOutcome
    """

    id: str
    sitting: str
    player: str
    source: Source
    ended_at: datetime
    lasted_sec: float
    item: Item
    title: str
    routine: str = ""
    heard: bool = True
    moved_ms: float = 0.0
    click: str = "halves"
    window: str = "usual"
    outcome: PassOutcome

    @property
    def day(self) -> str:
        """The player's own day on which it ended."""
        return self.ended_at.date().isoformat()


@dataclass(frozen=True, slots=True, kw_only=True)
class TempoDay:
    """All passes of one item at one tempo on one day.

    Attributes
    ----------
    day : str
    item : Item
    tempo_half_bpm : float
    passes, clean, unclean, unclear : int
        `passes` is the sum of the other three; an unclear pass counted neither way.
    seconds : float
    notes, landed : int
        Of notes that were not unclear.
    lean_ms, bounce, spread_ms : float or None
        Means over the passes in which they could be told.
    lean_passes, bounce_passes, spread_passes : int
        How many those were.
    """

    day: str
    item: Item
    tempo_half_bpm: float
    passes: int
    clean: int
    unclean: int
    unclear: int
    seconds: float
    notes: int
    landed: int
    lean_ms: float | None
    lean_passes: int
    bounce: float | None
    bounce_passes: int
    spread_ms: float | None
    spread_passes: int


@dataclass(frozen=True, slots=True, kw_only=True)
class GuideDay:
    """What became of one guide tone of one chord in one item on one day.

    Attributes
    ----------
    day : str
    item : Item
    chord, next_chord : str
        As they sound; `next_chord` is empty where none follows.
    voice : Voice
    asked : int
        How often it was asked for.
    unclear : int
        How often it could not be told whether it sounded; the next three do not count those.
    sounded, landed, swallowed : int
    due : int
        How often it was due to go somewhere.
    resolved, ahead, late, octave, hanging, unclear_falls : int
        Where it went; `unclear_falls` of those that were due.
    as_asked : int
        How often it went as the lick writes it.
    """

    day: str
    item: Item
    chord: str
    next_chord: str
    voice: Voice
    asked: int
    unclear: int
    sounded: int
    landed: int
    swallowed: int
    due: int
    resolved: int
    ahead: int
    late: int
    octave: int
    hanging: int
    unclear_falls: int
    as_asked: int


@dataclass(frozen=True, slots=True, kw_only=True)
class LevelsDay:
    """Home, edge and reach of an item at the end of a day on which it was practised.

    Attributes
    ----------
    day : str
    item : Item
    home_half_bpm, edge_half_bpm, reach_half_bpm : float or None
        Half notes a minute; None where it could not be told yet.
    """

    day: str
    item: Item
    home_half_bpm: float | None
    edge_half_bpm: float | None
    reach_half_bpm: float | None
