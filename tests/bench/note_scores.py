"""How well heard notes fit the notes that were played: matching and tallies.

Notes are paired one to one, same half step and onsets within a tolerance: as many pairs as possible, then
the least total onset error. Pairs of one pitch never need to cross, so a small dynamic programme over each
pitch finds what a general assignment would.

Conventions: a pinch is a picked note with another onset within 30 ms; onset errors and delays are of matched
picked notes, since a slur's onset is a matter of definition. The curve says what F would be of those notes
alone that were heard within so many milliseconds of the onset that they name.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

import numpy as np

from listener.notes import NoteEvent

TOLERANCE_SEC = 0.050
NARROW_SEC = 0.025
PINCH_SEC = 0.030
KINDS = ("single", "pinch", "slur")
CURVE_MS = (20, 30, 40, 60, 80)


@dataclass(frozen=True, slots=True, kw_only=True)
class Played:
    """One note of the truth.

    Attributes
    ----------
    onset_sec : float
    midi : int
        The pitch with which its sound begins.
    how : str
        pick, hammer, pull, slide or choke.
    watched : bool
        Whether it is one of those that a row is about.
    unwanted_midi : int or None
        A pitch that is not to be heard together with it.
    rise_cents : float
        How far a choke takes it.
    ends_sec : float
        Until when its string sounds it.
    """

    onset_sec: float
    midi: int
    how: str = "pick"
    watched: bool = False
    unwanted_midi: int | None = None
    rise_cents: float = 0.0
    ends_sec: float = np.inf


@dataclass(frozen=True, slots=True, kw_only=True)
class Spread:
    """A figure over seeds: its mean, standard deviation, least and most."""

    mean: float
    deviation: float
    least: float
    most: float

    @classmethod
    def of(cls, values: Sequence[float]) -> Spread:
        """The spread of at least one value; one value alone deviates by 0."""
        return cls(
            mean=float(np.mean(values)),
            deviation=float(np.std(values, ddof=1)) if len(values) > 1 else 0.0,
            least=min(values),
            most=max(values),
        )

    def __str__(self) -> str:
        return f"{self.mean:.4f} ±{self.deviation:.4f} [{self.least:.3f} {self.most:.3f}]"


def matched(
    played: Sequence[tuple[float, int]], heard: Sequence[tuple[float, int]], tolerance_sec: float
) -> list[tuple[int, int]]:
    """Pair played and heard notes.

    Parameters
    ----------
    played, heard : sequence of (float, int)
        Onset in seconds and half step, in any order.
    tolerance_sec : float
        Onsets may differ by this much, itself included (to a tenth of a millisecond).

    Returns
    -------
    list of (int, int)
        Indices into `played` and `heard`.
    """
    by_pitch: dict[int, tuple[list[int], list[int]]] = defaultdict(lambda: ([], []))
    for side, notes in enumerate((played, heard)):
        for index in sorted(range(len(notes)), key=lambda index: notes[index][0]):
            by_pitch[notes[index][1]][side].append(index)
    pairs: list[tuple[int, int]] = []
    for ours, theirs in by_pitch.values():
        gaps = np.array([[abs(played[i][0] - heard[j][0]) for j in theirs] for i in ours])
        for i, j in _uncrossed(gaps.reshape(len(ours), len(theirs)), tolerance_sec):
            pairs.append((ours[i], theirs[j]))
    return sorted(pairs)


def _uncrossed(gaps: np.ndarray, tolerance_sec: float) -> list[tuple[int, int]]:
    """Pairs of one pitch; best[i][j] = (pairs, -total gap) of the first i and the first j notes."""
    rows, columns = gaps.shape
    fits = np.round(gaps, 4) <= tolerance_sec
    best = [[(0, 0.0)] * (columns + 1) for _ in range(rows + 1)]
    for i in range(1, rows + 1):
        for j in range(1, columns + 1):
            best[i][j] = max(best[i - 1][j], best[i][j - 1])
            if fits[i - 1, j - 1]:
                count, loss = best[i - 1][j - 1]
                best[i][j] = max(best[i][j], (count + 1, loss - float(gaps[i - 1, j - 1])))
    pairs = []
    i, j = rows, columns
    while i and j:
        if best[i][j] == best[i - 1][j]:
            i -= 1
        elif best[i][j] == best[i][j - 1]:
            j -= 1
        else:
            i, j = i - 1, j - 1
            pairs.append((i, j))
    return pairs


@dataclass(slots=True)
class Hits:
    """What was played, heard and hit, over takes; `found`: of each note of a kind, whether it was heard."""

    played: int = 0
    heard: int = 0
    hits: int = 0
    near_hits: int = 0
    found: dict[str, list[bool]] = field(default_factory=lambda: {kind: [] for kind in KINDS})

    def f_measure(self, *, narrow: bool = False) -> float:
        """F of notes within 50 ms, or within 25 ms; 0 where there are none."""
        return 2 * (self.near_hits if narrow else self.hits) / max(1, self.played + self.heard)

    def precision(self) -> float:
        """Hits of what was heard; 0 where nothing was."""
        return self.hits / max(1, self.heard)

    def recall(self) -> float:
        """Hits of what was played; 0 where nothing was."""
        return self.hits / max(1, self.played)

    def take_in(self, other: Hits) -> None:
        """Add another's to these."""
        self.played += other.played
        self.heard += other.heard
        self.hits += other.hits
        self.near_hits += other.near_hits
        for kind, found in other.found.items():
            self.found[kind] += found


