"""The round trip by sound: a quiet sweep is played, and where it comes back is found.

The problem: what leaves a loudspeaker comes back weak and coloured, under noise, talk or playing, and then
again from every wall, now and then louder than on the straight way; with headphones it does not come back
at all, and nothing else may be taken for it. So the sweep is long for its band: pressed together by
correlation (`listener.pressing`) it stands some 30 dB higher than it lay in the noise.

Conventions: a delay is seconds from the first sample of what was recorded to the first sample of the sweep
in it; what was recorded begins with the frame at which the sweep begins to be played. The straight way is
the first peak that is clear, not the greatest. Levels are decibels of full scale.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from statistics import median

import numpy as np

from listener.pressing import pressed

SENT = 5
"""Sweeps of one sound check."""

CLEAR_DB = 15.0
"""A peak is one from so far over the noise on: measured, see `python -m tests.bench chirp`."""

LEAST_UNSURE_SEC = 0.0003
"""What several sweeps together are known to, at best: loudspeakers delay their lows by as much."""

AGREE_SEC = 0.001
"""Arrivals so near to one another speak of the same way."""

_AHEAD_SEC = 0.030  # no wall's answer is later than the straight way by more and yet the greatest
_AHEAD_DB = 13.0  # nor louder by more; the side peaks of a sweep lie under that
_AHEAD_CLEAR_DB = 11.0  # over the noise: in so short a stretch chance makes no such peak
_SURE_DB = 18.0
_ONE_UNSURE_SEC = 0.0002
_FAINT_UNSURE_SEC = 0.002  # now and then the straight way is buried, and a wall's answer is found


@dataclass(frozen=True, slots=True, kw_only=True)
class ChirpSettings:
    """How the sweep sounds.

    Attributes
    ----------
    begin_hz, end_hz : float
        It goes evenly from one to the other; 100 to 20,000, the end above the beginning.
    lasts_sec : float
        0.05 to 1.
    level_db : float
        Its greatest sample, -80 to -6.
    ends_share : float
        How much of its length it takes to come, and to go; above 0, at most 0.5.

    Raises
    ------
    ValueError
        If one is out of range.
    """

    begin_hz: float = 500.0
    end_hz: float = 8000.0
    lasts_sec: float = 0.25
    level_db: float = -30.0
    ends_share: float = 0.15

    def __post_init__(self) -> None:
        if not 100.0 <= self.begin_hz < self.end_hz <= 20_000.0:
            raise ValueError(
                f"sweep from {self.begin_hz:g} to {self.end_hz:g} Hz; 100 to 20000 upwards is accepted"
            )
        for name, least, most in (("lasts_sec", 0.05, 1.0), ("level_db", -80, -6), ("ends_share", 0.01, 0.5)):
            value = getattr(self, name)
            if not least <= value <= most:
                raise ValueError(f"{name} is {value:g}; {least:g} to {most:g} is accepted")


@dataclass(frozen=True, slots=True, kw_only=True)
class Arrival:
    """Where a sweep came back.

    Attributes
    ----------
    delay_sec : float
        Of the straight way.
    unsure_sec : float
        How far that may be off.
    over_db : float
        How far the greatest peak stands over the noise; at least `CLEAR_DB`.
    """

    delay_sec: float
    unsure_sec: float
    over_db: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Measured:
    """What several sweeps say together.

    Attributes
    ----------
    delay_sec : float
        The median of those that agree.
    unsure_sec : float
        How far that may be off: half of how far those that agree lie apart, or what the usual one of them is
        unsure by, or `LEAST_UNSURE_SEC`, whichever is most.
    over_db : float
        Median of those that agree.
    agreed, sent : int
        How many agree, of how many that were sent.
    """

    delay_sec: float
    unsure_sec: float
    over_db: float
    agreed: int
    sent: int


def chirp(rate: int, settings: ChirpSettings | None = None) -> np.ndarray:
    """The sweep.

    Parameters
    ----------
    rate : int
        Samples a second, more than twice its highest frequency.
    settings : ChirpSettings, optional

    Returns
    -------
    ndarray of float32, shape (n,)
        Mono; comes from silence and goes back to it.

    Raises
    ------
    ValueError
        If the rate is too low.
    """
    row = settings or ChirpSettings()
    if rate <= 2.0 * row.end_hz:
        raise ValueError(
            f"sweep up to {row.end_hz:g} Hz at {rate} samples a second; more than twice is needed"
        )
    count = round(row.lasts_sec * rate)
    sec = np.arange(count) / rate
    grows = (row.end_hz - row.begin_hz) / row.lasts_sec
    made = np.sin(2.0 * np.pi * (row.begin_hz * sec + 0.5 * grows * sec * sec))
    ends = max(1, round(row.ends_share * count))
    rise = np.sin(0.5 * np.pi * np.arange(ends) / ends) ** 2
    made[:ends] *= rise
    made[-ends:] *= rise[::-1]
    made *= 10.0 ** (row.level_db / 20.0) / np.max(np.abs(made))
    return made.astype(np.float32)


def found(taken: np.ndarray, sent: np.ndarray, rate: int, *, longest_sec: float = 1.5) -> Arrival | None:
    """Where a sweep came back.

    Parameters
    ----------
    taken : ndarray, shape (n,)
        What was recorded from where the sweep began to be played; mono, of any level. Must hold no return of
        another sweep. What is no number is silence.
    sent : ndarray, shape (m,)
        What was played.
    rate : int
        Samples a second of both.
    longest_sec : float
        No later delay is looked for, nor one whose sweep is not whole in what was recorded.

    Returns
    -------
    Arrival or None
        None where it did not come back.

    Raises
    ------
    ValueError
        If one is not mono, or what was sent is silence.
    """
    for name, sound in (("taken", taken), ("sent", sent)):
        if np.ndim(sound) != 1:
            raise ValueError(f"{name} of shape {np.shape(sound)}; one channel, shape (n,), is needed")
    if not np.any(sent):
        raise ValueError("what was sent is silence; a sweep is needed")
    lags = min(round(longest_sec * rate), len(taken) - len(sent)) + 1
    sound = np.nan_to_num(np.asarray(taken, np.float64), nan=0.0, posinf=0.0, neginf=0.0)
    if lags < 3 or not np.any(sound):
        return None
    power, noise = pressed(sound[: lags + len(sent)], np.asarray(sent, np.float64), rate, lags)
    over = power / noise
    best = int(np.argmax(over))
    if over[best] < 10.0 ** (CLEAR_DB / 10.0):
        return None
    first = _first(power, over, best, round(_AHEAD_SEC * rate))
    over_db = 10.0 * float(np.log10(over[best]))
    return Arrival(
        delay_sec=(first + _parabola(power, first)) / rate,
        unsure_sec=_ONE_UNSURE_SEC if over_db >= _SURE_DB else _FAINT_UNSURE_SEC,
        over_db=over_db,
    )


def combined(arrivals: Sequence[Arrival | None]) -> Measured | None:
    """What several sweeps say together.

    Parameters
    ----------
    arrivals : sequence of Arrival or None
        One for each that was sent.

    Returns
    -------
    Measured or None
        None unless more than half of those sent, and two at least, agree within `AGREE_SEC`.
    """
    came = sorted((one for one in arrivals if one is not None), key=lambda one: one.delay_sec)
    groups = [
        [one for one in came[k:] if one.delay_sec - first.delay_sec <= AGREE_SEC]
        for k, first in enumerate(came)
    ]
    agreed = max(groups, key=len, default=[])
    if len(agreed) < max(2, len(arrivals) // 2 + 1):
        return None
    delays = [one.delay_sec for one in agreed]
    return Measured(
        delay_sec=median(delays),
        unsure_sec=max(
            LEAST_UNSURE_SEC, (delays[-1] - delays[0]) / 2.0, median(one.unsure_sec for one in agreed)
        ),
        over_db=median(one.over_db for one in agreed),
        agreed=len(agreed),
        sent=len(arrivals),
    )


def _first(power: np.ndarray, over: np.ndarray, best: int, ahead: int) -> int:
    """The first peak not long before the greatest that is clear, and not much lower."""
    begin = max(1, best - ahead)
    near = power[begin - 1 : best + 1]
    tall = power[best] * 10.0 ** (-_AHEAD_DB / 10.0)
    peaks = (near[1:-1] > near[:-2]) & (near[1:-1] >= near[2:]) & (near[1:-1] > tall)
    peaks &= over[begin:best] > 10.0 ** (_AHEAD_CLEAR_DB / 10.0)
    return begin + int(np.argmax(peaks)) if peaks.any() else best


def _parabola(power: np.ndarray, at: int) -> float:
    """Where between samples the top lies."""
    if not 0 < at < len(power) - 1:
        return 0.0
    left, top, right = np.log(np.maximum(power[at - 1 : at + 2], 1e-300))
    bent = left - 2.0 * top + right
    return float(np.clip(0.5 * (left - right) / bent, -0.5, 0.5)) if bent < 0.0 else 0.0
