"""Chords spelled by letter arithmetic, and where their guide tones want to go.

The problem: the flat seven and the third of a seventh chord lead somewhere, and where depends on both chords:
over D7-G the seven C falls a half step to B and the third F# rises to G; over D7-Gm the C falls a whole step
to Bb; over D7-G7 both fall; over D7-C the seven is held and is colour.

Conventions: a chord is a root and a row of `KINDS`. The function ``seven`` is a flat seven (a whole step
below the root) and nothing else: the seventh of maj7 is ``major seven``, that of dim7 ``diminished seven``,
and neither falls here. Tendencies are signed half steps, negative falls. Octaves play no part.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from routines.errors import BadRoutine
from routines.pitch import Tone

_MAJOR = {"root": (0, 0), "third": (2, 4), "fifth": (4, 7)}
_MINOR = {"root": (0, 0), "third": (2, 3), "fifth": (4, 7)}
_DIMINISHED = {"root": (0, 0), "third": (2, 3), "fifth": (4, 6)}
_FOURTH = {"root": (0, 0), "fourth": (3, 5), "fifth": (4, 7)}
_SEVEN = {"seven": (6, 10)}
_SIXTH = {"sixth": (5, 9)}

KINDS: Mapping[str, Mapping[str, tuple[int, int]]] = MappingProxyType(
    {
        "": _MAJOR,
        "m": _MINOR,
        "7": _MAJOR | _SEVEN,
        "m7": _MINOR | _SEVEN,
        "maj7": _MAJOR | {"major seven": (6, 11)},
        "6": _MAJOR | _SIXTH,
        "m6": _MINOR | _SIXTH,
        "9": _MAJOR | _SEVEN | {"ninth": (1, 2)},
        "dim": _DIMINISHED,
        "dim7": _DIMINISHED | {"diminished seven": (6, 9)},
        "m7b5": _DIMINISHED | _SEVEN,
        "aug": {"root": (0, 0), "third": (2, 4), "fifth": (4, 8)},
        "sus2": {"root": (0, 0), "second": (1, 2), "fifth": (4, 7)},
        "sus4": _FOURTH,
        "7sus4": _FOURTH | _SEVEN,
    }
)
"""Suffix of the symbol to function to (letter names, half steps) above the root, in the order of spelling."""

_OTHER_NAMES = {
    "maj": "", "M": "", "min": "m", "-": "m", "min7": "m7", "-7": "m7", "M7": "maj7", "Δ": "maj7",
    "°": "dim", "°7": "dim7", "ø": "m7b5", "+": "aug", "sus": "sus4", "7sus": "7sus4",
}  # fmt: skip
_ACCEPTED_KINDS = "nothing (major) or one of " + " ".join(kind for kind in KINDS if kind)
_SYMBOL = re.compile(r"([A-G][#b♯♭]?)(.*)", re.DOTALL)


@dataclass(frozen=True, slots=True)
class Chord:
    """A chord, spelled.

    Attributes
    ----------
    root : Tone
    kind : str
        A key of `KINDS`; empty for a plain major chord.

    Raises
    ------
    BadRoutine
        If there is no such kind.
    """

    root: Tone
    kind: str = ""

    def __post_init__(self) -> None:
        if self.kind not in KINDS:
            raise BadRoutine(f"no kind of chord {self.kind!r}: accepted is {_ACCEPTED_KINDS}")

    @classmethod
    def parse(cls, symbol: str) -> Chord:
        """Read a symbol such as ``D7``, ``B♭m``, ``C#7``.

        Raises
        ------
        BadRoutine
            If the root is no capital letter with at most one accidental, or the kind is unknown.
        """
        found = _SYMBOL.fullmatch(symbol)
        if found is None or _OTHER_NAMES.get(found[2], found[2]) not in KINDS:
            raise BadRoutine(
                f"no chord {symbol!r}: accepted is a capital letter A to G, at most one # or b, "
                f"then {_ACCEPTED_KINDS}"
            )
        return cls(Tone.parse(found[1]), kind_named(found[2]))

    @property
    def symbol(self) -> str:
        """The chord as players write it."""
        return f"{self.root}{self.kind}"

    @property
    def tones(self) -> tuple[tuple[str, Tone], ...]:
        """Function and spelled tone, root first."""
        return tuple((name, self.root.up(*interval)) for name, interval in KINDS[self.kind].items())

    @property
    def dominant(self) -> bool:
        """Whether it is a major triad with a flat seven."""
        functions = KINDS[self.kind]
        return all(functions.get(name) == interval for name, interval in (_MAJOR | _SEVEN).items())

    def tone(self, function: str) -> Tone | None:
        """Return the tone with this function; None where the chord has none."""
        interval = KINDS[self.kind].get(function)
        return None if interval is None else self.root.up(*interval)

    def function_of(self, midi: int) -> str | None:
        """Return what a MIDI number or pitch class is in this chord; None where it is no tone of it."""
        for name, (_, half_steps) in KINDS[self.kind].items():
            if (self.root.pitch_class + half_steps - midi) % 12 == 0:
                return name
        return None


@dataclass(frozen=True, slots=True, kw_only=True)
class Tendency:
    """Where one guide tone wants to go.

    Attributes
    ----------
    function : str
        "seven" or "third", in the chord that it leaves.
    from_tone, to_tone : Tone
        Each spelled in its own chord.
    half_steps : int
        -1 or -2 falls, +1 rises.
    chord : str
        Symbol of the chord that it goes to.
    to_function : str
        What `to_tone` is there.
    """

    function: str
    from_tone: Tone
    to_tone: Tone
    half_steps: int
    chord: str
    to_function: str


@dataclass(frozen=True, slots=True)
class ChordSpan:
    """A chord for a stretch of musical time; `chord` is None where none is played (N.C.).

    Times are in quarters from the downbeat of bar 1; the end is not part of the span.
    """

    start_quarters: float
    end_quarters: float
    chord: Chord | None

    @property
    def symbol(self) -> str:
        """The chord's symbol, empty where there is none."""
        return "" if self.chord is None else self.chord.symbol


