"""Which licks are meant: filters that go round, and typed words that narrow as they grow.

The problem: two metres away a list must be narrowed with few presses, and no press may lead to an empty
list by itself. So a filter goes round only among the values that leave something; typed words can still
leave nothing, and then it is said what would.

Conventions: words that are typed to their end are found as `routines.finding.find` finds them; of the last
word, which may be half typed, its beginning is enough. Under a capo a change is found as it sounds and as it
is shaped. Titles are filtered by their first letters, a few letters together.
"""

from __future__ import annotations

import difflib
from collections import Counter
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from functools import lru_cache

from routines.finding import facts_of, find
from routines.library import all_licks, changes_of, shape_changes_of
from routines.lick import Lick

USES: Mapping[str, str] = {
    "kick-off": "kick-offs",
    "turnaround": "turnarounds",
    "fill": "fills",
    "ending": "endings",
    "backup": "backup",
    "waltz": "waltzes",
    "roll": "rolls",
    "drill": "drills",
}
"""What a lick is for, and how several of the kind are called."""

TECHNIQUES: Mapping[str, str] = {
    "hammer": "hammer-ons",
    "pull": "pull-offs",
    "slide": "slides",
    "choke": "chokes",
    "pinch": "pinches",
}
"""What hands do beside picking, and how several of it are called."""

FILTERS = ("change", "key", "hand", "use", "technique", "title")
"""What can be filtered by, in order."""

LONGEST = 24
"""So many characters are typed at most."""

LETTERS_TOGETHER = 18
"""Letters of the alphabet go together as long as no more titles than this begin with them."""

_ORDERED = {"hand": ("easy", "ready", "quick"), "use": tuple(USES), "technique": tuple(TECHNIQUES)}


@dataclass(frozen=True, slots=True, kw_only=True)
class Search:
    """What is looked for; each is empty for anything.

    Attributes
    ----------
    change, key, hand, use, technique, title : str
        Such as "D7-G", "G", "easy", "kick-off", "hammer", "A-B".
    typed : str
    """

    change: str = ""
    key: str = ""
    hand: str = ""
    use: str = ""
    technique: str = ""
    title: str = ""
    typed: str = ""

    def found(self) -> tuple[Lick, ...]:
        """The licks that fit, in the order of the library."""
        return _found(self)

    def choices(self, name: str) -> tuple[str, ...]:
        """The values of a filter that leave something, with all else as it is; the empty one first."""
        left = {fact for lick in replace(self, **{name: ""}).found() for fact in facts(lick, name)}
        return ("", *(value for value in _values(name) if value in left))

    def cycled(self, name: str, by: int = 1) -> Search:
        """The same with a filter's next value; 1 forwards, -1 backwards."""
        values = self.choices(name)
        value = getattr(self, name)
        at = values.index(value) + by if value in values else 0
        return replace(self, **{name: values[at % len(values)]})

    def instead(self) -> str:
        """Where nothing fits: what would, in a sentence."""
        near = _nearest(self.typed)
        if near and self == Search(typed=self.typed):
            return f"The nearest name is {near}."
        ways: list[tuple[int, str]] = []
        for name in (*FILTERS, "typed"):
            value = getattr(self, name)
            fits = len(replace(self, **{name: ""}).found()) if value else 0
            if fits:
                ways.append((fits, f"Without {_called(name, value)} {_licks(fits)}."))
        return max(ways)[1] if ways else f"Without any of this {_licks(len(all_licks()))}."


def facts(lick: Lick, name: str) -> tuple[str, ...]:
    """The values of a filter that a lick has: none, one or more."""
    if name == "change":
        return (*changes_of(lick), *shape_changes_of(lick))
    if name == "title":
        return (_letters()[_initial(lick)],) if _initial(lick) in _letters() else ()
    if name in ("use", "technique"):
        return tuple(value for value in _ORDERED[name] if value in facts_of(lick))
    return (str(getattr(lick, name)),)


def words_of(name: str, value: str) -> str:
    """A filter's value for a player: "any key", "key of G", "easy hand", "kick-offs", "titles A to B"."""
    if not value:
        return f"any {name}"
    made: dict[str, Callable[[str], str]] = {
        "change": str,
        "key": "key of {}".format,
        "hand": "{} hand".format,
        "use": USES.__getitem__,
        "technique": TECHNIQUES.__getitem__,
        "title": lambda letters: f"titles {letters.replace('-', ' to ')}",
    }
    return made[name](value)


def _called(name: str, value: str) -> str:
    return f"“{value.strip()}”" if name == "typed" else words_of(name, value)


def _licks(number: int) -> str:
    return f"{number} lick fits" if number == 1 else f"{number} licks fit"


@lru_cache(maxsize=256)
def _found(search: Search) -> tuple[Lick, ...]:
    asked = {name: getattr(search, name) for name in FILTERS if getattr(search, name)}
    return tuple(
        lick
        for lick in _typed(search.typed)
        if all(value in facts(lick, name) for name, value in asked.items())
    )


@lru_cache(maxsize=64)
def _typed(typed: str) -> tuple[Lick, ...]:
    return find(typed, growing=True)


@lru_cache(maxsize=len(FILTERS))
def _values(name: str) -> tuple[str, ...]:
    """All values of a filter, the most frequent first where they have no order of their own."""
    often = Counter(fact for lick in all_licks() for fact in set(facts(lick, name)))
    if name in _ORDERED:
        return tuple(value for value in _ORDERED[name] if value in often)
    if name == "title":
        return tuple(sorted(often))
    return tuple(sorted(often, key=lambda value: (-often[value], value)))


def _initial(lick: Lick) -> str:
    return lick.title[:1].upper()


@lru_cache(maxsize=1)
def _letters() -> Mapping[str, str]:
    """A first letter of a title to the letters that it goes with: "A-B", or "S" by itself."""
    often = Counter(_initial(lick) for lick in all_licks())
    together: list[list[str]] = []
    for letter in sorted(often):
        if together and sum(often[other] for other in (*together[-1], letter)) <= LETTERS_TOGETHER:
            together[-1].append(letter)
        else:
            together.append([letter])
    return {
        letter: "-".join(dict.fromkeys((letters[0], letters[-1])))
        for letters in together
        for letter in letters
    }


def _nearest(typed: str) -> str:
    names: Iterable[str] = {part for lick in all_licks() for part in (lick.title, *lick.title.split())}
    by_fold = {name.casefold(): name for name in sorted(names)}
    near = difflib.get_close_matches(typed.strip().casefold(), by_fold, n=1)
    return by_fold[near[0]] if near else ""
