"""What an ear is told of a take: what was played, as one would have asked for it; or what nobody plays.

The problem: a passage of the notes bench follows no lick, so what a lick would have asked for is drawn around
its truth: each note at its place, but for a lean of the player's that all share and for the unevenness of
each. Nobody plays just what was asked: one note in `OTHER_PITCH` was asked for at another pitch, one in
`NOT_ASKED` was not asked for, and after one in `NEVER_CAME` another was asked for that never came. So an ear
that says what it was told, and listens to nothing, gets one note in ten wrong. A choke is asked for at the
pitch that is struck. Where nothing is played, a roll is asked for.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from feedback.expect import asked_at
from listener.expecting import Expectation
from tests.bench.note_scores import Played
from tests.bench.passages import truth_of
from tests.bench.rolls import random_rolls

LEAN_MS = 8.0
"""Standard deviation of the one lean of a take."""

EACH_MS = 12.0
"""Standard deviation of each note besides."""

OTHER_PITCH, NOT_ASKED, NEVER_CAME = 1 / 14, 1 / 24, 1 / 24
"""Shares of the notes, see above."""

DRONE_MIDI = 67
"""The open fifth string where nothing else is known."""

_ROLL_NPS = (5.0, 10.0)
_STREAM = 4  # apart from those that other draws of the same seed follow
_BAR_EIGHTHS = 8
_OTHERS = (-12, -2, -1, 1, 2, 12)


def asked_of(
    truth: Sequence[Played],
    *,
    nps: float,
    seed: int,
    drone_midi: int = DRONE_MIDI,
    as_played: bool = False,
) -> tuple[Expectation, ...]:
    """What may have been asked for where this was played.

    Parameters
    ----------
    truth : sequence of Played
    nps : float
        Eighths a second.
    seed : int
        Of how far the playing is from what was asked, 0 or more.
    drone_midi : int
        Pitch of the open fifth string.
    as_played : bool
        Whether all that was played was asked for, and nothing else.

    Returns
    -------
    tuple of Expectation
        In the order of the notes.
    """
    rng = np.random.default_rng([seed, _STREAM])
    lean_sec = 1e-3 * float(rng.normal(0.0, LEAN_MS))
    each_sec = 1e-3 * rng.normal(0.0, EACH_MS, len(truth))
    places: list[tuple[float, int]] = []
    for note, off_sec, what in zip(truth, each_sec.tolist(), rng.random(len(truth)).tolist(), strict=True):
        sec = note.onset_sec + lean_sec + off_sec
        other = note.midi + int(rng.choice(_OTHERS))
        if as_played:
            places.append((sec, note.midi))
            continue
        if what < OTHER_PITCH:
            places.append((sec, other))
        elif what < 1.0 - NOT_ASKED:
            places.append((sec, note.midi))
        if OTHER_PITCH <= what < OTHER_PITCH + NEVER_CAME:
            places.append((sec + 0.5 / nps, other))
    return tuple(
        one
        for sec, midi in places
        for one in asked_at(sec, midi, eighth_sec=1.0 / nps, drone_midi=drone_midi)
    )


def asked_of_nobody(seed: int, sec: float) -> tuple[Expectation, ...]:
    """What is asked for where nobody plays: an ordinary roll, at 5 to 10 eighths a second.

    Parameters
    ----------
    seed : int
        0 or more.
    sec : float
        How long the take lasts; the roll fills it.
    """
    nps = float(np.random.default_rng([seed, _STREAM]).uniform(*_ROLL_NPS))
    rolls = random_rolls(seed, nps, bars=math.ceil(sec * nps / _BAR_EIGHTHS))
    return asked_of(
        [note for note in truth_of(rolls) if note.onset_sec < sec],
        nps=nps,
        seed=seed,
        drone_midi=rolls.open_midi[5],
    )
