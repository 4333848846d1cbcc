"""The played cue: three lone open fifth strings, one to each half note; it stands for a key in a rest.

The problem: both hands are on the banjo, and tuning up, noodling and talk must not start a count-in. So the
cue is what hardly anybody plays by chance: three strokes at the open fifth string's pitch, a half note apart
at the tempo that is to come, as even as a hand makes them, and nothing else from a half note before the first
until half a half note after the third.

What the ear says is taken as the judges take it: a stroke is one of the cue where the ear is as sure of it as
for blame, and has settled it; whatever is believed beside it spoils the cue. What is less sure, or doubtful,
does neither. Strings are never heard: the same pitch on another string does as well.

Conventions: times are those of the reports. The cue is told half a half note after its third stroke, as soon
as the ear has told all that began by then.
"""

from __future__ import annotations

from collections.abc import Iterable
from itertools import pairwise

from feedback.judges.limits import Limits
from feedback.provisional import SAYS_SEC
from listener.notes import Report
from routines.lick import quarter_sec

STROKES = 3
"""So many strokes make a cue."""

OFF = 0.2
"""Each half note may be so much shorter or longer, as a share of it."""

UNEVEN, UNEVEN_SEC = 0.15, 0.06
"""The two may differ by that share of a half note, or by so many seconds where that is more."""

BEFORE, AFTER = 1.25, 0.5
"""So many half notes before the first stroke, and after the last, nothing else is heard."""

SAME_CENTS = 20.0
"""The strokes' pitches lie within this; a string that is being tuned moves."""

_KEEPS = 6.0  # half notes


class Cue:
    """Listens for the cue.

    Parameters
    ----------
    open_midi : int
        Sounding pitch of the open fifth string.
    tempo_half_bpm : float
        More than 0.
    limits : Limits, optional
        How sure is sure.

    Raises
    ------
    ValueError
        If the tempo is not above 0.
    """

    def __init__(self, open_midi: int, tempo_half_bpm: float, limits: Limits | None = None) -> None:
        if not tempo_half_bpm > 0.0:
            raise ValueError(f"tempo {tempo_half_bpm:g}: give half notes a minute, more than 0")
        self.open_midi, self.tempo_half_bpm = open_midi, tempo_half_bpm
        self._half_sec = 2.0 * quarter_sec(tempo_half_bpm)
        self._limits = limits or Limits()
        self.reset()

    def reset(self) -> None:
        """Begin anew: what was heard so far belongs to no cue, and a half note must pass before one."""
        self._reports: dict[int, Report] = {}
        self._begun_sec: float | None = None
        self._now_sec = 0.0

    def feed(self, reports: Iterable[Report], now_sec: float) -> bool:
        """Listen on.

        Parameters
        ----------
        reports : iterable of Report
            In the order in which an ear gave them; a later one about the same note replaces it.
        now_sec : float
            Up to which time was listened. Where it goes back, all begins anew.

        Returns
        -------
        bool
            Whether a cue is complete; once for each.
        """
        if self._begun_sec is None or now_sec < self._now_sec:
            self.reset()
            self._begun_sec = now_sec
        self._now_sec = now_sec
        self._reports.update({report.number: report for report in reports})
        self._begun_sec = max(self._begun_sec, now_sec - _KEEPS * self._half_sec)
        self._reports = {n: r for n, r in self._reports.items() if r.note.onset_sec >= self._begun_sec}
        if not self._complete(self._begun_sec):
            return False
        self.reset()
        self._begun_sec = now_sec
        return True

    def _complete(self, begun_sec: float) -> bool:
        counted = [report for report in self._reports.values() if self._counts(report)]
        counted.sort(key=lambda report: report.note.onset_sec)
        onsets_sec = [report.note.onset_sec for report in counted]
        times_sec = [begun_sec, *onsets_sec, self._now_sec - SAYS_SEC]
        return any(
            self._lone(times_sec[k : k + STROKES + 2]) and self._alike(counted[k : k + STROKES])
            for k in range(len(counted) - STROKES + 1)
        )

    def _counts(self, report: Report) -> bool:
        return report.kind in ("heard", "settled") and report.note.confidence >= self._limits.sure

    def _lone(self, times_sec: list[float]) -> bool:
        """Whether what comes before and after strokes, the first time and the last, is far enough away."""
        before, first, *_, last, after = times_sec
        half = self._half_sec
        return first - before >= BEFORE * half and after - last >= AFTER * half

    def _alike(self, strokes: list[Report]) -> bool:
        """Whether strokes are those of a cue, as far as they themselves go."""
        if not all(self._is_stroke(one) for one in strokes):
            return False
        cents = [one.note.cents for one in strokes]
        half, apart = self._half_sec, [b.note.onset_sec - a.note.onset_sec for a, b in pairwise(strokes)]
        even = max(apart) - min(apart) <= max(UNEVEN * half, UNEVEN_SEC)
        right = all(abs(one - half) <= OFF * half for one in apart)
        return even and right and max(cents) - min(cents) <= SAME_CENTS

    def _is_stroke(self, one: Report) -> bool:
        sure = one.note.confidence >= max(self._limits.sure, self._limits.blamed)
        return sure and one.kind == "settled" and one.note.midi == self.open_midi
