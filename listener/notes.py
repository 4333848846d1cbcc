"""What was heard: note events and the four things an ear can say about one.

An ear speaks in `Report`s. A note is first *heard* (its pitch and onset are known, its level is still
growing), later *settled* (never changed again), or *withdrawn* (it was taken for a note and was none). What
was expected and may have come, yet too thinly to be called a note, is *doubtful*: no one is blamed there.
Times are seconds of the take, counted from the first sample that was fed. A string or a finger is never
heard, so no event names one.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

ReportKind = Literal["heard", "settled", "withdrawn", "doubtful"]


@dataclass(frozen=True, slots=True, kw_only=True)
class NoteEvent:
    """One note that was struck, hammered, pulled or slid into.

    Attributes
    ----------
    onset_sec : float
        When the sound begins.
    midi : int
        Half step after the instrument's tuning offset is removed (A4 = 69 = 440 Hz plus the offset).
    cents : float
        Deviation from `midi` after that, -50 to 50.
    level_db : float
        Mean power over the first 70 ms, in dB of full scale; final once settled.
    confidence : float
        0 to 1: how sure the ear is that this pitch was newly begun here.
    heard_sec : float
        End of the last sample that had been fed when the event first left the ear.
    settled_sec : float
        From then on the event is never changed. Before that, the soonest time at which it can settle.
    path : tuple of (float, float)
        Pairs of seconds and cents against `midi`; empty unless the pitch moved (choke, slide).
    """

    onset_sec: float
    midi: int
    cents: float
    level_db: float
    confidence: float
    heard_sec: float
    settled_sec: float
    path: tuple[tuple[float, float], ...] = ()


@dataclass(frozen=True, slots=True)
class Report:
    """One thing that an ear says about one note.

    Attributes
    ----------
    kind : {"heard", "settled", "withdrawn", "doubtful"}
    number : int
        The same for all reports about one note; counts up from 0 in the order of hearing.
    note : NoteEvent
        The note as it is known now.
    """

    kind: ReportKind
    number: int
    note: NoteEvent


def standing(reports: Iterable[Report]) -> tuple[list[NoteEvent], list[NoteEvent]]:
    """Fold reports into the notes that stand and those that were withdrawn.

    Parameters
    ----------
    reports : iterable of Report
        In the order in which an ear gave them.

    Returns
    -------
    notes, withdrawn : list of NoteEvent
        Each in the order of onset, the latest word on each note.
    """
    latest = _latest(reports)
    notes = sorted((r.note for r in latest if r.kind in ("heard", "settled")), key=_by_onset)
    gone = sorted((r.note for r in latest if r.kind == "withdrawn"), key=_by_onset)
    return notes, gone


def doubtful(reports: Iterable[Report]) -> list[NoteEvent]:
    """Fold reports into what was expected and may have come, by onset; none of it stands as a note."""
    return sorted((r.note for r in _latest(reports) if r.kind == "doubtful"), key=_by_onset)


def _latest(reports: Iterable[Report]) -> list[Report]:
    latest: dict[int, Report] = {}
    for report in reports:
        latest[report.number] = report
    return list(latest.values())


def _by_onset(note: NoteEvent) -> tuple[float, int]:
    return note.onset_sec, note.midi
