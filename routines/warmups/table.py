"""The warm-ups by name: a module and a row each; only the module of the one that is asked for is loaded."""

from __future__ import annotations

from collections.abc import Mapping
from importlib import import_module
from types import MappingProxyType

from routines.errors import BadRoutine
from routines.warmups.steps import WarmUp

WARM_UPS: Mapping[str, str] = MappingProxyType(
    {
        "open-strings": "routines.warmups.open_strings",
        "held-sevens": "routines.warmups.held_sevens",
        "pinches": "routines.warmups.pinches",
        "slurs": "routines.warmups.slurs",
        "wandering-seven": "routines.warmups.wandering_seven",
        "two-doors": "routines.warmups.two_doors",
        "seven-finder": "routines.warmups.seven_finder",
        "chop-sevenths": "routines.warmups.chop_sevenths",
        "through-the-keys": "routines.warmups.through_the_keys",
        "thinning-click": "routines.warmups.thinning_click",
    }
)
"""Name to the module whose `WARM_UP` it is, in the order in which a morning would take them."""


def warm_up(name: str) -> WarmUp:
    """Return a warm-up by its name.

    Raises
    ------
    BadRoutine
        If there is none of this name; all names are listed.
    """
    if name not in WARM_UPS:
        raise BadRoutine(f"no warm-up {name!r}: accepted are {', '.join(WARM_UPS)}")
    found: WarmUp = import_module(WARM_UPS[name]).WARM_UP
    return found
