"""Listening when it is known what to expect: sooner, surer, and never by heart.

A strike is looked at three times, some 27, 40 and 52 ms after it began. Each look has a network of its own,
which is blind; what it says is weighed together with what is expected (`listener.weigher`). The two sooner
looks say only what is expected and as good as sure. The last look has the last word: what was said and is not
borne out is withdrawn, what is sure enough is said, and what is expected and neither sure nor ruled out is
called doubtful.

Before the instrument's tuning is known, nothing is said sooner: a half step may be the next one.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from listener.expecting import Expected
from listener.framing import Past
from listener.network import LOW_PITCH, PITCHES, Network, shipped
from listener.offset import TuningOffset
from listener.scorer import LookingScorer, NetworkScorer, Scorer, Seen, Struck, probability
from listener.strikes import Strike
from listener.views import FACTS, LOOKS
from listener.weigher import RECENT_SEC, Weigher, inputs

WEIGHER = "weigher.npz"
"""Weights of the three weighers; `early_see` is `see` of the early look's, and so on."""

ASKED_FROM = 0.15
"""A pitch that is expected so much is asked for here."""

UNHEARD = -10.0
"""Log odds of what was not looked at."""

_SAID = 0.95
"""What nobody asked for tells the tuning from here on: talk makes doubtful notes now and then."""


@dataclass(frozen=True, slots=True, kw_only=True)
class InformedSettings:
    """How sure is sure.

    Attributes
    ----------
    early, middle : float
        What is expected is said so soon from this probability on.
    least, least_asked : float
        From this probability on a pitch is said by the last look where nobody asked for it, and where it is
        asked for: to hear what should have been played and was not is worse than to be in doubt.
    doubtful : float
        What is asked for is doubtful from here on.
    tuned : bool
        Whether the instrument's tuning is known before anything was heard.
    """

    early: float = 0.8
    middle: float = 0.8
    least: float = 0.5
    least_asked: float = 0.6
    doubtful: float = 0.15
    tuned: bool = False


@dataclass(slots=True)
class _Strikes:
    """What the looks tell one another about the strikes that are being looked at."""

    odds: dict[int, list[np.ndarray]] = field(default_factory=dict)
    tuned_before: bool = False
    tuned: bool = False

    def reset(self) -> None:
        """Forget everything."""
        self.odds.clear()
        self.tuned = self.tuned_before

    def so_far(self, strike: Strike, looks: int) -> list[np.ndarray]:
        """Odds by the sooner looks, as many as there should be."""
        found = self.odds.get(strike.sample, [])
        return found[:looks] + [np.full(PITCHES, UNHEARD)] * (looks - len(found))


def informed_scorers(
    rate: int,
    expected: Expected,
    *,
    settings: InformedSettings | None = None,
    weights: Mapping[str, np.ndarray] | None = None,
) -> Sequence[Scorer]:
    """Make the scorers of an informed ear.

    Parameters
    ----------
    rate : int
        Samples a second.
    expected : Expected
    settings : InformedSettings, optional
    weights : mapping of str to ndarray, optional
        Of the last look's network, instead of those that come with the program.

    Returns
    -------
    sequence of Scorer
        The soonest first.
    """
    chosen = settings or InformedSettings()
    strikes = _Strikes(tuned_before=chosen.tuned, tuned=chosen.tuned)
    return (
        _SoonScorer(rate, "early", 0, chosen.early, expected, strikes),
        _SoonScorer(rate, "middle", 1, chosen.middle, expected, strikes),
        _LastScorer(rate, chosen, expected, strikes, weights),
    )


