"""A few licks that between them have everything: for tests that would take minutes over the whole repertoire.

The problem: a hundred licks and more, most of which differ in nothing that a picture, a judge or a renderer
could trip over. Conventions: a *trait* is something that could matter to any of them; licks are taken, the
one with the most traits not yet seen first, until every trait has been seen. What is cheap, or is a rule of
the repertoire itself, is tested over `all_licks` all the same.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterator
from functools import cache

from routines.library import all_licks, changes_of, techniques_of
from routines.lick import Lick

_HIGH_FRET = 9
_EXTREMES: dict[str, Callable[[Lick], float]] = {
    "many notes": lambda lick: len(lick.notes),
    "few notes": lambda lick: -len(lick.notes),
    "long title": lambda lick: len(lick.title),
    "long sentence": lambda lick: len(lick.trains),
    "quick": lambda lick: lick.top_tempo_half_bpm,
    "slow": lambda lick: -lick.top_tempo_half_bpm,
    "many sevens": lambda lick: len(lick.sevenths),
    "many chords": lambda lick: len(lick.chords),
}


def traits(lick: Lick) -> frozenset[Hashable]:
    """What there is about one lick that could matter, but for how it compares with the others."""
    return frozenset(_traits(lick))


@cache
def few_licks() -> tuple[Lick, ...]:
    """The few, in the order of `all_licks`."""
    licks = all_licks()
    wanted: dict[str, set[Hashable]] = {lick.id: set(traits(lick)) for lick in licks}
    for name, most in _EXTREMES.items():
        wanted[max(licks, key=most).id].add(name)
    taken: set[str] = set()
    left = set().union(*wanted.values())
    while left:
        best = max(wanted, key=lambda name: len(wanted[name] & left))
        taken.add(best)
        left -= wanted[best]
    return tuple(lick for lick in licks if lick.id in taken)


def _traits(lick: Lick) -> Iterator[Hashable]:
    yield lick.kind, lick.meter
    yield "bars", lick.bars
    yield "use", lick.use
    yield "capo", lick.neck.capo
    yield "tuning", lick.neck.tuning
    yield "pickup", lick.pickup_quarters
    for technique in techniques_of(lick):
        yield "technique", technique
    for note in lick.notes:
        yield "width of a fret", note.string == 5, len(str(note.fret))
        yield "inside an eighth", note.technique, (note.onset_quarters * 2) % 1
        yield "up the neck", note.fret > _HIGH_FRET
    for ask in lick.sevenths:
        yield "seven", ask.how, ask.marked
        yield "seven of the drone string", lick.notes[ask.note].string == 5
    for ask in lick.thirds:
        yield "third", ask.how, ask.marked
    for span in lick.chords:
        yield "chord", len(span.symbol)
    yield "changes", len(changes_of(lick))
