"""What became of a pass: plain verdicts, stored by routines and filled by the judges in feedback.

The words are those of the trade and of the screens: landed, early, late, wrong, missed ("not heard"),
unclear; resolved, ahead, late, octave, hanging. Deviations are heard minus due, late is positive.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Verdict = Literal["landed", "early", "late", "wrong", "missed", "unclear"]
Resolution = Literal["resolved", "ahead", "late", "octave", "hanging", "unclear", "none"]


@dataclass(frozen=True, slots=True, kw_only=True)
class NoteVerdict:
    """What became of one target.

    Attributes
    ----------
    index : int
        Place in the lick's notes.
    onset_sec : float or None
        When it was due in the take; None where no start was found.
    heard_midi : int or None
    deviation_ms, rest_ms : float or None
        Heard minus due, before and after lean, bounce and (where it applies) drift are taken off.
    """

    index: int
    onset_sec: float | None
    midi: int
    string: int
    fret: int
    role: str
    core: bool
    verdict: Verdict
    heard_midi: int | None
    deviation_ms: float | None
    rest_ms: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Extra:
    """A sure note that no target claims; `foreign` to the chord and the drone, or not."""

    onset_sec: float
    midi: int
    foreign: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class SeventhVerdict:
    """What became of one flat seven (or, in the same words, one chord's third).

    `sounded`, `landed`, `swallowed` and `due` are None where the listener could not tell.
    `resolution_ms` is heard minus asked place.
    """

    index: int
    chord: str
    next_chord: str
    midi: int
    sounded: bool | None
    landed: bool | None
    swallowed: bool | None
    due: bool | None
    due_midi: int | None
    resolution: Resolution
    resolved_midi: int | None
    resolution_ms: float | None
    as_asked: bool | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Timing:
    """Timing of a pass, each habit apart.

    Attributes
    ----------
    lean_ms : float or None
        Median deviation on odd eighths; None where the start was found from the take.
    bounce : float or None
        Where the even eighth falls between its neighbours, 0.5 is half way; None with too few notes.
    spread_ms : float or None
    drift_percent : float or None
        Positive is rushing; None while a click was on.
    hurry_at_change_ms : float or None
        Mean rest of the resolution and the two notes before it, negative is early.
    tempo_course : tuple of (float, float)
        Seconds and half notes a minute.
    """

    lean_ms: float | None
    bounce: float | None
    spread_ms: float | None
    drift_percent: float | None
    hurry_at_change_ms: float | None
    tempo_course: tuple[tuple[float, float], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class PassOutcome:
    """All verdicts on one pass. `clean` is None where the pass counts neither way."""

    lick: str
    key: str
    tempo_half_bpm: float
    start_sec: float | None
    start_found: bool
    clean: bool | None
    notes: tuple[NoteVerdict, ...]
    extras: tuple[Extra, ...]
    sevenths: tuple[SeventhVerdict, ...]
    thirds: tuple[SeventhVerdict, ...]
    timing: Timing
