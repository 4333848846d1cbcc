"""Where a session's reports come from: the simulated player, or a recording that stands in for one.

Each source yields the time up to which the ear has listened and what it said there. The simulated player's
sound goes through the same ear, block by block, as a microphone's would.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from feedback.performance import perform
from feedback.played import Performance, PlayedNote
from feedback.session import Listened, TurnPlan
from listener.expecting import Expectation

SIMULATED_RATE = 44100
_BLOCK = 256


def simulated_turn(
    plan: TurnPlan,
    *,
    mistakes: Sequence[Sequence[str]],
    seed: int,
) -> Performance:
    """Let the simulated player play every pass of a turn.

    Parameters
    ----------
    plan : TurnPlan
    mistakes : sequence of sequences of str
        For each pass, the names of its mistakes.
    seed : int
        Of the first pass; each further pass takes the next one.

    Returns
    -------
    Performance
        All passes as one, strings ringing on from pass to pass.
    """
    passes = [
        perform(
            plan.lick,
            tempo_half_bpm=plan.tempo_half_bpm,
            mistakes=names,
            seed=seed + number,
            start_sec=start,
        )
        for number, (start, names) in enumerate(zip(plan.starts_sec, mistakes, strict=True))
    ]
    notes = sorted((note for one in passes for note in one.notes), key=lambda note: note.onset_sec)
    return replace(
        passes[0],
        notes=_stopped_by_the_next(notes),
        mistakes=tuple(name for names in mistakes for name in names),
    )


def listened(
    sound: np.ndarray, rate: int, *, until_sec: float, expectations: Sequence[Expectation] = ()
) -> Iterator[Listened]:
    """Send a sound through an ear.

    Parameters
    ----------
    sound : ndarray of float32, shape (samples,)
        Mono, within +-1.
    rate : int
        Samples a second: 44100 or 48000.
    until_sec : float
        The sound is followed by silence up to there.
    expectations : sequence of Expectation
        What the ear is told to expect; without any it listens blind.

    Yields
    ------
    Listened
        After every block of 256 samples.
    """
    from listener.ear import Ear

    ear = Ear(rate, expectations=expectations)
    silence = max(0, math.ceil(until_sec * rate) - len(sound))
    whole = np.concatenate([sound, np.zeros(silence, np.float32)])
    for begin in range(0, len(whole), _BLOCK):
        block = whole[begin : begin + _BLOCK]
        yield Listened(now_sec=(begin + len(block)) / rate, reports=ear.feed(block))
    yield Listened(now_sec=len(whole) / rate, reports=ear.flush())


def _stopped_by_the_next(notes: Sequence[PlayedNote]) -> tuple[PlayedNote, ...]:
    """End every note no later than the next one on its string begins."""
    ended = []
    next_sec: dict[int, float] = {}
    for note in reversed(notes):
        rings = min(note.duration_sec, next_sec.get(note.string, math.inf) - note.onset_sec)
        ended.append(replace(note, duration_sec=rings))
        next_sec[note.string] = note.onset_sec
    return tuple(reversed(ended))
