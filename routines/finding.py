"""Licks found by what they train, by what the hands do, or by words about them.

The problem: one line of typed words has to reach a lick by its change, its key, the hand it needs, a
technique, and by any word that a player remembers of it; and "easy" must find what is easy, not what an easy
sentence is written about.

Conventions: a *fact* is a short word that says exactly one thing: a change, a key, a hand, a kind, a meter, a
technique, where in a tune the lick belongs. A typed word that is a fact of any lick means that fact and
nothing else. Every other word is looked for in names, titles and in what the lick trains; three letters of a
word's beginning are enough. Case does not matter, and any dash is a hyphen. Under a capo a change is found as
it sounds and as it is shaped.
"""

from __future__ import annotations

import re
from functools import lru_cache

from routines.library import all_licks, changes_of, shape_changes_of, techniques_of
from routines.lick import Lick

_PREFIX_LEAST = 3
_HIGH_FRET = 7
_DASHES = str.maketrans("–—→", "---")
_WORD = re.compile(r"[^\s,.;:!?()]+")


def find(query: str, *, growing: bool = False) -> tuple[Lick, ...]:
    """Find the licks that every word of a query fits.

    Parameters
    ----------
    query : str
        An empty one finds all.
    growing : bool
        Whether the last word may be half typed, so that its beginning is enough whatever it becomes.

    Returns
    -------
    tuple of Lick
        In the order of `routines.library.all_licks`.
    """
    words = query.translate(_DASHES).casefold().split()
    last = words.pop() if words and growing and not query[-1:].isspace() else ""
    return tuple(
        lick
        for lick in all_licks()
        if all(_fits(word, lick) for word in words) and (not last or _begins(last, lick))
    )


@lru_cache(maxsize=512)
def facts_of(lick: Lick) -> frozenset[str]:
    """Return what can be said of a lick in one word each, in small letters."""
    facts = {lick.key, lick.hand, lick.kind, lick.meter, *changes_of(lick), *shape_changes_of(lick)}
    facts |= set(techniques_of(lick))
    if lick.use:
        facts.add(lick.use)
    if lick.meter == "3/4":
        facts.add("waltz")
    if lick.neck.capo:
        facts.add(f"capo{lick.neck.capo}")
    if max(note.fret for note in lick.notes) > _HIGH_FRET:
        facts.add("high")
    return frozenset(fact.casefold() for fact in facts)


@lru_cache(maxsize=1)
def all_facts() -> frozenset[str]:
    """Return the facts of all licks that come with the program."""
    return frozenset().union(*(facts_of(lick) for lick in all_licks()))


@lru_cache(maxsize=512)
def _names_of(lick: Lick) -> frozenset[str]:
    return frozenset((lick.id, lick.title.casefold(), *lick.id.split("-"), *lick.title.casefold().split()))


@lru_cache(maxsize=512)
def _told_of(lick: Lick) -> frozenset[str]:
    """The words of what it trains; names of notes are left out, which would answer to keys and chords."""
    return frozenset(word for word in _WORD.findall(lick.trains.casefold()) if len(word) >= _PREFIX_LEAST)


def _fits(word: str, lick: Lick) -> bool:
    if word in all_facts():
        return word in facts_of(lick)
    # Shorter words would let a title answer to the name of a key.
    if len(word) < _PREFIX_LEAST:
        return word in _names_of(lick)
    return any(one.startswith(word) for one in _names_of(lick) | _told_of(lick))


def _begins(word: str, lick: Lick) -> bool:
    """Whether a half-typed word may still become one that fits."""
    return any(one.startswith(word) for one in facts_of(lick) | _names_of(lick) | _told_of(lick))
