"""What the hands are asked to play, and the way through it that was found.

The problem: a lick says which notes; which string, which finger of the left hand and which of the right is
what a player works out. These are the words for the question and for the answer; `routines.hand.playing`
answers.

Conventions: time is in quarters from the downbeat of bar 1, tempo in half notes a minute. Frets are as typed
in tab, as if there were no capo; the hand itself counts real frets, as the capo moves the shape up the neck.
Fingers of the left hand are 1 (index) to 4 (little finger), 5 is the thumb that reaches round for the fifth
string, 0 an open string. Notes of one onset (a pinch) stand next to one another.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from routines.lick import Lick, TargetNote, Technique
from routines.neck import Neck, Place


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """One note that the hands are to make.

    Attributes
    ----------
    onset_quarters : float
        When it begins; notes stand in this order.
    choices : tuple of Place
        Where it may be made; one for a written tab. Of a slide inside its eighth the end, of a choke the
        fret where it is stopped.
    technique : Technique
    picked : bool
        Whether a finger of the right hand starts it.
    slurred_from : int or None
        Index of the note that a hammer-on, a pull-off or a slide comes from, on the same string.
    from_frets : int
        Of a slide inside its eighth: its fret minus the fret where it begins. Of a choke: by how many frets
        it is pushed up. Else 0.
    finger : str
        T, I or M where the right hand's finger is fixed; else empty.
    seven : bool
        Whether it is a flat seven or the note that one is due to fall to: a heavy stroke matters there.
    """

    onset_quarters: float
    choices: tuple[Place, ...]
    technique: Technique = "pick"
    picked: bool = True
    slurred_from: int | None = None
    from_frets: int = 0
    finger: str = ""
    seven: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Given:
    """What the hands play on, how fast, and over which changes.

    Attributes
    ----------
    neck : Neck
    tempo_half_bpm : float
        Half notes a minute, over 0.
    quarters_a_bar : float
    changes_quarters : tuple of float
        Where the chord changes: a shape held until then may be lifted freely.
    """

    neck: Neck
    tempo_half_bpm: float
    quarters_a_bar: float
    changes_quarters: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Trouble:
    """What no hand does at this tempo.

    Attributes
    ----------
    onset_quarters : float
        Of the note at which it happens.
    words : str
        What it is, as one would tell the player.
    """

    onset_quarters: float
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Played:
    """The best way that was found; each tuple has one entry for each wanted note.

    Attributes
    ----------
    places : tuple of Place
    left : tuple of int
        0 open, 1 index to 4 little finger, 5 the thumb (fifth string only).
    right : tuple of str
        T, I or M; empty where the note is slurred.
    cost : float
        0 where everything is open or held and picked by the nearest fingers; `routines.hand.costs` says in
        which unit. A thumb that strikes an accent makes it less.
    troubles : tuple of Trouble
        Empty where a hand can play it.
    """

    places: tuple[Place, ...]
    left: tuple[int, ...]
    right: tuple[str, ...]
    cost: float
    troubles: tuple[Trouble, ...]


def wanted_of(lick: Lick) -> tuple[Wanted, ...]:
    """Ask for a lick as its tab is written: each note at its one place, with the tab's fingers."""
    sevens = {ask.note for ask in lick.sevenths} | {ask.due_note for ask in lick.sevenths}
    return tuple(
        Wanted(
            onset_quarters=note.onset_quarters,
            choices=(Place(note.string, note.fret),),
            technique=note.technique,
            picked=note.picked,
            slurred_from=None if note.picked else _source(lick.notes, index),
            from_frets=0 if note.from_midi is None or not note.picked else note.midi - note.from_midi,
            finger=note.finger,
            seven=index in sevens,
        )
        for index, note in enumerate(lick.notes)
    )


def given_of(lick: Lick, tempo_half_bpm: float | None = None) -> Given:
    """Tell what a lick is played on; at its top tempo where none is given."""
    return Given(
        neck=lick.neck,
        tempo_half_bpm=lick.top_tempo_half_bpm if tempo_half_bpm is None else tempo_half_bpm,
        quarters_a_bar=lick.quarters_a_bar,
        changes_quarters=tuple(span.start_quarters for span in lick.chords[1:]),
    )


def _source(notes: Sequence[TargetNote], index: int) -> int | None:
    """Index of the note before this one on its string."""
    earlier = (i for i in range(index - 1, -1, -1) if notes[i].string == notes[index].string)
    return next((i for i in earlier if notes[i].onset_quarters < notes[index].onset_quarters), None)
