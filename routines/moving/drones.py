"""What becomes of the open fifth string in another key.

The problem: the drone is an open string, it does not move with the notes. The fifth string can be raised, a
few half steps; and g is a tone of many chords, or does no harm under them. So, in this order:

1. the fifth string is brought to where the drone belongs in the new key (G to A: g to a), if that is one of
   the few half steps above its tuning;
2. it stays as it is tuned, if it rubs nowhere; else it is raised to what rubs nowhere, and fits best;
3. else it stays, the drones that rub are fingered on another string at the pitch that they have in the new
   key, if they are root or fifth of their chord there, and the others are left out.

Conventions: `half_steps` is by how much the notes move; a drone keeps to no octave.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from routines.chords import Chord
from routines.moving.capo import fifth_words
from routines.moving.names import string_name
from routines.moving.source import Source
from routines.neck import FifthString, Neck

RAISED_MOST = 4
"""Half steps that the fifth string is raised by at most: from g to b."""

_PEG_EASY = 2
"""Half steps of these that a peg does; a spike is usual beyond."""

_MAY_BE_FINGERED = ("root", "fifth")


@dataclass(frozen=True, slots=True, kw_only=True)
class Drones:
    """What becomes of the drones of a lick.

    Attributes
    ----------
    neck : Neck
        With the fifth string as it is to be.
    open : frozenset of int
        Indices of the drones that stay on the open fifth string.
    fingered : frozenset of int
        Of those that go to another string, at the pitch that they have in the new key.
    words : str
        What is done, for the player; empty where there is no drone.
    """

    neck: Neck
    open: frozenset[int] = frozenset()
    fingered: frozenset[int] = frozenset()
    words: str = ""

    def without(self, indices: frozenset[int]) -> Drones:
        """Return the same with some of the fingered drones left out."""
        return replace(self, fingered=self.fingered - indices)


def drones_moved(source: Source, neck: Neck, half_steps: int, key: Chord) -> Drones:
    """Choose what becomes of the drones.

    Parameters
    ----------
    source : Source
    neck : Neck
        Tuning and capo, the fifth string as is usual with them.
    half_steps : int
    key : Chord
        The new key, for the name of the string.
    """
    if not source.drones:
        return Drones(neck=neck)
    usual = neck.open_midi(5)
    # As the lick's own key counts: what each raised string would be there.
    own = [(usual + raised - half_steps) % 12 for raised in range(RAISED_MOST + 1)]
    belongs = source.lick.notes[source.drones[0]].midi % 12
    stopped = any(note.string == 5 and note.fret for note in source.lick.notes)
    raised = own.index(belongs) if belongs in own else None
    if raised is not None:
        there = _raised(neck, raised, stopped)
        words = f"the drone goes along: {fifth_words(there, key, stopped=stopped)}"
        return Drones(neck=there, open=frozenset(source.drones), words=words)
    harmless = [r for r in range(RAISED_MOST + 1) if not any(own[r] in rubs for rubs in source.rubbing)]
    if harmless:
        raised = 0 if harmless[0] == 0 else min(harmless, key=lambda r: (source.fit[own[r]], r))
        there = _raised(neck, raised, stopped)
        does = "stays" if raised == 0 else f"becomes {string_name(there.open_midi(5), key)}"
        words = f"the drone {does}, {_why(source, own[raised])}: {fifth_words(there, key, stopped=stopped)}"
        return Drones(neck=there, open=frozenset(source.drones), words=words)
    return _parted(source, neck, own[0], key)


def _raised(neck: Neck, raised: int, stopped: bool) -> Neck:
    if raised == 0:
        return neck
    open_midi = neck.open_midi(5) + raised
    by_peg = neck.capo == 0 and raised <= _PEG_EASY and not stopped
    return Neck(
        tuning=neck.tuning, capo=neck.capo, fifth=FifthString(open_midi, "peg" if by_peg else "spike")
    )


def _why(source: Source, pitch_class: int) -> str:
    chords = [source.lick.chords[source.spans[i]].chord for i in source.drones]
    if all(chord is not None and chord.function_of(pitch_class) for chord in chords):
        return "a tone of each of its chords"
    return "which rubs against none of its chords"


def _parted(source: Source, neck: Neck, pitch_class: int, key: Chord) -> Drones:
    """Keep the drones that do not rub as they are."""
    rubbing = [i for i, rubs in zip(source.drones, source.rubbing, strict=True) if pitch_class in rubs]
    fingered = [i for i in rubbing if source.functions[i] in _MAY_BE_FINGERED]
    return Drones(
        neck=neck,
        open=frozenset(source.drones) - frozenset(rubbing),
        fingered=frozenset(fingered),
        words=_parted_words(source, rubbing, string_name(neck.open_midi(5), key)),
    )


def _parted_words(source: Source, rubbing: Sequence[int], name: str) -> str:
    many = "all of them" if len(rubbing) == len(source.drones) else f"{len(rubbing)} of {len(source.drones)}"
    return f"{name} would rub against its chords: drones that would, {many}, are fingered or left out"
