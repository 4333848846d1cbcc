"""Licks found by what they train, by what the hands do, or by words about them.

The problem: one line of typed words has to reach a lick by its change, its key, the hand it needs, a
technique, and by any word that a player remembers of it; and "easy" must find what is easy, not what an easy
sentence is written about.

Conventions: a *fact* is a short word that says exactly one thing: a change, a key, a hand, a kind, a meter, a
technique, a tuning, where in a tune the lick belongs, V7-I or I7-IV, colour. A typed word that is a fact of
any lick means that fact and nothing else. Every other word is looked for in names, titles and in what the
lick trains; three letters of a word's beginning are enough. Case does not matter, and any dash is a hyphen.
Under a capo a change is found as it sounds and as it is shaped.
"""

from __future__ import annotations

import re
from functools import lru_cache

from routines.chords import Chord
from routines.keys import Key, number_of
from routines.library import all_licks, changes_of, shape_changes_of, techniques_of
from routines.lick import Lick

_PREFIX_LEAST = 3
_HIGH_FRET = 7
_OTHER_WORDS = {
    "hammer": ("hammer-on", "hammer-ons", "hammers"),
    "pull": ("pull-off", "pull-offs", "pulls"),
    "slide": ("slides",),
    "choke": ("chokes", "bend", "bends"),
    "pinch": ("pinches",),
}
"""A technique, and what else players call it."""

_FUNCTIONS = {("57", "1"): "V7-I", ("17", "4"): "I7-IV"}
_DASHES = str.maketrans("–—→", "---")
_CAPO = re.compile(r"\bcapo\s+(\d)")
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
    words = _CAPO.sub(r"capo\1", query.translate(_DASHES).casefold()).split()
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
    facts |= {word for one in techniques_of(lick) for word in (one, *_OTHER_WORDS[one])}
    facts |= {_function(change, lick.key) for change in changes_of(lick)} - {""}
    facts.add(lick.neck.tuning)
    if all(ask.how == "colour" for ask in lick.sevenths):
        facts.add("colour")
    if lick.use:
        facts.add(lick.use)
    if lick.meter == "3/4":
        facts.add("waltz")
    if lick.neck.capo:
        facts.add(f"capo{lick.neck.capo}")
    if max(note.fret for note in lick.notes) > _HIGH_FRET:
        facts.add("high")
    return frozenset(fact.casefold() for fact in facts)


def _function(change: str, key: str) -> str:
    """Return what a change is in its key, where that has a name: V7-I, I7-IV."""
    chord, next_chord = change.split("-")
    tonic = Key.parse(key).tonic
    there = number_of(Chord.parse(next_chord), tonic).rstrip("m7")
    return _FUNCTIONS.get((number_of(Chord.parse(chord), tonic), there), "")


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
