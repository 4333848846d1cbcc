"""Whether an ear is right as often as it says: events by confidence, and what became of them.

An ear's confidence is an honest one where of the notes that it calls 0.9 sure nine in ten were played. So
events are put into bins by confidence, and in each bin the mean confidence stands beside the share that was
played, with a 90 % interval (`tests.bench.shares`, take by take). The expected calibration error is the mean
distance of the two, each bin with the weight of its events (Naeini et al. 2015).

Conventions: right is an event with a played note of its pitch within 50 ms, one note for each event. What was
called doubtful is right where a played note answers it that no standing event has taken; it counts with the
others and is told apart, too. In the diagram `#` reaches as far as the share that was right, `|` stands at
the mean confidence.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from listener.files import Hearing
from listener.notes import NoteEvent
from tests.bench.note_scores import TOLERANCE_SEC, matched
from tests.bench.shares import Share, share

EDGES = (0.0, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 0.95, 0.99, 1.0)
"""Limits of the bins; the last one holds 1 itself."""

_WIDE = 40


@dataclass(frozen=True, slots=True, kw_only=True)
class Sure:
    """One event: how sure the ear was, whether the note came, and whether it was only called doubtful."""

    confidence: float
    right: bool
    doubtful: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Bin:
    """The events of one bin.

    Attributes
    ----------
    low, high : float
        Its limits.
    many : int
    mean : float
        Mean confidence.
    right : Share
    """

    low: float
    high: float
    many: int
    mean: float
    right: Share


def sures(
    played: Sequence[tuple[float, int]], hearing: Hearing, *, besides: Sequence[tuple[float, int]] = ()
) -> list[Sure]:
    """How sure an ear was of each event of a take, and whether it was right.

    Parameters
    ----------
    played : sequence of (float, int)
        Onset in seconds and half step of each note that was played.
    hearing : Hearing
    besides : sequence of (float, int)
        What may be heard, too, such as the pitch that a picked slide reaches: an event that answers nothing
        else is left out.

    Returns
    -------
    list of Sure
        The standing notes, then the doubtful ones.
    """
    left = list(played)
    found = []
    for events, doubtful in ((hearing.notes, False), (hearing.doubtful, True)):
        pairs = matched(left, [(event.onset_sec, event.midi) for event in events], TOLERANCE_SEC)
        right = {index for _, index in pairs}
        found += [
            Sure(confidence=event.confidence, right=index in right, doubtful=doubtful)
            for index, event in enumerate(events)
            if index in right or not _answers(event, besides)
        ]
        answered = {place for place, _ in pairs}
        left = [note for place, note in enumerate(left) if place not in answered]
    return found


def binned(takes: Sequence[Sequence[Sure]]) -> list[Bin]:
    """Events by confidence; bins without any are left out."""
    found = []
    for low, high in pairwise(EDGES):
        inside = [[one for one in take if _within(one.confidence, low, high)] for take in takes]
        held = [one.confidence for some in inside for one in some]
        if held:
            right = share([sum(one.right for one in some) for some in inside], [len(some) for some in inside])
            mean = float(np.mean(held))
            found.append(Bin(low=low, high=high, many=len(held), mean=mean, right=right))
    return found


def calibration_error(bins: Sequence[Bin]) -> float:
    """Mean distance of confidence and share right over events, 0 to 1; nan of nothing."""
    events = sum(one.many for one in bins)
    return sum(one.many * abs(one.mean - one.right.value) for one in bins) / events if events else np.nan


def diagram(name: str, takes: Sequence[Sequence[Sure]]) -> Iterator[str]:
    """The reliability diagram as text.

    Parameters
    ----------
    name : str
        Whose it is.
    takes : sequence of sequences of Sure

    Yields
    ------
    str
    """
    bins = binned(takes)
    events = sum(one.many for one in bins)
    yield f"{name}: {events} events, expected calibration error {calibration_error(bins):.4f}"
    for one in bins:
        yield (
            f"  {one.low:.2f}-{one.high:.2f} {one.many:6}  mean {one.mean:.3f}  right {one.right}  "
            f"{_bar(one.right.value, one.mean)}"
        )
    doubtful = [[one for one in take if one.doubtful] for take in takes]
    many = sum(map(len, doubtful))
    if many:
        mean = float(np.mean([one.confidence for some in doubtful for one in some]))
        came = share([sum(one.right for one in some) for some in doubtful], [len(some) for some in doubtful])
        yield f"  doubtful  {many:6}  mean {mean:.3f}  came  {came}"


def _answers(event: NoteEvent, notes: Sequence[tuple[float, int]]) -> bool:
    return any(event.midi == midi and abs(event.onset_sec - sec) <= TOLERANCE_SEC for sec, midi in notes)


def _within(confidence: float, low: float, high: float) -> bool:
    return low <= confidence < high or confidence == high == EDGES[-1]


def _bar(right: float, mean: float) -> str:
    bar = ["#" if place < round(_WIDE * right) else "." for place in range(_WIDE)]
    bar[min(_WIDE - 1, int(_WIDE * mean))] = "|"
    return "".join(bar)
