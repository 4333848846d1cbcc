"""Where what was said differs from what was played: each performance, item by item, for whoever mends it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence

from listener.notes import NoteEvent
from routines.outcome import NoteVerdict
from tests.bench.verdict_scores import Compared, Item

_NEAR_EIGHTHS = 1.1
_PAIRS_SHOWN = 12


def errors(found: Sequence[Compared]) -> Iterator[str]:
    """Lines for each performance in which a word differs: how to play it again, and each such word.

    Parameters
    ----------
    found : sequence of Compared

    Yields
    ------
    str
        A heading (sound, lick, tempo, mutation, seed), then a line for each item; below a note's, what was
        played and heard near its place (half step, seconds, level, confidence).
    """
    for one in found:
        other = [item for item in one.items if item.played != item.said]
        if not other:
            continue
        yield f"{one.planned}   e {1e3 * one.grid.eighth_sec:.0f} ms, W {1e3 * one.grid.window_sec:.1f} ms"
        for item in other:
            yield from _lines(one, item)


def confused(found: Sequence[Compared], kind: str) -> str:
    """Which words of a kind were taken for which others, the most frequent first, as one line."""
    pairs = Counter(
        (item.played, item.said)
        for one in found
        for item in one.items
        if item.kind == kind and item.played != item.said
    )
    told = [f"{played} as {said} {many}" for (played, said), many in pairs.most_common(_PAIRS_SHOWN)]
    return ", ".join(told) or "none"


def _lines(one: Compared, item: Item) -> Iterator[str]:
    hair = "   (at a limit)" if item.at_limit else ""
    if item.kind == "note":
        played, said = (judged.outcome.notes[item.index] for judged in (one.truth, one.said))
        core = "core " if played.core else ""
        yield f"  note {item.index} ({core}{played.midi}): {_told(played)}, said {_told(said)}{hair}"
        yield from (f"      {line}" for line in _near(one, one.grid.lick.notes[item.index].onset_quarters))
    elif item.kind in ("added", "foreign"):
        sure = "".join(
            f", sure {event.confidence:.2f}, {event.level_db:.1f} dB"
            for event in one.heard
            if item.said == item.kind and event.midi == item.index and event.onset_sec == item.sec
        )
        what = f"{item.kind} {item.index} at {item.sec:.3f} s"
        yield f"  {what}: played {item.played}, said {item.said}{sure}{hair}"
    else:
        place = f" of {item.index}" if item.index >= 0 else ""
        why = _measured(one, item.kind)
        yield f"  {item.kind}{place}: played {item.played}, said {item.said}{why}{hair}"


def _told(note: NoteVerdict) -> str:
    rest = "" if note.rest_ms is None else f" {note.rest_ms:+.1f} ms"
    pitch = "" if note.heard_midi in (None, note.midi) else f" by {note.heard_midi}"
    return f"{note.verdict}{pitch}{rest}"


def _measured(one: Compared, kind: str) -> str:
    """The figure behind a word of a whole pass, in truth and as it was heard."""
    field = {"clean": "spread_ms", "hurry": "hurry_at_change_ms"}.get(kind)
    if field is None:
        return ""
    told = (getattr(judged.outcome.timing, field) for judged in (one.truth, one.said))
    figures = ["none" if ms is None else f"{ms:.1f}" for ms in told]
    return f"; {field.removesuffix('_ms').replace('_', ' ')} {figures[0]} ms, said {figures[1]} ms"


def _near(one: Compared, quarters: float) -> Iterator[str]:
    """What was played and heard within little more than an eighth of a place."""
    due = one.grid.due_sec(quarters)
    reach = _NEAR_EIGHTHS * one.grid.eighth_sec
    for name, events in (("played", one.played), ("heard", one.heard), ("doubtful", one.doubtful)):
        near = [_event(event, due) for event in events if abs(event.onset_sec - due) <= reach]
        if near or name != "doubtful":
            yield f"{name}: {', '.join(near) or 'nothing'}"


def _event(event: NoteEvent, due_sec: float) -> str:
    moves = f" to {event.path[-1][1]:+.0f} cents" if event.path else ""
    off_ms = 1e3 * (event.onset_sec - due_sec)
    return f"{event.midi}{moves} {off_ms:+.1f} ms {event.level_db:.1f} dB {event.confidence:.2f}"
