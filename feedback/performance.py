"""The simulated player's hand: a lick laid on the clock, faithful or with named mistakes.

The problem: a mistake is made in music, a recording is made in seconds. A lick is drafted as strokes, the
mistakes edit the draft, and here the draft is given its times: bounce, lean and drift are the hand's habits,
jitter came with each stroke. A slur that has lost the note it grew out of (because that was left out) is
picked instead, as a hand would.

Conventions: `start_sec` is the downbeat of bar 1. Everything follows from the seed.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from feedback.mistakes import made
from feedback.played import Performance, PlayedNote, as_heard, rung
from feedback.strokes import Draft, HandSettings, Stroke, drafted
from routines.errors import BadRoutine
from routines.lick import Lick, Technique, quarter_sec

__all__ = ["HandSettings", "Performance", "PlayedNote", "as_heard", "perform"]

_STRING_GAP_SEC = 0.010
_LET_DOWN_FROM_SEC = 0.45


def perform(
    lick: Lick,
    *,
    tempo_half_bpm: float,
    mistakes: Sequence[str] = (),
    seed: int,
    start_sec: float = 0.5,
    hand: HandSettings | None = None,
) -> Performance:
    """Play a lick once.

    Parameters
    ----------
    lick : Lick
    tempo_half_bpm : float
        More than 0.
    mistakes : sequence of str
        Names in `feedback.mistakes.MISTAKES`, made in this order.
    seed : int
        0 or more.
    start_sec : float
        Downbeat of bar 1; a pickup comes before it.
    hand : HandSettings, optional

    Returns
    -------
    Performance

    Raises
    ------
    BadRoutine
        If the tempo is not above 0, a mistake is unknown, or the lick has no place for it.
    """
    if not 0.0 < tempo_half_bpm < np.inf:
        raise BadRoutine(f"tempo {tempo_half_bpm:g}: give half notes a minute, more than 0")
    hand_rng, slip_rng, clock_rng = (np.random.default_rng([seed, stream]) for stream in range(3))
    draft = drafted(lick, tempo_half_bpm, hand or HandSettings(), hand_rng)
    draft = made(draft, mistakes, slip_rng)
    return Performance(
        notes=_clocked(draft, start_sec, clock_rng),
        lick_id=lick.id,
        tempo_half_bpm=tempo_half_bpm,
        start_sec=start_sec,
        mistakes=tuple(mistakes),
        seed=seed,
        open_midi={string: lick.neck.open_midi(string) for string in range(1, 6)},
    )


def _clocked(draft: Draft, start_sec: float, rng: np.random.Generator) -> tuple[PlayedNote, ...]:
    """Lay a draft on the clock."""
    line: dict[int, PlayedNote] = {}
    notes = []
    timed = sorted(((_sec(draft, s, start_sec), s) for s in draft.strokes), key=lambda pair: pair[0])
    for sec, stroke in timed:
        before = line.get(stroke.string)
        onset = sec if before is None else max(sec, before.onset_sec + _STRING_GAP_SEC)
        note = _note(draft, stroke, onset, before, rng)
        line[stroke.string] = note
        notes.append(note)
    changes = [
        start_sec + _warped(draft, span.start_quarters) * quarter_sec(draft.tempo_half_bpm)
        for previous, span in zip(draft.lick.chords, draft.lick.chords[1:], strict=False)
        if span.chord != previous.chord
    ]
    lifts = [sec + 1e-3 * rng.uniform(*draft.hand.lift_ms) for sec in changes]
    return tuple(_let_down(note, rng) for note in rung(notes, lifts))


def _sec(draft: Draft, stroke: Stroke, start_sec: float) -> float:
    beat = _warped(draft, stroke.onset_quarters) * quarter_sec(draft.tempo_half_bpm)
    return start_sec + beat + (draft.hand.lean_ms + stroke.offset_ms) / 1e3


def _warped(draft: Draft, quarters: float) -> float:
    """A place as this hand's bounce and drift move it, in quarters of the asked tempo."""
    whole, part = divmod(quarters, 1.0)
    bounce = draft.hand.bounce
    part = 2.0 * bounce * part if part <= 0.5 else bounce + 2.0 * (1.0 - bounce) * (part - 0.5)
    return float((whole + part) / (1.0 + draft.hand.drift_percent / 100.0))


def _note(
    draft: Draft, stroke: Stroke, onset_sec: float, before: PlayedNote | None, rng: np.random.Generator
) -> PlayedNote:
    how, from_midi, picked = stroke.how, stroke.from_midi, stroke.picked
    if not picked:
        how, from_midi = _slurred(stroke, before, onset_sec, draft)
        picked = how == "pick"
    arrive = None
    if from_midi is not None:
        ms = draft.hand.choke_ms if how == "choke" else draft.hand.slide_ms
        takes_sec = 1e-3 * min(float(rng.uniform(*ms)), 0.4 * draft.eighth_ms)
        if not picked and before is not None:
            # The finger leaves in time for the pitch to be there on its beat.
            onset_sec = max(onset_sec - takes_sec, before.onset_sec + _STRING_GAP_SEC)
        arrive = onset_sec + takes_sec
    return PlayedNote(
        onset_sec=onset_sec,
        midi=stroke.midi,
        string=stroke.string,
        fret=stroke.fret,
        how=how,
        picked=picked,
        level_db=stroke.level_db,
        from_midi=from_midi,
        arrive_sec=arrive,
    )


def _slurred(
    stroke: Stroke, before: PlayedNote | None, onset_sec: float, draft: Draft
) -> tuple[Technique, int | None]:
    """How a slur can be made out of what the string does, and from which pitch; a stroke where it cannot."""
    bar_sec = draft.lick.quarters_a_bar * quarter_sec(draft.tempo_half_bpm)
    if before is None or before.midi == stroke.midi or onset_sec - before.onset_sec > bar_sec:
        return "pick", None
    if stroke.how == "slide" and min(before.fret, stroke.fret) > 0:
        return "slide", before.midi
    return ("hammer" if stroke.midi > before.midi else "pull"), None


def _let_down(note: PlayedNote, rng: np.random.Generator) -> PlayedNote:
    """A choke that is held long may be let down again before its string is struck."""
    held = rng.random() < 0.5
    if note.how != "choke" or note.arrive_sec is None or note.duration_sec < _LET_DOWN_FROM_SEC or held:
        return note
    end = note.onset_sec + note.duration_sec
    return replace(note, let_down_sec=note.arrive_sec + 0.6 * (end - note.arrive_sec))
