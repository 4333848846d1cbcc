"""What a take might have been asked to be: expectations that its notes meet, miss, or never heard of.

The problem: an ear that is told what to expect must learn how far to trust that. Players keep time more or
less well; now and then they play another pitch than the asked one, leave a note out, or add one. Here the
take is what was played, and what was asked is drawn around it: most notes were asked for, at their place give
or take the player's timing; some were asked for at another pitch; some were not asked for at all; and
some that were asked for never came.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from feedback.expect import asked_at
from listener.expecting import Expectation
from tests.bench.train.takes import TrueNote

_OTHER_PITCH, _NOT_ASKED, _NEVER_CAME = 0.10, 0.06, 0.14
_FAR_OFF = 0.04  # asked for at quite another time
_BLIND_TAKES, _STRANGE_TAKES = 0.08, 0.08
_TIMING_MS = (3.0, 22.0)
_LEAN_MS = 8.0
_NEIGHBOURS = (-2, -1, 1, 2)
_OCTAVES = (-12, 12)
_FAR_STEPS = (-7, -5, -4, -3, 3, 4, 5, 7)


@dataclass(frozen=True, slots=True, kw_only=True)
class Ask:
    """One pitch that was asked for; `came` says whether a note of the take answers it."""

    onset_sec: float
    midi: int
    came: bool


def drawn_asks(notes: Sequence[TrueNote], eighth_sec: float, rng: np.random.Generator) -> list[Ask]:
    """Draw what a take was asked to be.

    Parameters
    ----------
    notes : sequence of TrueNote
        By onset.
    eighth_sec : float
    rng : numpy.random.Generator

    Returns
    -------
    list of Ask
    """
    kind = rng.random()
    if not notes or kind < _BLIND_TAKES:
        return []
    if kind < _BLIND_TAKES + _STRANGE_TAKES:  # quite another lick
        order = rng.permutation(len(notes))
        return [
            Ask(
                onset_sec=note.onset_sec + float(rng.normal(0.0, 0.01)),
                midi=notes[k].midi,
                came=notes[k].midi == note.midi,
            )
            for note, k in zip(notes, order, strict=True)
        ]
    sd, lean = float(rng.uniform(*_TIMING_MS)) / 1e3, float(rng.normal(0.0, _LEAN_MS)) / 1e3
    pitches = [note.midi for note in notes]
    asks = []
    for place, note in enumerate(notes):
        begins = note.arrive_sec if note.how == "slide" and note.to_midi is None else None
        sec = (begins or note.onset_sec) + lean + float(rng.normal(0.0, sd))
        if rng.random() < _FAR_OFF:
            sec += float(rng.uniform(-0.5, 0.5)) * eighth_sec
        what = rng.random()
        if what < _OTHER_PITCH:
            other = _other(note.midi, pitches, place, rng)
            asks.append(Ask(onset_sec=sec, midi=other, came=other == note.midi))
        elif what < 1.0 - _NOT_ASKED:
            asks.append(Ask(onset_sec=sec, midi=note.midi, came=True))
        if rng.random() < _NEVER_CAME:
            asks.append(_that_never_came(notes, place, sec, eighth_sec, pitches, rng))
    return asks


def _other(midi: int, pitches: Sequence[int], place: int, rng: np.random.Generator) -> int:
    """A pitch in whose place another one was played."""
    what = rng.random()
    if what < 0.4:
        return midi + int(rng.choice(_NEIGHBOURS))
    if what < 0.55:
        return midi + int(rng.choice(_OCTAVES))
    if what < 0.7:
        return midi + int(rng.choice(_FAR_STEPS))
    return int(pitches[max(0, place - int(rng.integers(1, 8)))])


def _that_never_came(
    notes: Sequence[TrueNote],
    place: int,
    sec: float,
    eighth_sec: float,
    pitches: Sequence[int],
    rng: np.random.Generator,
) -> Ask:
    """A note that was left out: the other voice of a pinch, or one where nothing was struck."""
    recent = pitches[max(0, place - int(rng.integers(1, 10)))]
    if rng.random() < 0.5:
        midi = recent if rng.random() < 0.5 else _other(notes[place].midi, pitches, place, rng)
        return Ask(onset_sec=sec, midi=int(midi), came=False)
    after = notes[place + 1].onset_sec if place + 1 < len(notes) else sec + 2.0 * eighth_sec
    gap = max(after - notes[place].onset_sec, 0.0)
    when = notes[place].onset_sec + gap * float(rng.uniform(0.35, 0.65))
    coming = pitches[min(place + int(rng.integers(1, 4)), len(pitches) - 1)]
    midi = [recent, coming, recent + int(rng.choice(_NEIGHBOURS))][int(rng.integers(3))]
    return Ask(onset_sec=when, midi=int(midi), came=False)


def expectations_of(asks: Sequence[Ask], eighth_sec: float, drone_midi: int) -> list[Expectation]:
    """What the listener is told, as of a lick."""
    return [
        one
        for ask in asks
        for one in asked_at(ask.onset_sec, ask.midi, eighth_sec=eighth_sec, drone_midi=drone_midi)
    ]
