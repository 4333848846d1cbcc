"""All that is played in one part of a turn, as one sound: the click, the backing, the lick itself.

Each has a level of its own. Together they may not pass the ceiling of any of them: where they would, the
whole is turned down, so that nothing is bent.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from feedback.backing import BassNote, backing, render_backing
from feedback.clicking import strokes
from feedback.sound.click import render
from feedback.sound.mixing import under_ceiling

if TYPE_CHECKING:
    from feedback.practice_request import PracticeRequest
    from feedback.session import TurnPlan

OwnNotes = tuple[tuple[float, int], ...]
"""When each note begins, in seconds of the plan, and its MIDI number; by time."""

FADES_SEC = 0.3
"""So long before a turn of the simulated player is over, what rings of it begins to sink."""

_PARTIALS = (0, 12, 19, 24, 28, 31, 34, 36)
"""Half steps from a bass note to its partials: an ear may take what is left of one for a note."""


def turn_sound(
    request: PracticeRequest, plan: TurnPlan, rate: int, *, first: bool
) -> tuple[np.ndarray, OwnNotes]:
    """What is played along with a plan.

    Parameters
    ----------
    request : PracticeRequest
    plan : TurnPlan
    rate : int
        Samples a second.
    first : bool
        Whether it is the first turn, whose count-in begins softly.

    Returns
    -------
    ndarray of float32, shape (n,)
        From 0 seconds of the plan.
    tuple of (float, int)
        The notes of the model; none where it does not sound.
    """
    quiet_sec = plan.first_start_sec if first else 0.0
    sounds = [render(strokes(plan, request.click), rate=rate, level_db=request.click_db, quiet_sec=quiet_sec)]
    own: OwnNotes = ()
    if request.backing:
        sounds.append(render_backing(plan, rate=rate, level_db=request.backing_db))
    if request.model:
        from feedback.modelling import plan_model

        sound, own = plan_model(plan, rate=rate, level_db=request.model_db)
        sounds.append(sound)
    return mixed(sounds), own


def aloud_sound(
    request: PracticeRequest,
    plan: TurnPlan,
    played: np.ndarray,
    played_rate: int,
    rate: int,
    *,
    first: bool,
) -> np.ndarray:
    """A turn of the simulated player as heard: what its ear gets, and the click, which that does not get.

    What is played is turned to its level as a whole: a swallowed seven stays as far under its neighbours.

    Parameters
    ----------
    request : PracticeRequest
        Its click and backing, and the level of its model: that of what is played.
    plan : TurnPlan
    played : ndarray of float32, shape (n,)
        What the ear gets, from 0 seconds of the plan; what still rings when the turn is over is faded out.
    played_rate, rate : int
        Samples a second of what is played, and of what is returned.
    first : bool
        Whether it is the first turn, whose count-in begins softly.

    Returns
    -------
    ndarray of float32, shape (m,)
        From 0 seconds of the plan.
    """
    along, _ = turn_sound(replace(request, model=False), plan, rate, first=first)
    if rate != played_rate:
        import soxr

        played = soxr.resample(played, played_rate, rate)
    peak = float(np.abs(played).max(initial=0.0))
    gain = 10.0 ** (request.model_db / 20.0) / peak if peak > 0.0 else 1.0
    return mixed([along, _faded(played[: round(plan.end_sec * rate)] * np.float32(gain), rate)])


def backing_notes(request: PracticeRequest, plan: TurnPlan) -> OwnNotes:
    """What an ear may hear of the backing, where it comes back: chop tones, bass notes and their partials."""
    if not request.backing:
        return ()
    found = set()
    for one in backing(plan):
        if isinstance(one, BassNote):
            found |= {(one.sec, one.midi + up) for up in _PARTIALS}
        else:
            found |= {(one.sec, midi) for midi in one.midis}
    return tuple(sorted(found))


def mixed(sounds: list[np.ndarray]) -> np.ndarray:
    """Sounds that begin together as one, turned down as a whole where it would pass `CEILING_DB`.

    Returns
    -------
    ndarray of float32, shape (n,)
        As long as the longest. One sound alone stays as it is.
    """
    if len(sounds) == 1:
        return sounds[0]
    total = np.zeros(max(len(sound) for sound in sounds), np.float32)
    for sound in sounds:
        total[: len(sound)] += sound
    return under_ceiling(total)


def _faded(sound: np.ndarray, rate: int) -> np.ndarray:
    """The same, its last `FADES_SEC` sinking to silence."""
    fade = min(len(sound), round(FADES_SEC * rate))
    sound[len(sound) - fade :] *= np.linspace(1.0, 0.0, fade, dtype=np.float32)
    return sound
