"""From a dry banjo to a recording: the room, the colour, the noise, the level, and what a cheap path spoils.

The problem: the same stroke reaches a listener through a phone across the room or a good microphone at the
head. Everything between is drawn here.

Conventions: filters are causal (products of analogue sections, evaluated where the sound's transform is), so
no colour begins a note before its onset. Noise is given in decibels of full scale for sound that peaks at
`PEAK_DBFS`; the level of the whole is set after it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from feedback.sound.room import Room, added
from tests.bench.train.disturbances import DISTURBANCES

PEAK_DBFS = -10.0

DISTURBED_SHARE = 0.25
"""Of takes in which something beside the banjo is heard."""

_OFTEN = {"speech": 2.5}  # what comes so much more often than other disturbances
_ALONE_DB = (-30.0, 0.0)
_BESIDE_DB = (-30.0, -6.0)
_PAD_SEC = 0.25
_FRAME = 512
_BLANKED_FROM_HZ = 1500.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Colour:
    """A causal filter.

    Attributes
    ----------
    peak_hz, peak_q, peak_db : numpy.ndarray
        Shape (n,): resonances and dips.
    tilt_db : float
        Decibels that are lost (or won, where positive) from 300 Hz to 5 kHz.
    low_cut_hz, high_cut_hz : float
        Where it falls by 3 decibels; 0 for no such end.
    low_order, high_order : int
        Of the falls there, 6 decibels an octave each.
    """

    peak_hz: np.ndarray
    peak_q: np.ndarray
    peak_db: np.ndarray
    tilt_db: float = 0.0
    low_cut_hz: float = 0.0
    high_cut_hz: float = 0.0
    low_order: int = 1
    high_order: int = 2

    @classmethod
    def drawn(cls, rng: np.random.Generator, *, most_db: float = 8.0, tilt_db: float = 6.0) -> Colour:
        """Draw three to six gentle resonances and a tilt."""
        count = int(rng.integers(3, 7))
        return cls(
            peak_hz=np.exp(rng.uniform(np.log(120.0), np.log(7000.0), count)),
            peak_q=rng.uniform(0.6, 5.0, count),
            peak_db=rng.uniform(-most_db, most_db, count),
            tilt_db=float(rng.uniform(-tilt_db, tilt_db)),
        )

    def answer(self, hz: np.ndarray) -> np.ndarray:
        """The complex answer at frequencies in hertz above 0; same shape."""
        s = 1j * hz
        answer = np.ones(hz.shape, dtype=complex)
        for centre, q, peak_db in zip(self.peak_hz, self.peak_q, self.peak_db, strict=True):
            up = 10.0 ** (peak_db / 40.0)
            answer *= (s**2 + s * centre * up / q + centre**2) / (s**2 + s * centre / (up * q) + centre**2)
        # A tilt as three shelves an octave and a half apart: each rises or falls by a third of it.
        third = 10.0 ** (self.tilt_db / 60.0)
        for corner in (500.0, 1250.0, 3000.0):
            answer *= (1.0 + s / corner * third**0.5) / (1.0 + s / corner / third**0.5)
        if self.low_cut_hz > 0.0:
            answer *= (s / (s + self.low_cut_hz)) ** self.low_order
        if self.high_cut_hz > 0.0:
            answer /= _butterworth(s / self.high_cut_hz, self.high_order)
        return answer


@dataclass(frozen=True, slots=True, kw_only=True)
class Microphone:
    """One way from the banjo to the file.

    Attributes
    ----------
    room : Room
        Its `noise_dbfs` is not used.
    colour : Colour
    noise_dbfs : float
    noise_tilt_db : float
        Of the noise an octave: 0 white, -3 pink, less still for a room's rumble.
    peak_dbfs : float
        Greatest sample of the whole.
    drive_db : float
        By how much it is driven into its ceiling; 0 for none.
    hard : bool
        Whether that ceiling is a flat one.
    blanked_db : float
        Bins of short frames that lie so far under the frame's loudest are dropped, as lossy codecs drop them;
        0 for none.
    coarse : bool
        Whether samples are rounded to 16 bits.
    disturbances : tuple of (str, float)
        Names in `DISTURBANCES`, and the level of each: its peak against the banjo's, in decibels.
    """

    room: Room
    colour: Colour
    noise_dbfs: float
    noise_tilt_db: float
    peak_dbfs: float
    drive_db: float
    hard: bool
    blanked_db: float
    coarse: bool
    disturbances: tuple[tuple[str, float], ...]

    @classmethod
    def drawn(cls, rng: np.random.Generator, *, alone: bool = False) -> Microphone:
        """Draw a room, a microphone and its setting; `alone`: nobody plays, and something else is heard."""
        dry = rng.random() < 0.2
        narrow = rng.random() < 0.25
        colour = Colour.drawn(rng, most_db=6.0, tilt_db=8.0)
        ends = replace(
            colour,
            low_cut_hz=float(rng.uniform(60.0, 300.0)) if rng.random() < 0.6 else 0.0,
            low_order=int(rng.integers(1, 4)),
            high_cut_hz=float(rng.uniform(5e3, 1.05e4) if narrow else rng.uniform(8e3, 2e4)),
            high_order=int(rng.integers(6, 11) if narrow else rng.integers(1, 4)),
        )
        kinds = list(DISTURBANCES)
        weights = np.array([_OFTEN.get(kind, 1.0) for kind in kinds])
        disturbed = int(rng.integers(1, 3)) if alone or rng.random() < DISTURBED_SHARE else 0
        names = [str(name) for name in rng.choice(kinds, disturbed, replace=False, p=weights / weights.sum())]
        level_db = _ALONE_DB if alone else _BESIDE_DB
        return cls(
            room=Room(
                rt60_sec=0.0 if dry else float(rng.uniform(0.05, 0.9)),
                wet_db=float(rng.uniform(-30.0, -3.0)),
                delay_sec=float(rng.uniform(0.001, 0.015)),
            ),
            colour=ends,
            noise_dbfs=float(rng.uniform(-75.0, -38.0)),
            noise_tilt_db=float(rng.choice([0.0, -3.0, rng.uniform(-7.0, -4.0)])),
            peak_dbfs=-40.0 * float(rng.random()) ** 1.7,
            drive_db=float(rng.uniform(1.0, 8.0)) if rng.random() < 0.08 else 0.0,
            hard=bool(rng.random() < 0.5),
            blanked_db=float(rng.uniform(30.0, 50.0)) if rng.random() < 0.12 else 0.0,
            coarse=bool(rng.random() < 0.5),
            disturbances=tuple((name, float(rng.uniform(*level_db))) for name in names),
        )


def recorded(dry: np.ndarray, rate: int, microphone: Microphone, rng: np.random.Generator) -> np.ndarray:
    """Record a dry sound.

    Parameters
    ----------
    dry : numpy.ndarray
        Shape (n,), float32.
    rate : int
    microphone : Microphone
    rng : numpy.random.Generator

    Returns
    -------
    numpy.ndarray
        Shape (n,), float32, within -1 and 1.
    """
    room = microphone.room.impulse(rate, rng)
    sound = dry / max(1e-9, float(np.abs(dry).max(initial=0.0)))
    for name, level_db in microphone.disturbances:
        sound = sound + DISTURBANCES[name](rng, rate, len(sound)) * np.float32(10.0 ** (level_db / 20.0))
    sound = filtered(added(sound.astype(np.float32), room), rate, microphone.colour)
    if microphone.blanked_db > 0.0:
        sound = _blanked(sound, rate, microphone.blanked_db)
    sound = sound * (10.0 ** (PEAK_DBFS / 20.0) / max(1e-9, float(np.abs(sound).max(initial=0.0))))
    sound = sound + _noise(len(sound), rate, microphone, rng)
    sound = sound / max(1e-9, float(np.abs(sound).max(initial=0.0)))
    if microphone.drive_db > 0.0:
        driven = sound * 10.0 ** (microphone.drive_db / 20.0)
        sound = np.clip(driven, -1.0, 1.0) if microphone.hard else np.tanh(driven)
    sound = sound * 10.0 ** (microphone.peak_dbfs / 20.0)
    if microphone.coarse:
        sound = np.round(sound * 32767.0) / 32767.0
    taken: np.ndarray = sound.astype(np.float32)
    return taken


def filtered(sound: np.ndarray, rate: int, colour: Colour) -> np.ndarray:
    """Return a sound through a colour; same shape, float32."""
    size = 1 << int(np.ceil(np.log2(len(sound) + _PAD_SEC * rate)))
    hz = np.fft.rfftfreq(size, 1.0 / rate)
    hz[0] = 1e-3
    out: np.ndarray = np.fft.irfft(np.fft.rfft(sound, size) * colour.answer(hz), size)[: len(sound)]
    return out.astype(np.float32)


def _butterworth(s: np.ndarray, order: int) -> np.ndarray:
    """The polynomial whose inverse falls by 6 decibels an octave and order beyond 1."""
    whole = np.ones(s.shape, dtype=complex)
    for k in range(order // 2):
        whole *= s**2 + 2.0 * s * np.sin(np.pi * (2 * k + 1) / (2 * order)) + 1.0
    return whole * (s + 1.0) if order % 2 else whole


def _noise(count: int, rate: int, microphone: Microphone, rng: np.random.Generator) -> np.ndarray:
    """Noise of the microphone's level, falling with frequency by its tilt."""
    noise = rng.standard_normal(count)
    if microphone.noise_tilt_db:
        size = 1 << int(np.ceil(np.log2(count)))
        hz = np.maximum(30.0, np.fft.rfftfreq(size, 1.0 / rate))
        shape = (hz / 1000.0) ** (microphone.noise_tilt_db / 6.02)
        noise = np.fft.irfft(np.fft.rfft(noise, size) * shape, size)[:count]
    noise *= 10.0 ** (microphone.noise_dbfs / 20.0) / max(1e-12, float(np.std(noise)))
    return noise


def _blanked(sound: np.ndarray, rate: int, under_db: float) -> np.ndarray:
    """Drop what is faint beside the loudest of its frame, in the highs."""
    hop = _FRAME // 2
    window = np.sin(np.pi * (np.arange(_FRAME) + 0.5) / _FRAME)
    padded = np.concatenate([np.zeros(hop), sound, np.zeros(2 * _FRAME)])
    frames = np.lib.stride_tricks.sliding_window_view(padded, _FRAME)[::hop]
    spectra = np.fft.rfft(frames * window, axis=1)
    size = np.abs(spectra)
    faint = size < size.max(axis=1, keepdims=True) * 10.0 ** (-under_db / 20.0)
    faint[:, : int(_BLANKED_FROM_HZ / rate * _FRAME)] = False
    spectra[faint] = 0.0
    halves = (np.fft.irfft(spectra, _FRAME, axis=1) * window).reshape(len(frames), 2, hop)
    whole = halves[1:, 0] + halves[:-1, 1]
    return whole.ravel()[: len(sound)].astype(np.float32)
