"""What is written: a lick as target notes over chord spans.

Musical time is in quarters from the downbeat of bar 1 (a pickup is negative), tempo is in half notes a
minute; an eighth `e` lasts 15 / tempo seconds. MIDI numbers are sounding pitch; frets are read as if there
were no capo. Targets are never heard notes: what was heard lives in another type, in another package.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from routines.chords import ChordSpan
from routines.neck import Neck

Technique = Literal["pick", "hammer", "pull", "slide", "choke"]
Role = Literal["root", "third", "fifth", "seven", "drone", "passing"]
Hand = Literal["easy", "ready", "quick"]
Kind = Literal["lick", "roll", "drill"]
How = Literal["resolve", "octave", "colour"]
Use = Literal["", "kick-off", "turnaround", "fill", "ending", "backup"]

QUARTERS_A_BAR = {"2/2": 4.0, "3/4": 3.0}
"""The meters that a lick may have."""

SLURS = frozenset({"hammer", "pull", "slide"})
"""Techniques that begin a pitch without a pick stroke of their own."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TargetNote:
    """One note that the lick asks for.

    Attributes
    ----------
    onset_quarters, duration_quarters : float
        Where it begins, and how long until the next note of the lick begins or the lick ends.
    midi : int
        Sounding pitch asked for; of a slide or a choke, the pitch that is to be reached.
    string : int
        5 to 1, as players count: 5 is the short drone string, 4 the lowest.
    fret : int
        As typed in the tab, as if there were no capo.
    finger : str
        T, I or M; empty for a slurred note.
    technique : Technique
    role : Role
        Function over the chord of the moment; an open fifth string is a drone unless the lick marks it.
    core : bool
        Whether a clean pass needs it (verdicts: a clean pass).
    from_midi : int or None
        Where a slide or a choke begins.
    """

    onset_quarters: float
    duration_quarters: float
    midi: int
    string: int
    fret: int
    finger: str = ""
    technique: Technique = "pick"
    role: Role = "passing"
    core: bool = False
    from_midi: int | None = None

    @property
    def picked(self) -> bool:
        """Whether a finger of the right hand starts it: also a slide inside its own eighth."""
        return self.technique not in SLURS or bool(self.finger)


@dataclass(frozen=True, slots=True, kw_only=True)
class Ask:
    """Where the lick asks one guide tone (a flat seven, or a chord's third) to go.

    Attributes
    ----------
    note : int
        Index of the guide tone in `Lick.notes`.
    chord, next_chord : str
        Symbols; `next_chord` is empty where none follows.
    change_quarters : float or None
        The downbeat of the next chord.
    how : How
        "resolve": to `due_midi` at `place_quarters`; "octave": its pitch class in another octave there;
        "colour": nothing is asked but to sound and land.
    due_midi : int or None
        The pitch that this very note would fall (or rise) to, in its own octave; None where colour.
    place_quarters : float or None
        Where the lick asks for the due note; None where colour.
    due_note : int or None
        Index in `Lick.notes` of the due note that is written there.
    marked : bool
        Whether the lick's text marks it. A marked third spoils a pass; an unmarked one spoils nothing.
    """

    note: int
    chord: str
    next_chord: str
    change_quarters: float | None
    how: How
    due_midi: int | None
    place_quarters: float | None
    due_note: int | None
    marked: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Lick:
    """A lick, a roll or a drill, whole.

    Attributes
    ----------
    id, title, key, trains, file : str
        `trains` says in a player's words what it is good for; `file` is where it was read.
    kind : Kind
    meter : str
        A key of `QUARTERS_A_BAR`.
    bars : int
        Full bars, the pickup not counted.
    pickup_quarters : float
        How long before bar 1 the lick begins; 0 without a pickup.
    neck : Neck
        Tuning, capo and fifth string.
    hand : Hand
    top_tempo_half_bpm : float
    chords : tuple of ChordSpan
        In order, without gaps, over the whole lick.
    notes : tuple of TargetNote
        By onset, then by pitch.
    sevenths, thirds : tuple of Ask
        One for each flat seven, and for each chord's third that leads somewhere.
    use : Use
        Where in a tune it belongs; empty where it may stand anywhere.
    """

    id: str
    title: str
    key: str
    trains: str
    file: str
    kind: Kind
    meter: str
    bars: int
    pickup_quarters: float
    neck: Neck
    hand: Hand
    top_tempo_half_bpm: float
    chords: tuple[ChordSpan, ...]
    notes: tuple[TargetNote, ...]
    sevenths: tuple[Ask, ...]
    thirds: tuple[Ask, ...]
    use: Use = ""

    @property
    def quarters_a_bar(self) -> float:
        """Length of a bar in quarters."""
        return QUARTERS_A_BAR[self.meter]

    @property
    def end_quarters(self) -> float:
        """The bar line after the last bar."""
        return self.bars * self.quarters_a_bar


def quarter_sec(tempo_half_bpm: float) -> float:
    """How long a quarter lasts, in seconds, at a tempo in half notes a minute."""
    return 30.0 / tempo_half_bpm
