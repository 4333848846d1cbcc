"""Hearing the last pass again, and right after it the model: at full speed, or at half.

The problem: what was early, thin or not quite down is heard sooner than it is read, if it is heard beside how
it should go. So the player's own pass comes first, then the model at the same tempo and as loud, and the beat
goes on from the one into the other: downbeats lie whole half bars apart (in 3/4 whole bars), with at least
half a bar of silence between. At half speed both are slowed by the same means (`feedback.sound.stretch`), so
that what differs is the playing.

The sound of one pass is kept in memory, never on disk, and only until the next one.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from feedback.errors import Usage
from feedback.grid import EIGHTH_QUARTERS
from feedback.modelling import LEVEL_DB, model
from feedback.sound.mixing import under_ceiling
from feedback.sound.stretch import slowed
from routines.lick import Lick, quarter_sec

SPEEDS = (1.0, 0.5)
"""Accepted speeds."""

_SILENT = 1e-5
_MOST_GAIN = 100.0
_STEP_QUARTERS = {4.0: 2.0, 3.0: 3.0}
_FADE_SEC = 0.010
_HAIR = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True)
class _Pass:
    """One pass as it was played, and what it was to be."""

    sound: np.ndarray
    rate: int
    lick: Lick
    tempo_half_bpm: float
    begin_sec: float


class LastPass:
    """The sound of the last pass, for hearing it again."""

    def __init__(self) -> None:
        self._pass: _Pass | None = None

    @property
    def held(self) -> bool:
        """Whether there is a pass to hear."""
        return self._pass is not None

    @property
    def rate(self) -> int | None:
        """Samples a second of it; None where nothing is held."""
        return None if self._pass is None else self._pass.rate

    def hold(
        self,
        sound: np.ndarray,
        rate: int,
        *,
        lick: Lick,
        tempo_half_bpm: float,
        begin_sec: float,
    ) -> None:
        """Take a pass in the place of the one before.

        Parameters
        ----------
        sound : ndarray, shape (n,)
            Mono. Heard of it is what belongs to the pass and not to one right before or after it: from half
            an eighth before its pickup to a little before the bar line, or before the next one's pickup.
        rate : int
            Samples a second.
        lick : Lick
            What was asked for: an excerpt where one was looped.
        tempo_half_bpm : float
        begin_sec : float
            Downbeat of bar 1 in the sound.

        Raises
        ------
        ValueError
            If the sound is not mono.
        """
        if np.ndim(sound) != 1:
            raise ValueError(f"sound of shape {np.shape(sound)}; one channel, shape (n,), is needed")
        quarter = quarter_sec(tempo_half_bpm)
        latest = max(note.onset_quarters for note in lick.notes) + EIGHTH_QUARTERS
        ends = max(lick.end_quarters - lick.pickup_quarters, latest)
        first = begin_sec - (lick.pickup_quarters + EIGHTH_QUARTERS / 2) * quarter
        last = begin_sec + (ends - EIGHTH_QUARTERS / 4) * quarter
        begin, end = max(0, round(first * rate)), max(0, round(last * rate))
        kept = np.array(sound[begin:end], np.float32)
        self._pass = _Pass(
            sound=kept,
            rate=rate,
            lick=lick,
            tempo_half_bpm=tempo_half_bpm,
            begin_sec=begin_sec - begin / rate,
        )

    def forget(self) -> None:
        """Hold nothing any more."""
        self._pass = None

    def against_model(self, speed: float = 1.0, level_db: float = LEVEL_DB) -> np.ndarray:
        """The pass, and after it the model.

        Parameters
        ----------
        speed : float
            One of `SPEEDS`.
        level_db : float
            Peak of the model, in dB of full scale; the pass is made as loud.

        Returns
        -------
        numpy.ndarray
            Shape (n,), float32, mono at the rate of the pass, within `CEILING_DB`; empty where nothing is
            held.

        Raises
        ------
        Usage
            If the speed is none of `SPEEDS`.
        """
        if speed not in SPEEDS:
            raise Usage(f"speed {speed:g}: accepted: {' or '.join(f'{one:g}' for one in SPEEDS)}")
        if self._pass is None:
            return np.zeros(0, np.float32)
        return _side_by_side(self._pass, 1.0 / speed, level_db)


def _side_by_side(mine: _Pass, factor: float, level_db: float) -> np.ndarray:
    lick, rate = mine.lick, mine.rate
    ideal = slowed(model(lick, tempo_half_bpm=mine.tempo_half_bpm, rate=rate), rate, factor)
    played = slowed(_faded(mine.sound, rate), rate, factor)
    quarter = factor * rate * quarter_sec(mine.tempo_half_bpm)  # in samples
    pickup, step = lick.pickup_quarters, _STEP_QUARTERS[lick.quarters_a_bar]
    first = round(factor * rate * mine.begin_sec - pickup * quarter)
    lasts = round((pickup + lick.end_quarters) * quarter)
    played = played * np.float32(_as_loud(played[max(0, first) :][:lasts], ideal[:lasts]))
    least = pickup + lick.end_quarters + lick.quarters_a_bar / 2
    begin = first + round(step * math.ceil(least / step - _HAIR) * quarter)
    whole = np.zeros(max(len(played), begin + len(ideal)), np.float32)
    whole[: len(played)] = played
    whole[begin : begin + len(ideal)] += ideal
    return under_ceiling(whole)


def _as_loud(played: np.ndarray, ideal: np.ndarray) -> float:
    """What brings the player's sound to the level of the model; silence and hardly more stays as it is."""
    mine, other = _rms(played), _rms(ideal)
    return min(_MOST_GAIN, other / mine) if mine > _SILENT else 1.0


def _rms(sound: np.ndarray) -> float:
    return float(np.sqrt(np.mean(np.square(sound, dtype=np.float64)))) if len(sound) else 0.0


def _faded(sound: np.ndarray, rate: int) -> np.ndarray:
    """The sound with soft ends: it is cut out of another."""
    faded = np.array(sound, np.float32)
    count = min(len(faded) // 2, round(_FADE_SEC * rate))
    ramp = np.linspace(0.0, 1.0, count, dtype=np.float32)
    faded[:count] *= ramp
    faded[len(faded) - count :] *= ramp[::-1]
    return faded
