"""Damped partials: many turning pointers summed at once, and a signal read between its samples.

The problem: a note of sixty partials, each decaying twice over, is a hundred and twenty sines a sample. As
each is a damped turning pointer, a block of samples is one matrix product: the powers of the pointers inside
a block times their values at the blocks' starts. It is exact, and some thirty times faster than sines.
"""

from __future__ import annotations

import numpy as np

NEPERS_PER_DB = float(np.log(10.0) / 20.0)
"""A decay in decibels a second times this is one in nepers a second."""

_BLOCK = 256


def pointers(
    amplitude: np.ndarray,
    phase: np.ndarray,
    hz: np.ndarray,
    nepers_per_sec: np.ndarray,
    count: int,
    rate: int,
) -> np.ndarray:
    """Sum of damped cosines, one for each entry of the four arrays; shape (count,), float32."""
    turn = (2j * np.pi * hz - nepers_per_sec) / rate
    blocks = -(-count // _BLOCK)
    starts = np.exp(np.outer(np.arange(blocks) * _BLOCK, turn)) * (amplitude * np.exp(1j * phase))
    inside = np.exp(np.outer(turn, np.arange(_BLOCK)))
    left = np.concatenate([starts.real, -starts.imag], axis=1).astype(np.float32)
    right = np.concatenate([inside.real, inside.imag], axis=0).astype(np.float32)
    total: np.ndarray = (left @ right).ravel()[:count]
    return total


def read_at(signal: np.ndarray, time: np.ndarray) -> np.ndarray:
    """Read a signal between its samples by cubic (Catmull-Rom) interpolation; float32."""
    whole = time.astype(np.int64)
    part = (time - whole).astype(np.float32)
    a, b, c, d = (signal[np.clip(whole + k, 0, len(signal) - 1)] for k in (-1, 0, 1, 2))
    read: np.ndarray = b + 0.5 * part * (
        c - a + part * (2.0 * a - 5.0 * b + 4.0 * c - d + part * (3.0 * (b - c) + d - a))
    )
    return read


def hz_of(midi: float, cents: float) -> float:
    return float(440.0 * 2.0 ** ((midi - 69.0 + cents / 100.0) / 12.0))


def mean_power(signal: np.ndarray) -> float:
    return float(np.mean(np.square(signal, dtype=np.float64))) if len(signal) else 0.0
