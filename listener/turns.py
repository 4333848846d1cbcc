"""Whose turn it is to look at a strike: scorers that see more and more of it, each as soon as it can."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator, Sequence

from listener.framing import Past
from listener.offset import TuningOffset
from listener.scorer import Scorer, Struck
from listener.strikes import Strike


class Turns:
    """Hands strikes from scorer to scorer.

    Parameters
    ----------
    scorers : sequence of Scorer
        The one that looks least far ahead first; the last one has the last word.
    """

    def __init__(self, scorers: Sequence[Scorer]) -> None:
        self._scorers = tuple(scorers)
        self._waiting: list[deque[Strike]] = [deque() for _ in self._scorers]

    @property
    def ahead_samples(self) -> int:
        """How much sound after a strike is read."""
        return max(scorer.ahead_samples for scorer in self._scorers)

    @property
    def back_samples(self) -> int:
        """How much sound before a strike is read."""
        return max(scorer.back_samples for scorer in self._scorers)

    def reset(self) -> None:
        """Forget everything."""
        for scorer in self._scorers:
            scorer.reset()
        for waiting in self._waiting:
            waiting.clear()

    def add(self, strike: Strike) -> None:
        """Take in a strike; it waits for the first scorer."""
        self._waiting[0].append(strike)

    def due(self, past: Past, tuning: TuningOffset) -> Iterator[tuple[Strike, Sequence[Struck], bool]]:
        """Let all scorers look that can by now, the last one first.

        Parameters
        ----------
        past : Past
        tuning : TuningOffset

        Yields
        ------
        (Strike, sequence of Struck, bool)
            A strike, what a scorer says of it, and whether that is the last word.
        """
        last = len(self._scorers) - 1
        for turn in range(last, -1, -1):
            waiting, scorer = self._waiting[turn], self._scorers[turn]
            while waiting and waiting[0].sample + scorer.ahead_samples <= past.end:
                strike = waiting.popleft()
                following = next((queue[0] for queue in reversed(self._waiting[: turn + 1]) if queue), None)
                pitches = scorer.struck(past, strike, following, tuning)
                if turn < last:
                    self._waiting[turn + 1].append(strike)
                yield strike, pitches, turn == last
