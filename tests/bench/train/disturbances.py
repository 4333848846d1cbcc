"""What a microphone hears beside the banjo, none of it a note.

The problem: a room holds a click from a loudspeaker, people who talk, fingers on the head, a squeaking
string, mains hum, feet. A listener must call none of them a note, so it must have heard them.

Conventions: each maker takes a generator, a rate and a length, and returns float32 samples with a peak of
about 1, however loud the thing itself may be. They are made, not recorded.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from types import MappingProxyType

import numpy as np

Maker = Callable[[np.random.Generator, int, int], np.ndarray]

_VOWELS_HZ = (
    (730.0, 1090.0, 2440.0),
    (270.0, 2290.0, 3010.0),
    (300.0, 870.0, 2240.0),
    (530.0, 1840.0, 2480.0),
    (570.0, 840.0, 2410.0),
    (490.0, 1350.0, 1690.0),
)
"""Formants of vowels of one adult (after Peterson and Barney, 1952, rounded)."""


def _click(rng: np.random.Generator, rate: int, samples: int) -> np.ndarray:
    """A metronome: short tones or ticks at a steady tempo, the first of some higher or louder."""
    out = np.zeros(samples)
    apart = 60.0 / rng.uniform(60.0, 240.0)
    tone = rng.random() < 0.65
    hz, length = rng.uniform(800.0, 3000.0), rng.uniform(0.004, 0.030)
    accent_of, accent_hz = int(rng.integers(1, 5)), rng.uniform(1.0, 1.6)
    sec = np.arange(int(6 * length * rate)) / rate
    tick = rng.standard_normal(len(sec))
    for number, at in enumerate(np.arange(rng.uniform(0.0, apart), samples / rate, apart)):
        strong = number % accent_of == 0
        wave = np.sin(2 * np.pi * hz * (accent_hz if strong else 1.0) * sec) if tone else tick
        _put(out, wave * np.exp(-sec / length) * (1.0 if strong else 0.7), round(at * rate))
    return _peak_one(out)


def _speech(rng: np.random.Generator, rate: int, samples: int) -> np.ndarray:
    """Syllables: pulses of a gliding voice through two vowels, hissing consonants, pauses."""
    out = np.zeros(samples)
    voice_hz, at = rng.uniform(90.0, 250.0), int(rng.uniform(0.0, 0.5) * rate)
    longer = rng.uniform(0.9, 1.2)
    while at < samples:
        if rng.random() < 0.5:
            count = int(rng.uniform(0.03, 0.12) * rate)
            hiss = _banded(rng.standard_normal(count), rate, rng.uniform(2000, 6000), rng.uniform(0.5, 2.0))
            _put(out, _peak_one(hiss) * np.hanning(count) * rng.uniform(0.05, 0.4), at)
            at += count
        count = int(rng.uniform(0.08, 0.28) * rate)
        hz = voice_hz * np.linspace(rng.uniform(0.85, 1.2), rng.uniform(0.75, 1.1), count)
        hz *= 1.0 + 0.01 * np.cumsum(rng.standard_normal(count)) / np.sqrt(count)
        phase = np.cumsum(hz) / rate
        pulses = np.diff(np.floor(phase), prepend=0.0) + 0.01 * rng.standard_normal(count)
        here, there = (_voiced(pulses, rate, rng, longer) for _ in range(2))
        glide = np.linspace(0.0, 1.0, count)
        _put(
            out,
            _peak_one((1 - glide) * here + glide * there) * np.hanning(count) ** 0.5 * rng.uniform(0.4, 1),
            at,
        )
        at += count + int((rng.uniform(0.2, 0.7) if rng.random() < 0.15 else rng.uniform(0.0, 0.06)) * rate)
    return _peak_one(out)


def _taps(rng: np.random.Generator, rate: int, samples: int) -> np.ndarray:
    """Fingers on the head: a few low resonances that die at once, and a thump."""
    out = np.zeros(samples)
    hz, q = rng.uniform(150.0, 600.0, 4), rng.uniform(3.0, 12.0, 4)
    for at in _moments(rng, samples / rate, 2.0):
        count = int(0.15 * rate)
        sec = np.arange(count) / rate
        tap = np.zeros(count)
        for f, width in zip(hz * rng.uniform(0.95, 1.05), q, strict=True):
            tap += rng.uniform(0.2, 1) * np.sin(2 * np.pi * f * sec) * np.exp(-np.pi * f / width * sec)
        tap += rng.uniform(0.0, 0.8) * rng.standard_normal(count) * np.exp(-sec / rng.uniform(0.0008, 0.005))
        tap += rng.uniform(0.0, 1.0) * np.sin(2 * np.pi * rng.uniform(50, 110) * sec) * np.exp(-sec / 0.02)
        _put(out, tap * rng.uniform(0.3, 1.0), round(at * rate))
    return _peak_one(out)


def _squeak(rng: np.random.Generator, rate: int, samples: int) -> np.ndarray:
    """A finger along a wound string: narrow noise, swept, with an overtone."""
    out = np.zeros(samples)
    for at in _moments(rng, samples / rate, 1.2):
        count = int(rng.uniform(0.05, 0.35) * rate)
        hz = np.geomspace(rng.uniform(1000.0, 5000.0), rng.uniform(1000.0, 5000.0), count)
        rough = np.cumsum(rng.standard_normal(count)) * rng.uniform(0.01, 0.06)
        phase = 2 * np.pi * np.cumsum(hz) / rate + rough
        wave = np.sin(phase) + rng.uniform(0.0, 0.6) * np.sin(2 * phase)
        wave += rng.uniform(0.0, 0.5) * rng.standard_normal(count)
        _put(out, wave * np.hanning(count) * rng.uniform(0.3, 1.0), round(at * rate))
    return _peak_one(out)


def _hum(rng: np.random.Generator, rate: int, samples: int) -> np.ndarray:
    """Mains: 50 or 60 hertz and what rectifiers make of it."""
    sec = np.arange(samples) / rate
    first = float(rng.choice([50.0, 60.0])) * (1.0 + rng.uniform(-1e-3, 1e-3))
    out = np.zeros(samples)
    for number in range(1, 1 + int(rng.integers(4, 16))):
        size = number ** -rng.uniform(0.3, 2.0)
        out += size * np.sin(2 * np.pi * first * number * sec + rng.uniform(0, 2 * np.pi))
    return _peak_one(out)


def _steps(rng: np.random.Generator, rate: int, samples: int) -> np.ndarray:
    """A foot that keeps time, on wood: a thud and a little noise, steady."""
    out = np.zeros(samples)
    apart, hz, length = 60.0 / rng.uniform(60.0, 140.0), rng.uniform(45.0, 130.0), rng.uniform(0.02, 0.07)
    sec = np.arange(int(5 * length * rate)) / rate
    for at in np.arange(rng.uniform(0.0, apart), samples / rate, apart):
        thud = np.sin(2 * np.pi * hz * sec * (1 + 0.3 * np.exp(-sec / 0.01))) * np.exp(-sec / length)
        scuff = _banded(rng.standard_normal(len(sec)), rate, rng.uniform(400, 2500), 1.0) * np.exp(
            -sec / 0.012
        )
        late = round((at + rng.normal(0.0, 0.01)) * rate)
        _put(out, (thud + rng.uniform(0.1, 0.6) * _peak_one(scuff)) * rng.uniform(0.6, 1.0), late)
    return _peak_one(out)


def _rustle(rng: np.random.Generator, rate: int, samples: int) -> np.ndarray:
    """Sleeve, paper, chair: bursts of coloured noise with a ragged envelope."""
    out = np.zeros(samples)
    for at in _moments(rng, samples / rate, 1.5):
        count = int(rng.uniform(0.1, 0.8) * rate)
        noise = _banded(rng.standard_normal(count), rate, rng.uniform(500.0, 6000.0), rng.uniform(0.3, 1.5))
        ragged = np.interp(np.arange(count), np.linspace(0, count, 12), rng.random(12) ** 3)
        _put(out, _peak_one(noise) * ragged * np.hanning(count), round(at * rate))
    return _peak_one(out)


DISTURBANCES: Mapping[str, Maker] = MappingProxyType(
    {
        "click": _click,
        "speech": _speech,
        "taps": _taps,
        "squeak": _squeak,
        "hum": _hum,
        "steps": _steps,
        "rustle": _rustle,
    }
)
"""Name of a disturbance to its maker: (generator, rate, samples) to float32 of shape (samples,), peak 1."""


def _voiced(pulses: np.ndarray, rate: int, rng: np.random.Generator, longer: float) -> np.ndarray:
    """Pulses through the formants of one vowel."""
    formants = _VOWELS_HZ[int(rng.integers(len(_VOWELS_HZ)))]
    hz = np.maximum(1.0, np.fft.rfftfreq(len(pulses), 1.0 / rate))
    answer = np.zeros(len(hz), dtype=complex)
    for size, centre in zip((1.0, 0.5, 0.25), formants, strict=True):
        centre = centre * longer
        answer += size / (1.0 + 1j * (centre / 90.0) * (hz / centre - centre / hz))
    voiced: np.ndarray = np.fft.irfft(np.fft.rfft(pulses) * answer, len(pulses))
    return voiced


def _banded(noise: np.ndarray, rate: int, centre_hz: float, q: float) -> np.ndarray:
    hz = np.maximum(1.0, np.fft.rfftfreq(len(noise), 1.0 / rate))
    band = 1.0 / (1.0 + (q * (hz / centre_hz - centre_hz / hz)) ** 2)
    banded: np.ndarray = np.fft.irfft(np.fft.rfft(noise) * band, len(noise))
    return banded


def _moments(rng: np.random.Generator, duration_sec: float, a_second: float) -> np.ndarray:
    """Times at random, in seconds; one at least."""
    count = max(1, int(rng.poisson(a_second * duration_sec)))
    return np.sort(rng.uniform(0.0, duration_sec, count))


def _put(out: np.ndarray, wave: np.ndarray, at: int) -> None:
    skipped = max(0, -at)
    room = wave[skipped : max(0, len(out) - at)]
    out[at + skipped : at + skipped + len(room)] += room


def _peak_one(wave: np.ndarray) -> np.ndarray:
    peak = np.abs(wave).max(initial=0.0)
    scaled: np.ndarray = (wave / peak if peak > 0.0 else wave).astype(np.float32)
    return scaled
