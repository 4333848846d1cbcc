"""Five plucked strings over a head: the sound of played notes, without room or noise.

The problem: a listener must be tried on sound whose every note is known, and on more instruments than anyone
can record.

Conventions: strings ring over one another, but each sounds one note. Striking a string ends what rang on it:
the pick touches it a few milliseconds before it lets go. A slur goes over into the new pitch within as much;
a hand that leaves a stopped string ends it a little more slowly.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from feedback.played import PlayedNote
from feedback.sound.banjo import Banjo, Manner
from feedback.sound.partials import NEPERS_PER_DB, hz_of, pointers
from feedback.sound.voice import Motion, Voice

_ANSWERING_PARTIALS = 8
_ANSWERS_SEC = 1.5
_HAIR_SEC = 1e-6


def strings_sound(
    notes: Sequence[PlayedNote],
    *,
    rate: int,
    samples: int,
    banjo: Banjo,
    rng: np.random.Generator,
    manner: Manner | None = None,
) -> np.ndarray:
    """Make the sound of played notes.

    Parameters
    ----------
    notes : sequence of PlayedNote
        In any order; several may sound at once, but only the last on each string.
    rate : int
        Samples a second.
    samples : int
        Length of the sound; what rings beyond it is cut.
    banjo : Banjo
    rng : numpy.random.Generator
    manner : Manner, optional
        How it is kept and touched; by default as usual.

    Returns
    -------
    numpy.ndarray
        Shape (samples,), float32.
    """
    manner = manner or Manner()
    sound = np.zeros(samples, dtype=np.float32)
    voice = Voice(rate, banjo, rng, manner)
    for string in range(1, 6):
        line = sorted((n for n in notes if n.string == string), key=lambda n: n.onset_sec)
        before: PlayedNote | None = None
        motion: Motion | None = None
        for note, after in zip(line, [*line[1:], None], strict=False):
            kept = None
            if motion is not None and before is not None and not note.picked:
                since_sec = note.onset_sec - before.onset_sec
                kept = motion.after(since_sec) if _joins(before, since_sec) else None
            signal, motion = voice.note(note, before, kept)
            begin = round(note.onset_sec * rate)
            signal = _ended(signal, note, after, rate, manner)[: max(0, samples - begin)]
            skipped = max(0, -begin)
            sound[begin + skipped : begin + len(signal)] += signal[skipped:]
            before = note
    return sound


def sympathetic_impulse(open_midi: Sequence[int], rate: int, banjo: Banjo) -> np.ndarray:
    """Return how open strings answer a unit pulse at the bridge.

    Parameters
    ----------
    open_midi : sequence of int
        Pitches of the strings.
    rate : int
    banjo : Banjo

    Returns
    -------
    numpy.ndarray
        Shape (n,), one second and a half, silent at first.
    """
    numbers = np.arange(1, _ANSWERING_PARTIALS + 1)
    hz = np.concatenate([hz_of(midi, banjo.tuning_cents) * numbers for midi in open_midi])
    _, late = banjo.decays(hz)
    nepers = late * NEPERS_PER_DB
    # A resonance fed at its own frequency settles at amplitude / (2 nepers) a unit of rate.
    amplitude = 10.0 ** (banjo.sympathetic_db / 20.0) * 2.0 * nepers / rate
    return pointers(amplitude, np.full(len(hz), -np.pi / 2), hz, nepers, int(_ANSWERS_SEC * rate), rate)


def _joins(note: PlayedNote, next_sec: float) -> bool:
    """Whether a note still sounds when the next one of its string begins, so many seconds after it did."""
    return next_sec - note.duration_sec <= _HAIR_SEC


def _ended(
    signal: np.ndarray, note: PlayedNote, after: PlayedNote | None, rate: int, manner: Manner
) -> np.ndarray:
    """Cut a note where its string is touched, slurred to another pitch, or left by the hand."""
    end = int(note.duration_sec * rate)
    if after is None or not _joins(note, after.onset_sec - note.onset_sec):
        tail = signal[end:]
        tail *= np.exp(-np.arange(len(tail), dtype=np.float32) / (manner.lift_sec / 3 * rate))
        last = min(len(tail), int(manner.lift_sec * rate))
        tail[len(tail) - last :] *= np.linspace(1.0, 0.0, last, dtype=np.float32)
        return signal
    fade = max(2, int(manner.touch_sec * rate))
    if not after.picked:
        end += fade
    fade = min(fade, end, len(signal))
    left = 10.0 ** (manner.touch_left_db / 20.0) if after.picked else 0.0
    if left > 0.0:
        rest = signal[end:] * np.linspace(left, 0.0, max(0, len(signal) - end), dtype=np.float32)
    signal = signal[:end]
    touched = np.cos(np.linspace(0.0, np.pi / 2, fade, dtype=np.float32)) ** 2
    signal[len(signal) - fade :] *= left + (1.0 - left) * touched
    return np.concatenate([signal, rest]) if left > 0.0 else signal
