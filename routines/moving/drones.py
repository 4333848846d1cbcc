"""What becomes of the open fifth string in another key.

The problem: the drone is an open string, it does not move with the notes. The fifth string can be raised, a
few half steps; and g is a tone of many chords, or does no harm under them. So, in this order:

1. the fifth string stays as it is tuned, if it is root or fifth of the new key (g in G and C): nobody winds
   it away from there, and nobody minds it under a passing chord;
2. it is brought to where the drone belongs in the new key (G to A: g to a), if that is one of the few half
   steps above its tuning;
3. it stays as it is tuned, if it rubs nowhere; else it is raised to what rubs nowhere, and fits best;
4. else it stays, the drones that rub are fingered on another string at the pitch that they have in the new
   key, if they are root or fifth of their chord there, and the others are left out.

"As it is tuned" is under a capo: raised along with it.

Conventions: `half_steps` is by how much the notes move; a drone keeps to no octave.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from routines.chords import Chord
from routines.moving.fifth import PEG_MOST, fifth_words, raised, spiked_at
from routines.moving.names import string_name
from routines.moving.source import Source
from routines.neck import FifthString, Neck

RAISED_MOST = 4
"""Half steps that the fifth string is raised by at most: from g to b."""

_OF_THE_KEY = {0: "root", 7: "fifth"}
"""Half steps above the key's root, and what the string is there."""

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
        Tuning and capo, the fifth string as is usual with them (`routines.moving.fifth.usual_neck`).
    half_steps : int
    key : Chord
        The new key.
    """
    if not source.drones:
        return Drones(neck=neck)
    usual = neck.open_midi(5)
    # As the lick's own key counts: what each raised string would be there.
    own = {up: (usual + up - half_steps) % 12 for up in range(RAISED_MOST + 1) if _comes_there(neck, up)}
    belongs = source.lick.notes[source.drones[0]].midi % 12
    along = next((up for up, pitch_class in own.items() if pitch_class == belongs), None)
    of_the_key = _OF_THE_KEY.get((usual - key.root.pitch_class) % 12)
    if of_the_key and along != 0:
        return _opened(source, neck, 0, f"stays, the {of_the_key} of {key.symbol}")
    if along is not None:
        return _opened(source, neck, along, "goes along")
    harmless = [up for up in own if not any(own[up] in rubs for rubs in source.rubbing)]
    if harmless:
        up = 0 if harmless[0] == 0 else min(harmless, key=lambda up: (source.fit[own[up]], up))
        does = f"becomes {string_name(usual + up)}" if up else "stays"
        return _opened(source, neck, up, f"{does}, {_why(source, own[up])}")
    return _parted(source, neck, own[0])


def _comes_there(neck: Neck, up: int) -> bool:
    """Whether peg or spike brings the fifth string so far up from where it is."""
    return up == 0 or raised(neck) + up <= PEG_MOST or spiked_at(raised(neck) + up) is not None


def _opened(source: Source, neck: Neck, up: int, does: str) -> Drones:
    """Leave every drone on the open fifth string, raised so far."""
    stopped = any(note.string == 5 and note.fret for note in source.lick.notes)
    if up:
        high = raised(neck) + up
        spike = spiked_at(high) is not None and (neck.capo or stopped or high > PEG_MOST)
        fifth = FifthString(neck.open_midi(5) + up, "spike" if spike else "peg")
        neck = Neck(tuning=neck.tuning, capo=neck.capo, fifth=fifth)
    words = f"the drone {does}: {fifth_words(neck, stopped=stopped)}"
    return Drones(neck=neck, open=frozenset(source.drones), words=words)


def _why(source: Source, pitch_class: int) -> str:
    chords = [source.lick.chords[source.spans[i]].chord for i in source.drones]
    if all(chord is not None and chord.function_of(pitch_class) for chord in chords):
        return "a tone of each of its chords"
    return "which rubs against none of its chords"


def _parted(source: Source, neck: Neck, pitch_class: int) -> Drones:
    """Keep the drones that do not rub as they are."""
    rubbing = [i for i, rubs in zip(source.drones, source.rubbing, strict=True) if pitch_class in rubs]
    fingered = [i for i in rubbing if source.functions[i] in _MAY_BE_FINGERED]
    return Drones(
        neck=neck,
        open=frozenset(source.drones) - frozenset(rubbing),
        fingered=frozenset(fingered),
        words=_parted_words(source, rubbing, string_name(neck.open_midi(5))),
    )


def _parted_words(source: Source, rubbing: Sequence[int], name: str) -> str:
    many = "all of them" if len(rubbing) == len(source.drones) else f"{len(rubbing)} of {len(source.drones)}"
    return f"{name} would rub against its chords: drones that would, {many}, are fingered or left out"
