"""Named mistakes: what a simulated player can do wrong, a row each.

The problem: to know that a judge tells mistakes apart, one must be able to make each of them and no other. A
mistake edits the draft of a pass (`feedback.strokes`) so that, by the judges' definitions, the thing that the
row names is true of what is then played. Truth is not taken from the name: it is the judges' verdict on what
was played.

Conventions: a newcomer adds a function to `feedback.slips` and a row here.
"""

from __future__ import annotations

import difflib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np

from feedback.slips import others, resolutions, sevens, timing
from feedback.slips.sevens import Slip
from feedback.strokes import Draft
from routines.errors import BadRoutine


@dataclass(frozen=True, slots=True, kw_only=True)
class Mistake:
    """One row.

    Attributes
    ----------
    about : str
        What the player does, in one line.
    slip : callable
        From a draft and a generator to the draft with the mistake made; raises BadRoutine where the lick has
        no place for it.
    """

    about: str
    slip: Slip


def _row(slip: Slip, about: str) -> Mistake:
    return Mistake(about=about, slip=slip)


MISTAKES: Mapping[str, Mistake] = MappingProxyType(
    {
        "seven-missing": _row(sevens.missing, "the last seven before a change is left out"),
        "seven-root": _row(sevens.replaced_by(+2), "the root in the place of the last seven"),
        "seven-sixth": _row(sevens.replaced_by(-1), "the sixth in the place of the last seven"),
        "seven-natural": _row(
            sevens.replaced_by(+1), "the natural seventh in the place of the last flat seven"
        ),
        "seven-late": _row(sevens.moved_by(+0.4), "the last seven comes two fifths of an eighth late"),
        "seven-late-far": _row(sevens.moved_by(+0.8), "the last seven comes four fifths of an eighth late"),
        "seven-late-full": _row(sevens.late_full, "the last seven comes a whole eighth late"),
        "seven-early": _row(sevens.moved_by(-0.4), "the last seven comes two fifths of an eighth early"),
        "seven-swallowed": _row(sevens.swallowed, "the last seven is so soft that the roll covers it"),
        "all-sevens-missing": _row(sevens.all_missing, "every seven is left out"),
        "left-hanging": _row(
            resolutions.left_hanging, "the last seven does not fall: its due note never comes"
        ),
        "resolution-up": _row(resolutions.upward, "the seven goes up to the next tone of the new chord"),
        "resolution-octave": _row(resolutions.in_another_octave, "the resolution comes in another octave"),
        "resolution-ahead": _row(resolutions.ahead, "the resolution comes an eighth ahead of its place"),
        "resolution-late": _row(resolutions.late, "the resolution comes two eighths late"),
        "filler-wrong": _row(others.wrong(core=False), "a note outside the core is stopped at a wrong fret"),
        "filler-missing": _row(others.left_out(core=False), "a note outside the core is left out"),
        "filler-added": _row(
            others.put_in(foreign=True, before_core=False), "a note foreign to the chord is added between two"
        ),
        "chord-tone-added": _row(
            others.put_in(foreign=False, before_core=False), "a tone of the chord is added between two notes"
        ),
        "core-wrong": _row(others.wrong(core=True), "a core note is stopped at a wrong fret"),
        "core-missing": _row(others.left_out(core=True), "a core note is left out"),
        "core-added": _row(
            others.put_in(foreign=True, before_core=True), "a foreign note is added right before a core note"
        ),
        "two-swapped": _row(others.swapped, "two neighbouring notes in each other's place"),
        "hurry-at-change": _row(
            timing.hurried_change, "the resolution and the two notes before it come early"
        ),
        "bounced": _row(timing.bounced, "the even eighths come later than half way"),
        "leaning-ahead": _row(timing.leaning(-timing.LEAN_MS), "everything comes 22 ms ahead of the click"),
        "leaning-behind": _row(timing.leaning(timing.LEAN_MS), "everything comes 22 ms behind the click"),
        "rising-tempo": _row(timing.running_away, "the tempo runs half an eighth ahead over the lick"),
        "uneven": _row(timing.uneven, "every note falls beside its place, now early, now late"),
    }
)
"""Name to what goes wrong."""


def made(draft: Draft, names: Sequence[str], rng: np.random.Generator) -> Draft:
    """Return a draft with the named mistakes made, one after the other.

    Parameters
    ----------
    draft : Draft
    names : sequence of str
        Keys of `MISTAKES`.
    rng : numpy.random.Generator
        Where a mistake may befall more than one note, it draws one.

    Raises
    ------
    BadRoutine
        If a name is unknown, or the lick has no place for a mistake.
    """
    for name in names:
        if name not in MISTAKES:
            near = difflib.get_close_matches(name, MISTAKES, n=1)
            hint = f"did you mean {near[0]}? " if near else ""
            raise BadRoutine(f"no mistake {name!r}: {hint}accepted are {', '.join(MISTAKES)}")
        draft = MISTAKES[name].slip(draft, rng)
    return draft
