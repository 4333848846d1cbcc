"""Which pitches were newly struck while others ring: the heart of the plain listener.

For each candidate the views around it (`listener.views`) go through a small network (`listener.network`),
which gives for each pitch the probability that it was begun here.

The border: an ear needs of a scorer what the protocol `Scorer` names, and nothing else.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np

from listener.framing import Past
from listener.hints import Hinter
from listener.network import LOW_PITCH, Network, shipped
from listener.offset import TuningOffset
from listener.strikes import Strike
from listener.views import SPANS, Looker, Span


@dataclass(frozen=True, slots=True)
class Struck:
    """A pitch that was newly begun.

    Attributes
    ----------
    midi : int
        Half step on the instrument's own tuning.
    confidence : float
        Estimated probability, 0 to 1.
    asked : bool
        Whether it was expected just there.
    doubtful : bool
        Whether it may have been begun, yet is not said to be.
    """

    midi: int
    confidence: float
    asked: bool = False
    doubtful: bool = False


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

    def struck(
        self, past: Past, strike: Strike, following: Strike | None, tuning: TuningOffset
    ) -> list[Struck]:
        """The pitches begun at a strike, each sure enough to be said; may give hints to `tuning`.

        `following` is the candidate after it, where one is known by now.
        """


class LookingScorer:
    """What a scorer that goes by looks at strikes has in common with any other such.

    Parameters
    ----------
    rate : int
        Samples a second.
    spans : sequence of Span
        What it looks at.
    """

    def __init__(self, rate: int, spans: Sequence[Span] = SPANS) -> None:
        self._looker = Looker(rate, spans)

    @property
    def back_samples(self) -> int:
        """How much sound before a strike is read."""
        return self._looker.back_samples

    @property
    def ahead_samples(self) -> int:
        """How much sound after a strike is read."""
        return self._looker.ahead_samples

    def reset(self) -> None:
        """Forget everything."""
        self._looker.reset()


class NetworkScorer(LookingScorer):
    """The plain scorer.

    Parameters
    ----------
    rate : int
        Samples a second.
    weights : mapping of str to ndarray, optional
        As `listener.network.Network` takes them, and `least_confidence`, from which on a pitch is said; by
        default those that come with the program.
    least_confidence : float, optional
        Instead of that.
    """

    def __init__(
        self,
        rate: int,
        weights: Mapping[str, np.ndarray] | None = None,
        least_confidence: float | None = None,
    ) -> None:
        super().__init__(rate)
        arrays = shipped() if weights is None else weights
        self._network = Network(arrays)
        self._hinter = Hinter(rate)
        self._least = float(arrays["least_confidence"]) if least_confidence is None else least_confidence

    def struck(
        self, past: Past, strike: Strike, following: Strike | None, tuning: TuningOffset
    ) -> list[Struck]:
        """Score a strike; parameters as `seen`.

        Returns
        -------
        list of Struck
            Rising in pitch; mostly none or one.
        """
        seen = self.seen(past, strike, following, tuning)
        if seen is None:
            return []
        confidence = probability(seen.log_odds)
        return [
            Struck(LOW_PITCH + int(pitch), float(confidence[pitch]))
            for pitch in np.flatnonzero(confidence >= self._least)
        ]

    def seen(self, past: Past, strike: Strike, following: Strike | None, tuning: TuningOffset) -> Seen | None:
        """Look at a strike, and weigh each pitch.

        Parameters
        ----------
        past : Past
            Remembers `back_samples` before the strike and `ahead_samples` after it.
        strike : Strike
        following : Strike or None
            The candidate after it, where one is known by now.
        tuning : TuningOffset
            Read; given a hint while it wants any.

        Returns
        -------
        Seen or None
            None where there is next to no sound.
        """
        look = self._looker.look(past, strike, following, tuning.cents)
        if look is None:
            return None
        if tuning.wants_hints:
            before = tuning.cents
            tuning.hint(*self._hinter.fits(look))
            if tuning.cents != before:
                look = self._looker.retuned(look, tuning.cents)
        return Seen(self._network.log_odds(look), look.facts)


@dataclass(frozen=True, slots=True)
class Seen:
    """What a look at a strike says by itself.

    Attributes
    ----------
    log_odds : ndarray, shape (PITCHES,)
    facts : ndarray, shape (FACTS,)
        As in `listener.views.Look`.
    """

    log_odds: np.ndarray
    facts: np.ndarray


def probability(log_odds: np.ndarray) -> np.ndarray:
    """Log odds as probabilities."""
    found: np.ndarray = 1.0 / (1.0 + np.exp(-np.clip(log_odds, -50.0, 50.0)))
    return found
