"""What comes of moving a lick: the capo answer, the best fingering, and what had to be altered.

Conventions: half steps are signed, negative goes down. Indices of notes are those of the lick that was moved.
"""

from __future__ import annotations

from dataclasses import dataclass

from routines.lick import Lick


@dataclass(frozen=True, slots=True, kw_only=True)
class CapoAnswer:
    """The same frets as written, under a capo.

    Attributes
    ----------
    lick : Lick
        The whole lick as it then sounds.
    shapes : str
        The key as the hand shapes it.
    half_steps : int
        By how much every note moves.
    words : tuple of str
        Two lines for the player: the capo, and the fifth string.
    """

    lick: Lick
    shapes: str
    half_steps: int
    words: tuple[str, str]


@dataclass(frozen=True, slots=True, kw_only=True)
class Alteration:
    """One thing in which a fingering is not the lick.

    Attributes
    ----------
    index : int or None
        Which note; None where it is no note (the top tempo).
    before, after : str
        As it would be, and as it is.
    why : str
        A plain sentence without its full stop.
    """

    index: int | None
    before: str
    after: str
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Fingering:
    """The lick fingered anew.

    Attributes
    ----------
    lick : Lick
        Whole, with its own id, title, key, neck and asks.
    sources : tuple of int
        For each note of `lick` its index in the lick that was moved.
    left : tuple of int
        For each note the finger of the left hand: 0 open, 1 index to 4 little finger, 5 the thumb.
    playable : bool
        Whether both hands can play it at its top tempo.
    exact : bool
        Whether every note is there, moved by the same half steps, with its technique and the tempo as it was.
        Drones are open strings: they are told apart, in `drones`.
    cost : float
        As `routines.hand` counts: 0 is everything held or open under the nearest fingers.
    half_steps : int
        By how much the notes moved.
    direction : str
        The same in words, such as "down a fourth".
    drones : str
        What becomes of the open fifth string, in words; empty where the lick has none.
    altered : tuple of Alteration
        Empty where exact.
    troubles : tuple of str
        What no hand does; empty where playable.
    """

    lick: Lick
    sources: tuple[int, ...]
    left: tuple[int, ...]
    playable: bool
    exact: bool
    cost: float
    half_steps: int
    direction: str
    drones: str
    altered: tuple[Alteration, ...] = ()
    troubles: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Moved:
    """A lick in another key, or on another neck.

    Attributes
    ----------
    key : str
        The key that sounds, spelled.
    capo : CapoAnswer or None
    no_capo : str
        Why there is no capo answer, a sentence; empty where there is one.
    fingering : Fingering
    """

    key: str
    capo: CapoAnswer | None
    no_capo: str
    fingering: Fingering
