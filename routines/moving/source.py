"""What a lick is made of, worked out once for all its moves.

The problem: a move asks the same of a lick in every key: which notes are drones and which of the twelve pitch
classes would do there as a drone, which notes may not be touched, which slur comes from which note. None of
that depends on the key, if pitches are counted in the lick's own.

Conventions: pitch classes and indices are those of the lick that is moved. A drone *rubs* where it lies a
half step from a tone of the chord that the lick sounds there, from the chord's third in any case (g under
E7 and its G#), or from a note that is picked with it.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache
from itertools import groupby

from routines.chords import ChordSpan
from routines.hand.wanted import Wanted, wanted_of
from routines.lick import Lick, TargetNote

_HALF_STEP = frozenset({1, 11})
_FIT = {"root": 0.0, "fifth": 0.0, "third": 1.0, "sixth": 1.0, "ninth": 1.0, "seven": 2.0}
_NO_CHORD_TONE = 1.5


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """A lick as it is to be moved.

    Attributes
    ----------
    lick : Lick
    wanted : tuple of Wanted
        What its tab asks of the hands, one for each note.
    drones : tuple of int
        Indices of the notes that are drones; one that a guide tone is asked to go to is a voice, and none.
    rubbing : tuple of frozenset of int
        For each of `drones` the pitch classes that would rub there.
    fit : tuple of float
        For each pitch class how well it does as the drone of the whole lick; 0 is a root or fifth throughout.
    functions : tuple of (str or None)
        For each note what it is in its chord, a drone too.
    spans : tuple of int
        For each note the index of its chord span.
    guides : frozenset of int
        Sevens and the notes that they are due to fall to.
    slid_from : frozenset of int
        Notes from which another is slid to.
    basses : frozenset of int
        Notes that the thumb plays by itself right before or after a pinch, slurs left aside.
    """

    lick: Lick
    wanted: tuple[Wanted, ...]
    drones: tuple[int, ...]
    rubbing: tuple[frozenset[int], ...]
    fit: tuple[float, ...]
    functions: tuple[str | None, ...]
    spans: tuple[int, ...]
    guides: frozenset[int]
    slid_from: frozenset[int]
    basses: frozenset[int]


@lru_cache(maxsize=256)
def source_of(lick: Lick) -> Source:
    """Work out what a lick is made of."""
    spans = tuple(_span_of(note, lick.chords) for note in lick.notes)
    chords = [lick.chords[span].chord for span in spans]
    functions = tuple(
        chord.function_of(note.midi) if chord is not None else None
        for note, chord in zip(lick.notes, chords, strict=True)
    )
    due = {ask.due_note for ask in (*lick.sevenths, *lick.thirds)}
    drones = tuple(i for i, note in enumerate(lick.notes) if note.role == "drone" and i not in due)
    sounding = [_sounding(lick, spans, functions, index) for index in range(len(lick.chords))]
    guides = {ask.note for ask in lick.sevenths} | {ask.due_note for ask in lick.sevenths}
    wanted = wanted_of(lick)
    slid_from = {w.slurred_from for w in wanted if w.technique == "slide"}
    return Source(
        lick=lick,
        wanted=wanted,
        drones=drones,
        rubbing=tuple(_rubbing(sounding[spans[i]] | _beside(lick, i)) for i in drones),
        fit=tuple(sum(_fit(lick, spans[i], pitch_class) for i in drones) for pitch_class in range(12)),
        functions=functions,
        spans=spans,
        guides=frozenset(index for index in guides if index is not None),
        slid_from=frozenset(index for index in slid_from if index is not None),
        basses=_basses(lick, wanted),
    )


def _basses(lick: Lick, wanted: tuple[Wanted, ...]) -> frozenset[int]:
    slurred = {w.slurred_from for w in wanted}
    onsets = [list(group) for _, group in groupby(range(len(wanted)), lambda i: wanted[i].onset_quarters)]
    found = set()
    for before, here, after in zip([[], *onsets], onsets, [*onsets[1:], []], strict=False):
        if len(here) == 1 and max(len(before), len(after)) > 1:
            (index,) = here
            if lick.notes[index].finger == "T" and wanted[index].picked and index not in slurred:
                found.add(index)
    return frozenset(found)


def _span_of(note: TargetNote, spans: Iterable[ChordSpan]) -> int:
    return max(i for i, span in enumerate(spans) if i == 0 or span.start_quarters <= note.onset_quarters)


def _sounding(
    lick: Lick, spans: tuple[int, ...], functions: tuple[str | None, ...], index: int
) -> frozenset[int]:
    """Pitch classes of a chord that sound in its span, its third among them in any case."""
    chord = lick.chords[index].chord
    third = chord.tone("third") if chord is not None else None
    heard = {
        note.midi % 12
        for note, span, function in zip(lick.notes, spans, functions, strict=True)
        if span == index and function is not None and note.role != "drone"
    }
    return frozenset(heard | ({third.pitch_class} if third is not None else set()))


def _beside(lick: Lick, index: int) -> frozenset[int]:
    onset = lick.notes[index].onset_quarters
    return frozenset(
        note.midi % 12 for i, note in enumerate(lick.notes) if note.onset_quarters == onset and i != index
    )


def _rubbing(sounding: frozenset[int]) -> frozenset[int]:
    return frozenset(p for p in range(12) if any((p - tone) % 12 in _HALF_STEP for tone in sounding))


def _fit(lick: Lick, span: int, pitch_class: int) -> float:
    chord = lick.chords[span].chord
    function = chord.function_of(pitch_class) if chord is not None else None
    return _FIT.get(function or "", _NO_CHORD_TONE)
