"""Spelling: a pitch as a letter and its sharps or flats, and the names of MIDI numbers.

The problem: C7 holds Bb and never A#, C#7 holds E# and never F. A pitch class cannot tell them apart, so
chords are spelled by letter arithmetic: an interval is a number of letter names (a third is two) and a number
of half steps, and the letter decides, the sharps or flats follow.

Conventions: MIDI 60 is C4. The octave number belongs to the letter, so B#4 is MIDI 72 and Cb5 is MIDI 71.
Where no chord says how to spell a pitch, it takes the name that is usual on the banjo: C# Eb F# G# Bb.
"""

from __future__ import annotations

from dataclasses import dataclass

from routines.errors import BadRoutine

LETTERS = "CDEFGAB"
"""Letter names upwards from C, where the octave number turns."""

_NATURAL = dict(zip(LETTERS, (0, 2, 4, 5, 7, 9, 11), strict=True))
_USUAL = ("C", "C#", "D", "Eb", "E", "F", "F#", "G", "G#", "A", "Bb", "B")
_SIGNS = {"#": 1, "♯": 1, "b": -1, "♭": -1}


@dataclass(frozen=True, slots=True)
class Tone:
    """A spelled pitch class.

    Attributes
    ----------
    letter : str
        One of C D E F G A B.
    alter : int
        Half steps that the accidentals add: 1 is a sharp, -2 a double flat.

    Raises
    ------
    BadRoutine
        If the letter is none of the seven.
    """

    letter: str
    alter: int = 0

    def __post_init__(self) -> None:
        if self.letter not in _NATURAL:
            raise BadRoutine(f"no letter name {self.letter!r}: it is one of A B C D E F G")

    @classmethod
    def parse(cls, text: str, *, most: int = 2) -> Tone:
        """Read a name such as ``F#``, ``B♭``, ``Ebb``.

        Parameters
        ----------
        text : str
            A capital letter A to G, then sharps or flats, not both.
        most : int
            How many accidentals are accepted, 0 or more.

        Raises
        ------
        BadRoutine
            If the text is anything else.
        """
        letter, signs = text[:1], text[1:]
        alters = [_SIGNS.get(sign, 0) for sign in signs]
        alter = sum(alters)
        # With sharps and flats mixed, or a sign that is none, the sum falls short of the count.
        if letter not in _NATURAL or abs(alter) != len(signs) or len(signs) > most:
            count = {0: "no # or b", 1: "at most one # or b"}.get(most, f"at most {most} # or {most} b")
            raise BadRoutine(f"no note name {text!r}: accepted is a capital letter A to G and {count}")
        return cls(letter, alter)

    def __str__(self) -> str:
        return self.letter + ("#" if self.alter > 0 else "b") * abs(self.alter)

    @property
    def pitch_class(self) -> int:
        """Half steps above C, 0 to 11."""
        return (_NATURAL[self.letter] + self.alter) % 12

    def up(self, steps: int, half_steps: int) -> Tone:
        """Return the tone that lies so many letter names and half steps higher.

        Parameters
        ----------
        steps : int
            Letter names: 2 for a third, 6 for a seventh; negative goes down.
        half_steps : int
            The size of the interval; 10 with six letter names is a flat seventh.
        """
        octaves, place = divmod(LETTERS.index(self.letter) + steps, len(LETTERS))
        letter = LETTERS[place]
        natural_half_steps = _NATURAL[letter] + 12 * octaves - _NATURAL[self.letter]
        return Tone(letter, self.alter + half_steps - natural_half_steps)


def usual_tone(midi: int) -> Tone:
    """Return the usual spelling on the banjo of a MIDI number, or of a pitch class."""
    return Tone.parse(_USUAL[midi % 12])


def note_name(midi: int, tone_hint: Tone | None = None) -> str:
    """Name a MIDI number with its octave: 66 is ``F#4``.

    Parameters
    ----------
    midi : int
        C4 is 60.
    tone_hint : Tone or None
        How to spell it; by default as is usual on the banjo.

    Raises
    ------
    BadRoutine
        If the hint is not a spelling of this pitch.
    """
    tone = usual_tone(midi) if tone_hint is None else tone_hint
    if tone.pitch_class != midi % 12:
        raise BadRoutine(f"MIDI {midi} is not {tone}: accepted is a spelling of {usual_tone(midi)}")
    return f"{tone}{(midi - tone.alter) // 12 - 1}"
