"""A first look at a sketch: where its notes would lie, and that no seven rings on under its own fall.

The problem: to the hands an open string is as good as a stopped one, and better; to the ear an open seven
goes on while its resolution sounds on another string. So where the first look leaves one ringing, it looks
again without the open place, and takes that where it costs little more.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from routines.hand.wanted import Given, Wanted
from routines.moving.coarse import Rough, roughly
from routines.moving.sketch import Sketch
from routines.neck import Place

_RINGS_ON = 3.0
"""What it is worth that a seven does not ring on, in the units of `routines.hand.costs`."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Guess:
    """A sketch with a first look at where its notes would lie; `cost` is what that guesses."""

    sketch: Sketch
    wanted: tuple[Wanted, ...]
    given: Given
    rough: Rough

    @property
    def cost(self) -> float:
        """The guessed cost."""
        return self.rough.cost


def _first_look(sketch: Sketch) -> Guess | None:
    if sketch.homeless or not sketch.wanted:
        return None
    wanted, given = sketch.asked()
    rough = roughly(wanted, given)
    if rough is None:
        return None
    found = crossing(wanted, rough.places)
    if found is None:
        return Guess(sketch=sketch, wanted=wanted, given=given, rough=rough)
    at, string = found
    index = list(sketch.wanted)[at]
    return _first_look(
        sketch.within(index, (place for place in wanted[at].choices if place.string != string))
    )


def guessed(sketch: Sketch) -> Guess | None:
    """Take a first look at a sketch; None where a note has no place, or no way leads through."""
    guess = _first_look(sketch)
    if guess is None:
        return None
    for seven in ringing_on(guess):
        stopped = [place for place in guess.sketch.wanted[seven].choices if place.fret]
        quieter = _first_look(guess.sketch.within(seven, stopped)) if stopped else None
        if quieter is not None and quieter.cost <= guess.cost + _RINGS_ON:
            guess = quieter
    return guess


def ringing_on(guess: Guess) -> tuple[int, ...]:
    """Return the sevens that lie on an open string while what they fall to lies on another, by index."""
    places = dict(zip(guess.sketch.wanted, guess.rough.places, strict=True))
    return tuple(
        ask.note
        for ask in guess.sketch.source.lick.sevenths
        if ask.how == "resolve"
        and ask.note in places
        and ask.due_note in places
        and not places[ask.note].fret
        and places[ask.due_note].string != places[ask.note].string
    )


def crossing(wanted: Sequence[Wanted], places: Sequence[Place]) -> tuple[int, int] | None:
    """Return a note that stands inside a slur, on its string, and that string; mostly there is none."""
    for at, ends in enumerate(wanted):
        if ends.slurred_from is None:
            continue
        for other in range(ends.slurred_from + 1, at):
            inside = wanted[ends.slurred_from].onset_quarters < wanted[other].onset_quarters
            inside = inside and wanted[other].onset_quarters < ends.onset_quarters
            if inside and places[other].string == places[at].string:
                return other, places[at].string
    return None
