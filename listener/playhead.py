"""What sounds now: which second of a stream leaves the loudspeaker at a moment of the monotonic clock.

The problem: a picture that moves with the sound asks this sixty times a second, and blocks come in bursts,
up to 19 ms late. Each block says when its first frame will sound, by the sound card's clock, and when it
came, by the monotonic one. The stamps are what is to be gone by, where they make sense: jitter, wild ones and
steps are sorted out by `listener.stamps.Side`. Their clock is mostly the monotonic one, on some systems the
wall's or another; so the clocks that are known are tried in turn, and that one is it by which a block sounds
soon after it came. Where none is, or the stamps make no sense, a block is taken to sound half a round trip
after blocks come on average.

So there is a *level*: when second 0 sounded, or would have. It moves: stamps wander, underruns put silence
in. What is given out follows it smoothly. Time is planned in pieces: from a moment a little ahead on it goes
faster or slower for `CATCH_SEC`, such that it meets the level then, and after that at its own speed. The next
piece begins where the last one will be, so there is no jump; and time never goes back: where it is ahead of
the level by much it stands still. What is fed later than `AHEAD_SEC` after it came may break that by a hair.

Threads: one thread feeds, any thread asks. A piece is a frozen object and is put in place by one store, so
whoever reads has the old one or the new one, whole; both say the same up to where the new one turns.
"""

from __future__ import annotations

import time
from collections.abc import Sequence
from dataclasses import dataclass

from listener.stamps import Side

CATCH_SEC = 0.25
"""What is given out is off the level by a share of this more or less speed."""

AHEAD_SEC = 0.06
"""A piece turns so long after the block that made it came; whoever asks sooner finds nothing changed."""

FASTEST = 3.0
"""Greatest speed; the least is 0."""

_SOONEST_SEC, _LATEST_SEC = -0.1, 1.5  # a block sounds so long after it came, by a clock that may be it
_FIRST_SEC = 0.5  # so long the first stamp is gone by, where there is no level yet
_COMES_SEC = 0.25  # the average of when blocks come follows so fast


@dataclass(frozen=True, slots=True)
class _Piece:
    """Until a turn at one speed, from then on at another for `CATCH_SEC`, after that at its own."""

    turn_sec: float
    at_turn_sec: float
    before: float
    after: float

    def at(self, monotonic_sec: float) -> float:
        since_sec = monotonic_sec - self.turn_sec
        if since_sec <= 0.0:
            return self.at_turn_sec + self.before * since_sec
        caught_sec = min(since_sec, CATCH_SEC)
        return self.at_turn_sec + self.after * caught_sec + (since_sec - caught_sec)


class Playhead:
    """Follows what sounds of one stream; no device, no clock.

    Parameters
    ----------
    rate : int
        Frames a second.
    trip_sec : float
        The round trip as it is known beforehand, or reported: 0 and up; for where stamps make no sense.

    Raises
    ------
    ValueError
        If the rate is not positive.
    """

    def __init__(self, rate: int, trip_sec: float = 0.0) -> None:
        if rate <= 0:
            raise ValueError(f"rate is {rate}; frames a second, more than 0")
        self._rate = rate
        self.trip_sec = trip_sec
        self._side = Side(rate)
        self._comes_sec: float | None = None
        self._begun, self._first_sec = 0, 0.0
        self._piece: _Piece | None = None

    @property
    def known(self) -> bool:
        """Whether any block was fed."""
        return self._piece is not None

    def feed(
        self,
        position: int,
        dac_sec: float,
        came_sec: float,
        frames: int,
        *,
        gap: bool = False,
        others: Sequence[float] = (),
    ) -> None:
        """Take in a block; in order, each once.

        Parameters
        ----------
        position : int
            Frames before it.
        dac_sec : float
            When its first frame will sound, by the sound card's clock; may be anything.
        came_sec : float
            When it came, by the monotonic clock.
        frames : int
            Its length.
        gap : bool
            Whether the system says that there was nothing to play before it.
        others : sequence of float
            By how much other clocks that the sound card may use are ahead of the monotonic one.
        """
        self._side.feed(position, dac_sec, gap)
        comes = came_sec - position / self._rate
        if self._comes_sec is None:
            self._comes_sec, self._begun, self._first_sec = comes, position, dac_sec - position / self._rate
        share = min(1.0, frames / (_COMES_SEC * self._rate))
        self._comes_sec += share * (comes - self._comes_sec)
        piece = self._piece
        if piece is None or came_sec >= piece.turn_sec:
            self._piece = self._next(piece, came_sec, self._level_sec(position, came_sec, others))

    def at(self, monotonic_sec: float) -> float:
        """Which second of the stream sounds.

        Parameters
        ----------
        monotonic_sec : float

        Returns
        -------
        float
            0 before any block was fed; may be negative before the first frame sounds.
        """
        piece = self._piece
        return 0.0 if piece is None else piece.at(monotonic_sec)

    def _next(self, piece: _Piece | None, came_sec: float, level_sec: float) -> _Piece:
        turn_sec = came_sec + AHEAD_SEC
        due_sec = turn_sec - level_sec
        if piece is None:
            return _Piece(turn_sec, due_sec, 1.0, 1.0)
        at_turn_sec = piece.at(turn_sec)
        before = (at_turn_sec - piece.at(came_sec)) / AHEAD_SEC
        after = min(FASTEST, max(0.0, 1.0 + (due_sec - at_turn_sec) / CATCH_SEC))
        return _Piece(turn_sec, at_turn_sec, before, after)

    def _level_sec(self, position: int, came_sec: float, others: Sequence[float]) -> float:
        """When second 0 sounded, by the monotonic clock."""
        assert self._comes_sec is not None
        level = self._side.level_sec if self._side.sane else None
        if self._side.level_sec is None and position - self._begun < _FIRST_SEC * self._rate:
            level = self._first_sec
        if level is not None:
            sounds_sec = level + position / self._rate - came_sec
            for ahead in (0.0, *others):
                if _SOONEST_SEC <= sounds_sec - ahead <= _LATEST_SEC:
                    return level - ahead
        return self._comes_sec + self.trip_sec / 2.0


def other_clocks() -> tuple[float, float]:
    """By how much the other clocks that sound libraries stamp by are ahead of the monotonic one, just now."""
    now_sec = time.monotonic()
    return time.time() - now_sec, time.perf_counter() - now_sec
