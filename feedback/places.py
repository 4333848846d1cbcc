"""Rough places in a take at which a lick may begin: where the votes of its notes fall together.

Every heard note votes, for every target that it could answer, for the start that would put the one on the
other. At the right tempo the votes of a whole pass fall into one narrow place, or into a somewhat wider one
if the tempo changes on the way. A target votes once in a place.

Conventions: votes are gathered in bins of a twelfth of a quarter, a place is `_BINS` of them: what lies
within a quarter of a quarter is always counted together.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from feedback.candidates import bends
from feedback.heard import Sound
from routines.lick import Lick, quarter_sec

FEWEST = 5
"""Notes that must be found."""

_A_QUARTER = 12
_BINS = 4
_LEAST_SHARE = 0.4
_LEAST_AGREEMENT = 0.5
_NEAR_QUARTERS = 0.5
_NEAR_TEMPO = 0.06


@dataclass(frozen=True, slots=True)
class Votes:
    """Which sounds could answer which targets.

    Attributes
    ----------
    sec : ndarray of float, shape (n,)
        Onset of a sound.
    quarters : ndarray of float, shape (n,)
        Place of a target that it could answer.
    target : ndarray of int, shape (n,)
        Index of that target.
    struck_sec : ndarray of float, shape (m,)
        Onsets of all sounds that were struck, sorted.
    """

    sec: np.ndarray
    quarters: np.ndarray
    target: np.ndarray
    struck_sec: np.ndarray


@dataclass(frozen=True, slots=True)
class Rough:
    """A place at which a lick may begin.

    Attributes
    ----------
    votes : int
        Targets that are answered there.
    start_sec : float
        Downbeat of bar 1.
    tempo_half_bpm : float
    """

    votes: int
    start_sec: float
    tempo_half_bpm: float


def votes_of(lick: Lick, sounds: Sequence[Sound]) -> Votes:
    """Gather what could answer what.

    Parameters
    ----------
    lick : Lick
    sounds : sequence of Sound
        By onset.

    Returns
    -------
    Votes
        A choke or slide of one stroke is answered where it is struck.
    """
    by_pitch: dict[int, list[float]] = {}
    by_reach: dict[int, list[float]] = {}
    for sound in sounds:
        by_pitch.setdefault(sound.midi, []).append(sound.onset_sec)
        if not sound.moved:
            for midi in {sound.midi, sound.midi if sound.reaches_midi is None else sound.reaches_midi}:
                by_reach.setdefault(midi, []).append(sound.onset_sec)
    sec: list[float] = []
    target: list[int] = []
    for index, note in enumerate(lick.notes):
        bent = note.from_midi is not None and bends(lick.notes, index)
        times = (by_reach if bent else by_pitch).get(note.midi, [])
        sec += times
        target += [index] * len(times)
    places = np.array([note.onset_quarters for note in lick.notes])
    return Votes(
        sec=np.array(sec, float),
        quarters=places[np.array(target, int)],
        target=np.array(target, int),
        struck_sec=np.array([sound.onset_sec for sound in sounds if not sound.moved], float),
    )


def places(lick: Lick, votes: Votes, tempos: Sequence[float]) -> list[Rough]:
    """The places that are worth a closer look.

    Parameters
    ----------
    lick : Lick
    votes : Votes
    tempos : sequence of float
        Half notes a minute, each more than 0.

    Returns
    -------
    list of Rough
        By start. Those with enough votes, against the notes of the lick and against all that was heard there;
        of near doubles the one with most.
    """
    if not len(votes.sec):
        return []
    found = [part for tempo in tempos for part in _at_tempo(lick, votes, tempo)]
    if not found:
        return []
    count, start, tempo = (np.concatenate(column) for column in zip(*found, strict=True))
    left = np.lexsort((start, -count))
    kept = []
    while len(left):
        best = left[0]
        kept.append(Rough(int(count[best]), float(start[best]), float(tempo[best])))
        near = np.abs(start[left] - start[best]) <= _NEAR_QUARTERS * quarter_sec(tempo[best])
        left = left[~near | (np.abs(tempo[left] / tempo[best] - 1.0) > _NEAR_TEMPO)]
    return sorted(kept, key=lambda rough: rough.start_sec)


def _at_tempo(lick: Lick, votes: Votes, tempo: float) -> Iterator[tuple[np.ndarray, np.ndarray, np.ndarray]]:
    """Votes, starts and tempo of the places at one tempo that have enough of them."""
    many = len(lick.notes)
    quarter = quarter_sec(tempo)
    bins = np.floor((votes.sec / quarter - votes.quarters) * _A_QUARTER).astype(np.int64)
    low = int(bins.min()) - _BINS + 1
    keys = ((bins - low)[:, None] - np.arange(_BINS)) * many + votes.target[:, None]
    count = np.bincount(np.unique(keys) // many)
    at = np.flatnonzero(count >= max(FEWEST, _LEAST_SHARE * many))
    start = (low + at + _BINS / 2) / _A_QUARTER * quarter
    begin = start + (lick.notes[0].onset_quarters - 0.25) * quarter
    end = start + (lick.notes[-1].onset_quarters + 0.25) * quarter
    there = np.searchsorted(votes.struck_sec, end) - np.searchsorted(votes.struck_sec, begin)
    agrees = 2 * count[at] >= _LEAST_AGREEMENT * (many + np.maximum(there, count[at]))
    if agrees.any():
        yield count[at][agrees], start[agrees], np.full(int(agrees.sum()), tempo)
