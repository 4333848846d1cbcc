"""Which pitches were newly struck while others ring: the heart of the plain listener.

For each candidate the spectrum that the strike brought (`spectra`) is made up from harmonic templates and
knock humps (`templates`, `fitting`). Each pitch chosen then gets nine measures of evidence, and a logistic
of them says how probable it is that this pitch was begun here. A weak second voice of a pinch and the stray
octave of a single note explain about as much; apart they are told by the measures together.

The weights were fitted (plain logistic regression) on own material only: rolls with pinches and slurs
assembled from single notes of General MIDI programs 15, 25, 105 and 106 of one free sound font, dry and in a
made-up room, from a modelled string, and from the simulated player on instruments drawn at random; and bursts
of noise of several colours. Kept out of the fit: programs 24 and 107, other rolls of 105, other models, other
instruments of the player's; F 0.960 there. Settings were chosen on both, so that figure is a little kind.

The border: an ear needs of a scorer what the protocol `Scorer` names, and nothing else.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import lru_cache
from typing import Protocol

import numpy as np

from listener.fitting import Fit, pursue
from listener.framing import Past
from listener.offset import GRID_CENTS, TuningOffset
from listener.spectra import Around, Windows, WindowSettings, evened
from listener.strikes import Strike
from listener.templates import Bank, TemplateSettings

EVIDENCE: tuple[tuple[str, float], ...] = (
    ("log of the share of energy that it alone explains", 1.398),
    ("log of its amount", 1.316),
    ("log of its amount against the greatest", 2.048),
    ("share of energy that all explain", -0.416),
    ("log of the strike's level against the loudest of late", 0.747),
    ("log of the share of its partials in all that sounds", 2.171),
    ("pitch in octaves above F4", -0.001),
    ("log of the flux", 1.795),
    ("log of the share of its partials that no other pitch has", 0.92),
)
"""What each measure of evidence is, and its weight."""
BIAS = 7.678


@dataclass(frozen=True, slots=True)
class Struck:
    """A pitch that was newly begun.

    Attributes
    ----------
    midi : int
        Half step on the instrument's own tuning.
    confidence : float
        Estimated probability, 0 to 1.
    """

    midi: int
    confidence: float


class Scorer(Protocol):
    """What an ear needs in order to know pitches."""

    @property
    def back_samples(self) -> int:
        """How much sound before a strike is read."""

    @property
    def ahead_samples(self) -> int:
        """How much sound after a strike is read."""

    def reset(self) -> None:
        """Forget everything."""

    def struck(self, past: Past, strike: Strike, tuning: TuningOffset) -> list[Struck]:
        """The pitches begun at a strike, each sure enough to be said; may give hints to `tuning`."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ScorerSettings:
    """How pitches are scored.

    Attributes
    ----------
    windows : WindowSettings
    templates : TemplateSettings
    most : int
        Pitches looked at for one strike.
    least_gain : float
        Share of the energy from which a pitch is looked at.
    least_confidence : float
        From there on it is said.
    fade_db : float
        By so much a second the memory of the loudest strike falls.
    expected : float
        Loudest strike that is assumed before any was heard (amplitude): a soft note, above any hiss.
    quietest : float
        Strikes below this level (amplitude) are not looked at.
    """

    windows: WindowSettings = field(default_factory=WindowSettings)
    templates: TemplateSettings = field(default_factory=TemplateSettings)
    most: int = 5
    least_gain: float = 0.004
    least_confidence: float = 0.4
    fade_db: float = 0.6
    expected: float = 3e-3
    quietest: float = 1e-4


