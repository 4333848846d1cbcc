"""The notes of a lick as they are to be fingered: each at its pitch, with the places where that lies.

The problem: a slur stays on one string, a slide and a choke need a finger, a drone is the open fifth string
and nothing else is, and a bass between chops stays below them. So each note's places are narrowed before the
hand chooses among them; and where a slur has no string on which both of its notes lie, it has to be picked
instead, which is said.

Conventions: notes are known by their index in the lick that is moved.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from functools import lru_cache
from types import MappingProxyType

from routines.hand.wanted import Given, Wanted
from routines.moving.drones import Drones
from routines.moving.source import Source
from routines.neck import Neck, Place

TOP_FRET = 19
"""The highest tab fret of a fingering that is found anew."""

_PLACES_MOST = 3
"""How many places of a note are weighed: those of the lowest frets."""

_LONG_STRINGS = (1, 2, 3, 4)
_BASS_STRINGS = (3, 2)
"""The thumb's highest string beside a pinch, and where that will not do."""

_EIGHTH_QUARTERS = 0.5


@dataclass(frozen=True, slots=True, kw_only=True)
class Changes:
    """In what a sketch departs from the lick.

    Attributes
    ----------
    left_out : frozenset of int
    shifts : mapping of int to tuple of int
        By how many half steps a note may be moved beside, one or several to choose from.
    tempo_half_bpm : float or None
        A slower top tempo.
    """

    left_out: frozenset[int] = frozenset()
    shifts: Mapping[int, tuple[int, ...]] = field(default_factory=lambda: MappingProxyType({}))
    tempo_half_bpm: float | None = None


NO_CHANGES = Changes()


@dataclass(frozen=True, slots=True, kw_only=True)
class Sketch:
    """A lick on its way to another key.

    Attributes
    ----------
    source : Source
    drones : Drones
    half_steps : int
        By how much the notes move.
    changes : Changes
    wanted : mapping of int to Wanted
        Index in the lick to what is asked of the hands, in the order of the lick; `slurred_from` is such an
        index too. Notes that are left out are missing.
    unslurred : tuple of int
        Slurred notes that are picked, as no string holds both notes of the slur.
    """

    source: Source
    drones: Drones
    half_steps: int
    changes: Changes
    wanted: Mapping[int, Wanted]
    unslurred: tuple[int, ...]

    @property
    def homeless(self) -> tuple[int, ...]:
        """Notes that lie nowhere on this neck."""
        return tuple(index for index, wanted in self.wanted.items() if not wanted.choices)

    @property
    def tempo_half_bpm(self) -> float:
        """The tempo at which it is to be played, in half notes a minute."""
        return self.changes.tempo_half_bpm or self.source.lick.top_tempo_half_bpm

    @property
    def exact(self) -> bool:
        """Whether it departs in nothing from the lick moved."""
        changed = self.unslurred or self.changes.shifts or self.changes.tempo_half_bpm
        return not changed and len(self.wanted) == len(self.source.wanted)

    def within(self, index: int, places: Iterable[Place]) -> Sketch:
        """Return the same with a note held to some places."""
        wanted = replace(self.wanted[index], choices=tuple(places))
        return replace(self, wanted={**self.wanted, index: wanted})

    def asked(self) -> tuple[tuple[Wanted, ...], Given]:
        """Return what the hand engine is asked, notes counted anew."""
        row = {index: at for at, index in enumerate(self.wanted)}
        wanted = tuple(
            w if w.slurred_from is None else replace(w, slurred_from=row[w.slurred_from])
            for w in self.wanted.values()
        )
        lick = self.source.lick
        given = Given(
            neck=self.drones.neck,
            tempo_half_bpm=self.tempo_half_bpm,
            quarters_a_bar=lick.quarters_a_bar,
            changes_quarters=tuple(span.start_quarters for span in lick.chords[1:]),
        )
        return wanted, given


