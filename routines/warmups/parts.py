"""How the licks of warm-ups are made: read from a tab that stands in a module, or laid out stroke by stroke.

The problem: some warm-ups are written, as any lick is; others are one idea on every chord or every string,
and a table of tabs would hide it. Both ways end in a lick like any other, with the same asks.

Conventions: eighths are counted from 0 through the whole lick, as the bars follow each other; chords and
frets are those of the shape, as if there were no capo. A chord lasts until the next; one that is written
again sounds on.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from routines.asks import NO_MARKS, Marks, read_asks
from routines.chords import Chord, ChordSpan
from routines.fingers import Stroke, assign_fingers
from routines.lick import Kind, Lick, TargetNote
from routines.neck import Neck
from routines.tab import parse_lick
from routines.warmups.steps import LICK_BEGINS

EIGHTH_QUARTERS = 0.5
_BAR_EIGHTHS = 8


@dataclass(frozen=True, slots=True)
class Picked:
    """One string struck: when (an eighth from 0), where, and by which finger; the nearest where it is ""."""

    eighth: int
    string: int
    fret: int
    finger: str = ""


def picks(text: str, first_eighth: int = 0) -> tuple[Picked, ...]:
    """Read strokes: a token an eighth, `2/1T` string, fret and finger, or a dot where nothing is struck.

    Parameters
    ----------
    text : str
        Bar lines in it are for the reader alone.
    first_eighth : int
        Where its first token stands.
    """
    tokens = text.replace("|", " ").split()
    return tuple(
        Picked(eighth, int(token[0]), int(token[2:-1]), token[-1])
        for eighth, token in enumerate(tokens, first_eighth)
        if token != "."
    )


def lick_id(warm_up: str, step: str) -> str:
    """The id of a step's lick, which is the item that the journal knows."""
    return f"{LICK_BEGINS}{warm_up}/{step}"


def written(warm_up: str, step: str, tab: str, *, title: str, trains: str, **header: str) -> Lick:
    """Read a lick from its tab.

    Parameters
    ----------
    warm_up, step : str
        Their names.
    tab : str
        As `routines.tab` reads it, three columns an eighth, with chords, fingers and marks, without its
        header.
    title, trains : str
    **header : str
        Further lines of the header; a drill in G for an easy hand, 100 half notes a minute, where they are
        left out.

    Raises
    ------
    BadLickText
        If it cannot be read.
    """
    lines = {
        "title": title,
        "key": "G",
        "kind": "drill",
        "grid": "3 columns an eighth",
        "hand": "easy",
        "top": "100",
        "trains": trains,
    } | header
    text = "\n".join(f"{name}: {value}" for name, value in lines.items())
    lick = parse_lick(f"{text}\n\n{tab.strip(chr(10))}\n", f"{step}.lick")
    return replace(lick, id=lick_id(warm_up, step), file="")


def laid_out(
    warm_up: str,
    step: str,
    struck: Sequence[Picked],
    chords: Mapping[int, str],
    *,
    title: str,
    trains: str,
    key: str,
    bars: int,
    kind: Kind = "drill",
    marks: Marks = NO_MARKS,
    top_tempo_half_bpm: float = 100.0,
) -> Lick:
    """Lay out a lick in open G without a capo, in 2/2.

    Parameters
    ----------
    warm_up, step : str
        Their names.
    struck : sequence of Picked
    chords : mapping of int to str
        Eighth to the symbol that begins there; one at 0 at least.
    title, trains, key : str
    bars : int
    kind : Kind
    marks : Marks
    top_tempo_half_bpm : float

    Raises
    ------
    BadRoutine
        If a place is not on the neck, or a symbol is no chord.
    """
    neck = Neck()
    places = sorted({pick.eighth for pick in struck})
    until = {place: after - place for place, after in pairwise([*places, bars * _BAR_EIGHTHS])}
    notes = [
        TargetNote(
            onset_quarters=pick.eighth * EIGHTH_QUARTERS,
            duration_quarters=until[pick.eighth] * EIGHTH_QUARTERS,
            midi=neck.midi(pick.string, pick.fret),
            string=pick.string,
            fret=pick.fret,
            finger=finger,
        )
        for pick, finger in zip(struck, _fingers(struck), strict=True)
    ]
    spans = _spans(chords, bars)
    asked = read_asks(
        sorted(notes, key=lambda note: (note.onset_quarters, note.midi, -note.string)), spans, 4.0, marks
    )
    return Lick(
        id=lick_id(warm_up, step),
        title=title,
        key=key,
        trains=trains,
        file="",
        kind=kind,
        meter="2/2",
        bars=bars,
        pickup_quarters=0.0,
        neck=neck,
        hand="easy",
        top_tempo_half_bpm=top_tempo_half_bpm,
        chords=spans,
        notes=asked.notes,
        sevenths=asked.sevenths,
        thirds=asked.thirds,
    )


def _fingers(struck: Sequence[Picked]) -> tuple[str, ...]:
    """The finger of each, where one of a pinch says its finger all of it does."""
    at: dict[int, list[Picked]] = {}
    for pick in sorted(struck, key=lambda pick: (pick.eighth, -pick.string)):
        at.setdefault(pick.eighth, []).append(pick)
    strokes = [
        Stroke(
            onset_quarters=place * EIGHTH_QUARTERS,
            strings=tuple(pick.string for pick in there),
            fixed="".join(pick.finger for pick in there),
        )
        for place, there in at.items()
    ]
    found = {
        (place, pick.string): finger
        for (place, there), letters in zip(at.items(), assign_fingers(strokes), strict=True)
        for pick, finger in zip(there, letters, strict=True)
    }
    return tuple(found[pick.eighth, pick.string] for pick in struck)


def _spans(chords: Mapping[int, str], bars: int) -> tuple[ChordSpan, ...]:
    begins = [0]
    for eighth in sorted(chords):
        if chords[eighth] != chords[begins[-1]]:
            begins.append(eighth)
    return tuple(
        ChordSpan(begin * EIGHTH_QUARTERS, end * EIGHTH_QUARTERS, Chord.parse(chords[begin]))
        for begin, end in pairwise([*begins, bars * _BAR_EIGHTHS])
    )
