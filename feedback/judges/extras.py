"""What was added: sure notes that no target claims, and what looks like one and is none.

A teacher forgives what no ear tells surely: the same pitch heard twice in one stroke, a pitch through which a
slide or choke went, the pitch that a choke is let down to, an octave's shadow under a note that was struck.
"""

from __future__ import annotations

from collections.abc import Sequence

from feedback.grid import EIGHTH_QUARTERS, HAIR_SEC, Grid, Habits
from feedback.heard import Sound
from feedback.judges.deafness import SPLICE_SEC, Deaf, touches
from feedback.judges.notes import Answer
from feedback.judges.ownsound import Own, at_once
from routines.outcome import Extra

_OCTAVE = 12
_CHOKE_RINGS_SEC = 2.0
_LET_DOWN_DB = 12.0  # no stroke comes so far under another; a string that was struck long ago does


def extras(
    grid: Grid,
    sounds: Sequence[Sound],
    answered: dict[int, Answer],
    habits: Habits,
    deaf: Deaf = (),
    ours: Sequence[Own] = (),
) -> list[tuple[int, Extra]]:
    """The sure notes that no target claims.

    Parameters
    ----------
    grid : Grid
    sounds : sequence of Sound
    answered : dict of int to Answer
    habits : Habits
    deaf : Deaf
        What is new there may be the cut itself, and is left out.
    ours : sequence of Own
        Notes of our own that the microphone hears: what coincides with one is left out, too.

    Returns
    -------
    list of (int, Extra)
        Index of the sound, and what it is; only within the pass, see `_territory`.
    """
    claimed = {a.sound for a in answered.values()} | {
        a.start for a in answered.values() if a.start is not None
    }
    events = {sounds[k].event for k in claimed}
    begin, end = _territory(grid)
    twin_sec = grid.limits.pinch_ms / 1e3 + HAIR_SEC
    found: list[tuple[int, Extra]] = []
    for number, sound in enumerate(sounds):
        if sound.event in events or sound.moved or not sound.blamed or not begin <= sound.onset_sec < end:
            continue
        if touches(deaf, sound.onset_sec - SPLICE_SEC, sound.onset_sec + SPLICE_SEC):
            continue
        if any(at_once(own, sound.midi, sound.onset_sec) for own in ours):
            continue
        twins = [k for k in [*claimed, *(k for k, _ in found)] if sounds[k].midi == sound.midi]
        if any(abs(sounds[k].onset_sec - sound.onset_sec) <= twin_sec for k in twins):
            continue
        if _on_the_way(grid, sound, answered) or _let_down(grid, sounds, sound, answered):
            continue
        sec = sound.onset_sec - habits.lean_sec
        foreign = _foreign(grid, sound.midi, sec) and not _octave_shadow(grid, sounds, sound, claimed)
        extra = Extra(onset_sec=sound.onset_sec, midi=sound.midi, foreign=foreign)
        found.append((number, extra))
    return found


def _on_the_way(grid: Grid, sound: Sound, answered: dict[int, Answer]) -> bool:
    """Whether a sound is a pitch through which a slide or a choke went within half an eighth of its time."""
    for index, answer in answered.items():
        target = grid.lick.notes[index]
        if target.from_midi is None:
            continue
        low, high = sorted((target.from_midi, target.midi))
        if low <= sound.midi <= high and abs(sound.onset_sec - answer.struck_sec) < grid.eighth_sec / 2:
            return True
    return False


def _let_down(grid: Grid, sounds: Sequence[Sound], sound: Sound, answered: dict[int, Answer]) -> bool:
    """Whether a sound is the pitch at which a choke began, far softer: the finger let go, none struck."""
    for index, answer in answered.items():
        target = grid.lick.notes[index]
        away = sound.onset_sec - answer.struck_sec
        if target.technique != "choke" or sound.midi != target.from_midi or not 0 < away < _CHOKE_RINGS_SEC:
            continue
        if sounds[answer.sound].level_db - sound.level_db >= _LET_DOWN_DB:
            return True
    return False


def _octave_shadow(grid: Grid, sounds: Sequence[Sound], sound: Sound, claimed: set[int]) -> bool:
    """Whether a sound lies one octave under a claimed one struck with it: no listener tells that surely."""
    return any(
        sounds[k].midi - sound.midi == _OCTAVE
        and abs(sounds[k].onset_sec - sound.onset_sec) <= grid.limits.pinch_ms / 1e3 + HAIR_SEC
        for k in claimed
    )


def _territory(grid: Grid) -> tuple[float, float]:
    """Begin and end of what belongs to this pass and not to one played right before or after it.

    One turn of the loop, shifted to the front by a pickup; a note less than half an eighth before a downbeat
    belongs to that downbeat.
    """
    lick = grid.lick
    last = max((note.onset_quarters for note in lick.notes), default=0.0) + EIGHTH_QUARTERS
    end_quarters = max(lick.end_quarters - lick.pickup_quarters, last)
    half = grid.eighth_sec / 2
    return grid.due_sec(-lick.pickup_quarters) - half, grid.due_sec(end_quarters) - half


def _foreign(grid: Grid, midi: int, sec: float) -> bool:
    """Whether a pitch is no tone of the chord of the moment (at a change, of either), nor the drone's."""
    if midi == grid.lick.neck.open_midi(5):
        return False
    near = grid.window_sec / grid.quarter_sec
    place = grid.quarters(sec)
    here = [
        span.chord
        for span in grid.lick.chords
        if span.start_quarters - near <= place < span.end_quarters + near
    ]
    return bool(here) and all(chord is not None and chord.function_of(midi) is None for chord in here)