def sketched(source: Source, drones: Drones, half_steps: int, changes: Changes = NO_CHANGES) -> Sketch:
    """Ask for a lick moved by some half steps, as exactly as the neck allows."""
    gone = (frozenset(source.drones) - drones.open - drones.fingered) | changes.left_out
    kept = [index for index in range(len(source.wanted)) if index not in gone]
    bare = Sketch(
        source=source, drones=drones, half_steps=half_steps, changes=changes, wanted={}, unslurred=()
    )
    choices = {index: _choices(bare, index) for index in kept}
    home, shared, unslurred = _slurs(source, choices)
    wanted: dict[int, Wanted] = {}
    for index, there in choices.items():
        strings = shared[home[index]]
        narrowed = tuple(place for place in there if place.string in strings)[:_PLACES_MOST]
        # No finger but the thumb reaches the fifth string.
        thumb = source.wanted[index].picked and narrowed and all(place.string == 5 for place in narrowed)
        was, slurred = source.wanted[index], index not in unslurred
        wanted[index] = Wanted(
            onset_quarters=was.onset_quarters,
            choices=narrowed,
            technique=was.technique if slurred else "pick",
            picked=was.picked or not slurred,
            slurred_from=was.slurred_from if slurred else None,
            from_frets=was.from_frets,
            finger="T" if thumb else "",
            seven=was.seven,
        )
    # What is picked inside an eighth cannot be written: such a note goes.
    inside = [i for i in unslurred if source.wanted[i].onset_quarters % _EIGHTH_QUARTERS]
    if inside:
        left_out = changes.left_out | frozenset(inside)
        return sketched(source, drones, half_steps, replace(changes, left_out=left_out))
    return replace(bare, wanted=wanted, unslurred=tuple(unslurred))


def _choices(sketch: Sketch, index: int) -> tuple[Place, ...]:
    """Every place where a note may be made, the lowest fret first."""
    neck, note = sketch.drones.neck, sketch.source.lick.notes[index]
    if index in sketch.drones.open:
        return (Place(5, 0),)
    choke = note.technique == "choke" and note.from_midi is not None
    stands = (note.from_midi if choke and note.from_midi is not None else note.midi) + sketch.half_steps
    open_fifth = note.string == 5 and note.fret == 0
    if open_fifth and stands == neck.open_midi(5):
        return (Place(5, 0),)
    lies: list[Place] = []
    for shift in sketch.changes.shifts.get(index, (0,)):
        lies += _lies(neck, stands + shift, note.string == 5 and not open_fifth)
    lies.sort(key=lambda place: place.fret)
    least = int(index in sketch.source.slid_from)
    if choke or note.technique == "slide":
        # A slide inside its eighth begins at a fret too, above or below the one where it ends.
        least = 1 + (max(0, sketch.source.wanted[index].from_frets) if not choke else 0)
    places = tuple(place for place in lies if place.fret >= least)
    return _below(places, note.string) if index in sketch.source.basses else places


def _below(places: tuple[Place, ...], was: int) -> tuple[Place, ...]:
    """Return those that lie on the strings of the bass, or as low as before; all where none does."""
    for highest in _BASS_STRINGS:
        low = tuple(place for place in places if place.string >= min(highest, was))
        if low:
            return low
    return places


def _slurs(
    source: Source, choices: Mapping[int, tuple[Place, ...]]
) -> tuple[dict[int, int], dict[int, frozenset[int]], list[int]]:
    """Return for each note the first of its slurs, for each of these its strings, and what loses its slur.

    A note that lies nowhere keeps its slurs: it will be found a place, or leave.
    """
    home: dict[int, int] = {}
    shared: dict[int, frozenset[int]] = {}
    unslurred = []
    for index, places in choices.items():
        strings = frozenset(place.string for place in places)
        begins = source.wanted[index].slurred_from
        if begins is None:
            home[index], shared[index] = index, strings
            continue
        first = home.get(begins)
        both = frozenset() if first is None else shared[first] & strings
        if first is not None and both:
            home[index], shared[first] = first, both
            continue
        home[index], shared[index] = index, strings
        if first is None or (strings and shared[first]):
            unslurred.append(index)
    return home, shared, unslurred


@lru_cache(maxsize=4096)
def _lies(neck: Neck, midi: int, fifth_too: bool) -> tuple[Place, ...]:
    strings = (*_LONG_STRINGS, 5) if fifth_too else _LONG_STRINGS
    return tuple(
        place
        for place in neck.places(midi)
        if place.string in strings and place.fret <= TOP_FRET and (place.string != 5 or place.fret)
    )
