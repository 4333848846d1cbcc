"""What the partials of each pitch look like in a spectrum: one shape a pitch, and some for the knock.

A partial k of a stiff string lies at k f0 sqrt(1 + B k^2). Its shape is the main lobe of the Hann window,
widened by what the string's intonation and stiffness may differ from the template. Fundamentals of a
banjo's low strings are weak and the body colours the rest, so the partials fall off only slowly and the
spectrum is evened before it is compared. The knock of the pick has no pitch: broad humps take it up.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from listener.spectra import TRANSFORM

_RIDGE = 1e-6  # keeps nearly equal templates from cancelling each other


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
    near_partials, near_cents : int, float
        A pitch's own bins are those of so many partials, so far to both sides.
    compression : float
        Power to which spectra and templates are raised.
    humps : int
        Broad shapes for what has no pitch.
    """

    low_midi: int = 46
    high_midi: int = 88
    low_hz: float = 120.0
    high_hz: float = 5000.0
    partials: int = 20
    fall: float = 0.5
    stiffness: float = 5e-5
    spread_cents: float = 12.0
    near_partials: int = 12
    near_cents: float = 15.0
    compression: float = 0.5
    humps: int = 9


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
    shapes : ndarray of float32, shape (bins of the band, pitches + humps)
        Each of unit length; the pitches come first.
    gram : ndarray of float64, shape (pitches + humps, pitches + humps)
        Products of the shapes with each other, their diagonal raised by a little.
    near : ndarray of float32, shape (pitches, bins of the band)
        1 where one of the pitch's first partials may lie, else 0.
    midi : ndarray of int, shape (pitches,)
    """

    def __init__(self, rate: int, window_samples: int, cents: float, settings: TemplateSettings) -> None:
        hz = np.arange(TRANSFORM // 2 + 1) * rate / TRANSFORM
        self.band = slice(*np.searchsorted(hz, (settings.low_hz, settings.high_hz)))
        self.midi = np.arange(settings.low_midi, settings.high_midi + 1)
        pitched = _drawn(hz[self.band], self.midi + cents / 100.0, rate / window_samples, settings)
        shapes = np.concatenate([pitched**settings.compression, _humps(hz[self.band], settings)], axis=1)
        self.shapes = (shapes / np.linalg.norm(shapes, axis=0)).astype(np.float32)
        products = self.shapes.astype(np.float64).T @ self.shapes
        self.gram = products + _RIDGE * np.eye(len(products))
        self.near = np.stack([_near(hz[self.band], pitch, settings) for pitch in self.midi + cents / 100.0])


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
        lobes = _hann_lobe(nearest / lobe_hz) * (numbers[used] ** -settings.fall)[:, None]
        inside = (bins >= 0) & (bins < len(hz))
        np.maximum.at(shapes[:, column], bins[inside], lobes[inside])
    return shapes


def _hann_lobe(bins: np.ndarray) -> np.ndarray:
    """Main lobe of the Hann window, 1 in its middle, `bins` away in units of one over its length."""
    safe = np.where(np.abs(bins - 1.0) < 1e-6, 1.0 + 1e-6, bins)
    return np.where(bins < 2.0, np.abs(np.sinc(safe) / (1.0 - safe * safe)), 0.0)


def _near(hz: np.ndarray, pitch: float, settings: TemplateSettings) -> np.ndarray:
    """Which bins belong to the first partials of a pitch: at least the nearest one and its neighbours."""
    step = hz[1] - hz[0]
    places = partial_hz(pitch, np.arange(1, settings.near_partials + 1), settings.stiffness)
    reach = np.maximum(1.5 * step, places * (2.0 ** (settings.near_cents / 1200.0) - 1.0))
    near: np.ndarray = (np.abs(hz - places[:, None]) <= reach[:, None]).any(axis=0)
    return near.astype(np.float32)


def _humps(hz: np.ndarray, settings: TemplateSettings) -> np.ndarray:
    centres = np.geomspace(settings.low_hz, settings.high_hz, settings.humps)
    width = 3.1 / settings.humps  # in nats of frequency: neighbours overlap
    return np.exp(-0.5 * (np.log(hz[:, None] / centres) / width) ** 2)
