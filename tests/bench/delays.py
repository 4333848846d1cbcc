"""How soon a note is said: shares of notes by delay, and what would be known if one listened no longer.

Conventions: a delay is the time of hearing less the true onset. Shares, median and 95 % are of picked notes
(where a slur begins is a matter of definition); the share is of all that were played, said so soon and still
standing at the end. F is of all notes: hits so soon against everything said so soon, what was withdrawn
later counted as false, and everything played.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

import numpy as np

from listener.files import Hearing
from listener.notes import NoteEvent
from tests.bench.note_scores import TOLERANCE_SEC, Played, matched
from tests.bench.two_ears import EARS, TwoEars

WITHIN_MS = (20, 25, 30, 35, 40, 45, 50, 60)


@dataclass(slots=True)
class Soon:
    """Sums over takes.

    Attributes
    ----------
    played, picked : int
        Notes, and those of them that are picked.
    picked_ms : list of float
        Delay of each picked note that stands.
    hit_ms, said_ms : list of float
        Delay of each note that stands and was played, and of everything that was ever said.
    """

    played: int = 0
    picked: int = 0
    picked_ms: list[float] = field(default_factory=list)
    hit_ms: list[float] = field(default_factory=list)
    said_ms: list[float] = field(default_factory=list)

    def add(self, truth: Sequence[Played], hearing: Hearing) -> None:
        """Count one take."""
        self.played += len(truth)
        self.picked += sum(note.how == "pick" for note in truth)
        events = hearing.notes
        pairs = matched(
            [(note.onset_sec, note.midi) for note in truth],
            [(event.onset_sec, event.midi) for event in events],
            TOLERANCE_SEC,
        )
        for place, index in pairs:
            delay_ms = _ms(events[index], truth[place].onset_sec)
            self.hit_ms.append(delay_ms)
            if truth[place].how == "pick":
                self.picked_ms.append(delay_ms)
        hit = {index for _, index in pairs}
        strays = [event for index, event in enumerate(events) if index not in hit]
        self.said_ms += self.hit_ms[len(self.hit_ms) - len(pairs) :]
        self.said_ms += [_ms(event, event.onset_sec) for event in (*strays, *hearing.withdrawn)]

    def share(self, within_ms: float) -> float:
        """Share of picked notes that were said within so many milliseconds; 0 where none was played."""
        return _many(self.picked_ms, within_ms) / max(1, self.picked)

    def f_measure(self, within_ms: float) -> float:
        """F of what was said within so many milliseconds."""
        return 2 * _many(self.hit_ms, within_ms) / max(1, self.played + _many(self.said_ms, within_ms))


def delay_lines(takes: Sequence[TwoEars]) -> Iterator[str]:
    """The curve of each ear: shares, then F.

    Parameters
    ----------
    takes : sequence of TwoEars

    Yields
    ------
    str
    """
    yield f"{'within ms':24}" + " ".join(f"{within:5}" for within in WITHIN_MS)
    for side, ear in enumerate(EARS):
        soon = Soon()
        for take in takes:
            soon.add(take.truth, take.hearings[side])
        median, most = np.percentile(soon.picked_ms or [np.nan], (50, 95))
        shares = " ".join(f"{soon.share(within):5.3f}" for within in WITHIN_MS)
        f_measures = " ".join(f"{soon.f_measure(within):5.3f}" for within in WITHIN_MS)
        yield f"{ear:9} said            {shares}   {soon.picked} picked, median {median:.1f} 95% {most:.1f}"
        yield f"{'':9} F               {f_measures}"


def _many(delays_ms: Sequence[float], within_ms: float) -> int:
    # to a microsecond: a limit that is met exactly is kept
    return sum(round(delay, 3) <= within_ms for delay in delays_ms)


def _ms(event: NoteEvent, onset_sec: float) -> float:
    return 1e3 * (event.heard_sec - onset_sec)
