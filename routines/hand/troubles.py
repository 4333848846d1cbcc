"""What no hand does, in a player's words."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from routines.hand.grips import Problem
from routines.hand.wanted import Trouble

WORDS: Mapping[str, str] = MappingProxyType(
    {
        "reach": "{places}: no hand stops these together",
        "left": "{places}: nobody holds fret {other} any more, where the slur comes from",
        "nobody": "{places}: pulled off to a fret that nobody holds",
        "across": "{places}: slurred from another string",
        "slide": "{places}: a slide needs a stopped fret at both ends",
        "open choke": "{places}: an open string cannot be choked",
        "choke": "{places}: only strings 1 to 3 can be choked",
        "one string": "{places}: two notes on one string at once",
        "hop": "{places}: the finger comes from another string an eighth before",
        "shift": "{places}: the hand cannot be there in time",
        "quick slur": "{places}: the slur comes too soon after its first note",
        "again": "{places}: {fingers} picked less than a quarter before",
        "crossed": "{places}: fingers {fingers} are crossed, or one is asked for twice",
        "too many": "{places}: more strings at once than the right hand has fingers",
    }
)
"""Kind of problem to what is said of it."""


def trouble_of(problem: Problem, onset_quarters: float, capo: int) -> Trouble:
    """Say a problem in words, with frets as in tab."""
    places = " ".join(f"{n.string}/{n.fret - capo if n.fret else 0}" for n in problem.needs)
    other = problem.needs[0].other if problem.needs else 0
    words = WORDS[problem.what].format(
        places=places, other=other - capo if other else 0, fingers=" ".join(problem.fingers)
    )
    return Trouble(onset_quarters=onset_quarters, words=words)
