"""Chords as the hand shapes them under a capo, and as they sound.

The problem: with the capo at fret 2 a player of a G shape sounds an A. Tab is read, and chords are written
above it, as if there were no capo; notes are heard, and chords are judged, as they sound. This is the one
place where one is turned into the other.

Conventions: names move by letter arithmetic (capo 3: two letters, three half steps, so G is Bb and never
A#). A root that would need two accidentals takes its usual name.
"""

from __future__ import annotations

from routines.chords import Chord
from routines.pitch import Tone, usual_tone

_LETTERS_UP = (0, 1, 1, 2, 2, 3, 4, 4, 5, 5, 6, 6)
"""Letter names that a capo at each fret moves a name by: the usual keys, G to A, Bb, B, C."""


def sounding(chord: Chord, capo: int) -> Chord:
    """Return the chord that sounds where `chord` is shaped under a capo at fret `capo`, 0 or more."""
    return Chord(_moved(chord.root, capo, +1), chord.kind)


def shaped(chord: Chord, capo: int) -> Chord:
    """Return the shape that sounds as `chord` under a capo at fret `capo`, 0 or more."""
    return Chord(_moved(chord.root, capo, -1), chord.kind)


def _moved(root: Tone, capo: int, way: int) -> Tone:
    letters = _LETTERS_UP[capo % 12] + 7 * (capo // 12)
    moved = root.up(way * letters, way * capo)
    return moved if abs(moved.alter) < 2 else usual_tone(moved.pitch_class)
