"""What a hand plays, taken down in eighths and laid on the clock.

The problem: figures are written as if every stroke were possible. A string sounds one note at a time, a slur
needs a note to grow out of, and a muted string has none: what is taken down is made playable here.

Conventions: a place in time is in eighths from the start; seconds come out.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Literal

import numpy as np

from feedback.played import OPEN_RINGS_SEC, Performance, PlayedNote, rung
from routines.lick import Technique
from routines.neck import Neck
from tests.bench.train.hands import ALL_STRINGS, COUNTS_DB, PITCHES, Hand, Playing, Touch

_LOUDEST_DB = 8.0
_WILDEST = 2.5
_STRING_GAP_SEC = 0.035
_SLUR_WITHIN_SEC = 2.0
_BOUNCE_TO_NPS = 7.0
_FIFTH_FIRST_FRET = 6
_LIFT_EARLY_SEC = 0.030


class Score:
    """Takes down what a hand plays, in eighths, and lays it on the clock.

    Parameters
    ----------
    rng : numpy.random.Generator
    hand : Hand
    neck : Neck
    start_sec : float
        When the first eighth falls.
    """

    def __init__(self, rng: np.random.Generator, hand: Hand, neck: Neck, start_sec: float) -> None:
        self.rng, self.hand, self.neck, self.start_sec = rng, hand, neck, start_sec
        self._notes: list[PlayedNote] = []
        self._touches: list[Touch] = []
        self._lifts_sec: list[float] = []

    def sec(self, eighth: float) -> float:
        """When an eighth falls, by this hand's bounce."""
        pair, part = divmod(eighth, 2.0)
        longer = self.hand.bounce * min(1.0, (_BOUNCE_TO_NPS / self.hand.nps) ** 2)
        part = part * (1.0 + longer) if part <= 1.0 else 1.0 + longer + (part - 1.0) * (1.0 - longer)
        return self.start_sec + (2.0 * pair + part) / self.hand.nps

    def has(self, string: int, fret: int, raised: int = 0) -> bool:
        """Whether a place is on the neck and its pitch within `PITCHES`."""
        if fret != 0 and not (_FIFTH_FIRST_FRET if string == 5 else 1) <= fret <= self.neck.last_fret:
            return False
        return PITCHES[0] <= self.neck.midi(string, fret) + raised <= PITCHES[1]

    def level(self, eighth: float, mean_db: float = 0.0) -> float:
        """Draw a level, accents included."""
        drawn = self.hand.dynamics_db * float(np.clip(self.rng.standard_normal(), -_WILDEST, _WILDEST))
        accent = self.hand.accent_db if eighth % 4.0 == 0.0 else 0.0
        return float(np.clip(mean_db + drawn + accent, COUNTS_DB, _LOUDEST_DB))

    def jitter(self) -> float:
        """Draw how late a stroke is, in seconds."""
        drawn = float(np.clip(self.rng.standard_normal(), -_WILDEST, _WILDEST))
        return 1e-3 * self.hand.jitter_ms * drawn

    def note(
        self,
        eighth: float,
        string: int,
        fret: int,
        how: Technique = "pick",
        *,
        late_sec: float | None = None,
        level_db: float | None = None,
        picked: bool | None = None,
        from_midi: int | None = None,
        moving_sec: float | None = None,
        raised: int = 0,
        held_sec: float | None = None,
    ) -> None:
        """Take down one note; a place off the neck or out of `PITCHES` is left out."""
        if not self.has(string, fret, raised):
            return
        struck = how in ("pick", "choke") if picked is None else picked
        late = self.jitter() if late_sec is None else late_sec
        onset = self.sec(eighth) + late
        usual_db = self.level(eighth, 0.0 if struck else self.hand.slur_db)
        arrive = None if moving_sec is None else onset + moving_sec
        self._notes.append(
            PlayedNote(
                onset_sec=onset,
                midi=self.neck.midi(string, fret) + raised,
                string=string,
                fret=fret,
                how=how,
                picked=struck,
                level_db=usual_db if level_db is None else level_db,
                from_midi=from_midi,
                arrive_sec=arrive,
                let_down_sec=None if arrive is None or held_sec is None else arrive + held_sec,
            )
        )

    def touch(self, eighth: float, string: int, level_db: float, how: Literal["dead", "stop"]) -> None:
        """Take down a muted stroke, or a hand that stops the strings."""
        onset = self.sec(eighth) + self.jitter()
        self._touches.append(Touch(onset_sec=onset, string=string, level_db=level_db, how=how))

    def lift(self, eighth: float) -> None:
        """Take down that the left hand leaves its shape."""
        self._lifts_sec.append(self.sec(eighth) - float(self.rng.uniform(0.0, _LIFT_EARLY_SEC)))

    def playing(self, seed: int) -> Playing:
        """Return everything that was taken down, each string's notes in an order that a string can play."""
        notes: list[PlayedNote] = []
        for string in range(1, 6):
            line = sorted((n for n in self._notes if n.string == string), key=lambda n: n.onset_sec)
            touched = [t.onset_sec for t in self._touches if t.string in (string, ALL_STRINGS)]
            notes += _playable(line, touched)
        held = rung(notes, sorted(self._lifts_sec), OPEN_RINGS_SEC)
        ended = tuple(_stopped(note, self._touches) for note in held)
        performance = Performance(
            notes=ended,
            lick_id="",
            tempo_half_bpm=15.0 * self.hand.nps,
            start_sec=self.start_sec,
            mistakes=(),
            seed=seed,
            open_midi={string: self.neck.open_midi(string) for string in range(1, 6)},
        )
        touches = tuple(sorted(self._touches, key=lambda t: t.onset_sec))
        return Playing(performance=performance, touches=touches, hand=self.hand)


