"""What is said of a warm-up that is about touch or time: how loud each finger is, spread and drift.

Conventions: levels are compared on one string only, as strings differ among themselves more than fingers do.
Medians over passes, so that one odd pass says nothing.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import combinations
from statistics import median
from types import MappingProxyType

from feedback.judges.limits import Limits
from feedback.warmup_remedies import FINGERS
from feedback.warmup_told import FEWEST, Told

_LOUDER_DB = 3.0
"""From here on one finger is said to be louder than another."""

_SAME_WAY = 2 / 3
"""In so many of the passes it must be the same finger."""

_DRIFT_PERCENT = 0.5
"""Less than that is no drift."""

_SAME_MS = 2.0
"""Two spreads are said to be the same up to here."""

UNEVEN_MS = Limits().spread_limit_ms
"""A spread beyond this is no longer clean."""

_WIDE_MS, _WIDER_SHARE = 12.0, 0.30
"""A spread is said to be wider than another where it is at least so wide, and wider by such a share."""

_LIGHTER = MappingProxyType(
    {
        "T": "let it fall, do not push",
        "I": "let it brush the string, do not pluck",
        "M": "let it brush the string, do not pluck",
    }
)
_CLICKS = MappingProxyType(
    {
        "off": "With the click gone",
        "gaps": "In the gaps of the click",
        "second": "With the downbeats alone clicked",
    }
)
"""Thinned clicks to how they are told, the thinnest first."""


def of_levels(passes: Sequence[Told]) -> str:
    """Say which finger is louder than another on the same string."""
    found: dict[tuple[str, str], list[float]] = {}
    for one in (one for one in passes if one.clear):
        for fingers, db in _louder_by(one).items():
            found.setdefault(fingers, []).append(db)
    enough = {fingers: dbs for fingers, dbs in found.items() if len(dbs) >= FEWEST}
    if not enough:
        return "Too few passes had two fingers clearly on one string to tell how alike they are."
    by = {fingers: median(dbs) for fingers, dbs in enough.items()}
    first, second = max(by, key=lambda fingers: abs(by[fingers]))
    db = by[first, second]
    loud, soft = (first, second) if db > 0 else (second, first)
    same = sum((one > 0) == (db > 0) for one in enough[first, second])
    if abs(db) >= _LOUDER_DB and same < _SAME_WAY * len(enough[first, second]):
        now, then = FINGERS[first], FINGERS[second]
        return f"On one string now the {now} is the louder, now the {then}: softer, until both sound alike."
    if abs(db) >= _LOUDER_DB:
        return (
            f"The {FINGERS[loud]} is {abs(db):.0f} dB louder than the {FINGERS[soft]} on the same string: "
            f"{_LIGHTER[loud]}."
        )
    pairs = " and ".join(
        f"{FINGERS[one]} and {FINGERS[other]} within {max(1.0, abs(db)):.0f} dB"
        for (one, other), db in by.items()
    )
    return f"On one string {pairs} of each other: that is even, go on so."


def _louder_by(one: Told) -> Mapping[tuple[str, str], float]:
    """How much louder one finger is than another in a pass, on the strings that both of them strike."""
    struck: dict[tuple[int, str], list[float]] = {}
    for index, level_db in one.judged.levels:
        note = one.step.lick.notes[index]
        if note.finger:
            struck.setdefault((note.string, note.finger), []).append(level_db)
    found: dict[tuple[str, str], list[float]] = {}
    for (string, finger), (other, beside) in combinations(sorted(struck, key=_thumb_first), 2):
        here, there = struck[string, finger], struck[other, beside]
        if string == other and min(len(here), len(there)) >= FEWEST:
            found.setdefault((finger, beside), []).append(median(here) - median(there))
    return {fingers: median(dbs) for fingers, dbs in found.items()}


def _thumb_first(place: tuple[int, str]) -> tuple[int, int]:
    return -place[0], "TIM".index(place[1])


def of_time(passes: Sequence[Told]) -> str:
    """Say what became of tempo and spread as the click went."""
    if all(one.step.click == "halves" for one in passes):
        return "The click had every half note all the time: how the tempo goes without it cannot be told yet."
    by_click: dict[str, list[Told]] = {}
    for one in passes:
        if one.clear and one.steady:
            by_click.setdefault(one.step.click, []).append(one)
    thin = next((click for click in _CLICKS if len(by_click.get(click, ())) >= FEWEST), None)
    if thin is None:
        return (
            "Too few passes without the full click were clear enough to tell how the tempo goes without it."
        )
    drifts = [d for one in by_click[thin] if (d := one.outcome.timing.drift_percent) is not None]
    spread, full = spread_ms(by_click[thin]), spread_ms(by_click.get("halves", ()))
    parts = [*([_drift_words(median(drifts))] if len(drifts) >= FEWEST else [])]
    if spread is not None and full is not None:
        parts.append(_spread_words(spread, full))
    if not parts:
        return f"{_CLICKS[thin]} too little was clear to tell tempo or spread."
    return f"{_CLICKS[thin]} {', and '.join(parts)}{_time_remedy(drifts, spread, full)}."


def _spread_words(spread: float, full: float) -> str:
    if abs(spread - full) < _SAME_MS:
        return f"your spread stayed at {spread:.0f} ms"
    return f"your spread went from {full:.0f} to {spread:.0f} ms"


def _drift_words(percent: float) -> str:
    if abs(percent) < _DRIFT_PERCENT:
        return f"you kept the tempo within {_DRIFT_PERCENT:g} %"
    return f"you {'rushed' if percent > 0 else 'dragged'} by {abs(percent):.1f} %"


def _time_remedy(drifts: Sequence[float], spread: float | None, full: float | None) -> str:
    drift = median(drifts) if len(drifts) >= FEWEST else 0.0
    if drift >= _DRIFT_PERCENT:
        return ": let the last eighth of each bar have its length"
    if drift <= -_DRIFT_PERCENT:
        return ": think of the next downbeat before it comes"
    if spread is not None and full is not None and wider(spread, full):
        return ": count the half notes aloud where the click is silent"
    return ": take it slower until it is even" if (spread or 0.0) > UNEVEN_MS else ""


def spread_ms(passes: Sequence[Told]) -> float | None:
    """The median spread of the passes whose times may be trusted; None without any."""
    spreads = [ms for one in passes if (ms := one.spread_ms) is not None]
    return median(spreads) if spreads else None


def wider(ms: float, than_ms: float) -> bool:
    """Whether one spread is so much wider than another that it is worth a word."""
    return ms >= _WIDE_MS and ms >= (1.0 + _WIDER_SHARE) * than_ms
