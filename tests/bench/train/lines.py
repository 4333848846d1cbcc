"""Notes laid on their strings: what every instrument but the simulated banjo does alike.

The problem: a made note and a recorded one are both a signal of one pitch. Either must end where its string
is struck again or left, go over into a slur, bend, and have the level that the truth says.

Conventions: a note's signal may begin before its onset (a recorded attack does): `lead` samples of it lie
before. A level is power over the first 70 ms, as in `feedback.sound.voice`.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from feedback.played import PlayedNote
from feedback.sound.partials import mean_power
from feedback.sound.voice import LEVEL_SEC, REFERENCE_DBFS, arrived

AFTER_SEC = 0.18
"""A note's signal is made this much longer than the note lasts."""

LEFT_SHARE = 0.35
"""Of players who leave something of a note ringing when they strike its string again."""

LEFT_DB = (-30.0, -12.0)
LEFT_SEC = (0.02, 0.14)
"""How much that is, and for how long."""

_HAIR_SEC = 1e-6

Maker = Callable[[PlayedNote, PlayedNote | None, int], tuple[np.ndarray, int]]
"""From a note, the note before it on its string, and how many samples it needs after its onset, to its signal
(float32, at any level) and how many samples of that lie before the onset."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Touching:
    """How fingers end a string's sound; `left_db` of it rings on for `left_sec` after it was struck again."""

    touch_sec: float = 0.004
    left_db: float = -60.0
    left_sec: float = 0.05
    lift_sec: float = 0.012

    @classmethod
    def drawn(cls, rng: np.random.Generator) -> Touching:
        """Draw fingers; most end what rang at once."""
        left = rng.random() < LEFT_SHARE
        return cls(
            touch_sec=float(rng.uniform(0.002, 0.006)),
            left_db=float(rng.uniform(*LEFT_DB)) if left else -60.0,
            left_sec=float(rng.uniform(*LEFT_SEC)),
            lift_sec=float(rng.uniform(0.006, 0.028)),
        )


def lines_sound(
    notes: Sequence[PlayedNote], *, rate: int, samples: int, touching: Touching, make: Maker
) -> np.ndarray:
    """Lay notes on their strings.

    Parameters
    ----------
    notes : sequence of PlayedNote
    rate : int
    samples : int
    touching : Touching
    make : Maker

    Returns
    -------
    numpy.ndarray
        Shape (samples,), float32.
    """
    sound = np.zeros(samples, dtype=np.float32)
    for string in range(1, 6):
        line = sorted((n for n in notes if n.string == string), key=lambda n: n.onset_sec)
        before: PlayedNote | None = None
        for note, after in zip(line, [*line[1:], None], strict=False):
            count = int((max(note.duration_sec, LEVEL_SEC) + AFTER_SEC) * rate)
            signal, lead = make(note, before, count)
            first = signal[lead : lead + int(LEVEL_SEC * rate)]
            signal = signal * np.float32(_gain(note.level_db, first))
            signal = signal * _ending(len(signal), lead, note, after, rate, touching)
            begin = round(note.onset_sec * rate) - lead
            skipped = max(0, -begin)
            heard = signal[skipped : max(0, samples - begin)]
            sound[begin + skipped : begin + skipped + len(heard)] += heard
            before = note
    return sound


def gone_cents(note: PlayedNote, sec: np.ndarray, reach: float) -> np.ndarray:
    """How far a note that is bent or slid is from its `midi`, in cents, at seconds after its onset.

    Parameters
    ----------
    note : PlayedNote
    sec : numpy.ndarray
    reach : float
        How much of a choke's rise comes about.

    Returns
    -------
    numpy.ndarray
        Same shape.
    """
    if note.from_midi is None or note.arrive_sec is None:
        return np.zeros_like(sec)
    share = (reach if note.how == "choke" else 1.0) * arrived(note, sec)
    gone: np.ndarray = 100.0 * (note.from_midi - note.midi) * (1.0 - share)
    return gone


def _gain(level_db: float, first: np.ndarray) -> float:
    return float(10.0 ** ((REFERENCE_DBFS + level_db) / 20.0) / max(1e-9, mean_power(first) ** 0.5))


def _ending(
    count: int, lead: int, note: PlayedNote, after: PlayedNote | None, rate: int, touching: Touching
) -> np.ndarray:
    """How much of a note is left at each of its samples."""
    kept = np.ones(count, dtype=np.float32)
    end = min(count, lead + int(note.duration_sec * rate))
    touched = after is not None and after.onset_sec - note.onset_sec <= note.duration_sec + _HAIR_SEC
    fade = max(2, int((touching.touch_sec if touched else touching.lift_sec) * rate))
    left, left_count = 0.0, 0
    if touched and after is not None and after.picked:
        # The pick is on the string before it lets go: the old note is gone when the new one begins.
        left, left_count = 10.0 ** (touching.left_db / 20.0), int(touching.left_sec * rate)
        end = max(0, end - fade)
    fall = kept[end : end + fade]
    fall *= (
        left + (1.0 - left) * np.cos(np.linspace(0.0, np.pi / 2, fade, dtype=np.float32))[: len(fall)] ** 2
    )
    rest = kept[end + fade :]
    rest[:] = 0.0
    ringing = rest[:left_count]
    ringing[:] = np.linspace(left, 0.0, left_count, dtype=np.float32)[: len(ringing)]
    return kept
