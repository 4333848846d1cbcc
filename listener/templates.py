"""What the partials of each pitch look like in a spectrum: one shape a pitch.

A partial k of a stiff string lies at k f0 sqrt(1 + B k^2). Its shape is the main lobe of the Hann window,
widened by what the string's intonation and stiffness may differ from the template. Fundamentals of a
banjo's low strings are weak and the body colours the rest, so the partials fall off only slowly and the
spectrum is evened before it is compared.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from listener.spectra import TRANSFORM, hann_lobe


@dataclass(frozen=True, slots=True, kw_only=True)
class TemplateSettings:
    """Shapes of the templates.

    Attributes
    ----------
    low_midi, high_midi : int
        Pitches that have one, both included; a little beyond the banjo's own C3 to C6.
    low_hz, high_hz : float
        Band that is compared.
    partials : int
        Partials a pitch, at most.
    fall : float
        Partial k has the weight k ** -fall.
    stiffness : float
        B, the same for all strings.
    spread_cents : float
        Every lobe is widened by this on both sides.
    compression : float
        Power to which spectra and templates are raised.
    """

    low_midi: int = 46
    high_midi: int = 88
    low_hz: float = 120.0
    high_hz: float = 5000.0
    partials: int = 20
    fall: float = 0.5
    stiffness: float = 5e-5
    spread_cents: float = 12.0
    compression: float = 0.5


def partial_hz(midi: np.ndarray | float, numbers: np.ndarray, stiffness: float) -> np.ndarray:
    """Frequencies of partials.

    Parameters
    ----------
    midi : float or ndarray
        Pitch; fractions are cents.
    numbers : ndarray
        Partial numbers from 1, of a shape that broadcasts with `midi`.
    stiffness : float

    Returns
    -------
    ndarray
        In Hz.
    """
    base = 440.0 * 2.0 ** ((np.asarray(midi) - 69.0) / 12.0)
    hz: np.ndarray = base * numbers * np.sqrt(1.0 + stiffness * numbers * numbers)
    return hz


class Bank:
    """Templates for one tuning of the instrument.

    Parameters
    ----------
    rate : int
        Samples a second.
    window_samples : int
        Length of the Hann window whose lobes are drawn.
    cents : float
        How much higher than A4 = 440 Hz the instrument is tuned.
    settings : TemplateSettings

    Attributes
    ----------
    band : slice
        The bins that are compared.
    shapes : ndarray of float32, shape (bins of the band, pitches)
        Each of unit length.
    """

    def __init__(self, rate: int, window_samples: int, cents: float, settings: TemplateSettings) -> None:
        hz = np.arange(TRANSFORM // 2 + 1) * rate / TRANSFORM
        self.band = slice(*np.searchsorted(hz, (settings.low_hz, settings.high_hz)))
        midi = np.arange(settings.low_midi, settings.high_midi + 1)
        pitched = _drawn(hz[self.band], midi + cents / 100.0, rate / window_samples, settings)
        shapes = pitched**settings.compression
        self.shapes = (shapes / np.linalg.norm(shapes, axis=0)).astype(np.float32)


def _drawn(hz: np.ndarray, midi: np.ndarray, lobe_hz: float, settings: TemplateSettings) -> np.ndarray:
    """Magnitudes of all partials of all pitches, shape (len(hz), len(midi))."""
    numbers = np.arange(1, settings.partials + 1)
    step = hz[1] - hz[0]
    shapes = np.zeros((len(hz), len(midi)))
    for column, pitch in enumerate(midi):
        centres = partial_hz(pitch, numbers, settings.stiffness)
        used = centres <= settings.high_hz
        reach = int(np.ceil((2.0 * lobe_hz + settings.high_hz * 0.02) / step))
        middle = np.round((centres[used] - hz[0]) / step).astype(int)
        bins = middle[:, None] + np.arange(-reach, reach + 1)
        apart = (bins * step + hz[0]) - centres[used][:, None]
        wide = centres[used][:, None] * (2.0 ** (settings.spread_cents / 1200.0) - 1.0)
        nearest = np.minimum(np.abs(apart), np.minimum(np.abs(apart - wide), np.abs(apart + wide)))
        lobes = hann_lobe(nearest / lobe_hz) * (numbers[used] ** -settings.fall)[:, None]
        inside = (bins >= 0) & (bins < len(hz))
        np.maximum.at(shapes[:, column], bins[inside], lobes[inside])
    return shapes
