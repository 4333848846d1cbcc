"""The neck: which pitch sounds at a string and fret, and where a pitch lies.

The problem: a tab number is not a fret. Tab is read as if there were no capo, and the fifth string starts at
fret 5 while its tab counts from the main nut, so its first stopped fret is 6 and nothing lies between.

Conventions: strings 5 to 1, the fifth the short drone, the first the highest of the long ones. A *real* fret
is counted from the main nut, 1 to 22; tab fret f is real fret f + capo. MIDI numbers are sounding pitch. The
fifth string is raised by its peg, and all its frets move with it; or by a spike, and its stopped pitches stay
while the frets at and below the spike are gone. So under a capo the stopped fifth string of a G shape sounds
as the shape says only where it was spiked.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

from routines.errors import BadRoutine

OPEN_TUNINGS: Mapping[str, tuple[int, int, int, int, int]] = MappingProxyType(
    {
        "gDGBD": (67, 50, 55, 59, 62),
        "aDGBD": (69, 50, 55, 59, 62),
        "gCGBD": (67, 48, 55, 59, 62),
        "gCGCD": (67, 48, 55, 60, 62),
        "gDGCD": (67, 50, 55, 60, 62),
        "f#DF#AD": (66, 50, 54, 57, 62),
        "aDF#AD": (69, 50, 54, 57, 62),
    }
)
"""Name of a tuning to the MIDI numbers of its open strings, 5 to 1."""

FRETS = 22
"""Real frets of the instrument; on the first string the last one is C6."""

FIFTH_NUT = 5
"""Real fret at which the fifth string starts."""

_CAPO_HIGHEST = 12
_STRINGS = (1, 2, 3, 4, 5)
_RAISED_HALF_STEPS = {"peg": (-5, _CAPO_HIGHEST), "spike": (1, FRETS - FIFTH_NUT), "plain": (0, 0)}
"""How the fifth string is tuned to by how far that can move it from its tuning."""

_UNDER_A_CAPO: Literal["peg", "spike"] = "spike"


@dataclass(frozen=True, slots=True)
class Place:
    """A string (5 to 1) and a fret as typed in tab, as if there were no capo."""

    string: int
    fret: int

    def __str__(self) -> str:
        return f"{self.string}/{self.fret}"


@dataclass(frozen=True, slots=True)
class FifthString:
    """The open fifth string and how it was brought there.

    Attributes
    ----------
    open_midi : int
        Sounding pitch of the open string.
    how : {"peg", "spike", "plain"}
        Tuned by its peg; held down by a spike; or as the tuning leaves it.
    """

    open_midi: int
    how: Literal["peg", "spike", "plain"]


@dataclass(frozen=True, slots=True)
class Neck:
    """A tuned neck, with its capo and its fifth string.

    Attributes
    ----------
    tuning : str
        A key of `OPEN_TUNINGS`.
    capo : int
        Real fret of the capo on the four long strings, 0 to 12.
    fifth : FifthString or None
        None for what is normally done: as the tuning leaves it, and under a capo raised as far as the capo
        raises the others (capo 2: a), by a spike, so that its stopped frets keep to the shape.

    Raises
    ------
    BadRoutine
        If the tuning is unknown, the capo out of range, or the fifth string cannot be as it is said to be.
    """

    tuning: str = "gDGBD"
    capo: int = 0
    fifth: FifthString | None = None

    def __post_init__(self) -> None:
        if self.tuning not in OPEN_TUNINGS:
            raise BadRoutine(f"no tuning {self.tuning!r}: accepted are {' '.join(OPEN_TUNINGS)}")
        if not 0 <= self.capo <= _CAPO_HIGHEST:
            raise BadRoutine(f"no capo at fret {self.capo}: accepted are frets 0 (none) to {_CAPO_HIGHEST}")
        if self.fifth is None:
            return
        if self.fifth.how not in _RAISED_HALF_STEPS:
            raise BadRoutine(
                f"no fifth string tuned by {self.fifth.how!r}: accepted are {' '.join(_RAISED_HALF_STEPS)}"
            )
        least, most = (self._tuned(5) + half_steps for half_steps in _RAISED_HALF_STEPS[self.fifth.how])
        if not least <= self.fifth.open_midi <= most:
            raise BadRoutine(
                f"no fifth string at MIDI {self.fifth.open_midi} by {self.fifth.how} in {self.tuning}: "
                f"accepted are {least} to {most}"
            )

    @property
    def fifth_string(self) -> FifthString:
        """The fifth string as it is, also where `fifth` is None."""
        if self.fifth is not None:
            return self.fifth
        return FifthString(self._tuned(5) + self.capo, _UNDER_A_CAPO if self.capo else "plain")

    @property
    def last_fret(self) -> int:
        """The highest tab fret."""
        return FRETS - self.capo

    def open_midi(self, string: int) -> int:
        """Return the sounding pitch of an open string, capo and peg or spike included."""
        return self.midi(string, 0)

    def midi(self, string: int, fret: int) -> int:
        """Return the sounding pitch (MIDI) at a string and tab fret.

        Raises
        ------
        BadRoutine
            If there is no such place: no such string, a fret off the neck, or one at or below the fifth
            string's nut or spike.
        """
        if string not in _STRINGS:
            raise BadRoutine(f"no string {string}: accepted are 1 to 5")
        first = self._first_stopped(string)
        if fret != 0 and not first <= fret <= self.last_fret:
            under = f" with capo {self.capo}" if self.capo else ""
            raise BadRoutine(
                f"no fret {fret} on string {string}{under}: accepted are 0 and {first} to {self.last_fret}"
            )
        if string != 5:
            return self._tuned(string) + self.capo + fret
        if fret == 0:
            return self.fifth_string.open_midi
        spiked = self.fifth_string.how == "spike"
        unstopped = self._tuned(5) if spiked else self.fifth_string.open_midi
        return unstopped + fret + self.capo - FIFTH_NUT

    def places(self, midi: int) -> tuple[Place, ...]:
        """Return every place where a sounding pitch lies, string 1 first; empty where there is none."""
        return tuple(place for place in self._all_places(self.last_fret) if self._at(place) == midi)

    def moves(
        self, pitch_class: int, half_steps: int, *, top_fret: int = FRETS
    ) -> tuple[tuple[Place, Place], ...]:
        """Return each place of a pitch class with the place of the pitch that it falls or rises to.

        The second place is on the same string where the neck has it (C-B on 2/1-2/0), else it is the lowest
        fret where that pitch lies (the open G of 3/0 falls to F# on 4/4); a place from which the pitch cannot
        be reached is left out.

        Parameters
        ----------
        pitch_class : int
            0 to 11.
        half_steps : int
            Signed; negative falls.
        top_fret : int
            Highest tab fret of the places that are left.
        """
        found = []
        for place in self._all_places(top_fret):
            if self._at(place) % 12 != pitch_class:
                continue
            if reached := self.places(self._at(place) + half_steps):
                found.append((place, min(reached, key=lambda p: (p.string != place.string, p.fret))))
        return tuple(found)

    def _first_stopped(self, string: int) -> int:
        """Lowest tab fret that a finger can stop on a string."""
        if string != 5:
            return 1
        raised = self.fifth_string.open_midi - self._tuned(5)
        real_nut = FIFTH_NUT + (raised if self.fifth_string.how == "spike" else 0)
        return max(1, real_nut + 1 - self.capo)

    def _tuned(self, string: int) -> int:
        """Open pitch by the tuning alone."""
        return OPEN_TUNINGS[self.tuning][5 - string]

    def _all_places(self, top_fret: int) -> list[Place]:
        top = min(top_fret, self.last_fret)
        return [
            Place(string, fret)
            for string in _STRINGS
            for fret in (0, *range(self._first_stopped(string), top + 1))
        ]

    def _at(self, place: Place) -> int:
        return self.midi(place.string, place.fret)
