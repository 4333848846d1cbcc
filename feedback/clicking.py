"""Where the strokes of the click lie in a turn, and what its kinds are called.

The problem: a click that does everything is leant on. So there are kinds that leave something to the player,
each a row of `CLICKS`; those that are thinned hold no tempo, and the judges are to be told (`click_off`).

Conventions: seconds are those of the plan, 0 where the count-in begins; places in a bar are quarters from
its downbeat. In 2/2 the beats are half notes, in 3/4 quarters. Whatever the kind, everything before the first
pass is a count-in on the beats, and for thinned kinds so are the rest bars. It goes as a band is counted in,
"one, two, one two three four": the last bar has soft strokes between its beats (quarters in 2/2, eighths in
3/4), which cease where the pickup begins, so that the player's own first notes stand alone. A pickup that
leaves no room for one in the last bar has one before it, in the bar before.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import TYPE_CHECKING, Literal

from feedback.errors import Usage
from routines.lick import Lick, quarter_sec
from routines.tempo import tempo_words

if TYPE_CHECKING:
    from feedback.session import TurnPlan

Sort = Literal["accent", "beat", "soft", "chop"]
"""What a stroke can sound like; how each sounds is `feedback.sound.click.SOUNDS`."""

Place = tuple[float, Sort]
"""A stroke in a bar: quarters from the bar's downbeat, and its sort."""

_HAIR_SEC = 1e-6
"""What sums of seconds may be off."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Stroke:
    """One stroke of the click.

    Attributes
    ----------
    sec : float
        Where it begins, in seconds of the plan; never negative.
    sort : Sort
    """

    sec: float
    sort: Sort


@dataclass(frozen=True, slots=True, kw_only=True)
class _Meter:
    """Quarters from the downbeat: what is counted, what lies between, and where a mandolin chops."""

    beats: tuple[float, ...]
    between: tuple[float, ...]
    chop: tuple[float, ...]


METERS: Mapping[str, _Meter] = MappingProxyType(
    {
        "2/2": _Meter(beats=(0.0, 2.0), between=(1.0, 3.0), chop=(1.0, 3.0)),
        "3/4": _Meter(beats=(0.0, 1.0, 2.0), between=(0.5, 1.5, 2.5), chop=(1.0, 2.0)),
    }
)
"""How each meter of `routines.lick.QUARTERS_A_BAR` is clicked."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Kind:
    """A kind of click.

    Attributes
    ----------
    words : str
        For a player who chooses one.
    thinned : bool
        Whether so much is left out that no full click holds the tempo.
    in_bar : callable
        Given a lick and a bar counted from 0 at the downbeat of bar 1 (a rest bar after the lick goes on
        counting), its strokes there, in order.
    line : mapping of str to str
        By meter, what `words` says while it sounds.
    """

    words: str
    thinned: bool
    in_bar: Callable[[Lick, int], tuple[Place, ...]]
    line: Mapping[str, str]


def _beats(lick: Lick, bar: int) -> tuple[Place, ...]:
    return tuple((place, "beat" if place else "accent") for place in METERS[lick.meter].beats)


def _chops(lick: Lick, bar: int) -> tuple[Place, ...]:
    return tuple((place, "chop") for place in METERS[lick.meter].chop)


def _downbeat(lick: Lick, bar: int) -> tuple[Place, ...]:
    return ((0.0, "accent"),)


