"""How well confidences make notes: the ear's own rule, on takes whose looks were gathered.

The same pitch sooner than `EarSettings.again_sec` after itself is the same note. What a listener may hear or
not (ghost strokes) is neither a hit nor a fault.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from listener.ear import EarSettings
from listener.network import LOW_PITCH
from tests.bench.note_scores import NARROW_SEC, TOLERANCE_SEC, Hits, Played, kind_of, matched
from tests.bench.train.features import begins_sec
from tests.bench.train.gather import Gathered, Part

LIMITS = (0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8)
"""Least confidences that are tried."""


@dataclass(slots=True)
class Count(Hits):
    """Sums over takes."""

    def add(self, other: Count) -> None:
        """Take in another count."""
        self.take_in(other)

    def figures(self) -> dict[str, float]:
        """Precision, recall, F within 50 and 25 ms, and recall by kind."""
        kinds = {kind: float(np.mean(found)) for kind, found in self.found.items() if found}
        return {
            "P": self.precision(),
            "R": self.recall(),
            "F": self.f_measure(),
            "F25": self.f_measure(narrow=True),
            **kinds,
        }

    def row(self) -> str:
        """One line of a table."""
        return f"{self.played:6} " + " ".join(f"{k} {v:.4f}" for k, v in self.figures().items())


def counted(confidence: np.ndarray, examples: Gathered, least: float) -> dict[str, Count]:
    """Count the notes of all takes, by kind of instrument.

    Parameters
    ----------
    confidence : ndarray, shape (n, PITCHES)
    examples : Gathered
    least : float
        From there on a pitch is said.
    """
    counts: dict[str, Count] = {}
    for part in examples.parts:
        heard = said(confidence[part.begin : part.end], part.onset_sec, least)
        counts.setdefault(part.kind, Count()).add(_of(part, heard))
    return counts


def summed(counts: Iterable[Count]) -> Count:
    """The sum of counts."""
    total = Count()
    for count in counts:
        total.add(count)
    return total


def best_limit(confidence: np.ndarray, examples: Gathered, slack: float = 0.0) -> tuple[float, float]:
    """The least confidence to ask for, and its F over all takes.

    Parameters
    ----------
    confidence : ndarray, shape (n, PITCHES)
    examples : Gathered
    slack : float
        The lowest of `LIMITS` whose F is within this of the best is taken.
    """
    found: dict[float, float] = {}
    for least in LIMITS:
        found[least] = summed(counted(confidence, examples, least).values()).f_measure()
    best = max(found.values())
    least = min(limit for limit, value in found.items() if value >= best - slack)
    return least, found[least]


def said(confidence: np.ndarray, onset_sec: np.ndarray, least: float) -> list[tuple[float, int]]:
    """The notes that an ear would make of one take's confidences: onsets and half steps."""
    again_sec = EarSettings().again_sec
    last: dict[int, float] = {}
    notes: list[tuple[float, int]] = []
    for strike, pitch in np.argwhere(confidence >= least):
        onset = float(onset_sec[strike])
        if onset - last.get(int(pitch), -1.0) >= again_sec:
            last[int(pitch)] = onset
            notes.append((onset, LOW_PITCH + int(pitch)))
    return notes


def _of(part: Part, heard: Sequence[tuple[float, int]]) -> Count:
    counting = [note for note in part.notes if note.counts]
    truth = [(begins_sec(note), note.midi) for note in counting]
    hits = dict(matched(truth, heard, TOLERANCE_SEC))
    rest = [note for index, note in enumerate(heard) if index not in set(hits.values())]
    unasked = [(begins_sec(note), note.midi) for note in part.notes if not note.counts]
    # A stroke that slides at once may be heard again where it arrives.
    slid = [note for note in part.notes if note.how == "slide" and note.to_midi is not None]
    unasked += [(note.arrive_sec or note.onset_sec, note.to_midi or note.midi) for note in slid]
    count = Count(
        played=len(truth),
        heard=len(heard) - len(matched(unasked, rest, TOLERANCE_SEC)),
        hits=len(hits),
        near_hits=len(matched(truth, heard, NARROW_SEC)),
    )
    plain = [
        Played(
            onset_sec=note.onset_sec,
            midi=note.midi,
            how="pick" if note.how in ("pick", "choke") else note.how,
        )
        for note in counting
    ]
    for index, note in enumerate(plain):
        count.found[kind_of(note, plain)].append(index in hits)
    return count
