"""What the left hand holds, and what it is asked for next.

Conventions: frets are real, counted from the main nut; strings 5 to 1; fingers 1 (index) to 4 (little
finger), 5 the thumb. `routines.hand.left` says how the hand gets from one to the next.
"""

from __future__ import annotations

from collections.abc import Set
from typing import Literal, NamedTuple, TypeAlias

from routines.hand.reach import EMPTY, Grip, Stop, held_of

How: TypeAlias = Literal["pick", "hammer", "pull", "slide", "inside", "choke", "plant"]


Places: TypeAlias = Set[tuple[int, int]]
"""Strings and real frets."""


class Need(NamedTuple):
    """One note, or one stop without a note, that the left hand must make.

    Attributes
    ----------
    string, fret : int
        Real fret; 0 is open.
    how : str
        "inside" is a slide inside its eighth; "plant" a finger set down unheard, to be pulled off to.
    other : int
        Of a slur the real fret that it comes from (0 open); of a choke the frets that it is pushed up.
    """

    string: int
    fret: int
    how: How = "pick"
    other: int = 0


class Problem(NamedTuple):
    """What cannot be done.

    Attributes
    ----------
    what : str
        A key of `routines.hand.troubles.WORDS`.
    needs : tuple of Need
        The notes that it is about.
    fingers : str
        Fingers of the right hand that it is about.
    """

    what: str
    needs: tuple[Need, ...] = ()
    fingers: str = ""


class Way(NamedTuple):
    """One way to make the notes needed.

    Attributes
    ----------
    hand : Hand
        What is held then.
    cost : float
        Without what depends on time.
    shift_mm, slid_mm : float
        How far the hand moves before the notes, and how far a sliding finger leads it.
    fingers : tuple of int
        For each need.
    planted : tuple of (int, int)
        Finger and string of those newly set down.
    touched : tuple of (int, int, int)
        Finger, string and real fret of all that sound or pull off.
    problems : tuple of Problem
    """

    hand: Hand
    cost: float
    shift_mm: float
    slid_mm: float
    fingers: tuple[int, ...]
    planted: tuple[tuple[int, int], ...]
    touched: tuple[tuple[int, int, int], ...]
    problems: tuple[Problem, ...]


class Hand:
    """What the left hand holds, and where it stands; equal hands are one object.

    Attributes
    ----------
    grip : Grip
    stale : frozenset of int
        Fingers of an earlier bar or chord whose note does not come again in this one: they may be lifted
        freely.
    anchor : int or None
        See `routines.hand.reach`.
    known : dict
        Needs to ways, as far as they have been worked out.
    """

    __slots__ = ("_ringing", "anchor", "grip", "known", "stale")

    def __init__(self, grip: Grip, stale: frozenset[int], anchor: int | None) -> None:
        self.grip, self.stale, self.anchor = grip, stale, anchor
        self.known: dict[tuple[Need, ...], tuple[Way, ...]] = {}
        self._ringing: tuple[tuple[int, Stop], ...] | None = None

    def settled(self, again: Places | None, sometime: Places) -> Hand:
        """Return this hand with the fingers off that wait for nothing.

        Parameters
        ----------
        again : set of (int, int) or None
            Where a bar or a chord ends: strings and real frets that come again before the chord changes. All
            other fingers may be lifted freely from then on. None elsewhere.
        sometime : set of (int, int)
            Strings and real frets that come again at all.
        """
        stale = self.stale
        if again is None and not stale:
            return self
        held = dict(held_of(self.grip))
        if again is not None:
            stale = frozenset(f for f, stop in held.items() if not _among(stop, again))
        off = {f for f in stale if not _among(held[f], sometime)}
        if not off and stale == self.stale:
            return self
        return hand_of(grip_of({f: s for f, s in held.items() if f not in off}), stale - off, self.anchor)

    def ringing(self) -> tuple[tuple[int, Stop], ...]:
        """Return the fingers that are not stale and do not lie under others, and where they lie."""
        if self._ringing is None:
            self._ringing = tuple(
                (finger, stop)
                for finger, stop in enumerate(self.grip, 1)
                if stop is not None and finger not in self.stale and _sounds(stop, self.grip)
            )
        return self._ringing


def _among(stop: Stop, places: Places) -> bool:
    return any((string, stop.fret) in places for string in range(stop.high, stop.low + 1))


def _sounds(stop: Stop, grip: Grip) -> bool:
    """Whether on one of its strings no finger lies above it."""
    above = [other for other in grip if other is not None and other.fret > stop.fret]
    return any(not any(o.covers(string) for o in above) for string in range(stop.high, stop.low + 1))


_hands: dict[tuple[Grip, frozenset[int], int | None], Hand] = {}


def hand_of(grip: Grip = EMPTY, stale: frozenset[int] = frozenset(), anchor: int | None = None) -> Hand:
    """Return the hand that holds this; by default nothing, and it stands nowhere yet."""
    key = grip, stale, anchor
    hand = _hands.get(key)
    if hand is None:
        hand = _hands[key] = Hand(grip, stale, anchor)
    return hand


def forget_hands(most: int) -> None:
    """Drop all hands and their ways, where there are more than so many: memory is bounded."""
    if len(_hands) > most:
        for hand in _hands.values():
            hand.known.clear()
        _hands.clear()


def grip_of(stops: dict[int, Stop]) -> Grip:
    """Return the grip of these fingers."""
    return stops.get(1), stops.get(2), stops.get(3), stops.get(4), stops.get(5)
