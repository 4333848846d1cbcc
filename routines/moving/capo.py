"""The capo answer: the same frets as written, a capo, and the fifth string brought along.

The problem: most licks reach most keys without a new fingering. A G shape with capo 2 and the fifth string
at a is how A is played. The long strings follow the capo; the fifth does not: its open string is raised by
its peg, which moves its stopped frets too, or by a spike, which leaves them where they are.

Conventions: a lick that is under a capo already is first seen as its shape. A capo above `HIGHEST` is no
sensible answer: there is little neck left, and the banjo sounds like a smaller one. `routines.moving.fifth`
says how far the fifth string goes.
"""

from __future__ import annotations

from collections.abc import Iterator

from routines.chords import Chord
from routines.errors import BadRoutine
from routines.lick import Lick, TargetNote
from routines.moving.answers import CapoAnswer
from routines.moving.built import all_alike
from routines.moving.fifth import PEG_MOST, SPIKES, fifth_words, raised, spiked_at, usual_neck
from routines.moving.names import in_words, string_name
from routines.neck import FIFTH_NUT, OPEN_TUNINGS, FifthString, Neck
from routines.pitch import note_name
from routines.shapes import shaped

HIGHEST = 5
"""The highest fret at which a capo is offered unless the player asks for another."""


def capo_answer(
    lick: Lick, key: Chord, *, tuning: str | None = None, capo: int | None = None
) -> CapoAnswer | str:
    """Return the same frets under a capo, or a sentence that says why there is no such answer.

    Parameters
    ----------
    lick : Lick
    key : Chord
        The key that is to sound.
    tuning : str or None
        A key of `OPEN_TUNINGS` that is asked for.
    capo : int or None
        The capo that is asked for, at a real fret.
    """
    neck = lick.neck
    shapes = shaped(Chord.parse(lick.key), neck.capo)
    fret = (key.root.pitch_class - shapes.root.pitch_class) % 12
    if tuning is not None and tuning != neck.tuning:
        return f"no capo answer in {tuning}: its frets are not those of {neck.tuning}, so it is fingered anew"
    if capo is not None and capo != fret:
        return (
            f"no capo answer at fret {capo}: {shapes.symbol} shapes sound in {key.symbol} with "
            f"{_capo_words(fret)}, so it is fingered anew"
        )
    if fret > HIGHEST and capo is None:
        return (
            f"no sensible capo answer: {shapes.symbol} shapes would want capo {fret} for {key.symbol}, and "
            f"{HIGHEST} is the limit, so it is fingered anew"
        )
    half_steps = fret - neck.capo
    for there in _necks(lick, fret):
        notes = _moved(lick, there, half_steps)
        if notes is not None:
            return _answer(lick, key, there, notes, half_steps)
    open_midi = neck.open_midi(5) + half_steps
    return (
        f"no capo answer: with {_capo_words(fret)} not every fret is there, or the fifth string does not "
        f"come to {note_name(open_midi)}, so it is fingered anew"
    )


def _capo_words(fret: int) -> str:
    return f"capo {fret}" if fret else "no capo"


def _necks(lick: Lick, fret: int) -> Iterator[Neck]:
    """Yield the necks to try: as written, as is usual, then what else brings the fifth string there."""
    old = lick.neck
    if fret == old.capo:
        yield old
    yield usual_neck(old.tuning, fret)
    open_midi = old.open_midi(5) + fret - old.capo
    up = open_midi - OPEN_TUNINGS[old.tuning][0]
    fifths = [FifthString(open_midi, "plain")] if up == 0 else []
    if spiked_at(up) is not None:
        fifths.append(FifthString(open_midi, "spike"))
    if up <= PEG_MOST:
        fifths.append(FifthString(open_midi, "peg"))
    for fifth in fifths:
        try:
            yield Neck(tuning=old.tuning, capo=fret, fifth=fifth)
        except BadRoutine:
            continue


def _moved(lick: Lick, neck: Neck, half_steps: int) -> tuple[TargetNote, ...] | None:
    """Return the notes at the same frets of another neck; None unless every one moves by the half steps."""
    moved = []
    for note in lick.notes:
        begins = None if note.from_midi is None else note.from_midi + half_steps
        there = TargetNote(
            onset_quarters=note.onset_quarters,
            duration_quarters=note.duration_quarters,
            midi=note.midi + half_steps,
            string=note.string,
            fret=note.fret,
            finger=note.finger,
            technique=note.technique,
            role=note.role,
            core=note.core,
            from_midi=begins,
        )
        sounds = there.from_midi if note.technique == "choke" else there.midi
        try:
            if neck.midi(note.string, note.fret) != sounds:
                return None
            if note.technique == "slide" and begins is not None:
                neck.midi(note.string, note.fret - note.midi + (note.from_midi or note.midi))
        except BadRoutine:
            return None
        moved.append(there)
    along = neck.open_midi(5) == lick.neck.open_midi(5) + half_steps
    return tuple(moved) if along or _left(neck) else None


def _left(neck: Neck) -> bool:
    """Whether the fifth string stays as it is tuned, as no spike follows the capo; its stopped frets do."""
    return FIFTH_NUT + neck.capo > SPIKES[-1] and raised(neck) == 0


def _fifth(lick: Lick, neck: Neck) -> str:
    if _left(neck) and not any(note.string == 5 and not note.fret for note in lick.notes):
        return f"fifth string left at {string_name(neck.open_midi(5))}: the lick does not use it open"
    return fifth_words(neck, stopped=any(note.string == 5 and note.fret for note in lick.notes))


def _answer(lick: Lick, key: Chord, neck: Neck, notes: tuple[TargetNote, ...], half_steps: int) -> CapoAnswer:
    shapes = shaped(Chord.parse(lick.key), lick.neck.capo)
    capo, fifth = _capo_words(neck.capo), _fifth(lick, neck)
    as_it_is = neck == lick.neck and key.symbol == lick.key
    return CapoAnswer(
        lick=lick if as_it_is else all_alike(lick, key, neck, notes, half_steps),
        shapes=shapes.symbol,
        half_steps=half_steps,
        words=(
            f"{capo[0].upper()}{capo[1:]}, {shapes.symbol} shapes, the same frets as written: "
            f"{in_words(half_steps)}.",
            f"{fifth[0].upper()}{fifth[1:]}.",
        ),
    )
