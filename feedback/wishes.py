"""What a player wishes of a practice that runs: from any thread, taken by the one that practises.

Hand-over: a bounded deque, whose `append` and `popleft` are whole by themselves; nobody waits. Wishes that
are not taken in time are dropped, the oldest first.
"""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass

from routines.excerpt import Span
from routines.lick import Lick

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


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """From the next count-in on something else is practised; what is not named here stays as it is.

    Attributes
    ----------
    lick : Lick
    tempo_half_bpm : float
    passes : int
        In a turn.
    rest_bars : int
        Between two passes.
    rest_sec : float or None
        After its turns; None as before.
    click : str
        A row of `feedback.clicking.CLICKS`; empty as before.
    whole : Lick or None
        The lick of which this is a part; None where it is all of it.
    span : Span or None
        Which part.
    title : str
        Of the lick that is practised, as it is written; empty as before.
    says : str
        What is said before it is played.
    """

    lick: Lick
    tempo_half_bpm: float
    passes: int
    rest_bars: int
    rest_sec: float | None = None
    click: str = ""
    whole: Lick | None = None
    span: Span | None = None
    title: str = ""
    says: str = ""


Wish = Start | BreakOff | Hold | End | Tempo | Piece


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
