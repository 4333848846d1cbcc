"""What a picture of a neck shows: a chord, where it leads, the neck, and which of its frets.

Conventions: chords are named as they sound; under a capo the hand's names come from `feedback.chord_told`.
Frets are tab frets, counted from the capo where there is one.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from feedback.chord_told import Drone, drone_of, next_shape_of, shape_of, tendencies
from routines.chords import Chord, Tendency, home_of
from routines.errors import BadRoutine
from routines.neck import FIFTH_NUT, FRETS, FifthString, Neck, Place
from routines.pitch import Tone

_KEPT = 64
_LOWEST, _HIGHEST = 36, 97
"""Pitches that a banjo may have, in any tuning."""


@dataclass(frozen=True, slots=True, kw_only=True)
class NeckState:
    """What is shown.

    Attributes
    ----------
    symbol : str
        The chord, as it sounds.
    next_symbol : str
        The chord that it goes to, as it sounds; empty: a dominant seventh goes home, another chord nowhere.
    tuning : str
    capo : int
    fifth : FifthString or None
        As of `routines.neck.Neck`.
    first_fret : int
        Lowest fret shown; 0 shows the open strings too.
    frets_shown : int
        How many frets, open strings not counted; fewer where the neck ends.
    left_handed : bool
        Whether the nut is on the right.

    Raises
    ------
    BadRoutine
        If there is no such chord, neck or fret.
    """

    symbol: str = "D7"
    next_symbol: str = ""
    tuning: str = "gDGBD"
    capo: int = 0
    fifth: FifthString | None = None
    first_fret: int = 0
    frets_shown: int = 12
    left_handed: bool = False

    def __post_init__(self) -> None:
        Chord.parse(self.symbol)
        if self.next_symbol:
            Chord.parse(self.next_symbol)
        if not 0 <= self.first_fret <= self.neck.last_fret:
            raise BadRoutine(f"no fret {self.first_fret}: accepted are 0 to {self.neck.last_fret}")
        if not 1 <= self.frets_shown <= FRETS:
            raise BadRoutine(f"{self.frets_shown} frets cannot be shown: accepted are 1 to {FRETS}")

    @property
    def neck(self) -> Neck:
        """The tuned neck."""
        return Neck(self.tuning, self.capo, self.fifth)

    @property
    def last_fret(self) -> int:
        """Highest fret shown."""
        return min(max(self.first_fret, 1) + self.frets_shown - 1, self.neck.last_fret)

    @property
    def chord(self) -> Chord:
        """What sounds."""
        return Chord.parse(self.symbol)

    @property
    def shape(self) -> Chord:
        """What the hand holds."""
        return shape_of(self.chord, self.capo)

    @property
    def next_shape(self) -> Chord | None:
        """What the hand holds next; None where nothing follows."""
        if self.next_symbol:
            return next_shape_of(self.chord, Chord.parse(self.next_symbol), self.capo)
        return home_of(self.shape) if self.chord.dominant else None

    @property
    def moves(self) -> list[Tendency]:
        """Where the shape's guide tones go."""
        return tendencies(self.shape, self.next_shape)

    @property
    def drone(self) -> Drone:
        """What the open fifth string is to the shape."""
        return drone_of(self.shape, self.moves, self.neck)

    @property
    def fifth_nut(self) -> int:
        """Tab fret at which the open fifth string begins; under a high capo it is below 1."""
        fifth = self.neck.fifth_string
        raised = fifth.open_midi - Neck(self.tuning).open_midi(5) if fifth.how == "spike" else 0
        return FIFTH_NUT + raised - self.capo

    def shows(self, place: Place) -> bool:
        """Whether a place lies on the frets shown; the open fifth string lies at its own nut."""
        fret = place.fret
        if place.string == 5 and fret == 0:
            fret = max(self.fifth_nut, 0)
        return self.first_fret <= fret <= self.last_fret


@dataclass(frozen=True, slots=True, kw_only=True)
class Placed:
    """A tone at its place.

    Attributes
    ----------
    place : Place
    function : str
        In its own chord.
    tone : Tone
    reached : bool
        Whether it is of the next chord, and the place that a guide tone moves to.
    """

    place: Place
    function: str
    tone: Tone
    reached: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Path:
    """A guide tone's way on the neck, from a place that is shown."""

    move: Tendency
    here: Place
    there: Place


@lru_cache(maxsize=_KEPT)
def paths(state: NeckState) -> tuple[Path, ...]:
    """Every way of every guide tone that begins on the frets shown; one from each place."""
    found: list[Path] = []
    for move in state.moves:
        sounding = (move.from_tone.pitch_class + state.capo) % 12
        found += [
            Path(move=move, here=here, there=there)
            for here, there in state.neck.moves(sounding, move.half_steps)
            if state.shows(here)
        ]
    return tuple(found)


@lru_cache(maxsize=_KEPT)
def tones(state: NeckState) -> tuple[Placed, ...]:
    """Every tone of the shape on the frets shown, and the places that its guide tones move to."""
    found = {}
    for path in paths(state):
        if state.shows(path.there):
            found[path.there] = Placed(
                place=path.there, function=path.move.to_function, tone=path.move.to_tone, reached=True
            )
    neck, capo = state.neck, state.capo
    for function, tone in state.shape.tones:
        for midi in range(_LOWEST + (tone.pitch_class + capo - _LOWEST) % 12, _HIGHEST, 12):
            found |= {
                place: Placed(place=place, function=function, tone=tone)
                for place in neck.places(midi)
                if state.shows(place)
            }
    return tuple(sorted(found.values(), key=lambda placed: (placed.place.string, placed.place.fret)))
