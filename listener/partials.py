"""Where the partials of one note stand in a short spectrum, for every shift of its pitch in cents.

The problem: other strings ring, and are struck, while a note is looked at. For every shift on a grid of cents
the *support* is how much of the note's partials stands there: weighted over the partials that were new at its
onset, none counting more than was expected of it (a louder stroke elsewhere brings no more, and one much
louder less), less what was there before the note, or beside it when it began. The stiffness is fitted first:
up the neck of a wound string the tenth partial lies 40 cents high, and a note so placed would look bent.

Conventions: spectra are magnitudes of Hann windows, so that a sine shows its amplitude; cents are against the
half step that was heard, the instrument's tuning taken off. Partials are those of a stiff string, n f0
sqrt((1 + B n^2) / (1 + B)).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from listener.spectra import hann, hann_lobe

GRID_CENTS = 10.0
"""Between neighbouring shifts."""

SHIFTS = np.arange(-280.0, 281.0, GRID_CENTS)
"""The shifts that are looked at."""

MIDDLE = len(SHIFTS) // 2
"""Index of shift 0."""

BEGINS = slice(MIDDLE - 4, MIDDLE + 8)
"""Where a stroke begins: some are sharp, few are flat."""

_RATIOS = 2.0 ** (SHIFTS / 1200.0)
_SILENT = 1e-9
_OWN_SHARE = 0.02  # of its frequency, what is nearer to a partial than that is the partial
_STANDS = 2  # grid steps to both sides of shift 0 that are shift 0
_BLURRED = 0.7  # a partial that has left so much of its lobe at shift 0 tells nothing
_EVEN_HZ = 800.0  # lower partials tell cents the worse the lower they are
_STIFFER = 0.97  # a stiffer string must fit better by this


@dataclass(frozen=True, slots=True, kw_only=True)
class PartialSettings:
    """Which partials are looked at, and what is expected of them.

    Attributes
    ----------
    low_hz, high_hz, most : float, float, int
        The lowest so many partials in this band are followed.
    stiffness : tuple of float
        Those that are tried.
    fall : float
        A partial is expected to keep at least this share of its magnitude from frame to frame.
    excess : float
        A partial that many times louder than expected counts less and less.
    rings_on : float
        Share of what sounds beside the note at its beginning that is taken off later frames: it decays, and
        adds to a partial in any phase.
    """

    low_hz: float = 350.0
    high_hz: float = 4500.0
    most: int = 12
    stiffness: tuple[float, ...] = (3e-5, 1.2e-4, 2.5e-4, 5e-4)
    fall: float = 0.75
    excess: float = 1.6
    rings_on: float = 0.6


class NotePartials:
    """The partials of one note: where they lie, what is expected of them, and what else is there.

    Parameters
    ----------
    hz : float
        Fundamental of the half step.
    rate : int
        Samples a second.
    size : int
        Length of the window in samples; spectra are those of `spectrum`.
    settings : PartialSettings
    """

    def __init__(self, hz: float, rate: int, size: int, settings: PartialSettings) -> None:
        numbers = np.arange(1, int(settings.high_hz / hz) + 1)
        self._numbers = numbers[numbers * hz >= settings.low_hz][: settings.most]
        self._first_hz, self._set = hz, settings
        self._bin_hz = rate / _window(size)[1]
        self._lobe_hz = rate / size

    def learn(self, before: np.ndarray, first: np.ndarray, second: np.ndarray) -> bool:
        """Fit the stiffness and learn what to expect.

        Parameters
        ----------
        before, first, second : ndarray, shape (bins,)
            Spectra before the note and of its first two frames.

        Returns
        -------
        bool
            Whether the note brought anything.
        """
        if not len(self._numbers):
            return False
        fits = []
        for stiffness in self._set.stiffness:
            self._lay(stiffness)
            brought = np.maximum(self._read(second, BEGINS) - self._read(before, BEGINS), 0.0)
            fits.append(float((np.sqrt(brought) * np.sqrt(self._hz)[:, None]).sum(axis=0).max()))
        fits[1:] = [_STIFFER * fit for fit in fits[1:]]
        self._lay(self._set.stiffness[int(np.argmax(fits))])
        self._before = self._read(before)
        began = self._read(second)
        grown = np.maximum(self._read(first, BEGINS), began[:, BEGINS]) - self._before[:, BEGINS]
        size = np.maximum(grown.max(axis=1), 0.0)
        weights = np.sqrt(size) * np.minimum(1.0, self._hz / _EVEN_HZ)
        if weights.sum() <= _SILENT:
            return False
        self._weights = weights / weights.sum()
        self._expected = np.maximum(size, 0.02 * float(np.sqrt(size @ size)))
        # What sounds beside the note when it begins, a pinch's other voice: all but the note's own lobes.
        apart = np.maximum(0.0, self._hz[:, None] * (np.abs(_RATIOS - 1.0) - _OWN_SHARE))
        self._others = np.maximum(self._before, began * (1.0 - hann_lobe(apart / self._lobe_hz)))
        return True

    def support(self, now: np.ndarray, *, beginning: bool) -> tuple[np.ndarray, np.ndarray]:
        """Look at a frame.

        Parameters
        ----------
        now : ndarray, shape (bins,)
        beginning : bool
            Whether it is the second frame, from which was learnt.

        Returns
        -------
        support : ndarray, shape (len(SHIFTS),)
            0 to 1.
        new : ndarray, shape (partials, len(SHIFTS))
            What stands there of each partial.
        """
        others = self._before if beginning else self._set.rings_on * self._others
        new = np.maximum(self._read(now) - others, 0.0)
        share = new / self._expected[:, None]
        excess = 0.5 * np.log2(np.maximum(share / self._set.excess, 1.0))
        support: np.ndarray = self._weights @ np.maximum(np.minimum(share, 1.0) - excess, 0.0)
        return support, new

    def left_behind(self, new: np.ndarray, here: np.ndarray, at: int) -> float:
        """Tell how much of a note that stands elsewhere still stands at shift 0.

        Parameters
        ----------
        new : ndarray, shape (partials, len(SHIFTS))
            From `support`.
        here : ndarray, shape (partials,)
            What stands where the note is followed.
        at : int
            The shift of that.

        Returns
        -------
        float
            0 to 1; of the partials that can be told apart, 1 where none can.
        """
        stands = new[:, MIDDLE - _STANDS : MIDDLE + _STANDS + 1].max(axis=1)
        # A neighbour that moved may stand there now: the ninth, two half steps up, lies at the tenth's place.
        nearest = np.abs(self._hz[:, None] * _RATIOS[at] - self._hz).min(axis=0)
        apart = nearest - self._hz * (_RATIOS[MIDDLE + _STANDS] - 1.0)
        reached = hann_lobe(np.maximum(0.0, apart) / self._lobe_hz)
        tells = self._weights * np.maximum(0.0, _BLURRED - reached)
        if tells.sum() <= _SILENT:
            return 1.0
        share = np.minimum(1.2, stands / np.maximum(np.maximum(here, 0.5 * self._expected), _SILENT))
        left = np.clip((share - reached) / (1.0 + _SILENT - reached), 0.0, 1.0)
        return float(tells @ left / tells.sum())

    def cents(self, now: np.ndarray, here: np.ndarray, at: int) -> float:
        """Weighted median of where the partials peak in a frame near the shift `at`."""
        middle = np.rint(self._hz * _RATIOS[at] / self._bin_hz).astype(int)
        around = now[middle[:, None] + np.arange(-2, 3)]
        rows, top = np.arange(len(middle)), around[:, 1:4].argmax(axis=1) + 1
        left, peak, right = np.log(around[rows, top + np.array([[-1], [0], [1]])] + _SILENT)
        bend = np.minimum(left - 2.0 * peak + right, -1e-3)
        bins = middle + top - 2 + np.clip(0.5 * (left - right) / bend, -1.0, 1.0)
        found = 1200.0 * np.log2(bins * self._bin_hz / self._hz)
        order = np.argsort(found, kind="stable")
        summed = np.cumsum((self._weights * np.minimum(1.0, here / self._expected) * self._hz)[order])
        return float(found[order[min(int(np.searchsorted(summed, 0.5 * summed[-1])), len(order) - 1)]])

    def expect(self, here: np.ndarray) -> None:
        """Take what stood in a frame where the note is: a partial only grows softer, and not all at once."""
        kept = np.maximum(here, self._set.fall * self._expected)
        self._expected = np.maximum(np.minimum(self._expected, kept), _SILENT)

    def _lay(self, stiffness: float) -> None:
        numbers = self._numbers
        self._hz = self._first_hz * numbers * np.sqrt((1.0 + stiffness * numbers**2) / (1.0 + stiffness))
        bins = self._hz[:, None] * (_RATIOS / self._bin_hz)
        self._bins = bins.astype(np.intp)
        self._between = bins - self._bins

    def _read(self, magnitudes: np.ndarray, shifts: slice = slice(None)) -> np.ndarray:
        """Magnitudes at the partials' places, one row a partial, one column a shift."""
        bins = self._bins[:, shifts]
        low = magnitudes[bins]
        read: np.ndarray = low + self._between[:, shifts] * (magnitudes[bins + 1] - low)
        return read


def spectrum(stretch: np.ndarray) -> np.ndarray:
    """Magnitudes of a stretch of sound under a Hann window: a sine shows its amplitude.

    Parameters
    ----------
    stretch : ndarray of float32, shape (n,)

    Returns
    -------
    ndarray, shape (bins,)
        Bins of the transform whose length is the next power of two.
    """
    window, transform = _window(len(stretch))
    magnitudes: np.ndarray = np.abs(np.fft.rfft(stretch * window, transform))
    return magnitudes


@lru_cache(maxsize=4)
def _window(size: int) -> tuple[np.ndarray, int]:
    """The window, and the length of the transform."""
    return hann(size), 1 << (size - 1).bit_length()
