"""Where guide tones failed so often that it is no slip, and whether one place stands out.

The problem: who leaves out every fall is not helped by the name of one chord. So a place is blamed only where
others of its like do better: others in the same wider place, and all others. Where none stands out, wider
places are looked at, and in the end all of them together.

Conventions: each kind of failure has a denominator of its own, here and elsewhere: of falls, those that were
due; of time, those that were heard; nothing that was unclear but where that itself is counted. From a quarter
of these on, and from two on, it is a failure and no slip; what could not be told counts from a half on.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

from feedback.warmup_told import FEWEST, Guide

Kind = Literal["there", "falls", "time", "told"]

Grouping = Callable[[Guide], str]
"""From a guide tone to the name of its place; those of one name are counted together."""

_FEWEST_FAILED = 2
_MOSTLY = 2 / 3
"""From this share on of what failed, one way of failing is named."""

_STANDS_OUT = 3.0
"""A place stands out where it fails so many times as often as the others."""

_AS_BAD = 0.5
"""What is said of all is said to be so where at least such a share of its share failed."""


@dataclass(frozen=True, slots=True)
class _Count:
    """What counts for one kind, what of it failed, and in which way where no one way prevails."""

    of: Callable[[Guide], str | None]
    counts: frozenset[str]
    failed: frozenset[str]
    mixed: str
    least: float = 0.25


def _clear(guide: Guide) -> str:
    return "unclear" if "unclear" in (guide.sounding, guide.falling) else "right"


_THERE, _FALLS, _TIME = (
    frozenset({"silent", "wrong", "swallowed"}),
    frozenset({"hanging", "fell late", "fell early"}),
    frozenset({"early", "late"}),
)
_RIGHT = frozenset({"right"})
OFF_TIME = frozenset({"early", "late", "uneven", "fell late", "fell early", "fell uneven"})
"""Ways of failing in which all the notes were there."""

KINDS: Mapping[Kind, _Count] = MappingProxyType(
    {
        "there": _Count(lambda guide: guide.sounding, _THERE | _TIME | _RIGHT, _THERE, "amiss"),
        "falls": _Count(lambda guide: guide.falling, _FALLS | _RIGHT, _FALLS, "hanging"),
        "time": _Count(lambda guide: guide.sounding, _TIME | _RIGHT, _TIME, "uneven"),
        "told": _Count(_clear, frozenset({"unclear"}) | _RIGHT, frozenset({"unclear"}), "unclear", 0.5),
    }
)
"""Kinds of failure, what is named first standing first where two are as frequent."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Fault:
    """What befell the guide tones of a place.

    Attributes
    ----------
    kind : Kind
    level : int
        Place in the groupings; as many as there are of them for all together.
    name : str
        That of its place; empty for all together.
    way : str
        How they failed.
    guides : tuple of Guide
        Those that failed in that way.
    asked : int
        Of how many.
    share : float
        That of all that failed, in whichever way.
    right_elsewhere, asked_elsewhere : int
    failing : tuple of Guide
        One of each of the narrowest places that failed at least half as often as all of it, in their order.
    only : bool
        Whether nothing failed in the other places.
    places : int
        How many of these there are.
    """

    kind: Kind
    level: int
    name: str
    way: str
    guides: tuple[Guide, ...]
    asked: int
    share: float
    right_elsewhere: int
    asked_elsewhere: int
    failing: tuple[Guide, ...]
    only: bool
    places: int


def worst(guides: Sequence[Guide], groupings: Sequence[Grouping]) -> Fault | None:
    """Find what is worth a word most: the greatest share that failed; what was unclear comes last.

    Parameters
    ----------
    guides : sequence of Guide
    groupings : sequence of callable
        The narrowest first, each within the next.
    """
    found = [fault for kind in KINDS if (fault := _of_kind(kind, guides, groupings)) is not None]
    return max(found, key=lambda fault: (fault.kind != "told", fault.share), default=None)


def _of_kind(kind: Kind, guides: Sequence[Guide], groupings: Sequence[Grouping]) -> Fault | None:
    count = KINDS[kind]
    of = [guide for guide in guides if count.of(guide) in count.counts]
    for level in range(len(groupings) + 1):
        faults = list(_at_level(kind, of, groupings, level))
        if faults:
            return max(faults, key=lambda fault: fault.share)
    return None


def _at_level(kind: Kind, of: Sequence[Guide], groupings: Sequence[Grouping], level: int) -> Iterator[Fault]:
    by = [*groupings, _all]
    wider = by[min(level + 1, len(groupings))]
    for name, here in _grouped(of, by[level]).items():
        share = _share(kind, here)
        if not _fails(kind, here):
            continue
        if 0 < level < len(groupings) and not _mostly_fail(kind, _grouped(here, by[0]).values()):
            continue
        others = [guide for guide in of if by[level](guide) != name]
        siblings = [guide for guide in others if wider(guide) == wider(here[0])]
        if all(_STANDS_OUT * _share(kind, some) <= share for some in (others, siblings)):
            yield _fault(kind, level, name, here, others, _grouped(of, by[0]))


def _fault(
    kind: Kind,
    level: int,
    name: str,
    here: Sequence[Guide],
    others: Sequence[Guide],
    narrow: Mapping[str, Sequence[Guide]],
) -> Fault:
    count = KINDS[kind]
    failed = [guide for guide in here if count.of(guide) in count.failed]
    ways = Counter(count.of(guide) or "" for guide in failed)
    ((way, times),) = ways.most_common(1)
    mostly = times >= _MOSTLY * len(failed)
    share = _share(kind, here)
    places = {place: _share(kind, there) for place, there in narrow.items()}
    failing = [place for place, own in places.items() if own >= _AS_BAD * share]
    mixed = "fell uneven" if kind == "falls" and "hanging" not in ways else count.mixed
    return Fault(
        kind=kind,
        level=level,
        name=name,
        way=way if mostly else mixed,
        guides=tuple(guide for guide in failed if not mostly or count.of(guide) == way),
        asked=len(here),
        share=share,
        right_elsewhere=sum(count.of(guide) not in count.failed for guide in others),
        asked_elsewhere=len(others),
        failing=tuple(narrow[place][0] for place in failing),
        only=not any(own for place, own in places.items() if place not in failing),
        places=len(narrow),
    )


def _fails(kind: Kind, here: Sequence[Guide]) -> bool:
    count = KINDS[kind]
    failed = sum(count.of(guide) in count.failed for guide in here)
    return len(here) >= FEWEST and failed >= max(_FEWEST_FAILED, count.least * len(here))


def _mostly_fail(kind: Kind, places: Collection[Sequence[Guide]]) -> bool:
    """Whether what is true of a wider place is true of most of its narrow ones."""
    failing = sum(_share(kind, there) >= KINDS[kind].least for there in places)
    return failing > len(places) / 2


def _share(kind: Kind, some: Sequence[Guide]) -> float:
    count = KINDS[kind]
    return sum(count.of(guide) in count.failed for guide in some) / len(some) if some else 0.0


def _all(guide: Guide) -> str:
    return ""


def _grouped(guides: Sequence[Guide], by: Grouping) -> dict[str, list[Guide]]:
    found: dict[str, list[Guide]] = {}
    for guide in guides:
        found.setdefault(by(guide), []).append(guide)
    return found
