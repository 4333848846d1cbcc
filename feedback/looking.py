"""Which notes of the tab a sentence is about: a seven and its fall, a change, an added note."""

from __future__ import annotations

from collections.abc import Sequence
from statistics import mean

from feedback.judges.whole import Judged
from feedback.turn import Turn
from routines.outcome import Extra

_STROKES_BEFORE = 2


def seven_and_due(turn: Turn, index: int) -> tuple[int, ...]:
    """A flat seven and the note that the lick writes for its fall."""
    due = turn.ask(index).due_note
    return (index,) if due is None else (index, due)


def hurried_notes(turn: Turn, hurried: Sequence[Judged]) -> tuple[int, ...]:
    """The resolution and the two strokes before it, of the change that was hurried most.

    Parameters
    ----------
    turn : Turn
    hurried : sequence of Judged
        The passes of it that hurried; at least one.
    """
    around = [_strokes_to(turn, due) for due in _dues(turn)]
    return min(around, key=lambda notes: _mean_rest(hurried, notes), default=())


def beside(judged: Judged, extra: Extra) -> tuple[int, ...]:
    """The last note due before an added one, and the next after it."""
    sooner = [n for n in judged.outcome.notes if (n.onset_sec or 0.0) <= extra.onset_sec]
    later = [n for n in judged.outcome.notes if (n.onset_sec or 0.0) > extra.onset_sec]
    return tuple(note.index for note in (*sooner[-1:], *later[:1]))


def left_out(turn: Turn, judged: Judged, index: int) -> bool:
    """Whether the late due note was one that the lick asks for anyway, at another place."""
    ask = turn.ask(index)
    seven = next(s for s in judged.outcome.sevenths if s.index == index)
    if ask.due_note is None or seven.resolution_ms is None:
        return False
    place_sec = judged.outcome.notes[ask.due_note].onset_sec or 0.0
    return any(
        note.index != ask.due_note
        and note.heard_midi == note.midi == seven.resolved_midi
        and note.onset_sec is not None
        and note.rest_ms is not None
        and abs(note.onset_sec - place_sec + (note.rest_ms - seven.resolution_ms) / 1e3) < 1e-6
        for note in judged.outcome.notes
    )


def _dues(turn: Turn) -> list[int]:
    return sorted({ask.due_note for ask in turn.lick.sevenths if ask.due_note is not None})


def _strokes_to(turn: Turn, due: int) -> tuple[int, ...]:
    notes = turn.lick.notes
    strokes = sorted({note.onset_quarters for note in notes})
    last = strokes.index(notes[due].onset_quarters)
    near = strokes[max(0, last - _STROKES_BEFORE) : last + 1]
    return tuple(index for index, note in enumerate(notes) if note.onset_quarters in near)


def _mean_rest(passes: Sequence[Judged], notes: Sequence[int]) -> float:
    rests = [p.outcome.notes[index].rest_ms for p in passes for index in notes]
    told = [rest for rest in rests if rest is not None]
    return mean(told) if told else 0.0
