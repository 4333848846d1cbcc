"""The faults of a lick, and what else a teacher would say of it: two tables of checks.

The problem: a lick is kept only where it is right (its bars full, its chords and pitches true, its seven
heard and led where the lick says) and where two hands play it at its top tempo. Each rule is one small
function that yields a plain sentence for each place where it is broken: the place, what is wrong, what would
be accepted. A *fault* is a hard rule; *advice* may be left.

Conventions: every rule looks at sounding pitch, so licks under a capo, in another tuning, or moved to
another key are checked alike. A new rule is a function and a row of its table.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from routines.checker import advice as soft
from routines.checker import drones, hands, sevens, writing
from routines.lick import Kind, Lick, Use


@dataclass(frozen=True, slots=True)
class Fault:
    """What one check found.

    Attributes
    ----------
    check : str
        Name of the check.
    words : str
        A plain sentence: where, what is wrong, what would be accepted.
    """

    check: str
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Check:
    """One row of a table.

    Attributes
    ----------
    name : str
    finds : callable
        From a lick to a sentence for each place where the rule is broken.
    excused_kinds : tuple of Kind
        Kinds of which the rule cannot be asked.
    excused_uses : tuple of Use
        Uses of which it cannot.
    """

    name: str
    finds: Callable[[Lick], Iterator[str]]
    excused_kinds: tuple[Kind, ...] = ()
    excused_uses: tuple[Use, ...] = ()

    def asked_of(self, lick: Lick) -> bool:
        """Whether the rule is asked of a lick of this kind and use."""
        return lick.kind not in self.excused_kinds and lick.use not in self.excused_uses


FAULTS: tuple[Check, ...] = (
    Check(name="bars", finds=writing.bars),
    Check(name="pickup", finds=writing.pickup),
    Check(name="chords", finds=writing.chords),
    Check(name="pitches", finds=writing.pitches),
    Check(name="fifth string", finds=writing.fifth_string),
    Check(name="seven", finds=sevens.sounds),
    Check(name="goes", finds=sevens.goes),
    Check(name="swallowed", finds=sevens.swallowed),
    Check(name="at once", finds=hands.at_once),
    Check(name="fingers", finds=hands.fingers),
    Check(name="slurs", finds=hands.slurs),
    Check(name="slurs inside", finds=hands.slurs_inside),
    Check(name="playable", finds=hands.playable),
    Check(name="drone pinched", finds=drones.pinched),
    Check(name="drone clashes", finds=drones.clashes),
    # A roll is eighths from end to end, that is what makes it one.
    Check(name="breathes", finds=drones.breathes, excused_kinds=("roll",)),
)
"""Hard rules."""

ADVICE: tuple[Check, ...] = (
    Check(name="named", finds=soft.named, excused_kinds=("roll", "drill")),
    # A kick-off and an ending stop where they arrive; rolls and drills go round.
    Check(
        name="after the fall",
        finds=soft.after_the_fall,
        excused_kinds=("roll", "drill"),
        excused_uses=("kick-off", "ending"),
    ),
    Check(name="drones", finds=soft.thin_drones),
    Check(name="slurs on the beat", finds=soft.slurs_on_the_beat),
    Check(name="climb", finds=soft.climbs, excused_kinds=("drill",)),
    Check(name="rings on", finds=soft.rings_on),
    Check(name="thumb alone", finds=soft.thumbs_alone),
)
"""Softer rules."""


def faults(lick: Lick) -> tuple[Fault, ...]:
    """Find every hard rule that a lick breaks, in the order of `FAULTS`; empty where it breaks none."""
    return _found(lick, FAULTS)


def advice(lick: Lick) -> tuple[Fault, ...]:
    """Find what else could be said of a lick, in the order of `ADVICE`."""
    return _found(lick, ADVICE)


def _found(lick: Lick, checks: Sequence[Check]) -> tuple[Fault, ...]:
    return tuple(
        Fault(check.name, words) for check in checks if check.asked_of(lick) for words in check.finds(lick)
    )