def kind_named(suffix: str) -> str:
    """Return the key of `KINDS` that a suffix names: ``-7`` is ``m7``.

    Raises
    ------
    BadRoutine
        If it names none.
    """
    kind = _OTHER_NAMES.get(suffix, suffix)
    if kind not in KINDS:
        raise BadRoutine(f"no kind of chord {suffix!r}: accepted is {_ACCEPTED_KINDS}")
    return kind


def home_of(chord: Chord) -> Chord:
    """Return the plain major chord a fifth below, the home that a dominant seventh wants: G for D7."""
    return Chord(chord.root.up(3, 5))


def seven_falls(chord: Chord, next_chord: Chord | None) -> Tendency | None:
    """Return where the flat seven falls: a tone of the next chord one, or else two half steps below it.

    None where the chord has no flat seven, or the seven is colour: no chord follows, the next chord holds the
    seven, or has no tone so near below.
    """
    if next_chord is None:
        return None
    return _moved("seven", chord, next_chord, (-1, -2))


def third_moves(chord: Chord, next_chord: Chord | None) -> Tendency | None:
    """Return where the third of a seventh chord goes.

    It falls a half step to the next chord's flat seven, where that chord has one; else it rises a half step
    to a tone of the next chord. None where the chord is no major triad with a flat seven (only such a third
    leads), no chord follows, or the next chord holds the third or has no such tone.
    """
    if next_chord is None or not chord.dominant:
        return None
    if next_chord.tone("seven") is None:
        return _moved("third", chord, next_chord, (+1,))
    fall = _moved("third", chord, next_chord, (-1,))
    return fall if fall is not None and fall.to_function == "seven" else None


def _moved(function: str, chord: Chord, next_chord: Chord, choices: tuple[int, ...]) -> Tendency | None:
    """Return the first move onto a tone of the next chord; None too where that chord holds the tone."""
    tone = chord.tone(function)
    if tone is None or next_chord.function_of(tone.pitch_class) is not None:
        return None
    for half_steps in choices:
        to_function = next_chord.function_of(tone.pitch_class + half_steps)
        to_tone = next_chord.tone(to_function) if to_function is not None else None
        if to_function is not None and to_tone is not None:
            return Tendency(
                function=function,
                from_tone=tone,
                to_tone=to_tone,
                half_steps=half_steps,
                chord=next_chord.symbol,
                to_function=to_function,
            )
    return None