def _gap_bars(lick: Lick) -> float:
    """How many bars sound and are then silent: two, but at most half the lick, or none would be silent."""
    return min(2, lick.bars // 2) or 0.5


def _gapped(lick: Lick, bar: int) -> tuple[Place, ...]:
    gap = _gap_bars(lick)
    heard = (p for p in _beats(lick, bar) if (bar + p[0] / lick.quarters_a_bar) % (2 * gap) < gap)
    return tuple(heard)


def _nothing(lick: Lick, bar: int) -> tuple[Place, ...]:
    return ()


CLICKS: dict[str, Kind] = {
    "halves": Kind(
        words="each half note (in 3/4 each quarter), the downbeats accented",
        thinned=False,
        in_bar=_beats,
        line={
            "2/2": "click on half notes, {half} a minute",
            "3/4": "click on quarters, {quarter} a minute ({half} half notes)",
        },
    ),
    "chop": Kind(
        words="the offbeats alone, as a mandolin chops: between the half notes (in 3/4 on two and three)",
        thinned=False,
        in_bar=_chops,
        line={
            "2/2": "chop between the half notes, {half} half notes a minute",
            "3/4": "chop on two and three, {quarter} quarters a minute ({half} half notes)",
        },
    ),
    # The downbeat: a bass has its root there, and a lone stroke anywhere else is soon heard as the one.
    "second": Kind(
        words="every second half note alone: the downbeat of each bar (in 3/4, too)",
        thinned=True,
        in_bar=_downbeat,
        line={
            "2/2": "click on every second half note, the downbeat, {half} half notes a minute",
            "3/4": "click on the downbeat alone, {quarter} quarters a minute ({half} half notes)",
        },
    ),
    "gaps": Kind(
        words="two bars of click and two silent, anew with each pass (one and one where the lick is short)",
        thinned=True,
        in_bar=_gapped,
        line={
            "2/2": "click on half notes, {gap}, {half} a minute",
            "3/4": "click on quarters, {gap}, {quarter} a minute ({half} half notes)",
        },
    ),
    "off": Kind(
        words="no click while a pass runs: only the count-in and the rest bars",
        thinned=True,
        in_bar=_nothing,
        line={
            "2/2": "no click while a pass runs, {half} half notes a minute",
            "3/4": "no click while a pass runs, {quarter} quarters a minute ({half} half notes)",
        },
    ),
}
"""The kinds by name."""

_GAP_WORDS = {
    2: "two bars on and two silent",
    1: "one bar on and one silent",
    0.5: "half a bar on and half a bar silent",
}


def click_kind(name: str) -> Kind:
    """A kind of click by its name.

    Raises
    ------
    Usage
        If there is none of this name.
    """
    if name not in CLICKS:
        raise Usage(f"click {name!r}: accepted: {', '.join(CLICKS)}")
    return CLICKS[name]


def strokes(plan: TurnPlan, kind: str) -> tuple[Stroke, ...]:
    """Every stroke of a turn: its count-in, its passes and the rest bars between them; none after the last.

    Parameters
    ----------
    plan : TurnPlan
        What lies before its first pass is the count-in, however long; it may begin inside a bar.
    kind : str
        A name of `CLICKS`.

    Returns
    -------
    tuple of Stroke
        By time; no two at once.

    Raises
    ------
    Usage
        If there is no such kind.
    """
    row, lick = click_kind(kind), plan.lick
    quarter = quarter_sec(plan.tempo_half_bpm)
    count_in_bars = math.ceil(plan.first_start_sec / plan.bar_sec)
    laid: list[tuple[float, Sort]] = []
    for number, start in enumerate(plan.starts_sec):
        bars_before = plan.rest_bars if number else count_in_bars
        if row.thinned or not number:
            laid += [(start + place * quarter, sort) for place, sort in _counted_in(lick, bars_before)]
        last = number == plan.passes - 1
        bars = lick.bars if row.thinned or last else lick.bars + plan.rest_bars
        for bar in range(bars):
            downbeat = start + bar * plan.bar_sec
            laid += [(downbeat + place * quarter, sort) for place, sort in row.in_bar(lick, bar)]
    return tuple(Stroke(sec=max(0.0, sec), sort=sort) for sec, sort in laid if sec >= -_HAIR_SEC)


def _counted_in(lick: Lick, bars: int) -> Iterator[Place]:
    """The bars before a pass, by place: quarters from the pass's downbeat, so all are negative."""
    whole, meter = lick.quarters_a_bar, METERS[lick.meter]
    downbeats = [-bar * whole for bar in range(bars, 0, -1)]
    free = [d + place for d in downbeats for place in meter.between if d + place < -lick.pickup_quarters]
    soft = [place for place in free if place >= -whole] or free[-1:]
    placed = [(d + place, sort) for d in downbeats for place, sort in _beats(lick, 0)]
    yield from sorted([*placed, *((place, "soft") for place in soft)])


def words(kind: str, lick: Lick, tempo_half_bpm: float) -> str:
    """What is clicked and how fast, its unit named.

    Parameters
    ----------
    kind : str
        A name of `CLICKS`.
    lick : Lick
        Its meter says what is counted.
    tempo_half_bpm : float

    Returns
    -------
    str
        Such as "click on half notes, 88 a minute", "click on quarters, 176 a minute (88 half notes)".

    Raises
    ------
    Usage
        If there is no such kind.
    """
    line = click_kind(kind).line[lick.meter]
    half, quarter = (tempo_words(tempo).partition(" ")[0] for tempo in (tempo_half_bpm, 2 * tempo_half_bpm))
    return line.format(half=half, quarter=quarter, gap=_GAP_WORDS[_gap_bars(lick)])
