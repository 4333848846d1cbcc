"""Names moved from key to key: the key itself, the chords, and by how much in words.

The problem: D7 in G is E7 in A, F7 in Bb and C#7 in F#, and never an A# where Bb is meant. So a name moves by
as many letters as the key does, and by as many half steps; sharps and flats follow.

Conventions: the move of a name goes up and knows no octave; that of the notes does.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace

from routines.chords import Chord, ChordSpan
from routines.errors import BadRoutine
from routines.pitch import LETTERS, Tone, usual_tone
from routines.shapes import shaped, sounding

_SHARPS = {"C": 0, "G": 1, "D": 2, "A": 3, "E": 4, "B": 5, "F": -1}
_SIGNS_MOST = 7
_SIGNS_AN_ACCIDENTAL = 7
_SIGNS_MINOR = -3
_DISTANCES = (
    "", "a half step", "a whole step", "a minor third", "a major third", "a fourth", "a tritone", "a fifth",
    "a minor sixth", "a major sixth", "a minor seventh", "a major seventh", "an octave",
)  # fmt: skip
_OCTAVE = 12
_TYPED = re.compile(r"([A-Ga-g])([#b♯♭]?)(m| ?[Mm]inor| ?[Mm]ajor|)")


@dataclass(frozen=True, slots=True)
class NameMove:
    """By how many letters (0 to 6) and half steps names move upwards; D to Db is no letter and -1."""

    letters: int
    half_steps: int

    def chord(self, chord: Chord | None) -> Chord | None:
        """Return a chord moved; a root that would need two accidentals takes its usual name."""
        if chord is None:
            return None
        root = chord.root.up(self.letters, self.half_steps)
        return Chord(root if abs(root.alter) <= 1 else usual_tone(root.pitch_class), chord.kind)


def key_moved_to(key: str, to: str) -> Chord:
    """Read the key that a lick is to be moved to.

    Parameters
    ----------
    key : str
        The lick's own.
    to : str
        A key as players name it, such as ``A`` or ``Bb``, in small letters too (``b`` is B, ``bb`` is Bb),
        or in words: ``a minor``. That of a lick in minor may be named without its m. A key of more than
        seven sharps or flats takes its usual name: A# is Bb.

    Raises
    ------
    BadRoutine
        If it is no key, or the lick's is minor and it is major, or the other way round.
    """
    old = Chord.parse(key)
    try:
        new = Chord.parse(_symbol(to))
    except BadRoutine as error:
        raise BadRoutine(f"no key {to!r}: {_accepted(old)}") from error
    if new.kind == "" and old.kind == "m":
        new = Chord(new.root, "m")
    if new.kind != old.kind:
        raise BadRoutine(f"no key {to!r} for a lick in {key}: {_accepted(old)}")
    usual = usual_tone(new.root.pitch_class)
    names = (new.root, usual, usual.up(1, 0))  # the last one turns G# into Ab
    return next(key for key in (Chord(name, new.kind) for name in names) if abs(_signs(key)) <= _SIGNS_MOST)


def name_move(key: Chord, to: Chord) -> NameMove:
    """Return how names move from one key to another."""
    letters = (LETTERS.index(to.root.letter) - LETTERS.index(key.root.letter)) % len(LETTERS)
    plain = Tone(key.root.letter).up(letters, 0)
    # The half steps of the letters alone, then of the sharps and flats: D to Db is one down, not eleven up.
    return NameMove(letters, -plain.alter + to.root.alter - key.root.alter)


def spans_moved(spans: Sequence[ChordSpan], move: NameMove, capo: int) -> tuple[ChordSpan, ...]:
    """Return chord spans moved, named as a lick text under a capo at fret `capo` can name them."""
    return tuple(replace(span, chord=_under(capo, move.chord(span.chord))) for span in spans)


def key_under(key: Chord, capo: int) -> str:
    """Return the key named as its chords are under a capo at fret `capo`."""
    named = _under(capo, key)
    return named.symbol if named is not None else key.symbol


def in_words(half_steps: int) -> str:
    """Name a move of less than two octaves, and the other octave where that is nearer.

    ``up a whole step``; ``up a minor seventh, not down a whole step``; ``at the same pitch``.
    """
    if not half_steps:
        return "at the same pitch"
    octaves, rest = divmod(abs(half_steps), _OCTAVE)
    parts = [_DISTANCES[_OCTAVE]] * min(octaves, 1) + [_DISTANCES[rest]] * (rest > 0)
    words = f"{'up' if half_steps > 0 else 'down'} {' and '.join(parts)}"
    nearer = half_steps - _OCTAVE if half_steps > 0 else half_steps + _OCTAVE
    return f"{words}, not {in_words(nearer)}" if abs(nearer) < abs(half_steps) else words


def id_part(key: str) -> str:
    """Return a key as a part of a lick's id: ``f-sharp``, ``bb``, ``em``."""
    return key.lower().replace("#", "-sharp-").strip("-").replace("--", "-")


def string_name(midi: int) -> str:
    """Return the note of an open fifth string as its line of a tab names it: ``g``, ``bb``, ``g#``."""
    return str(usual_tone(midi)).lower()


def _symbol(typed: str) -> str:
    """Return a key as the symbol of its chord; what is no key as it was typed."""
    found = _TYPED.fullmatch(typed.strip())
    if found is None:
        return typed
    letter, sign, kind = found.groups()
    return f"{letter.upper()}{sign}{'m' if kind.strip().lower() in ('m', 'minor') else ''}"


def _signs(key: Chord) -> int:
    """Sharps of a key's signature; flats are negative."""
    signs = _SHARPS[key.root.letter] + _SIGNS_AN_ACCIDENTAL * key.root.alter
    return signs + (_SIGNS_MINOR if key.kind == "m" else 0)


def _under(capo: int, chord: Chord | None) -> Chord | None:
    # Text under a capo names shapes, and reads what sounds from them.
    return chord if chord is None else sounding(shaped(chord, capo), capo)


def _accepted(key: Chord) -> str:
    kind = "a minor key, such as Am" if key.kind == "m" else "a major key, such as A, Bb or F#"
    return f"accepted is {kind}"
