"""Which sound may be which target: its own pitch less than an eighth away, another within half an eighth.

The last seven before a change may come up to the change plus W. A choke or a slide of one stroke is compared
where it was struck, by the pitch that it reaches. Strings are never heard.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from feedback.grid import HAIR_SEC, Grid, Habits
from feedback.heard import Sound
from routines.lick import Ask, TargetNote


@dataclass(frozen=True, slots=True, kw_only=True)
class Pair:
    """A target and the sound that answers it.

    Attributes
    ----------
    target, sound : int
        Indices into the lick's notes and the sounds.
    right : bool
        Whether the pitch is the one asked for.
    began : bool
        Whether it is the one in which the choke or slide that is asked for begins.
    sure : bool
    rest_sec : float
        Deviation less the habits that the matcher was given.
    """

    target: int
    sound: int
    right: bool
    began: bool
    sure: bool
    rest_sec: float


def bends(notes: Sequence[TargetNote], index: int) -> bool:
    """Whether a target is one stroke whose pitch moves: a choke, or a slide inside its own eighth.

    A slide to an eighth of its own grows out of a sounding note, and no finger strikes it.
    """
    target = notes[index]
    return target.from_midi is not None and (target.technique == "choke" or bool(target.finger))


def together(notes: Sequence[TargetNote]) -> list[list[int]]:
    """Indices of the targets, those that are struck together (a pinch) in one list; by onset."""
    groups: dict[float, list[int]] = {}
    for index, note in enumerate(notes):
        groups.setdefault(note.onset_quarters, []).append(index)
    return list(groups.values())


def last_sevens(asks: Iterable[Ask]) -> set[int]:
    """Indices of the last seven before each change."""
    last: dict[float, int] = {}
    for ask in asks:
        if ask.change_quarters is not None:
            last[ask.change_quarters] = ask.note
    return set(last.values())


def late_limits_sec(grid: Grid) -> dict[int, float]:
    """For each seven, the latest rest (seconds) at which it is still that seven."""
    last = last_sevens(grid.lick.sevenths)
    limits: dict[int, float] = {}
    for ask in grid.lick.sevenths:
        if ask.change_quarters is None:
            continue
        to_change = (ask.change_quarters - grid.lick.notes[ask.note].onset_quarters) * grid.quarter_sec
        gone = to_change + grid.window_sec
        limits[ask.note] = gone if ask.note in last else min(gone, grid.eighth_sec)
    return limits


def rest_sec(grid: Grid, habits: Habits, target: TargetNote, onset_sec: float) -> float:
    """How much later than a target is due, the player's habits taken off, a sound came."""
    due = grid.due_sec(target.onset_quarters)
    return onset_sec - due - habits.expected_sec(target.onset_quarters, due)


def in_time(grid: Grid, index: int, rest_sec: float, late_limits: Mapping[int, float]) -> bool:
    """Whether a sound of a target's pitch with this rest may be that target; `late_limits` of the grid."""
    latest = late_limits.get(index)
    soon_enough = rest_sec < grid.eighth_sec - HAIR_SEC if latest is None else rest_sec <= latest + HAIR_SEC
    return soon_enough and rest_sec > -grid.eighth_sec + HAIR_SEC


def expected_sec(grid: Grid, habits: Habits) -> list[float]:
    """When each target is expected of a player with these habits, in seconds of the take."""
    dues = [(note.onset_quarters, grid.due_sec(note.onset_quarters)) for note in grid.lick.notes]
    return [due + habits.expected_sec(quarters, due) for quarters, due in dues]


def candidates(
    grid: Grid,
    expected: Sequence[float],
    late_limits: Mapping[int, float],
    number: int,
    sound: Sound,
    forbidden: set[tuple[int, int]],
) -> list[Pair]:
    """The targets that a sound may be.

    Parameters
    ----------
    grid : Grid
    expected : sequence of float
        `expected_sec` of the grid and the player's habits: worked out once for all sounds.
    late_limits : mapping of int to float
        `late_limits_sec` of the grid.
    number : int
        Of the sound.
    sound : Sound
    forbidden : set of (int, int)
        Targets and sounds that do not go together.

    Returns
    -------
    list of Pair
        In the order of the targets.
    """
    found = []
    eighth = grid.eighth_sec
    latest = max(eighth, *late_limits.values(), 0.0) + HAIR_SEC
    for index, target in enumerate(grid.lick.notes):
        rest = sound.onset_sec - expected[index]
        if rest <= -eighth or rest > latest:  # most of them, at a look
            continue
        right = sound.midi == target.midi
        if target.from_midi is not None and bends(grid.lick.notes, index):
            right = not sound.moved and target.midi in (sound.midi, sound.reaches_midi)
        if right:
            near = in_time(grid, index, rest, late_limits)
        else:
            near = not sound.moved and abs(rest) <= grid.eighth_sec / 2 + HAIR_SEC
        if near and (index, number) not in forbidden:
            began = not right and sound.midi == target.from_midi
            found.append(
                Pair(target=index, sound=number, right=right, began=began, sure=sound.sure, rest_sec=rest)
            )
    return found
