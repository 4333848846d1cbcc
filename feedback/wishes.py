"""What a player wishes of a practice that runs: from any thread, taken by the one that practises.

Hand-over: a bounded deque, whose `append` and `popleft` are whole by themselves; nobody waits. Wishes that
are not taken in time are dropped, the oldest first.
"""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass

MOST = 32
"""So many wishes wait at most."""


@dataclass(frozen=True, slots=True)
class Start:
    """The rest is over: the next count-in begins at once. Of no effect while a turn runs."""


@dataclass(frozen=True, slots=True)
class BreakOff:
    """The turn that runs ends here, and the practice waits for `Start`; in a rest it only waits."""


@dataclass(frozen=True, slots=True)
class Hold:
    """The rest that is, or that comes next, waits for `Start`. Of no effect on a turn that runs."""


@dataclass(frozen=True, slots=True)
class End:
    """No more of it: the practice ends here."""


@dataclass(frozen=True, slots=True)
class Tempo:
    """From the next count-in on this tempo, in half notes a minute."""

    half_bpm: float


Wish = Start | BreakOff | Hold | End | Tempo


class Wishes:
    """Wishes on their way."""

    def __init__(self) -> None:
        self._waiting: deque[Wish] = deque(maxlen=MOST)

    def add(self, wish: Wish) -> None:
        """Wish something; from any thread."""
        self._waiting.append(wish)

    def next(self) -> Wish | None:
        """The oldest wish that waits, None where none does."""
        try:
            return self._waiting.popleft()
        except IndexError:
            return None
