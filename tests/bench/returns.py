"""What comes back of a sweep: a loudspeaker, a room and a noise, each a row of a table, the truth known.

Conventions: the straight way has weight 1 at the true delay, polarity at random. How loud it comes back is
the power of all that came back while the sweep lasts, against the power of the noise over the recording.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from types import MappingProxyType

import numpy as np

from feedback.player import render
from feedback.sound.room import Room
from tests.bench.rolls import random_rolls

LASTS_SEC = 1.75
"""Of a recording."""

_FLOOR_DB = -30.0  # of hiss under every noise, against it: no microphone gives silence

SPEAKERS: Mapping[str, tuple[float, float, int] | None] = MappingProxyType(
    {"flat": None, "box": (90.0, 14_000.0, 2), "small": (400.0, 9000.0, 2), "phone": (700.0, 7000.0, 4)}
)
"""Lowest and highest frequency of a loudspeaker, and how steeply it falls below; each has its own colour."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Return:
    """How a sweep comes back.

    Attributes
    ----------
    speaker : str
        A name of `SPEAKERS`.
    rt60_sec : float
        Of the room; 0 for none.
    direct_db : float
        The straight way against all that the room answers.
    walls : bool
        Whether three walls answer by themselves, besides the tail.
    noise : str
        A name of `NOISES`.
    noise_db : float
        Its power, in decibels of full scale.
    over_noise_db : float
        How loud the sweep comes back, against the noise; -inf where it does not.
    clip_db : float
        By how much the loudspeaker is driven too far; 0 for not at all.
    """

    speaker: str = "small"
    rt60_sec: float = 0.4
    direct_db: float = 0.0
    walls: bool = True
    noise: str = "white"
    noise_db: float = -45.0
    over_noise_db: float = 10.0
    clip_db: float = 0.0

    def taken(self, sent: np.ndarray, rate: int, delay_sec: float, rng: np.random.Generator) -> np.ndarray:
        """What is recorded of a sweep: float32, from where it began to be played."""
        from scipy.signal import fftconvolve

        count = round(LASTS_SEC * rate)
        hiss = 10.0 ** (_FLOOR_DB / 20.0) * rng.standard_normal(count)
        noise = 10.0 ** (self.noise_db / 20.0) * (_even(NOISES[self.noise](count, rate, rng)) + hiss)
        if self.over_noise_db == -np.inf:
            return noise.astype(np.float32)
        driven = _coloured(np.pad(sent.astype(np.float64), (0, rate // 20)), rate, self.speaker, rng)
        if self.clip_db:
            top = np.max(np.abs(driven)) * 10.0 ** (-self.clip_db / 20.0)
            driven = np.clip(driven, -top, top)
        back = _later(fftconvolve(driven, self._impulse(rate, rng)), delay_sec * rate, count)
        begin = round(delay_sec * rate)
        power = np.mean(back[begin : begin + len(sent)] ** 2)
        gain = 10.0 ** ((self.noise_db + self.over_noise_db) / 20.0) / np.sqrt(power)
        return (noise + gain * rng.choice([-1.0, 1.0]) * back).astype(np.float32)

    def _impulse(self, rate: int, rng: np.random.Generator) -> np.ndarray:
        room = Room(rt60_sec=self.rt60_sec, wet_db=0.0, delay_sec=rng.uniform(0.001, 0.006))
        answer = np.concatenate([[0.0], room.impulse(rate, rng)])
        if self.rt60_sec and self.walls:
            answer *= 0.7
            for _ in range(3):
                answer[round(rng.uniform(0.0008, 0.012) * rate)] += rng.choice([-1, 1]) * rng.uniform(
                    0.4, 1.4
                )
        power = float(answer @ answer)
        answer *= 10.0 ** (-self.direct_db / 20.0) / np.sqrt(power) if power else 0.0
        answer[0] = 1.0
        return answer


def _coloured(sound: np.ndarray, rate: int, speaker: str, rng: np.random.Generator) -> np.ndarray:
    from scipy.signal import butter, lfilter, sosfilt

    band = SPEAKERS[speaker]
    if band is None:
        return sound
    low_hz, high_hz, order = band
    out = sosfilt(butter(order, low_hz, "high", fs=rate, output="sos"), sound)
    out = sosfilt(butter(2, high_hz, "low", fs=rate, output="sos"), out)
    for _ in range(4):  # rises and dips
        turn = 2.0 * np.pi * np.exp(rng.uniform(np.log(400.0), np.log(9000.0))) / rate
        half = np.sin(turn) / 2.0 / rng.uniform(1.5, 5.0)
        gain = 10.0 ** (rng.uniform(-8.0, 8.0) / 40.0)
        above = [1.0 + half * gain, -2.0 * np.cos(turn), 1.0 - half * gain]
        below = [1.0 + half / gain, -2.0 * np.cos(turn), 1.0 - half / gain]
        out = lfilter(above, below, out)
    return np.asarray(out)


def _later(sound: np.ndarray, samples: float, count: int) -> np.ndarray:
    size = 1 << (count + len(sound)).bit_length()
    turn = np.exp(-2j * np.pi * np.arange(size // 2 + 1) / size * samples)
    return np.fft.irfft(np.fft.rfft(sound, size) * turn, size)[:count]


def _even(sound: np.ndarray) -> np.ndarray:
    """Of power 1."""
    return np.asarray(sound / np.sqrt(np.mean(sound**2) + 1e-30))


def _white(count: int, rate: int, rng: np.random.Generator) -> np.ndarray:
    return rng.standard_normal(count)


def _pink(count: int, rate: int, rng: np.random.Generator) -> np.ndarray:
    hz = np.maximum(np.fft.rfftfreq(count, 1.0 / rate), 20.0)
    return np.fft.irfft(np.fft.rfft(rng.standard_normal(count)) / np.sqrt(hz), count)


def _fan(count: int, rate: int, rng: np.random.Generator) -> np.ndarray:
    from scipy.signal import lfilter

    return np.asarray(lfilter([1.0], [1.0, -0.97], rng.standard_normal(count)))


def _hum(count: int, rate: int, rng: np.random.Generator) -> np.ndarray:
    turns = 2.0 * np.pi * 50.0 * np.arange(count) / rate
    return np.sum([np.sin(k * turns + rng.uniform(0.0, 6.0)) / k for k in range(1, 60)], axis=0)


def _claps(count: int, rate: int, rng: np.random.Generator) -> np.ndarray:
    out = np.zeros(count)
    for begin in rng.integers(0, count, round(4 * count / rate)):
        size = min(count - begin, round(0.03 * rate))
        falls = np.exp(-300.0 * np.arange(size) / rate)
        out[begin : begin + size] += rng.uniform(0.3, 3.0) * falls * rng.standard_normal(size)
    return out


def _whistle(count: int, rate: int, rng: np.random.Generator) -> np.ndarray:
    """Glides, some as fast as the sweep."""
    turns = 2.0 * np.pi * rng.uniform(0.5, 4.0) * np.arange(count) / rate + rng.uniform(0.0, 6.0)
    return np.asarray(np.sin(2.0 * np.pi * np.cumsum(1500.0 + 1000.0 * np.sin(turns)) / rate))


def _talk(count: int, rate: int, rng: np.random.Generator) -> np.ndarray:
    """Syllables: voiced with four formants and a gliding pitch, or hissed, with pauses."""
    out, at = np.zeros(count), round(rng.uniform(0.0, 0.3) * rate)
    while at < count:
        size = round(rng.uniform(0.08, 0.3) * rate)
        said = _hissed(size, rate, rng) if rng.random() < 0.3 else _voiced(size, rate, rng)
        said = _even(said * np.sqrt(np.sin(np.pi * np.arange(size) / size)))[: count - at]
        out[at : at + size] += rng.uniform(0.3, 1.5) * said
        pause_sec = rng.uniform(0.0, 0.05) if rng.random() < 0.8 else rng.uniform(0.1, 0.5)
        at += size + round(pause_sec * rate)
    return out if out.any() else rng.standard_normal(count)


def _hissed(size: int, rate: int, rng: np.random.Generator) -> np.ndarray:
    from scipy.signal import butter, sosfilt

    band = butter(2, [2500.0, 8000.0], "band", fs=rate, output="sos")
    return np.asarray(sosfilt(band, rng.standard_normal(size)))


def _voiced(size: int, rate: int, rng: np.random.Generator) -> np.ndarray:
    from scipy.signal import lfilter

    sec = np.arange(size) / rate
    wanders = 3e-4 * np.cumsum(rng.standard_normal(size)) + rng.uniform(-1.0, 1.0) * sec
    turns = np.cumsum(rng.uniform(90.0, 250.0) * np.exp(wanders)) / rate
    said = lfilter([1.0], [1.0, -0.95], np.diff(np.floor(turns), prepend=0.0))
    said = said + 0.005 * rng.standard_normal(size)
    for low, high, wide in ((300, 800, 80), (900, 2200, 120), (2300, 3200, 180), (3600, 3800, 250)):
        radius, turn = np.exp(-np.pi * wide / rate), 2.0 * np.pi * rng.uniform(low, high) / rate
        said = lfilter([1.0 - radius], [1.0, -2.0 * radius * np.cos(turn), radius * radius], said)
    return np.asarray(said)


@lru_cache(maxsize=2)
def _rolled(rate: int) -> np.ndarray:
    kinds = ((11, 8.0), (12, 4.0), (13, 11.0))
    return np.concatenate(
        [
            render(random_rolls(seed, nps, bars=6), rate=rate, seed=seed).astype(np.float64)
            for seed, nps in kinds
        ]
    )


def _banjo(count: int, rate: int, rng: np.random.Generator) -> np.ndarray:
    rolled = _rolled(rate)
    begin = int(rng.integers(0, len(rolled) - count))
    return rolled[begin : begin + count]


NOISES: Mapping[str, Callable[[int, int, np.random.Generator], np.ndarray]] = MappingProxyType(
    {
        "white": _white,
        "pink": _pink,
        "fan": _fan,
        "hum": _hum,
        "talk": _talk,
        "banjo": _banjo,
        "claps": _claps,
        "whistle": _whistle,
    }
)
"""Given samples, rate and a generator, a noise of any level."""