@dataclass(slots=True)
class Tally(Hits):
    """Sums over takes."""

    errors_ms: list[float] = field(default_factory=list)
    delays_ms: list[float] = field(default_factory=list)
    soon: dict[int, tuple[int, int]] = field(default_factory=lambda: dict.fromkeys(CURVE_MS, (0, 0)))
    """Milliseconds to how many were hits, of how many heard so soon."""

    def add(self, truth: Sequence[Played], events: Sequence[NoteEvent]) -> None:
        """Count one take."""
        played = [(note.onset_sec, note.midi) for note in truth]
        heard = [(event.onset_sec, event.midi) for event in events]
        hits = dict(matched(played, heard, TOLERANCE_SEC))
        self.played += len(played)
        self.heard += len(heard)
        self.hits += len(hits)
        self.near_hits += len(matched(played, heard, NARROW_SEC))
        for index, note in enumerate(truth):
            self.found[kind_of(note, truth)].append(index in hits)
            if index in hits and note.how == "pick":
                event = events[hits[index]]
                self.errors_ms.append(1e3 * (event.onset_sec - note.onset_sec))
                self.delays_ms.append(1e3 * (event.heard_sec - note.onset_sec))
        for within_ms, (soon_hits, soon_heard) in self.soon.items():
            # to a microsecond: a limit that is met exactly is kept
            early = [e for e in events if round(1e3 * (e.heard_sec - e.onset_sec), 3) <= within_ms]
            pairs = matched(played, [(e.onset_sec, e.midi) for e in early], TOLERANCE_SEC)
            self.soon[within_ms] = (soon_hits + len(pairs), soon_heard + len(early))

    def merged(self, others: Iterable[Tally]) -> Tally:
        """The sum of this tally and others."""
        total = Tally()
        for tally in (self, *others):
            total.take_in(tally)
            total.errors_ms += tally.errors_ms
            total.delays_ms += tally.delays_ms
            for within_ms, (hits, heard) in tally.soon.items():
                before = total.soon[within_ms]
                total.soon[within_ms] = (before[0] + hits, before[1] + heard)
        return total

    def curve(self) -> str:
        """F of what was heard within some milliseconds, as one line."""
        points = (
            f"{within_ms} ms {2 * hits / max(1, self.played + heard):.4f}"
            for within_ms, (hits, heard) in self.soon.items()
        )
        return "F of what was heard within  " + "   ".join(points)

    def row(self) -> str:
        """One line of a table."""
        kinds = " ".join(
            f"{kind} {sum(found) / len(found):.3f}" if found else f"{kind} -    "
            for kind, found in self.found.items()
        )
        errors, delays = np.array(self.errors_ms or [np.nan]), np.array(self.delays_ms or [np.nan])
        return (
            f"{self.played:5}  P {self.precision():.3f} R {self.recall():.3f} "
            f"F {self.f_measure():.4f} F25 {self.f_measure(narrow=True):.4f}  {kinds}  "
            f"onset {np.median(errors):+5.1f} |95%| {np.percentile(np.abs(errors), 95):4.1f}  "
            f"delay {np.median(delays):5.1f} 95% {np.percentile(delays, 95):5.1f}"
        )


def kind_of(note: Played, truth: Iterable[Played]) -> str:
    """Whether a note was single, pinched or slurred: one of `KINDS`."""
    if note.how != "pick":
        return "slur"
    together = sum(abs(other.onset_sec - note.onset_sec) < PINCH_SEC for other in truth)
    return "pinch" if together > 1 else "single"
