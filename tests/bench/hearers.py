"""Who listens to a take: our ear, fed or through a file, and a peer.

The peer is the plain chain of aubio: onsets by spectral flux (frames of 1024 every 256), one pitch each by
yinfft over the 2048 samples that follow. It runs at whatever rate a take has.
"""

from __future__ import annotations

import tempfile
from collections.abc import Callable, Sequence
from functools import partial
from pathlib import Path

import numpy as np

from listener.ear import Ear
from listener.expecting import Expectation
from listener.files import Hearing, hear_file
from listener.notes import NoteEvent, doubtful, standing
from tests.bench.takes import Take


def heard(take: Take) -> list[NoteEvent]:
    """What our ear hears in a take that is fed to it; the ear's own rates only."""
    return list(hearing(take).notes)


def heard_in_file(take: Take) -> list[NoteEvent]:
    """What our ear hears in a take that is written as a 16-bit file, as `sevenfall hear` does; any rate."""
    return list(_in_file(take).notes)


def listener(sound: np.ndarray, rate: int) -> Callable[[Sequence[Expectation]], Hearing]:
    """Who hears this sound as often as wanted, told what to expect, or told nothing."""
    return partial(hearing, Take(nps=1.0, truth=(), sound=sound, rate=rate))


def hearing(take: Take, expectations: Sequence[Expectation] = (), *, in_file: bool = False) -> Hearing:
    """All that our ear says of a take, as `heard` or `heard_in_file`, told what to expect.

    Parameters
    ----------
    take : Take
    expectations : sequence of Expectation
        Without any the ear listens blind.
    in_file : bool
        Whether it hears a 16-bit file; else the take must have one of the ear's own rates.
    """
    if in_file:
        return _in_file(take, expectations)
    ear = Ear(take.rate, expectations=expectations)
    reports = ear.feed(take.sound) + ear.flush()
    notes, withdrawn = standing(reports)
    return Hearing(
        sample_rate=take.rate,
        duration_sec=len(take.sound) / take.rate,
        tuning_cents=ear.tuning_cents,
        notes=tuple(notes),
        withdrawn=tuple(withdrawn),
        doubtful=tuple(doubtful(reports)),
    )


def heard_by_peer(take: Take) -> list[NoteEvent]:
    """What aubio hears: an onset, and the pitch of the window that follows it."""
    import aubio

    hop, window = 256, 2048
    onsets = aubio.onset("specflux", 1024, hop, take.rate)
    pitches = aubio.pitch("yinfft", window, hop, take.rate)
    pitches.set_unit("midi")
    events: list[NoteEvent] = []
    waiting: list[int] = []
    for begin in range(0, len(take.sound) - hop + 1, hop):
        block = take.sound[begin : begin + hop]
        pitch = float(pitches(block)[0])
        if onsets(block)[0]:
            waiting.append(int(onsets.get_last()))
        while waiting and waiting[0] + window <= begin + hop:
            onset = waiting.pop(0)
            if pitch > 0.0:
                events.append(_peer_event(onset / take.rate, pitch, (begin + hop) / take.rate))
    return events


def _in_file(take: Take, expectations: Sequence[Expectation] = ()) -> Hearing:
    import soundfile

    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder, "take.wav")
        soundfile.write(path, np.clip(take.sound, -1.0, 1.0), take.rate, subtype="PCM_16")
        return hear_file(path, ear=partial(Ear, expectations=expectations))


def _peer_event(onset_sec: float, pitch: float, heard_sec: float) -> NoteEvent:
    midi = round(pitch)
    return NoteEvent(
        onset_sec=onset_sec,
        midi=midi,
        cents=100.0 * (pitch - midi),
        level_db=0.0,
        confidence=1.0,
        heard_sec=heard_sec,
        settled_sec=heard_sec,
    )
