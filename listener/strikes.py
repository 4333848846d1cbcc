"""Where something may have been struck: candidates, more than there are notes, hardly ever fewer.

A ringing banjo is never quiet, so a strike is looked for where the spectrum, each bin measured against its
own recent peak, suddenly grows. The threshold is low on purpose: a candidate that was none costs one look
of the pitch scorer, a missed one costs the note. Measured on own material (single notes of six General MIDI
programs assembled to rolls, and modelled strings; 1,827 notes): 1024-sample frames every 128 samples miss
0.5 % of the notes, 512-sample frames 3 %. Without the running median in the threshold the misses are 2.5 to
5 %. A slur without a knock has its candidate, too, though some ten milliseconds off.

Whitening after D. Stowell and M. Plumbley, "Adaptive whitening for improved real-time audio onset
detection" (ICMC 2007); here its floor is a share of the loudest bin, and the difference is of logarithms.

The frame tells a strike's time to some milliseconds. It is then moved to where the energy of the signal's
slope rises most within a few milliseconds, held near the frame's time by a bell-shaped weight: for a plucked
string this finds the pick within about 1 ms, and without a knock it changes little.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from listener.framing import Past


@dataclass(frozen=True, slots=True, kw_only=True)
class StrikeSettings:
    """How candidates are found.

    Attributes
    ----------
    frame_samples, hop_samples : int
        Frame of the flux and its step.
    low_hz, high_hz : float
        Band that is looked at.
    lag_hops : int
        Growth is measured against the frame so many hops before.
    forget_sec : float
        In that time a bin's remembered peak falls by 60 dB.
    floor : float
        A bin's peak is taken to be at least this share of the loudest bin's.
    compression : float
        Factor inside log(1 + factor x whitened magnitude).
    threshold, median_share : float
        A peak of the flux counts above `threshold` plus `median_share` of the running median.
    median_hops, before_hops, after_hops : int
        Length of that median; a peak is the highest of so many hops before and after it.
    apart_sec : float
        Candidates nearer than this to the last one are the same.
    quietest : float
        Magnitude under which nothing is whitened up; about -100 dB of full scale.
    """

    frame_samples: int = 1024
    hop_samples: int = 128
    low_hz: float = 150.0
    high_hz: float = 9000.0
    lag_hops: int = 3
    forget_sec: float = 2.0
    floor: float = 0.02
    compression: float = 10.0
    threshold: float = 0.03
    median_share: float = 1.0
    median_hops: int = 31
    before_hops: int = 4
    after_hops: int = 3
    apart_sec: float = 0.006
    quietest: float = 2e-3


@dataclass(frozen=True, slots=True)
class Strike:
    """A place where something may have been struck.

    Attributes
    ----------
    sample : int
        Where the sound begins.
    strength : float
        How far the flux stood above the running median, 0 and up (1 is a growth of everything by 2.7).
    """

    sample: int
    strength: float


class StrikeFinder:
    """Finds candidates in a stream of hops.

    Parameters
    ----------
    rate : int
        Samples a second.
    settings : StrikeSettings
    """

    def __init__(self, rate: int, settings: StrikeSettings | None = None) -> None:
        self._rate = rate
        self._set = settings = settings or StrikeSettings()
        size = settings.frame_samples
        self._window = np.hanning(size + 2)[1:-1].astype(np.float32)
        hz = np.arange(size // 2 + 1) * rate / size
        self._band = slice(*np.searchsorted(hz, (settings.low_hz, settings.high_hz)))
        self._bins = len(hz[self._band])
        self._keep = 10.0 ** (-3.0 * settings.hop_samples / (rate * settings.forget_sec))
        self._whitened = np.zeros((settings.lag_hops + 1, self._bins), np.float32)
        self._peaks = np.zeros(self._bins, np.float32)
        self._flux = np.zeros(max(settings.median_hops, settings.before_hops + settings.after_hops + 2))
        self._slope = _Slope(rate)
        self.reset()

    @property
    def look_back_samples(self) -> int:
        """How much of the past `feed` reads."""
        waiting = (self._set.after_hops + 2) * self._set.hop_samples
        return self._set.frame_samples + waiting + self._slope.reach

    def reset(self) -> None:
        """Forget everything."""
        self._whitened[:] = 0.0
        self._peaks[:] = 0.0
        self._flux[:] = 0.0
        self._top = 0.0
        self._last = -self._rate

    def feed(self, past: Past) -> Strike | None:
        """Look at the hop that was just appended to the past.

        Parameters
        ----------
        past : Past
            Its end is the end of the hop; remembers at least `look_back_samples`.

        Returns
        -------
        Strike or None
            A candidate that is now certain, some 20 ms after it began.
        """
        settings = self._set
        self._flux[:-1] = self._flux[1:]
        self._flux[-1] = self._growth(past)
        at = len(self._flux) - 1 - settings.after_hops
        value = self._flux[at]
        around = self._flux[at - settings.before_hops :]
        if value < around.max() or value <= self._flux[at - 1]:
            return None
        usual = float(np.median(self._flux[max(0, at - settings.median_hops + 1) : at + 1]))
        if value <= settings.threshold + settings.median_share * usual:
            return None
        middle = past.end - settings.after_hops * settings.hop_samples - settings.frame_samples // 2
        sample = max(0, self._slope.steepest(past, middle))
        if sample - self._last < settings.apart_sec * self._rate:
            return None
        self._last = sample
        return Strike(sample, float(value - usual))

    def _growth(self, past: Past) -> float:
        settings = self._set
        frame = past.between(past.end - settings.frame_samples, past.end)
        magnitude = np.abs(np.fft.rfft(frame * self._window)[self._band]).astype(np.float32)
        self._top = max(float(magnitude.max()), self._top * self._keep, settings.quietest / settings.floor)
        np.multiply(self._peaks, self._keep, out=self._peaks)
        np.maximum(self._peaks, magnitude, out=self._peaks)
        np.maximum(self._peaks, settings.floor * self._top, out=self._peaks)
        self._whitened[:-1] = self._whitened[1:]
        np.divide(magnitude, self._peaks, out=magnitude)
        np.log1p(settings.compression * magnitude, out=self._whitened[-1])
        return float(np.maximum(self._whitened[-1] - self._whitened[0], 0.0).sum() / self._bins)


class _Slope:
    """Moves a strike to where the energy of the signal's slope rises most, and on from a mere foreshock.

    A pick that touches the string before it lets go is heard, out of silence, as the greater rise of the two.
    """

    _BACK_SEC, _FORWARD_SEC = 0.010, 0.013  # out of silence, a frame is struck as soon as it touches
    _FAR_SEC = 0.0165  # so far forward when a foreshock came first; more is not known by then
    _AFTER_SEC, _BEFORE_SEC = 0.002, 0.003
    _BELL_SEC, _BIAS_SEC = 0.004, 0.001  # the frame's own time is late by the bias
    _STEP = 8
    _FORESHOCK = 8.0  # rises so many times over what it rose to at first: there the string was let go
    _SOON_SEC, _LATE_SEC = 0.0045, 0.013
    _FAINT = 1e-3  # share of the energy around, so that silence divides by something

    def __init__(self, rate: int) -> None:
        self._after, self._before = round(self._AFTER_SEC * rate), round(self._BEFORE_SEC * rate)
        self._bias, bell = round(self._BIAS_SEC * rate), self._BELL_SEC * rate
        self._soon, self._late = (round(sec * rate / self._STEP) for sec in (self._SOON_SEC, self._LATE_SEC))
        self._offsets = np.arange(-round(self._BACK_SEC * rate), round(self._FAR_SEC * rate), self._STEP)
        near = self._offsets < round(self._FORWARD_SEC * rate)
        self._penalty = np.where(near, 0.5 * (self._offsets / bell) ** 2, np.inf)
        self._around = self._before + self._STEP * (np.count_nonzero(near) - 1) + self._after
        self.reach = self._before + self._after + round((self._BACK_SEC + self._FAR_SEC) * rate)

    def steepest(self, past: Past, middle: int) -> int:
        """Where, around the sample `middle`, the slope's energy rises most."""
        begin = middle - self._bias + int(self._offsets[0]) - self._before
        end = min(past.end, middle - self._bias + int(self._offsets[-1]) + self._after + 1)
        slope = np.diff(past.between(begin - 1, end).astype(np.float64))
        energy = np.concatenate([[0.0], np.cumsum(slope * slope)])
        at = self._before + np.arange(len(self._offsets)) * self._STEP
        rise_to = (energy[at + self._after] - energy[at]) / self._after
        rise_from = (energy[at] - energy[at - self._before]) / self._before
        faint = self._FAINT * energy[self._around] / self._around + 1e-20
        rise = (rise_to + faint) / (rise_from + faint)
        best = int((np.log(rise) - self._penalty).argmax())
        later = slice(best + self._soon, best + self._late)
        first = rise_to[best : best + self._soon].max() + faint
        again = np.minimum(rise[later], rise_to[later] / first)
        if len(again) and again.max() > self._FORESHOCK:
            best += self._soon + int(rise[later].argmax())
        return middle - self._bias + int(self._offsets[best])
