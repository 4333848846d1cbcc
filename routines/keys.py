"""Keys as players call them: chords by number, the sevenths that lead to each, and chains of sevenths.

The problem: at a jam a chord is called by its number, and a key has more sevenths than one: every chord of it
may be led to by the seventh chord a fifth above, and that by another. What falls, and how far, depends on the
target: into a major chord the seven falls a half step to the third, into a minor one a whole step; in a chain
seven falls to third and third to seven, until a plain chord is home.

Conventions: numbers count on the major scale of the tonic, in minor too: Em is 1m, its G is b3, its B7 is
57. A number is spelled by letter: in G, F is b7 and never #6. Any key with at most one sharp or flat in its
name is accepted; `CALLED` are those that jams call most, in the order of the circle of fifths.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from routines.chords import Chord, Tendency, kind_named, seven_falls, third_moves
from routines.errors import BadRoutine
from routines.pitch import LETTERS, Tone, usual_tone

CALLED = ("Bb", "F", "C", "G", "D", "A", "E", "B")
"""Major keys that jams call, each a fifth above the one before it."""

_MAJOR_SCALE = (0, 2, 4, 5, 7, 9, 11)
_NUMBER = re.compile(r"([#b♯♭]?)([1-7])(.*)")
_SIGNS = {1: "#", -1: "b", 0: ""}
_FAMILY = {False: ("1", "2m", "3m", "4", "5", "6m"), True: ("1m", "b3", "4m", "5", "b6", "b7")}
"""Minor or not to the plain chords of a key, by number; in minor with the major chord on five that leads."""

_LONGEST_CHAIN = 6


@dataclass(frozen=True, slots=True, kw_only=True)
class Lead:
    """A seventh chord, and the chord of the key that it leads to.

    Attributes
    ----------
    number, target_number : str
        Counted in the key.
    chord, target : Chord
    seven : Tendency
        Where its flat seven falls.
    third : Tendency or None
        Where its third goes.
    """

    number: str
    chord: Chord
    target_number: str
    target: Chord
    seven: Tendency
    third: Tendency | None


@dataclass(frozen=True, slots=True)
class Key:
    """A key.

    Attributes
    ----------
    tonic : Tone
    minor : bool
    """

    tonic: Tone
    minor: bool = False

    @classmethod
    def parse(cls, text: str) -> Key:
        """Read a key such as ``G``, ``Bb`` or ``Em``.

        Raises
        ------
        BadRoutine
            If it is none.
        """
        minor = text.endswith("m")
        try:
            return cls(Tone.parse(text.removesuffix("m"), most=1), minor)
        except BadRoutine as error:
            raise BadRoutine(
                f"no key {text!r}: accepted is a capital letter A to G, at most one # or b, and m for minor"
            ) from error

    @property
    def name(self) -> str:
        """The key as it is called."""
        return f"{self.tonic}{'m' if self.minor else ''}"

    @property
    def home(self) -> Chord:
        """The chord on one."""
        return Chord(self.tonic, "m" if self.minor else "")

    @property
    def family(self) -> tuple[Chord, ...]:
        """The plain chords of the key, from one upwards."""
        return tuple(numbered(number, self.tonic) for number in _FAMILY[self.minor])

    @property
    def neighbours(self) -> tuple[Key, ...]:
        """The keys next to it: a fifth up and down, and the relative minor or major."""
        relative = self.tonic.up(2, 3) if self.minor else self.tonic.up(5, 9)
        return (
            Key(self.tonic.up(4, 7), self.minor),
            Key(self.tonic.up(3, 5), self.minor),
            Key(relative, not self.minor),
        )

    @property
    def leads(self) -> tuple[Lead, ...]:
        """For each chord of the family the seventh that leads to it: that to home first."""
        return tuple(lead_to(target, self) for target in self.family)

    def chain(self, sevenths: int) -> tuple[Chord, ...]:
        """Return sevenths down the circle of fifths, and home after them: three in G are E7 A7 D7 G.

        Parameters
        ----------
        sevenths : int
            1 to 6.

        Raises
        ------
        BadRoutine
            If there are not so many.
        """
        if not 1 <= sevenths <= _LONGEST_CHAIN:
            raise BadRoutine(f"no chain of {sevenths} sevenths: accepted are 1 to {_LONGEST_CHAIN}")
        chords = [self.home]
        for _ in range(sevenths):
            chords.insert(0, Chord(plain(chords[0].root.up(4, 7)), "7"))
        return tuple(chords)


def lead_to(target: Chord, key: Key) -> Lead:
    """Return the seventh chord a fifth above a chord, with what falls and rises between the two.

    Raises
    ------
    BadRoutine
        If no seven falls into this chord from there, as into one that holds it.
    """
    chord = Chord(plain(target.root.up(4, 7)), "7")
    seven = seven_falls(chord, target)
    if seven is None:
        raise BadRoutine(f"{target.symbol} holds the seven of {chord.symbol}: accepted is a chord without it")
    return Lead(
        number=number_of(chord, key.tonic),
        chord=chord,
        target_number=number_of(target, key.tonic),
        target=target,
        seven=seven,
        third=third_moves(chord, target),
    )


def is_number(text: str) -> bool:
    """Whether a text begins as a chord by number does: a degree, perhaps with a sign before it."""
    return _NUMBER.fullmatch(text) is not None


def numbered(text: str, tonic: Tone) -> Chord:
    """Read a chord by number: ``57`` in G is D7, ``b7`` is F, ``6m`` is Em.

    Raises
    ------
    BadRoutine
        If there is no such number or kind of chord.
    """
    found = _NUMBER.fullmatch(text)
    if found is None:
        raise BadRoutine(f"no chord number {text!r}: accepted is 1 to 7, before it # or b, after it a kind")
    sign, degree, suffix = found.groups()
    steps = int(degree) - 1
    root = tonic.up(steps, _MAJOR_SCALE[steps] + Tone.parse(f"C{sign}").alter)
    return Chord(root, kind_named(suffix))


def number_of(chord: Chord, tonic: Tone) -> str:
    """Return a chord by number: F7 in G is ``b77``.

    The letter counts; where that would need two signs, the same pitch on the scale or a half step below it.
    """
    steps = (LETTERS.index(chord.root.letter) - LETTERS.index(tonic.letter)) % len(LETTERS)
    off = (chord.root.pitch_class - tonic.pitch_class - _MAJOR_SCALE[steps] + 6) % 12 - 6
    if off in _SIGNS:
        return f"{_SIGNS[off]}{steps + 1}{chord.kind}"
    return number_of(Chord(_near(chord.root, tonic), chord.kind), tonic)


def plain(tone: Tone) -> Tone:
    """Return a tone as it is; one with two sharps or flats by its usual name."""
    return tone if abs(tone.alter) < 2 else usual_tone(tone.pitch_class)


def _near(tone: Tone, tonic: Tone) -> Tone:
    """Return the same pitch spelled on the scale of a tonic, or a half step below a note of it."""
    scale = [tonic.up(steps, half_steps) for steps, half_steps in enumerate(_MAJOR_SCALE)]
    lowered = [tonic.up(steps, half_steps - 1) for steps, half_steps in enumerate(_MAJOR_SCALE)]
    return next(one for one in (*scale, *lowered) if one.pitch_class == tone.pitch_class)
