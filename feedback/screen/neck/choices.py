"""What can be chosen about a neck and its chord, a row each, and what each choice makes of the state.

A choice changes nothing but itself: under another capo the shape stays and another chord sounds, and what
follows keeps its distance from the chord. Roots and chords are offered as the hand names them.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from functools import lru_cache

from feedback.screen.neck.state import NeckState
from feedback.screen.neck.words import signed_chord, signed_tuning
from routines.chords import Chord
from routines.neck import OPEN_TUNINGS
from routines.pitch import Tone, usual_tone

_KINDS = ("7", "9", "m7", "maj7", "6", "dim7", "", "m")
_KIND_WORDS = {"": "major", "m": "minor"}
_CAPO_MOST = 7
_WINDOWS = ((0, 5), (0, 12), (5, 17), (10, 22))
_LEAST_FRETS = 3
_KEPT = 16


@dataclass(frozen=True, slots=True)
class Value:
    """One value of a row: its words, and the state that choosing it makes."""

    says: str
    makes: NeckState


@lru_cache(maxsize=_KEPT)
def values(state: NeckState, row: str) -> tuple[Value, ...]:
    """The values of a row of `ROWS`, in order; one whose state is equal to `state` is the one that holds.

    Raises
    ------
    KeyError
        If there is no such row.
    """
    return tuple(ROWS[row](state))


def with_shape(state: NeckState, shape: Chord, capo: int) -> NeckState:
    """The state with another shape held, or under another capo; what follows keeps its distance."""
    follows = _follows(state)
    kept = next((at for at, chord in enumerate(follows) if chord == state.next_symbol), 0)
    sounds = shape if not capo else Chord(usual_tone(shape.root.pitch_class + capo), shape.kind)
    moved = replace(state, capo=capo, symbol=sounds.symbol, first_fret=0, next_symbol="")
    moved = replace(moved, first_fret=min(state.first_fret, moved.neck.last_fret))
    return replace(
        moved, next_symbol=_follows(moved)[kept] if state.chord.dominant == moved.chord.dominant else ""
    )


def roots(state: NeckState) -> list[Tone]:
    """The twelve roots, as the hand names them."""
    usual = [usual_tone(pitch_class) for pitch_class in range(12)]
    return usual if state.capo else [Tone("A", -1) if str(tone) == "G#" else tone for tone in usual]


def _roots(state: NeckState) -> list[Value]:
    own = state.shape.root
    return [
        Value(
            signed_chord(str(own if tone.pitch_class == own.pitch_class else tone)),
            state
            if tone.pitch_class == own.pitch_class
            else with_shape(state, Chord(tone, state.shape.kind), state.capo),
        )
        for tone in roots(state)
    ]


def _kinds(state: NeckState) -> list[Value]:
    return [
        Value(
            _KIND_WORDS.get(kind, kind),
            state
            if kind == state.shape.kind
            else with_shape(state, Chord(state.shape.root, kind), state.capo),
        )
        for kind in _KINDS
    ]


def _thens(state: NeckState) -> list[Value]:
    found = []
    for symbol in _follows(state):
        makes = replace(state, next_symbol=symbol)
        follows = makes.next_shape
        found.append(Value("nothing" if follows is None else signed_chord(follows.symbol), makes))
    return found


def _capos(state: NeckState) -> list[Value]:
    return [
        Value(
            str(capo) if capo else "none",
            state if capo == state.capo else with_shape(state, state.shape, capo),
        )
        for capo in range(_CAPO_MOST + 1)
    ]


def _tunings(state: NeckState) -> list[Value]:
    return [
        Value(
            signed_tuning(tuning),
            state if tuning == state.tuning else replace(state, tuning=tuning, fifth=None),
        )
        for tuning in OPEN_TUNINGS
    ]


def _frets(state: NeckState) -> list[Value]:
    last = state.neck.last_fret
    return [
        Value(
            f"{first}–{min(end, last)}",
            replace(state, first_fret=first, frets_shown=end - max(first, 1) + 1),
        )
        for first, end in _WINDOWS
        if min(end, last) - first >= _LEAST_FRETS
    ]


ROWS: Mapping[str, Callable[[NeckState], list[Value]]] = {
    "root": _roots,
    "kind": _kinds,
    "then": _thens,
    "capo": _capos,
    "tuning": _tunings,
    "frets": _frets,
}
"""What there is to choose, to how its values are found."""


def _follows(state: NeckState) -> list[str]:
    """Chords that may follow, as they sound: home or nothing, minor home, the next seventh, home's minor."""
    home = state.chord.root.up(3, 5)
    chords = [(home, "m"), (home, "7"), (home.up(5, 9), "m")]
    if not state.chord.dominant:
        chords.insert(0, (home, ""))
    return ["", *(_plain(tone) + kind for tone, kind in chords)]


def _plain(tone: Tone) -> str:
    return str(tone if abs(tone.alter) < 2 else usual_tone(tone.pitch_class))
