"""A sketch that the hands have tried: where each note is made, what it costs, and the lick that it makes."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from routines.chords import Chord, seven_falls
from routines.hand.playing import best
from routines.hand.wanted import Played, Wanted
from routines.lick import Lick, TargetNote
from routines.moving.answers import Alteration, Fingering
from routines.moving.built import whole
from routines.moving.guess import Guess, crossing, guessed
from routines.moving.names import NameMove, in_words, name_move
from routines.moving.sketch import Sketch
from routines.neck import Place
from routines.pitch import note_name
from routines.tempo import tempo_words


@dataclass(frozen=True, slots=True, kw_only=True)
class Trial:
    """A sketch and the best way through it.

    Attributes
    ----------
    sketch : Sketch
    played : Played
        An entry for each note of `sketch.wanted`, in its order.
    """

    sketch: Sketch
    played: Played

    @property
    def worth(self) -> tuple[int, float]:
        """What a better trial has less of: troubles, then cost."""
        return len(self.played.troubles), self.played.cost

    @property
    def exact(self) -> bool:
        """Whether nothing departs from the lick moved."""
        return self.sketch.exact

    @property
    def playable(self) -> bool:
        """Whether both hands can play it."""
        return not self.played.troubles

    def targets(self) -> dict[int, TargetNote]:
        """Return the notes as they are made, by their index in the lick; role and core are the old ones."""
        lick, neck = self.sketch.source.lick, self.sketch.drones.neck
        made: dict[int, TargetNote] = {}
        for (index, wanted), place, finger in zip(
            self.sketch.wanted.items(), self.played.places, self.played.right, strict=True
        ):
            midi, begins = neck.midi(place.string, place.fret), None
            if wanted.technique == "choke":
                begins, midi = midi, midi + wanted.from_frets
            elif wanted.technique == "slide":
                begins = midi - wanted.from_frets
                if wanted.slurred_from is not None:
                    begins = made[wanted.slurred_from].midi
            old = lick.notes[index]
            made[index] = TargetNote(
                onset_quarters=old.onset_quarters,
                duration_quarters=old.duration_quarters,
                midi=midi,
                string=place.string,
                fret=place.fret,
                finger=finger if wanted.picked else "",
                technique=wanted.technique,
                role=old.role,
                core=old.core,
                from_midi=begins,
            )
        return made


def tried(sketch: Sketch) -> Trial | None:
    """Let the hands try a sketch; None where a note has no place, no way leads through, or a fall is lost."""
    guess = guessed(sketch)
    trial = None if guess is None else weighed(guess)
    return trial if trial is None or _keeps_its_ways(trial) else None


def weighed(guess: Guess) -> Trial | None:
    """Let the hands try what the first look found; where that is trouble, all places of each note."""
    there = [_held_to(w, place) for w, place in zip(guess.wanted, guess.rough.places, strict=True)]
    played = best(there, guess.given, quick=True)
    if played is None or played.troubles:
        anew = best(guess.wanted, guess.given)
        better = anew is not None and (played is None or anew.cost < played.cost)
        if anew is not None and better and _sound(guess.wanted, anew.places):
            played = anew
    return None if played is None else Trial(sketch=guess.sketch, played=played)


def _keeps_its_ways(trial: Trial) -> bool:
    """Whether every seven still falls as far as it did, and every slur goes the way it went."""
    lick, made = trial.sketch.source.lick, trial.targets()
    pairs = [(ask.note, ask.due_note) for ask in lick.sevenths if ask.how == "resolve"]
    falls = [(one, other) for one, other in pairs if one in made and other in made]
    if any(made[o].midi - made[i].midi != lick.notes[o].midi - lick.notes[i].midi for i, o in falls):
        return False
    slurs = [
        (wanted.slurred_from, index)
        for index, wanted in trial.sketch.wanted.items()
        if wanted.slurred_from is not None
    ]
    return all(
        (made[i].midi - made[begins].midi) * (lick.notes[i].midi - lick.notes[begins].midi) > 0
        for begins, i in slurs
    )


def _held_to(wanted: Wanted, place: Place) -> Wanted:
    """Return the same with one place; written out, as it is done for every note of every move."""
    return Wanted(
        onset_quarters=wanted.onset_quarters,
        choices=(place,),
        technique=wanted.technique,
        picked=wanted.picked,
        slurred_from=wanted.slurred_from,
        from_frets=wanted.from_frets,
        finger=wanted.finger,
        seven=wanted.seven,
    )


def _sound(wanted: Sequence[Wanted], places: Sequence[Place]) -> bool:
    """Whether each note has a string of its own, and no slur another note in it."""
    taken = {(w.onset_quarters, place.string) for w, place in zip(wanted, places, strict=True)}
    return len(taken) == len(wanted) and crossing(wanted, places) is None


def finished(trial: Trial, key: Chord) -> Fingering:
    """Make the whole lick of a trial."""
    sketch, lick = trial.sketch, trial.sketch.source.lick
    made = trial.targets()
    left = dict(zip(sketch.wanted, trial.played.left, strict=True))
    order = sorted(made, key=lambda i: (made[i].onset_quarters, made[i].midi, -made[i].string))
    altered = () if trial.exact else tuple(_altered(trial, made, name_move(Chord.parse(lick.key), key)))
    new = whole(
        lick,
        key,
        sketch.drones.neck,
        [made[index] for index in order],
        top_tempo_half_bpm=sketch.tempo_half_bpm,
    )
    new = replace(new, trains=_trains(lick, new, sketch.half_steps))
    return Fingering(
        lick=new,
        sources=tuple(order),
        left=tuple(left[index] for index in order),
        playable=trial.playable,
        exact=not altered,
        cost=trial.played.cost,
        half_steps=sketch.half_steps,
        direction=in_words(sketch.half_steps),
        drones=sketch.drones.words,
        altered=altered,
        troubles=tuple(trouble.words for trouble in trial.played.troubles),
    )


def _altered(trial: Trial, made: dict[int, TargetNote], names: NameMove) -> Iterator[Alteration]:
    sketch, lick = trial.sketch, trial.sketch.source.lick
    if sketch.tempo_half_bpm != lick.top_tempo_half_bpm:
        yield Alteration(
            index=None,
            before=tempo_words(lick.top_tempo_half_bpm),
            after=tempo_words(sketch.tempo_half_bpm),
            why="at the old top tempo no hand plays it",
        )
    for index, note in enumerate(lick.notes):
        is_drone = index in sketch.source.drones
        chord = names.chord(lick.chords[sketch.source.spans[index]].chord)
        meant = note.midi + sketch.half_steps
        before = "the drone" if is_drone else _named(meant, chord)
        if index not in made:
            yield Alteration(
                index=index,
                before=before,
                after="left out",
                why="it would rub against the chord" if is_drone else "no hand reaches it there",
            )
        elif not is_drone and made[index].midi != meant:
            after = _named(made[index].midi, chord)
            yield Alteration(index=index, before=before, after=after, why=_exchanged_why(sketch, index))
        elif index in sketch.unslurred:
            yield Alteration(
                index=index,
                before=f"{before}, {_SLURRED[note.technique]}",
                after=f"{before}, picked",
                why="no string holds both notes of the slur",
            )


_SLURRED = {"hammer": "hammered on", "pull": "pulled off", "slide": "slid to"}


def _named(midi: int, chord: Chord | None) -> str:
    """Name a pitch as the chord that it stands under spells it."""
    function = None if chord is None else chord.function_of(midi)
    tone = chord.tone(function) if chord is not None and function is not None else None
    return note_name(midi, tone)


def _exchanged_why(sketch: Sketch, index: int) -> str:
    shifts = sketch.changes.shifts.get(index, ())
    if shifts and all(shift % 12 == 0 for shift in shifts):
        return "another octave: in its own no hand reaches it"
    return "another tone of the chord: no hand reaches the note itself there"


def _trains(old: Lick, new: Lick, half_steps: int) -> str:
    """What the moved lick is good for, with the names that its notes now have."""
    what = f"{old.title} from {old.key}, {in_words(half_steps)}"
    ask = next((ask for ask in new.sevenths if ask.how != "colour"), None)
    fall = None if ask is None else seven_falls(Chord.parse(ask.chord), Chord.parse(ask.next_chord))
    if ask is None or fall is None:
        return f"{what}."
    return f"{what}: {fall.from_tone} falls to {fall.to_tone}, from {ask.chord} to {ask.next_chord}."