class _Weighing:
    """What the looks have in common: from what is seen to probabilities, by what is expected."""

    def __init__(self, rate: int, look: str, sooner: int, expected: Expected, strikes: _Strikes) -> None:
        marks = f"{look}_"
        own = {k.removeprefix(marks): a for k, a in shipped(WEIGHER).items() if k.startswith(marks)}
        self._weigher = Weigher(own)
        self._rate, self._sooner, self._expected, self._strikes = rate, sooner, expected, strikes
        self._recent: deque[tuple[int, np.ndarray]] = deque()

    def reset(self) -> None:
        """Forget everything."""
        self._recent.clear()
        self._strikes.reset()

    def weighed(self, strike: Strike, seen: Seen) -> tuple[np.ndarray, np.ndarray]:
        """Probability of each pitch, and how much it is expected."""
        while self._recent and strike.sample - self._recent[0][0] > RECENT_SEC * self._rate:
            self._recent.popleft()
        recent = np.max([odds for _, odds in self._recent], axis=0, initial=UNHEARD)
        recent = np.broadcast_to(recent, PITCHES)
        self._recent.append((strike.sample, seen.log_odds))
        expected = self._expected.at(strike.sample / self._rate)
        looks = [*self._strikes.so_far(strike, self._sooner), seen.log_odds]
        return probability(self._weigher.log_odds(inputs(looks, seen.facts, expected, recent))), expected


class _SoonScorer(LookingScorer):
    """A look that cannot wait: says what is expected and as good as sure."""

    def __init__(
        self, rate: int, look: str, sooner: int, sure: float, expected: Expected, strikes: _Strikes
    ) -> None:
        super().__init__(rate, LOOKS[look])
        self._network = Network(shipped(f"strike-{look}.npz"))
        self._weighing = _Weighing(rate, look, sooner, expected, strikes)
        self._sure, self._strikes = sure, strikes

    def reset(self) -> None:
        super().reset()
        self._weighing.reset()

    def struck(
        self, past: Past, strike: Strike, following: Strike | None, tuning: TuningOffset
    ) -> list[Struck]:
        look = self._looker.look(past, strike, following, tuning.cents)
        odds = np.full(PITCHES, UNHEARD) if look is None else self._network.log_odds(look)
        facts = np.zeros(FACTS, np.float32) if look is None else look.facts
        sure, expected = self._weighing.weighed(strike, Seen(odds, facts))
        self._strikes.odds.setdefault(strike.sample, []).append(odds)
        if look is None or not self._strikes.tuned:
            return []
        said = np.flatnonzero((sure >= self._sure) & (expected >= ASKED_FROM))
        return [Struck(LOW_PITCH + int(pitch), float(sure[pitch]), asked=True) for pitch in said]


class _LastScorer(NetworkScorer):
    """The look that has the last word."""

    def __init__(
        self,
        rate: int,
        settings: InformedSettings,
        expected: Expected,
        strikes: _Strikes,
        weights: Mapping[str, np.ndarray] | None,
    ) -> None:
        super().__init__(rate, weights)
        self._weighing = _Weighing(rate, "full", 2, expected, strikes)
        self._set, self._strikes = settings, strikes

    def reset(self) -> None:
        super().reset()
        self._weighing.reset()

    def struck(
        self, past: Past, strike: Strike, following: Strike | None, tuning: TuningOffset
    ) -> list[Struck]:
        seen = self.seen(past, strike, following, tuning)
        if seen is None:
            self._strikes.odds.pop(strike.sample, None)
            return []
        sure, expected = self._weighing.weighed(strike, seen)
        self._strikes.odds.pop(strike.sample, None)
        found = []
        wanted = expected >= ASKED_FROM
        said = sure >= np.where(wanted, self._set.least_asked, self._set.least)
        for pitch in np.flatnonzero(said | (wanted & (sure >= self._set.doubtful))):
            asked, doubtful = bool(wanted[pitch]), not said[pitch]
            found.append(Struck(LOW_PITCH + int(pitch), float(sure[pitch]), asked, doubtful))
        said_so = [struck for struck in found if not struck.doubtful]
        if any(struck.asked or struck.confidence >= _SAID for struck in said_so):
            self._strikes.tuned = True
        return found
