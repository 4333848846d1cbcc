"""The best fingering of a lick in another key: which octave, which drone, which string and fret.

The problem: a key lies up or down, and which is better depends on the neck and the hand. So both are asked of
the hands where both lie on the neck, and the cheaper one is taken; the nearer one unless it is really worse,
as a lick moved far is another lick to the ear. Where no way is exact and playable, the nearest that is stands
in for it (`routines.moving.offers`), with what was altered.

Conventions: `tempo` is the lick's top tempo in half notes a minute: there it must be playable.
"""

from __future__ import annotations

from collections.abc import Sequence
from heapq import heappop, heappush
from typing import Literal, TypeAlias

from routines.chords import Chord
from routines.lick import Lick
from routines.moving.answers import Fingering
from routines.moving.drones import drones_moved
from routines.moving.fifth import usual_neck
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

_HALF_STEP_FAR = 0.25
"""What each half step of the way costs beside the hands: a whole step down is worth 2.0 more than ten up."""

_NEARER_FIRST = 1.0
"""By how much the first look must promise a farther octave before the hands are asked about it first."""

_OCTAVE = 12

Way: TypeAlias = Literal["up", "down"]
"""Which of the two octaves is wanted."""


def fingering(
    lick: Lick, key: Chord, *, tuning: str | None = None, capo: int = 0, way: Way | None = None
) -> Fingering:
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
    way : {"up", "down"} or None
        Where the notes are to go, in the own key by an octave; None for the better one.

    Raises
    ------
    BadRoutine
        If there is no such tuning or capo.
    """
    source = source_of(lick)
    neck = usual_neck(tuning or lick.neck.tuning, capo)
    sketches = _sketches(source, neck, key, way)
    found = _exact(sketches)
    if found is None or not (found.exact and found.playable):
        found = nearest(sketches, found)
    return finished(found, key)


def _sketches(source: Source, neck: Neck, key: Chord, way: Way | None) -> list[Sketch]:
    """Return the lick in each octave in which it might lie on the neck, the fewest homeless notes first."""
    up = (key.root.pitch_class - Chord.parse(source.lick.key).root.pitch_class) % _OCTAVE
    drones = drones_moved(source, neck, up, key)
    ways: tuple[int, ...] = (up, up - _OCTAVE) if up else (0, _OCTAVE, -_OCTAVE)
    if way is not None:
        ways = tuple(far for far in ways if far and (far > 0) == (way == "up"))
    sketches = [sketched(source, drones, half_steps) for half_steps in ways]
    return sorted(sketches, key=lambda sketch: (len(sketch.homeless), abs(sketch.half_steps)))


def _exact(sketches: Sequence[Sketch]) -> Trial | None:
    """Return the better of the octaves that lie on the neck as they are; None where none does."""
    homes = [sketch for sketch in sketches if not sketch.homeless]
    least = min((abs(sketch.half_steps) for sketch in homes), default=0)
    # What each promises at best: a first look takes its time too, and comes only where it may matter.
    at_best = [_far(sketch) + _NEARER_FIRST * (abs(sketch.half_steps) > least) for sketch in homes]
    queue: list[tuple[float, int, Guess | None]] = [(at, n, None) for n, at in enumerate(at_best)]
    best: Trial | None = None
    while queue:
        _, number, guess = heappop(queue)
        sketch = homes[number]
        if best is not None and not _worth_asking(sketch, 0.0 if guess is None else guess.cost, best):
            continue
        if guess is None:
            guess = guessed(sketch)
            if guess is not None:
                heappush(queue, (at_best[number] + guess.cost, number, guess))
            continue
        trial = weighed(guess)
        if trial is not None and (best is None or _rank(trial) < _rank(best)):
            best = trial
    return best


def _far(sketch: Sketch) -> float:
    far = abs(sketch.half_steps)
    return _OWN_PITCH if far == _OCTAVE else _HALF_STEP_FAR * far


def _worth_asking(sketch: Sketch, cost: float, best: Trial) -> bool:
    """Whether another octave of such a guessed cost may be better than what was found."""
    if not (best.exact and best.playable):
        return True
    return cost + _far(sketch) + _GUESS_ERRS < best.played.cost + _far(best.sketch)


def _rank(trial: Trial) -> tuple[bool, bool, int, float]:
    troubles, cost = trial.worth
    return not trial.playable, not trial.exact, troubles, cost + _far(trial.sketch)
