"""The check of the twelfth fret: where the bridge has to go so that stopped notes are in tune with open ones.

The problem: a banjo's bridge is held by nothing but the strings. Stopped at the middle of the string a note
should be an octave above the open one; where it is sharp, the bridge stands too near to the neck. The player
is asked for each string open, then at the twelfth fret, so that D4 at the twelfth fret of the fourth string
is not taken for the open first. The fifth string's twelfth is what tab calls fret 17.

Conventions: cents are those by which the stopped note exceeds the octave. Millimetres are those by which the
bridge moves away from the neck, negative toward it. An open length L and a stopped one of L r / 2, with r =
2^(-cents / 1200), become an octave where both grow by L (1 - r): with 667 mm some 0.39 mm a cent.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from listener.tuner import Reading
from routines.neck import FIFTH_NUT, OPEN_TUNINGS, Neck
from routines.pitch import note_name

SCALE_MM = 667.0
"""Bridge to main nut."""

TRUE_CENTS = 3.0
"""Nearer to the octave than that, or than is known, the bridge stands right."""

ASKED_STRINGS = (1, 2, 3, 4, 5)
"""In the order asked for."""

_NEAR_CENTS = 80.0
_OPEN_NEAR_CENTS = 150.0

At = Literal["open", "twelfth"]


@dataclass(frozen=True, slots=True, kw_only=True)
class TwelfthFound:
    """What was found of one string.

    Attributes
    ----------
    string : int
    cents : float
        By which the stopped note exceeds the octave.
    unsure_cents : float
    bridge_mm : float
        Where that says that the bridge has to go: positive is away from the neck, toward the tailpiece.
    """

    string: int
    cents: float
    unsure_cents: float
    bridge_mm: float

    @property
    def true(self) -> bool:
        """Whether it is an octave, as far as is known."""
        return abs(self.cents) <= max(TRUE_CENTS, self.unsure_cents)

    @property
    def text(self) -> str:
        """One line for the player."""
        near = f"string {self.string}: {self.cents:+.0f} cents at the twelfth fret"
        if self.true:
            return f"{near}, give or take {self.unsure_cents:.0f}: true"
        way = "sharp, bridge toward the tailpiece" if self.cents > 0 else "flat, bridge toward the neck"
        return f"{near}: {way}, about {abs(self.bridge_mm):.1f} mm"


class TwelfthCheck:
    """Asks for each string open and at the twelfth fret, in order.

    Parameters
    ----------
    neck : Neck
    """

    def __init__(self, neck: Neck) -> None:
        self._neck = neck
        self._left = [(string, at) for string in ASKED_STRINGS for at in ("open", "twelfth")]
        self._open: Reading | None = None
        self._last_pluck = -math.inf
        self.found: list[TwelfthFound] = []
        """By string, as they were played."""
        self.opened: Reading | None = None
        """The last reading that was taken for the open string asked for."""

    @property
    def references(self) -> tuple[float, ...]:
        """What a tuner listens for: the open strings, string 5 first."""
        return tuple(float(self._neck.open_midi(string)) for string in (5, 4, 3, 2, 1))

    @property
    def asked(self) -> tuple[int, str] | None:
        """The string that is asked for, and "open" or "twelfth"; None when all are done."""
        return self._left[0] if self._left else None

    @property
    def prompt(self) -> str:
        """What the player is asked to play."""
        if not self._left:
            return ""
        string, at = self._left[0]
        if at == "open":
            return f"string {string} ({note_name(self._neck.open_midi(string))}), open"
        fret = twelfth_fret(string)
        where = f"{fret} frets above the capo" if self._neck.capo and string != 5 else f"fret {fret}"
        return f"string {string}, {where}, pressed as you play"

    def feed(self, readings: Sequence[Reading]) -> list[TwelfthFound]:
        """Take readings; what is not the note asked for is passed over.

        Parameters
        ----------
        readings : sequence of Reading

        Returns
        -------
        list of TwelfthFound
            Strings that were done by these.
        """
        done: list[TwelfthFound] = []
        for reading in readings:
            if not self._left or not reading.steady:
                continue
            string, at = self._left[0]
            if at == "open":
                self._take_open(reading, string)
            elif self._open is not None and reading.plucked_sec > self._open.plucked_sec:
                off = 100.0 * (reading.midi - self._open.midi) - self._octave_cents(string)
                if abs(off) <= _NEAR_CENTS:
                    done.append(
                        self._found(string, off, math.hypot(reading.unsure_cents, self._open.unsure_cents))
                    )
                    self._left.pop(0)
                    self._last_pluck = reading.plucked_sec
                else:
                    self._take_open(reading, string)  # the open string once more, a little later
        self.found += done
        return done

    def _take_open(self, reading: Reading, string: int) -> None:
        off = 100.0 * (reading.midi - self._neck.open_midi(string))
        if abs(off) <= _OPEN_NEAR_CENTS and reading.plucked_sec > self._last_pluck:
            if self._left[0][1] == "open":
                self._left.pop(0)
            self._open = self.opened = reading

    def _octave_cents(self, string: int) -> float:
        return 100.0 * (self._neck.midi(string, twelfth_fret(string)) - self._neck.open_midi(string))

    def _found(self, string: int, cents: float, unsure_cents: float) -> TwelfthFound:
        return TwelfthFound(
            string=string,
            cents=cents,
            unsure_cents=unsure_cents,
            bridge_mm=bridge_mm(cents, open_length_mm(self._neck, string)),
        )


def twelfth_fret(string: int) -> int:
    """The tab fret an octave above the open string."""
    return 12 + FIFTH_NUT if string == 5 else 12


def open_length_mm(neck: Neck, string: int) -> float:
    """Length of an open string, from capo, fifth-string nut or spike to the bridge, in millimetres."""
    if string != 5:
        return SCALE_MM * math.exp2(-neck.capo / 12.0)
    fifth = neck.fifth_string
    spiked = fifth.open_midi - OPEN_TUNINGS[neck.tuning][0] if fifth.how == "spike" else 0
    return SCALE_MM * math.exp2(-(FIFTH_NUT + spiked) / 12.0)


def bridge_mm(cents: float, length_mm: float) -> float:
    """How far the bridge is to be moved away from the neck so that the twelfth fret is an octave.

    Parameters
    ----------
    cents : float
        By which the stopped note exceeds the octave, -100 to 100.
    length_mm : float
        Of the open string.
    """
    return length_mm * (1.0 - math.exp2(-cents / 1200.0))