class TemplateScorer:
    """The plain scorer.

    Parameters
    ----------
    rate : int
        Samples a second.
    settings : ScorerSettings
    """

    def __init__(self, rate: int, settings: ScorerSettings | None = None) -> None:
        self._rate = rate
        self._set = settings = settings or ScorerSettings()
        shapes = settings.templates
        self._windows = Windows(rate, shapes.high_hz * 1.1, settings.windows)
        window = round(settings.windows.length_sec * rate)
        self._banks = _banks(rate, window, shapes)
        self._pitches = len(self._banks[0].midi)
        self._weights = np.array([weight for _, weight in EVIDENCE])
        self.reset()

    @property
    def back_samples(self) -> int:
        """How much sound before a strike is read."""
        return self._windows.back_samples

    @property
    def ahead_samples(self) -> int:
        """How much sound after a strike is read."""
        return self._windows.ahead_samples

    def reset(self) -> None:
        """Forget everything."""
        self._loudest = self._set.expected
        self._loudest_at = 0

    def struck(self, past: Past, strike: Strike, tuning: TuningOffset) -> list[Struck]:
        """Score a strike.

        Parameters
        ----------
        past : Past
            Remembers `back_samples` before the strike and `ahead_samples` after it.
        strike : Strike
        tuning : TuningOffset
            Read; given a hint while it wants any.

        Returns
        -------
        list of Struck
            Rising in pitch; mostly none or one.
        """
        midi, measures = self.evidence(past, strike, tuning)
        confidence = 1.0 / (1.0 + np.exp(-(measures @ self._weights + BIAS)))
        said = [
            Struck(int(pitch), float(sure))
            for pitch, sure in zip(midi, confidence, strict=True)
            if sure >= self._set.least_confidence
        ]
        return sorted(said, key=lambda struck: struck.midi)

    def evidence(self, past: Past, strike: Strike, tuning: TuningOffset) -> tuple[np.ndarray, np.ndarray]:
        """The measures of evidence of every pitch that was looked at; arguments as for `struck`.

        Returns
        -------
        midi : ndarray of int, shape (n,)
        measures : ndarray, shape (n, len(EVIDENCE))
        """
        none = np.zeros(0, int), np.zeros((0, len(EVIDENCE)))
        around = self._windows.around(past, strike.sample)
        band = self._banks[0].band
        level = float(np.linalg.norm(around.new[band]))
        if level < self._set.quietest:
            return none
        loudest = self._remembered(level, strike.sample)
        spectrum = evened(around.new, around.after)[band] ** self._set.templates.compression
        energy = float(spectrum @ spectrum)
        if tuning.wants_hints:
            tops = [float((spectrum @ bank.shapes[:, : self._pitches]).max()) for bank in self._banks]
            tuning.hint(np.array(tops) ** 2 / energy, level * level)
        bank = self._banks[int(np.abs(np.array(GRID_CENTS) - tuning.cents).argmin())]
        fit = pursue(
            bank.gram,
            (spectrum @ bank.shapes).astype(np.float64),
            energy,
            pitches=self._pitches,
            most=self._set.most,
            least_gain=self._set.least_gain,
        )
        if not fit.columns:
            return none
        measures = self._measures(fit, bank, spectrum, around, level / loudest, strike.strength)
        return bank.midi[list(fit.columns)], measures

    def _remembered(self, level: float, sample: int) -> float:
        faded = self._set.fade_db * (sample - self._loudest_at) / self._rate
        self._loudest = max(level, self._loudest * 10.0 ** (-faded / 20.0))
        self._loudest_at = sample
        return self._loudest

    def _measures(
        self,
        fit: Fit,
        bank: Bank,
        spectrum: np.ndarray,
        around: Around,
        against_loudest: float,
        strength: float,
    ) -> np.ndarray:
        columns, powers = list(fit.columns), around.after[bank.band] ** 2
        support = np.sqrt(bank.near[columns] @ powers / (powers.sum() + 1e-12))
        near = bank.near[columns]
        unshared = near * (near.sum(axis=0) < 1.5)
        private = np.sqrt((unshared @ spectrum**2) / (near @ spectrum**2 + 1e-12))
        ones = np.ones(len(columns))
        return np.stack(
            [
                np.log(fit.alone + 1e-3),
                np.log(fit.amounts + 1e-3),
                np.log(fit.amounts / fit.amounts.max() + 1e-2),
                fit.explained * ones,
                np.log(against_loudest + 1e-3) * ones,
                np.log(support + 1e-2),
                (bank.midi[columns] - 65) / 12.0,
                np.log(strength + 1e-2) * ones,
                np.log(private + 1e-1),
            ],
            axis=1,
        )


@lru_cache(maxsize=4)
def _banks(rate: int, window_samples: int, settings: TemplateSettings) -> tuple[Bank, ...]:
    """One bank for each tuning; drawn once, as nothing ever changes them."""
    return tuple(Bank(rate, window_samples, cents, settings) for cents in GRID_CENTS)
