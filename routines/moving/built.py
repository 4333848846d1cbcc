"""A whole lick out of moved notes: its names, its chords, and what is asked of its guide tones.

The problem: the roles and asks of a lick follow from its notes and chords, but for what its text marks. So a
moved lick is read as its text would be: notes without roles, chords, and the marks of the lick it came from.

Conventions: the text of a moved lick reads back as the same lick, from a file named as its id.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from routines.asks import Asked, marks_of, read_asks
from routines.chords import Chord, ChordSpan
from routines.lick import Ask, Lick, TargetNote
from routines.moving.names import id_part, key_under, name_move, spans_moved
from routines.neck import Neck


def whole(lick: Lick, key: Chord, neck: Neck, notes: Sequence[TargetNote], **changed: object) -> Lick:
    """Build the lick that moved notes make.

    Parameters
    ----------
    lick : Lick
        Where they come from.
    key : Chord
        The key that sounds.
    neck : Neck
        What they are played on.
    notes : sequence of TargetNote
        By onset, then by pitch; role, core and duration are not looked at.
    **changed
        Other fields of `Lick` that are to be another.
    """
    spans = spans_moved(lick.chords, name_move(Chord.parse(lick.key), key), neck.capo)
    asked = read_asks(_lasting(notes, lick.end_quarters), spans, lick.quarters_a_bar, marks_of(lick))
    return _named(lick, key, neck, spans, asked, **changed)


def all_alike(lick: Lick, key: Chord, neck: Neck, notes: Sequence[TargetNote], half_steps: int) -> Lick:
    """Build the lick of which every note is there, in its order, moved by the same half steps."""
    spans = spans_moved(lick.chords, name_move(Chord.parse(lick.key), key), neck.capo)
    symbols = {old.symbol: new.symbol for old, new in zip(lick.chords, spans, strict=True)}
    voices = (
        tuple(
            Ask(
                note=ask.note,
                chord=symbols[ask.chord],
                next_chord=symbols[ask.next_chord] if ask.next_chord else "",
                change_quarters=ask.change_quarters,
                how=ask.how,
                due_midi=None if ask.due_midi is None else ask.due_midi + half_steps,
                place_quarters=ask.place_quarters,
                due_note=ask.due_note,
                marked=ask.marked,
            )
            for ask in asks
        )
        for asks in (lick.sevenths, lick.thirds)
    )
    sevenths, thirds = voices
    return _named(lick, key, neck, spans, Asked(notes=tuple(notes), sevenths=sevenths, thirds=thirds))


def _named(
    lick: Lick, key: Chord, neck: Neck, spans: tuple[ChordSpan, ...], asked: Asked, **changed: object
) -> Lick:
    id_, title = _own_names(lick)
    named = {
        "id": f"{id_}-in-{id_part(key.symbol)}",
        "title": f"{title} in {key.symbol}",
        "key": key_under(key, neck.capo),
        "file": f"{id_}-in-{id_part(key.symbol)}.lick",
        "neck": neck,
        "chords": spans,
        "notes": asked.notes,
        "sevenths": asked.sevenths,
        "thirds": asked.thirds,
    }
    return replace(lick, **{**named, **changed})  # type: ignore[arg-type]


def _own_names(lick: Lick) -> tuple[str, str]:
    """Return id and title without the key that an earlier move put behind them."""
    id_end, title_end = f"-in-{id_part(lick.key)}", f" in {lick.key}"
    if lick.id.endswith(id_end) and lick.title.endswith(title_end):
        return lick.id.removesuffix(id_end), lick.title.removesuffix(title_end)
    return lick.id, lick.title


def _lasting(notes: Sequence[TargetNote], end_quarters: float) -> list[TargetNote]:
    """Return the notes with their durations: each until the next onset, or the end."""
    onsets = sorted({note.onset_quarters for note in notes})
    until = dict(zip(onsets, [*onsets[1:], end_quarters], strict=True))
    lasting = [until[note.onset_quarters] - note.onset_quarters for note in notes]
    return [
        note if note.duration_quarters == lasts else replace(note, duration_quarters=lasts)
        for note, lasts in zip(notes, lasting, strict=True)
    ]
