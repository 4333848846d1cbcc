"""Moved copies: licks that differ in little more than key, octave, capo or place.

Two licks of one meter are laid over each other at every whole number of half bars, one moved by every
interval, and the notes that agree in onset and pitch are counted. An open fifth string that is a drone in
both agrees whatever its pitch: it stays where it is when a lick moves. The same again by string and fret,
also moved along the neck, for licks whose tunings differ. The *likeness* is the best count over the notes of
the longer lick, so that it is the share of the notes of both; 0 to 1, symmetric.

Times are counted in sixteenths. Counting is one histogram a lick over the notes of all licks.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from routines.checker.places import is_drone
from routines.lick import Lick

COPY = 0.70
"""From this likeness on, two licks are copies of each other."""

_PLACES_A_QUARTER = 4
_SHIFTS_MOST = 15
"""Half bars either way: a lick of four bars with a pickup against another."""

_SHIFTS = 2 * _SHIFTS_MOST + 1
_INTERVALS_MOST = 63
_INTERVALS = 2 * _INTERVALS_MOST + 1
_FRETS_A_STRING = 64


@dataclass(frozen=True, slots=True)
class Pair:
    """Two licks by their numbers in what was compared, the first the lower, and their likeness."""

    one: int
    other: int
    likeness: float


@dataclass(frozen=True, slots=True)
class _Notes:
    """Notes of all licks in a row: whose they are, place in sixteenths, height, and which are drones."""

    lick: NDArray[np.int64]
    place: NDArray[np.int64]
    height: NDArray[np.int64]
    drone: NDArray[np.bool_]


def likenesses(licks: Sequence[Lick]) -> NDArray[np.float64]:
    """Return the likeness of each lick to each, shape (licks, licks)."""
    result = np.zeros((len(licks), len(licks)))
    for meter in {lick.meter for lick in licks}:
        numbers = [number for number, lick in enumerate(licks) if lick.meter == meter]
        result[np.ix_(numbers, numbers)] = _of_one_meter([licks[number] for number in numbers])
    return result


def nearest(licks: Sequence[Lick], likeness: NDArray[np.float64] | None = None) -> tuple[Pair, ...]:
    """Return all pairs, the most alike first."""
    found = likenesses(licks) if likeness is None else likeness
    ones, others = np.triu_indices(len(licks), 1)
    order = np.argsort(-found[ones, others], kind="stable")
    return tuple(Pair(int(ones[i]), int(others[i]), float(found[ones[i], others[i]])) for i in order)


def copies(licks: Sequence[Lick]) -> tuple[Pair, ...]:
    """Return the pairs that are copies, the most alike first."""
    return tuple(pair for pair in nearest(licks) if pair.likeness >= COPY)


def _of_one_meter(licks: Sequence[Lick]) -> NDArray[np.float64]:
    half_bar = round(licks[0].quarters_a_bar * _PLACES_A_QUARTER / 2)
    sizes = np.array([len(lick.notes) for lick in licks])
    agreed = np.maximum(
        _agreed(_by_pitch(licks), len(licks), half_bar),
        _agreed(_by_fret(licks), len(licks), half_bar),
    )
    # two strings at one pitch at once agree twice over with themselves
    return np.minimum(agreed / np.maximum.outer(sizes, sizes), 1.0)


def _agreed(notes: _Notes, count: int, half_bar: int) -> NDArray[np.int64]:
    """Return how many notes agree at best, for each pair."""
    return np.stack([_agreed_with(notes, number, count, half_bar) for number in range(count)])


def _agreed_with(notes: _Notes, number: int, count: int, half_bar: int) -> NDArray[np.int64]:
    own = notes.lick == number
    shift, off = np.divmod(notes.place[None, :] - notes.place[own, None], half_bar)
    interval = notes.height[None, :] - notes.height[own, None]
    drones = notes.drone[own, None] & notes.drone[None, :]
    near = (off == 0) & (np.abs(shift) <= _SHIFTS_MOST)
    voices = near & ~drones & (np.abs(interval) <= _INTERVALS_MOST)
    # One row a lick and shift, one column an interval.
    row = notes.lick[None, :] * _SHIFTS + shift + _SHIFTS_MOST
    rows = count * _SHIFTS
    column = row * _INTERVALS + interval + _INTERVALS_MOST
    moved = np.bincount(column[voices], minlength=rows * _INTERVALS).reshape(rows, _INTERVALS)
    still = np.bincount(row[near & drones], minlength=rows)
    return np.asarray((moved.max(axis=1) + still).reshape(count, _SHIFTS).max(axis=1), dtype=np.int64)


def _by_pitch(licks: Sequence[Lick]) -> _Notes:
    return _notes(licks, [note.midi for lick in licks for note in lick.notes])


def _by_fret(licks: Sequence[Lick]) -> _Notes:
    return _notes(licks, [note.string * _FRETS_A_STRING + note.fret for lick in licks for note in lick.notes])


def _notes(licks: Sequence[Lick], heights: Sequence[int]) -> _Notes:
    return _Notes(
        lick=np.array([number for number, lick in enumerate(licks) for _ in lick.notes]),
        place=np.array(
            [round(note.onset_quarters * _PLACES_A_QUARTER) for lick in licks for note in lick.notes]
        ),
        height=np.array(heights),
        drone=np.array([is_drone(note) for lick in licks for note in lick.notes]),
    )
