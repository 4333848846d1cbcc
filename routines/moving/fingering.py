"""The best fingering of a lick in another key: which octave, which drone, which string and fret.

The problem: a key lies up or down, and which is better depends on the neck and the hand. So both are asked of
the hands where both lie on the neck, and the cheaper one is taken. Where no way is exact and playable, the
nearest that is stands in for it (`routines.moving.offers`), with what was altered.

Conventions: `tempo` is the lick's top tempo in half notes a minute: there it must be playable.
"""

from __future__ import annotations

from collections.abc import Sequence

from routines.chords import Chord
from routines.lick import Lick
from routines.moving.answers import Fingering
from routines.moving.drones import drones_moved
from routines.moving.guess import Guess, guessed
from routines.moving.offers import nearest
from routines.moving.sketch import Sketch, sketched
from routines.moving.source import Source, source_of
from routines.moving.trial import Trial, finished, weighed
from routines.neck import Neck

_GUESS_ERRS = 3.0
"""By how much the first look must promise a better octave before the hands are asked about it too."""

_OWN_PITCH = 20.0
"""How much better another octave must be where the lick could stay at its pitch."""

_OCTAVE = 12


def fingering(lick: Lick, key: Chord, *, tuning: str | None = None, capo: int = 0) -> Fingering:
    """Finger a lick anew.

    Parameters
    ----------
    lick : Lick
    key : Chord
        The key that is to sound.
    tuning : str or None
        A key of `routines.neck.OPEN_TUNINGS`; None for the lick's own.
    capo : int
        At a real fret; 0 for none.

    Raises
    ------
    BadRoutine
        If there is no such tuning or capo.
    """
    source = source_of(lick)
    neck = Neck(tuning=tuning or lick.neck.tuning, capo=capo)
    sketches = _sketches(source, neck, key)
    found = _exact(sketches)
    if found is None or not (found.exact and found.playable):
        found = nearest(sketches, found)
    return finished(found, key)


def _sketches(source: Source, neck: Neck, key: Chord) -> list[Sketch]:
    """Return the lick in each octave in which it might lie on the neck, the fewest homeless notes first."""
    up = (key.root.pitch_class - Chord.parse(source.lick.key).root.pitch_class) % _OCTAVE
    drones = drones_moved(source, neck, up, key)
    ways = (up, up - _OCTAVE) if up else (0, _OCTAVE, -_OCTAVE)
    sketches = [sketched(source, drones, half_steps) for half_steps in ways]
    return sorted(sketches, key=lambda sketch: (len(sketch.homeless), abs(sketch.half_steps)))


def _exact(sketches: Sequence[Sketch]) -> Trial | None:
    """Return the better of the octaves that lie on the neck as they are; None where none does."""
    guesses = [guess for guess in map(guessed, sketches) if guess is not None]
    best: Trial | None = None
    for guess in sorted(guesses, key=lambda guess: guess.cost + _far(guess.sketch)):
        if best is not None and not _worth_asking(guess, best):
            continue
        trial = weighed(guess)
        if trial is not None and (best is None or _rank(trial) < _rank(best)):
            best = trial
    return best


def _far(sketch: Sketch) -> float:
    return _OWN_PITCH if abs(sketch.half_steps) == _OCTAVE else 0.0


def _worth_asking(guess: Guess, best: Trial) -> bool:
    """Whether another octave may be better than what was found."""
    if not (best.exact and best.playable):
        return True
    return guess.cost + _far(guess.sketch) + _GUESS_ERRS < best.played.cost


def _rank(trial: Trial) -> tuple[bool, bool, int, float]:
    return not trial.playable, not trial.exact, *trial.worth
