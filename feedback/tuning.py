"""Tuning up: which string was played, which way it has to go, and when all five are there. Pure logic.

The problem: a reading says a pitch; a player wants to know which string that is, whether to wind up or down,
and when to stop. A string that is wound up by a whole step breaks, so before that they are warned: by what is
read, and beforehand where what is asked for winds a string so far.

Conventions: strings are 5 to 1 as players count, notes are named as they sound, capo and fifth string
included. Cents are those that the string is off, positive is sharp; "up" is what to do with a flat one.
The string is the one that is nearest in cents: B3 and D4 lie three half steps apart and are told apart to one
and a half. Once a string is in tune it stays so while it is off by a cent more than that.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

from listener.tuner import Reading
from routines.chords import Chord
from routines.neck import OPEN_TUNINGS, Neck
from routines.pitch import note_name, usual_tone
from routines.shapes import sounding

STRINGS = (5, 4, 3, 2, 1)
"""In the order of `Tuning.references`."""

WITHIN_CENTS = 2.0
"""So near a string is in tune."""

BREAKS_CENTS = 150.0
"""A long string that has to go up by so much is about to be wound up by a whole step."""

BREAKS_FIFTH_CENTS = 225.0
"""The same of the fifth string, which stands a whole step and no more."""

Word = Literal["not heard", "up", "down", "in tune"]

_STAYS_CENTS = 1.0
_MEANT_CENTS = 450.0  # farther off it is no open string
_IN_DOUBT_CENTS = 75.0  # so far off the nearest string it may be another one
_OTHER_MEANT_CENTS = 300.0
_SAID_CENTS = 2.0  # a change by less is not told again
_USUAL = "gDGBD"


@dataclass(frozen=True, slots=True, kw_only=True)
class StringState:
    """How one string stands.

    Attributes
    ----------
    string : int
        5 to 1.
    note : str
        What it is to sound: "G3".
    midi : int
        The same.
    hz, cents, unsure_cents : float or None
        Its pitch, how far off, within how much that is known; None before it was read.
    steady : bool
        Whether that was a steady reading.
    word : {"not heard", "up", "down", "in tune"}
        What to do, by the last steady reading.
    warning : str
        One sentence where it would break; else empty.
    """

    string: int
    note: str
    midi: int
    hz: float | None = None
    cents: float | None = None
    unsure_cents: float | None = None
    steady: bool = False
    word: Word = "not heard"
    warning: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Changed:
    """A string was read anew, and that is worth a line."""

    state: StringState


@dataclass(frozen=True, slots=True)
class AllInTune:
    """All five strings are in tune."""


class Tuning:
    """Follows a player who tunes up.

    Parameters
    ----------
    neck : Neck
        What the strings are to be.
    within_cents : float
        So near a string is in tune.

    Raises
    ------
    ValueError
        If `within_cents` is not above 0.
    """

    def __init__(self, neck: Neck, *, within_cents: float = WITHIN_CENTS) -> None:
        if not within_cents > 0.0:
            raise ValueError(f"in tune within {within_cents:g} cents; more than 0 is needed")
        self.neck = neck
        self._within = within_cents
        self._states = [
            StringState(string=string, note=_sounding_name(neck, string), midi=neck.open_midi(string))
            for string in STRINGS
        ]
        self._told: dict[int, tuple[Word, float]] = {}
        self._done = False
        self.now: StringState | None = None
        """The string that sounds, by its last reading, steady or not: for a screen's needle."""

    @property
    def references(self) -> tuple[float, ...]:
        """What a `listener.tuner.Tuner` listens for, string 5 first."""
        return tuple(float(state.midi) for state in self._states)

    @property
    def strings(self) -> tuple[StringState, ...]:
        """How each stands by its last steady reading, string 5 first."""
        return tuple(self._states)

    @property
    def done(self) -> bool:
        """Whether all five are in tune."""
        return all(state.word == "in tune" for state in self._states)

    def feed(self, readings: Sequence[Reading]) -> list[Changed | AllInTune]:
        """Take readings whose `nearest` is an index of `references`.

        Parameters
        ----------
        readings : sequence of Reading

        Returns
        -------
        list of Changed or AllInTune
            Steady readings that changed the word for a string, or by some cents what it is off; and once,
            when the last of the five is in tune.
        """
        events: list[Changed | AllInTune] = []
        for reading in readings:
            if abs(reading.cents) > _MEANT_CENTS:
                continue
            state = self.now = self._read(reading)
            if not reading.steady:
                continue
            self._states[reading.nearest] = state
            if self._worth_saying(state, reading.cents):
                self._told[state.string] = state.word, reading.cents
                events.append(Changed(state=state))
            if self.done and not self._done:
                events.append(AllInTune())
            self._done = self.done
        return events

    def _read(self, reading: Reading) -> StringState:
        state = self._states[reading.nearest]
        word = self._word(state.word, reading.cents) if reading.steady else state.word
        return replace(
            state,
            hz=reading.hz,
            cents=reading.cents,
            unsure_cents=reading.unsure_cents,
            steady=reading.steady,
            word=word,
            warning=self._breaks(state.string, reading.cents) or self._other_breaks(reading),
        )

    def _word(self, before: Word, cents: float) -> Word:
        if abs(cents) <= self._within + (_STAYS_CENTS if before == "in tune" else 0.0):
            return "in tune"
        return "up" if cents < 0.0 else "down"

    def _worth_saying(self, state: StringState, cents: float) -> bool:
        word, told = self._told.get(state.string, ("not heard", 0.0))
        if word != state.word:
            return True
        return word != "in tune" and abs(cents - told) > max(_SAID_CENTS, state.unsure_cents or 0.0)

    def _other_breaks(self, reading: Reading) -> str:
        """The same for another string that may have been plucked: one that is not heard yet, and that flat.

        D4 a whole step flat is nearer to B3 than to itself; nobody is to wind it up unwarned.
        """
        if abs(reading.cents) < _IN_DOUBT_CENTS:
            return ""
        for state in self._states:
            cents = 100.0 * (reading.midi - state.midi)
            other = state is not self._states[reading.nearest] and state.word == "not heard"
            if other and -_OTHER_MEANT_CENTS <= cents < 0.0:
                warned = self._breaks(state.string, cents)
                if warned:
                    return f"or is it string {state.string} ({state.note})? then {warned}"
        return ""

    def _breaks(self, string: int, cents: float) -> str:
        """What is to be said before a string is wound up too far."""
        up = -cents
        if up < (BREAKS_FIFTH_CENTS if string == 5 else BREAKS_CENTS):
            return ""
        if string == 5:
            advice = "it stands a whole step up; hold it down by a spike instead"
        elif self.neck.capo:
            advice = f"is the capo on, at fret {self.neck.capo}?"
        elif self.neck.open_midi(string) <= OPEN_TUNINGS[_USUAL][5 - string]:
            advice = "it stands its usual pitch: slowly, and be sure that it is this string"
        else:
            advice = (
                "a long string does not stand a whole step; is it another tuning, or a capo, that you want?"
            )
        return f"strings break: string {string} would go up by {up:.0f} cents: {advice}"


def _sounding_name(neck: Neck, string: int) -> str:
    """What an open string sounds, named as its shape is moved by the capo: G under capo 1 is Ab, not G#."""
    midi = neck.open_midi(string)
    shape = Chord(usual_tone(midi - neck.capo))
    return note_name(midi, sounding(shape, neck.capo).root)


def beforehand(neck: Neck) -> list[str]:
    """What to say before anybody winds: strings that the asked tuning itself raises too far above open G.

    Parameters
    ----------
    neck : Neck

    Returns
    -------
    list of str
        Sentences; mostly none. A capo or a spike winds no string.
    """
    usual, asked = OPEN_TUNINGS[_USUAL], OPEN_TUNINGS[neck.tuning]
    wound = {string: asked[5 - string] - usual[5 - string] for string in STRINGS}
    if neck.fifth_string.how != "spike":
        wound[5] = neck.fifth_string.open_midi - usual[0]
    return [
        f"strings break: string {string} is to go {up} half steps above open G; "
        + ("by its peg it stands two: use a spike" if string == 5 else "it stands one")
        for string, up in wound.items()
        if 100.0 * up >= (BREAKS_FIFTH_CENTS if string == 5 else BREAKS_CENTS)
    ]