def _playable(line: Sequence[PlayedNote], touched_sec: Sequence[float]) -> list[PlayedNote]:
    """Keep a string's notes apart, and let a slur that grows out of nothing be struck."""
    kept: list[PlayedNote] = []
    for note in line:
        before = kept[-1] if kept else None
        if before is not None and note.onset_sec < before.onset_sec + _STRING_GAP_SEC:
            by = before.onset_sec + _STRING_GAP_SEC - note.onset_sec
            if by > _STRING_GAP_SEC:
                continue
            note = _later(note, by)
        if any(abs(sec - note.onset_sec) < _STRING_GAP_SEC for sec in touched_sec):
            continue
        if not note.picked:
            note = _grown_from(before, note, touched_sec)
        kept.append(note)
    return kept


def _later(note: PlayedNote, by_sec: float) -> PlayedNote:
    arrive, let_down = (None if sec is None else sec + by_sec for sec in (note.arrive_sec, note.let_down_sec))
    return replace(note, onset_sec=note.onset_sec + by_sec, arrive_sec=arrive, let_down_sec=let_down)


def _grown_from(before: PlayedNote | None, note: PlayedNote, touched_sec: Sequence[float]) -> PlayedNote:
    """A slur as the note before it allows, or a stroke."""
    joins = (
        before is not None
        and before.how != "choke"
        and before.midi != note.midi
        and note.onset_sec - before.onset_sec < _SLUR_WITHIN_SEC
        and not any(before.onset_sec < sec < note.onset_sec for sec in touched_sec)
    )
    if before is None or not joins:
        return replace(note, how="pick", picked=True, from_midi=None, arrive_sec=None)
    if note.how == "slide":
        return replace(note, from_midi=before.midi)
    return replace(note, how="hammer" if note.midi > before.midi else "pull")


def _stopped(note: PlayedNote, touches: Sequence[Touch]) -> PlayedNote:
    ends = [
        t.onset_sec - note.onset_sec
        for t in touches
        if t.string in (note.string, ALL_STRINGS) and t.onset_sec > note.onset_sec
    ]
    return replace(note, duration_sec=min([note.duration_sec, *ends]))
