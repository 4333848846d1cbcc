"""What was played: notes with onset, pitch, place, level, and how long each string rings.

The problem: judges, listener and demo need passes whose truth is known to the sample. A performance is that
truth; `as_heard` turns it into what a flawless listener would say, so that a judge's verdicts on it are the
truth of its verdicts on what was really heard.

Conventions: seconds of the take. A string rings until it is struck again or the hand leaves the shape: a
stopped note ends with the next note on its string or at the chord change, an open string rings on.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from listener.notes import NoteEvent
from routines.lick import Technique

OPEN_RINGS_SEC = 4.0
"""How long an open string that nobody strikes again is followed."""

_HEARD_SEC = 0.030
_SETTLED_SEC = 0.100
_STOPPED_LEAST_SEC = 0.060
_PATH_POINTS = 9


@dataclass(frozen=True, slots=True, kw_only=True)
class PlayedNote:
    """One note that was played.

    Attributes
    ----------
    onset_sec : float
        When its sound begins: the pick; or where a slurred pitch begins, of a slide: where the finger leaves.
    midi : int
        Sounding pitch; of a slide or choke, the one that is reached.
    string, fret : int
        As in `routines.lick.TargetNote`.
    how : Technique
    picked : bool
        Whether the right hand struck it (a slide may begin with a stroke, or go on from a sounding note).
    level_db : float
        Against a stroke at mezzo-forte, over the first 70 ms.
    duration_sec : float
        How long it rings, until its string is struck again, slurred to another pitch or left.
    from_midi : int or None
        Where a slide or a choke begins.
    arrive_sec : float or None
        When a slide or a choke reaches `midi`.
    let_down_sec : float or None
        When a choke begins to go back.
    """

    onset_sec: float
    midi: int
    string: int
    fret: int
    how: Technique = "pick"
    picked: bool = True
    level_db: float = 0.0
    duration_sec: float = OPEN_RINGS_SEC
    from_midi: int | None = None
    arrive_sec: float | None = None
    let_down_sec: float | None = None

    @property
    def sounds_sec(self) -> float:
        """When the pitch is there that an ear names: at its onset; of a slide in a slur, where it arrives."""
        slid = self.how == "slide" and not self.picked
        return self.arrive_sec if slid and self.arrive_sec is not None else self.onset_sec

    @property
    def struck_midi(self) -> int:
        """The pitch with which its sound begins: of a choke or a picked slide, where that begins."""
        return self.from_midi if self.picked and self.from_midi is not None else self.midi


@dataclass(frozen=True, slots=True, kw_only=True)
class Performance:
    """One pass as it was played.

    Attributes
    ----------
    notes : tuple of PlayedNote
        By onset, then by pitch.
    lick_id : str
        Empty where it follows no lick.
    tempo_half_bpm : float
    start_sec : float
        Downbeat of bar 1.
    mistakes : tuple of str
        Names of those that were made.
    seed : int
    open_midi : mapping of int to int
        String to the pitch of the open string, capo included.
    """

    notes: tuple[PlayedNote, ...]
    lick_id: str
    tempo_half_bpm: float
    start_sec: float
    mistakes: tuple[str, ...]
    seed: int
    open_midi: Mapping[int, int]


def as_heard(performance: Performance) -> list[NoteEvent]:
    """Return what a flawless listener says about a performance.

    A choke, and a slide that begins with a stroke, is an event at the pitch that was struck, with a path to
    the pitch that was reached; a slide out of a sounding note is an event at the pitch that it brings, when
    it arrives there.

    Parameters
    ----------
    performance : Performance

    Returns
    -------
    list of NoteEvent
        By onset. Levels are those played, not decibels of full scale.
    """
    return [
        NoteEvent(
            onset_sec=note.sounds_sec,
            midi=note.struck_midi,
            cents=0.0,
            level_db=note.level_db,
            confidence=1.0,
            heard_sec=note.sounds_sec + _HEARD_SEC,
            settled_sec=max(note.sounds_sec + _SETTLED_SEC, note.arrive_sec or 0.0),
            path=_path(note),
        )
        for note in sorted(performance.notes, key=lambda note: (note.sounds_sec, note.midi))
    ]


def rung(
    notes: Sequence[PlayedNote], lifts_sec: Sequence[float], rings_sec: float = OPEN_RINGS_SEC
) -> tuple[PlayedNote, ...]:
    """Give notes their durations: until the string is struck again, or the hand leaves a stopped string.

    Parameters
    ----------
    notes : sequence of PlayedNote
        Their durations are ignored.
    lifts_sec : sequence of float
        When the hand leaves a shape.
    rings_sec : float
        How long a string rings that nobody stops.

    Returns
    -------
    tuple of PlayedNote
        By onset, then by pitch.
    """
    found = []
    for string in {note.string for note in notes}:
        line = sorted((n for n in notes if n.string == string), key=lambda n: n.onset_sec)
        for note, after in zip(line, [*line[1:], None], strict=True):
            end = note.onset_sec + rings_sec
            if note.fret > 0:
                least = note.onset_sec + _STOPPED_LEAST_SEC
                end = min([end, *(max(lift, least) for lift in lifts_sec if lift > note.onset_sec)])
            if after is not None:
                end = min(end, after.onset_sec)
            found.append(replace(note, duration_sec=end - note.onset_sec))
    return tuple(sorted(found, key=lambda n: (n.onset_sec, n.midi)))


def _path(note: PlayedNote) -> tuple[tuple[float, float], ...]:
    """The pitch of a note that moves after its stroke, in cents against the struck pitch."""
    if note.struck_midi == note.midi or note.arrive_sec is None:
        return ()
    top = 100.0 * (note.midi - note.struck_midi)
    share = np.linspace(0.0, 1.0, _PATH_POINTS)
    cents = top * 0.5 * (1.0 - np.cos(np.pi * share))
    sec = note.onset_sec + share * (note.arrive_sec - note.onset_sec)
    path = [(float(s), float(c)) for s, c in zip(sec, cents, strict=True)]
    if note.let_down_sec is not None:
        path.append((note.let_down_sec, top))
        path.append((note.let_down_sec + (note.arrive_sec - note.onset_sec), 0.0))
    return tuple(path)
