"""The nearest that can be played, where no fingering is both exact and playable.

The problem: some licks lie badly in some keys. What a player would do then is small: play it a little slower,
leave one note out or take another tone of the chord, put one phrase into another octave. Never is the seven
touched, nor the note that it falls to, but both together. What is altered is told with the offer.

Conventions: the offers are weighed in the order of `_WAYS`, the nearest first, and the first one that can be
played is taken. A seven may move with the note that it falls to, but never apart from it, and a slur keeps
its way. Where none can, the fingering with the fewest troubles stands, and is said to be unplayable.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from typing import Any

from routines.errors import BadRoutine
from routines.moving.sketch import Sketch, sketched
from routines.moving.trial import Trial, tried

SLOWER = (0.9, 0.8)
"""Shares of the top tempo at which a lick is nearly the same, and is offered before notes are altered."""

SLOWEST = (0.7, 0.6, 0.5)
"""Shares that are offered only where altered notes do not help either."""

_NOTES_TRIED_MOST = 700
"""After so many notes in all no further offer is weighed: who waits ten seconds for one has gone on."""

_TEMPO_STEP = 5.0
_PITCHES_FAR = 5
_NOTES_MOST = 2
_OCTAVE = 12
_TONES = ("root", "third", "fifth")

_Way = Callable[[Sequence[Sketch], Trial | None], Iterator[Sketch]]


def nearest(sketches: Sequence[Sketch], found: Trial | None) -> Trial:
    """Find the nearest playable offer.

    Parameters
    ----------
    sketches : sequence of Sketch
        The lick in each octave, the better ones first; one at least.
    found : Trial or None
        The best way through one of them without any alteration but lost slurs; None where there is none.

    Raises
    ------
    BadRoutine
        If no way leads through, whatever is altered.
    """
    best = found
    notes_left = _NOTES_TRIED_MOST
    for way in _WAYS:
        for sketch in way(sketches, best):
            if notes_left <= 0 and best is not None:
                return best
            notes_left -= len(sketch.wanted)
            trial = tried(sketch)
            if trial is None:
                continue
            if trial.playable and (best is None or not best.playable):
                return trial
            if best is None or trial.worth < best.worth:
                best = trial
        if best is not None and best.playable:
            return best
    if best is None:
        lick = sketches[0].source.lick
        raise BadRoutine(f"{lick.id} lies nowhere on this neck: accepted is another key, tuning or capo")
    return best


def _fewer_drones(sketches: Sequence[Sketch], best: Trial | None) -> Iterator[Sketch]:
    """Leave out drones that were to be fingered on another string: those in trouble, then all."""
    for sketch in sketches[:1] if best is None else [best.sketch]:
        fingered = sketch.drones.fingered
        inside = fingered & frozenset(_in_trouble(sketch, best))
        for gone in (inside, fingered):
            if gone:
                yield sketched(sketch.source, sketch.drones.without(gone), sketch.half_steps, sketch.changes)


def _slower(sketches: Sequence[Sketch], best: Trial | None) -> Iterator[Sketch]:
    yield from _at(SLOWER, best)


def _slowest(sketches: Sequence[Sketch], best: Trial | None) -> Iterator[Sketch]:
    yield from _at(SLOWEST, best)


def _at(shares: Sequence[float], best: Trial | None) -> Iterator[Sketch]:
    if best is None:
        return
    sketch = best.sketch
    for share in shares:
        tempo = sketch.source.lick.top_tempo_half_bpm * share // _TEMPO_STEP * _TEMPO_STEP
        changes = replace(sketch.changes, tempo_half_bpm=tempo)
        yield sketched(sketch.source, sketch.drones, sketch.half_steps, changes)


def _other_notes(sketches: Sequence[Sketch], best: Trial | None) -> Iterator[Sketch]:
    """Take another tone of the chord for one or two notes in trouble, or leave them out; no guide tone."""
    for sketch in sketches if best is None else [best.sketch]:
        source = sketch.source
        notes = [i for i in _in_trouble(sketch, best) if i not in source.guides and i not in source.drones]
        slurring = {w.slurred_from for w in source.wanted}
        notes = [i for i in notes if i not in slurring and source.wanted[i].technique == "pick"]
        if best is None and set(notes) != set(sketch.homeless):
            continue
        groups = [[i] for i in notes[: 2 * _NOTES_MOST]] if best is not None else []
        if len(notes) <= _NOTES_MOST:
            groups.append(notes)
        for group in groups:
            shifts = {i: _other_tones(sketch, i) for i in group}
            if group and all(shifts.values()):
                yield _changed(sketch, shifts=shifts)
        for group in groups:
            if group and all(source.lick.notes[i].onset_quarters != _first(sketch) for i in group):
                yield _changed(sketch, left_out=frozenset(group))


def _other_phrase(sketches: Sequence[Sketch], best: Trial | None) -> Iterator[Sketch]:
    """Put what stands before or after a change, or a bar line, into another octave."""
    for sketch in sketches:
        notes = sketch.source.lick.notes
        for split in _splits(sketch):
            before = [i for i, note in enumerate(notes) if note.onset_quarters < split]
            after = [i for i, note in enumerate(notes) if note.onset_quarters >= split]
            for part in (after, before):
                for octave in (_OCTAVE, -_OCTAVE):
                    yield _changed(sketch, shifts=dict.fromkeys(part, (octave,)))


def _homeless_moved(sketches: Sequence[Sketch], best: Trial | None) -> Iterator[Sketch]:
    """Put only what lies nowhere into another octave, with the falls and slurs that it belongs to."""
    for sketch in sketches if best is None else []:
        homeless = set(sketch.homeless)
        while more := {i for pair in _tied(sketch) if homeless & set(pair) for i in pair} - homeless:
            homeless |= more
        for octave in (_OCTAVE, -_OCTAVE):
            yield _changed(sketch, shifts=dict.fromkeys(homeless, (octave,)))
        yield _changed(sketch, shifts=dict.fromkeys(homeless, (_OCTAVE, -_OCTAVE)))


def _tied(sketch: Sketch) -> list[tuple[int, int]]:
    """Notes that move together: a seven and what it falls to, both ends of a slur."""
    falls = [(ask.note, ask.due_note) for ask in sketch.source.lick.sevenths if ask.due_note is not None]
    wanted = sketch.source.wanted
    return falls + [(w.slurred_from, i) for i, w in enumerate(wanted) if w.slurred_from is not None]


def _thinned(sketches: Sequence[Sketch], best: Trial | None) -> Iterator[Sketch]:
    """Give every note any octave; then keep of a pinch only its guide tones, or its top note."""
    for sketch in sketches if best is None else []:
        notes, guides = sketch.source.lick.notes, sketch.source.guides
        shifts = dict.fromkeys(range(len(notes)), (0, _OCTAVE, -_OCTAVE))
        yield _changed(sketch, shifts=shifts)
        top = {note.onset_quarters: i for i, note in enumerate(notes)}
        inner = frozenset(i for i, note in enumerate(notes) if top[note.onset_quarters] != i) - guides
        yield _changed(sketch, shifts=shifts, left_out=inner)


_WAYS: Sequence[_Way] = (
    _fewer_drones, _slower, _other_notes, _other_phrase, _slowest, _homeless_moved, _thinned,
)  # fmt: skip
"""From the nearest to the farthest."""


def _changed(sketch: Sketch, **changes: Any) -> Sketch:
    return sketched(sketch.source, sketch.drones, sketch.half_steps, replace(sketch.changes, **changes))


def _in_trouble(sketch: Sketch, best: Trial | None) -> list[int]:
    """Notes that lie nowhere; or those at the onset of a trouble, then those right before one."""
    if best is None:
        return list(sketch.homeless)
    onsets = {trouble.onset_quarters for trouble in best.played.troubles}
    notes = sketch.source.lick.notes
    here = [i for i in sketch.wanted if notes[i].onset_quarters in onsets]
    earlier = {
        max((n.onset_quarters for n in notes if n.onset_quarters < onset), default=onset) for onset in onsets
    }
    return here + [i for i in sketch.wanted if notes[i].onset_quarters in earlier - onsets]


def _other_tones(sketch: Sketch, index: int) -> tuple[int, ...]:
    """By how many half steps a note may be moved to another tone of its chord, but for the seven."""
    source, notes = sketch.source, sketch.source.lick.notes
    chord = source.lick.chords[source.spans[index]].chord
    midi, onset = notes[index].midi, notes[index].onset_quarters
    taken = {note.midi for i, note in enumerate(notes) if note.onset_quarters == onset and i != index}
    return tuple(
        shift
        for shift in range(-_PITCHES_FAR, _PITCHES_FAR + 1)
        if shift and chord is not None and chord.function_of(midi + shift) in _TONES
        if midi + shift not in taken
    )


def _splits(sketch: Sketch) -> list[float]:
    """Changes and bar lines that part no guide tone from where it goes, and no slur."""
    lick, wanted = sketch.source.lick, sketch.source.wanted
    lines = {span.start_quarters for span in lick.chords[1:]}
    lines |= {bar * lick.quarters_a_bar for bar in range(lick.bars)}
    ties = [(ask.note, ask.due_note) for ask in lick.sevenths if ask.due_note is not None]
    ties += [(w.slurred_from, i) for i, w in enumerate(wanted) if w.slurred_from is not None]
    held = [(lick.notes[one].onset_quarters, lick.notes[other].onset_quarters) for one, other in ties]
    return [
        line
        for line in sorted(lines)
        if lick.notes[0].onset_quarters < line and not any(one < line <= other for one, other in held)
    ]


def _first(sketch: Sketch) -> float:
    return sketch.source.lick.notes[0].onset_quarters
