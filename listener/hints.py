"""Hints at the instrument's tuning from the first strikes, before any note has been measured.

The problem: the half step of a note is meant after the instrument's tuning is taken off, and the first note
must be right already. So what the first strikes bring is compared with templates of all pitches drawn at
several tunings; `listener.offset` weighs the answers.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from listener.offset import GRID_CENTS
from listener.spectra import evened
from listener.templates import Bank, TemplateSettings
from listener.views import LONG, NEW, SPANS, Look


class Hinter:
    """Compares strikes with templates.

    Parameters
    ----------
    rate : int
        Samples a second.
    settings : TemplateSettings
    """

    def __init__(self, rate: int, settings: TemplateSettings | None = None) -> None:
        self._set = settings or TemplateSettings()
        self._banks = _banks(rate, round(SPANS[LONG].length_sec * rate), self._set)

    def fits(self, look: Look) -> tuple[np.ndarray, float]:
        """How well the templates of each tuning fit a strike.

        Parameters
        ----------
        look : Look

        Returns
        -------
        fits : ndarray, shape (len(GRID_CENTS),)
            The best pitch's share of the energy, 0 to 1.
        power : float
            What the strike brought, squared: the weight of the hint.
        """
        band = self._banks[0].band
        new = look.magnitudes[NEW]
        spectrum = evened(new, look.magnitudes[LONG])[band] ** self._set.compression
        energy = float(spectrum @ spectrum) + 1e-12
        tops = [float((spectrum @ bank.shapes).max()) for bank in self._banks]
        return np.array(tops) ** 2 / energy, float(new[band] @ new[band])


@lru_cache(maxsize=4)
def _banks(rate: int, window_samples: int, settings: TemplateSettings) -> tuple[Bank, ...]:
    """One bank for each tuning; drawn once, as nothing ever changes them."""
    return tuple(Bank(rate, window_samples, cents, settings) for cents in GRID_CENTS)
