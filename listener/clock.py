"""The round trip of a full-duplex stream: from the count of frames played to that of frames recorded.

The problem: one stream plays and records, and counts both with one counter. What is played at output frame p
comes back at input frame p + round trip, which must be known to compare a note with the click. The stamps of
a callback tell it (when its output meets the air less when its input did), where they make sense; frames
lost on either side change it for good. A round trip measured once is not safe to keep, nor is a stamp to be
believed by itself: each side is judged by its own (`listener.stamps`).

So between two calls of `hold` frames are counted: the round trip that is given out moves only by steps that
were confirmed and, where two sound cards clearly run at different speeds, by that drift. At `hold` the stamps
of the last 20 s are weighed anew, which puts right what was missed or taken for a step wrongly.

Conventions: positions are frames since the stream began, the same for input and output; a step has the
position of the first callback that shows it. One of the output concerns what is played from there on, one of
the input what is recorded from there on: what is under way at a step is uncertain for one round trip. Steps
are known `CONFIRM_SEC` after they happened. Where both sides step alike, the machine stood still, or the
clock of the stamps was set: the round trip is what it was.

What stamps do not tell: converters' own delay, the air, and what lies behind the sound server. That much
stays from one opening to the next and may be known from a sound check: `extra_sec`.
"""

from __future__ import annotations

from typing import Literal

from listener.arrivals import Arrivals
from listener.levels import CHUNK_SEC, STEADY_SEC, Levels
from listener.ring import INPUT_LOST, OUTPUT_GAP
from listener.stamps import CONFIRM_SEC, PERSIST_SEC, Jump, Side
from listener.steps import Step, Steps

__all__ = ["CONFIRM_SEC", "PERSIST_SEC", "READY_SEC", "STEADY_SEC", "Step", "StreamClock"]

READY_SEC = 0.25
"""Of callbacks, and stamps are gone by; of twice as many, and something else is, if they make no sense."""

MEASURED_SEC = 0.002
"""What a loop is measured to."""

UNKNOWN_SEC = 0.020
"""For each time that frames were lost and no stamp told how many: half a dozen blocks of 256 at most did."""

REPORTED_SEC = 0.030
"""What the system's own word is good for."""

_STAMPS = ("stamps", "checked")
_SHORTEST_SEC = 0.001  # no round trip is shorter
_LONGEST_SEC = 3.0  # nor longer; heavy load came to 1.4 s
_NET_SEC = 0.002  # steps of both sides that differ by less are one and the same
_MOST_SEC = 0.3  # no more is said of what is unsure: underruns came to 0.33 s in 12 s


class StreamClock:
    """Follows the round trip of one stream; no device, no clock, no thread.

    Parameters
    ----------
    rate : int
        Frames a second.
    measured_sec : float, optional
        Round trip that was measured with this stream's settings, for want of stamps.
    reported_sec : float, optional
        What the system says that it is, for want of both.
    extra_sec : float, optional
        By how much a sound check found it longer than the stamps say; added where it goes by stamps.
    extra_unsure_sec : float
        How far what was measured may be off, 0 and up.

    Attributes
    ----------
    ready : bool
        Whether enough is known to go by `round_trip_sec`: stamps that make sense on both sides for READY_SEC,
        or callbacks for twice that without.
    basis : {"stamps", "checked", "measured", "reported"}
        What `round_trip_sec` goes by since the last `hold`; "checked" are stamps and a sound check.

    Raises
    ------
    ValueError
        If the rate is not positive.
    """

    def __init__(
        self,
        rate: int,
        *,
        measured_sec: float | None = None,
        reported_sec: float | None = None,
        extra_sec: float | None = None,
        extra_unsure_sec: float = 0.0,
    ) -> None:
        if rate <= 0:
            raise ValueError(f"rate is {rate}; frames a second, more than 0")
        self._rate = rate
        self._measured_sec, self._reported_sec = measured_sec, reported_sec
        self._extra_sec, self._extra_unsure_sec = extra_sec, extra_unsure_sec
        self._input, self._output = Side(rate), Side(rate)
        self._steps = Steps()
        self._levels = Levels(rate)
        self._arrivals = Arrivals(rate, self._steps)
        self._begin: int | None = None
        self._block = rate
        self._last = self._noted = self._flag = self._unknown = self._unknown_held = 0
        self._asked = False
        self.ready = False
        self._held_at, self._slope_ppm = 0, 0.0
        self._unsure_sec = 0.0
        self._drift_ppm: float | None = None
        self.basis: Literal["stamps", "checked", "measured", "reported"]
        self._base_sec = self._hold()

    @property
    def steps(self) -> tuple[Step, ...]:
        """The last 1000 steps since the stream began, in order of their positions."""
        return tuple(self._steps)

    @property
    def drift_ppm(self) -> float | None:
        """How much faster the round trip grows than time does, in millionths.

        Positive where the output's clock is the slower one. None until the stamps of both sides were steady
        for 20 s without a step; after that the last figure. It is followed between holds only where it was
        clear at the last: where it moved the round trip by 1 ms and four times as far as the stamps scatter.
        """
        self._tell_drift()
        return self._drift_ppm

    @property
    def unsure_sec(self) -> float:
        """How far `round_trip_sec` may be off, as far as the stamps can know.

        By stamps: STEADY_SEC; or half of what output against input wandered in 20 s before it was held, or
        before now; or how far what is held lies from what would be held now: whichever is most; and with a
        sound check what that is unsure by. By a measured loop: MEASURED_SEC, or what it is unsure by. By what
        the system reports: REPORTED_SEC. To each comes UNKNOWN_SEC for every time that frames were lost and
        no stamp told how many (by stamps: since the last `hold`). 0.3 s at most.
        """
        off = self._extra_unsure_sec
        known = {"stamps": 0.0, "checked": off, "measured": max(MEASURED_SEC, off)}.get(
            self.basis, REPORTED_SEC
        )
        if self.basis in _STAMPS:
            trip, unsure = self._weighed()
            known += max(self._unsure_sec, unsure, abs(trip - self._base_sec))
        return min(_MOST_SEC, known + UNKNOWN_SEC * (self._unknown - self._unknown_held))

    def feed(
        self, position: int, adc_sec: float, dac_sec: float, *, flags: int = 0, came_sec: float | None = None
    ) -> None:
        """Take in a callback; in order, each once.

        Parameters
        ----------
        position : int
            Frames before this callback.
        adc_sec, dac_sec : float
            When its first frame came in, and when its first frame goes out, on one clock. May be anything.
        flags : int
            What the system says was lost, as in `listener.ring.Block`: it speaks for a step of that side.
        came_sec : float, optional
            When the callback was called, by the monotonic clock; None if that is not known.
        """
        if self._begin is None:
            self._begin = position
        elif position > self._last:
            self._block = min(self._block, position - self._last)
        self._last = position
        sensible = self._sensible
        came = self._input.feed(position, adc_sec, bool(flags & INPUT_LOST))
        went = self._output.feed(position, dac_sec, bool(flags & OUTPUT_GAP))
        if (came or went) and self.ready:  # what was before is in no round trip that was given out
            self._step(came, went, sensible)
        if came_sec is not None and self.ready:
            self._put_right(position, came_sec)
        if flags and not sensible and position - self._flag > CONFIRM_SEC * self._rate:
            self._unknown, self._flag = self._unknown + 1, position
        if position - self._noted < CHUNK_SEC * self._rate:
            return
        if self._input.settled and self._output.settled:
            self._noted = position
            self._levels.note(position, self._input.corrected_sec, self._output.corrected_sec)
        if not self._asked and not (self.ready and self.basis in _STAMPS):
            known = self._sensible and len(self._levels) > 1
            if (position - self._begin) / self._rate >= READY_SEC * (1.0 if known else 2.0):
                self.ready = True
                self._base_sec = self._hold()

    @property
    def untold(self) -> int:
        """Times so far that frames were lost and no stamp told how many."""
        return self._unknown

    def hold(self) -> None:
        """From now on the best estimate so far holds: to be called between turns of playing."""
        self._asked = self.ready
        self._base_sec = self._hold()

    def round_trip_sec(self, position: int) -> float:
        """After what time that which is played at a position comes back.

        Parameters
        ----------
        position : int
            Frames since the stream began; may lie before the last `hold`, or ahead.

        Returns
        -------
        float
            As held, and steps up to there, and drift if it is clear. Without stamps, a measured loop and
            a report it is 0 and the steps.
        """
        drift = self._slope_ppm * 1e-6 * (position - self._held_at) / self._rate
        return self._base_sec + self._steps.up_to(position) + drift

    def moved_sec(self, begin: int, end: int) -> float:
        """The greatest change of the round trip within a stretch.

        Parameters
        ----------
        begin, end : int
            Positions, the end among them.

        Returns
        -------
        float
            Longest less shortest, by steps and drift; 0 and up.
        """
        return self._steps.greatest(begin, end, self._slope_ppm * 1e-6 / self._rate)

    @property
    def _sensible(self) -> bool:
        """Whether the stamps of both sides make sense, and one makes sense beside the other."""
        came, went = self._input, self._output
        if not (came.sane and went.sane) or came.level_sec is None or went.level_sec is None:
            return False
        return self._possible(went.level_sec - came.level_sec)

    def _possible(self, trip_sec: float) -> bool:
        """A callback's input was recorded before it was called, its output is played after."""
        return max(_SHORTEST_SEC, self._block / self._rate - STEADY_SEC) <= trip_sec <= _LONGEST_SEC

    def _step(self, came: Jump | None, went: Jump | None, sensible: bool) -> None:
        position = min(jump.position for jump in (came, went) if jump)
        both = self._input.sane and self._output.sane
        if both and not (self._sensible and (sensible or self.basis in _STAMPS)):
            return  # stamps that make no sense yet, or that had made none
        moved = (went.moved_sec if went else 0.0) - (came.moved_sec if came else 0.0)
        if both and not (came and went):
            jump, other = (came, self._output) if came else (went, self._input)
            if jump and abs(other.change_at(position) - jump.moved_sec) < _NET_SEC:
                other.accept(jump)
                return
        if abs(moved) < _NET_SEC:
            return
        if came:
            self._arrivals.taken(Jump(position, came.moved_sec))
        self._steps.insert(position, moved)

    def _put_right(self, position: int, came_sec: float) -> None:
        """Have the arrivals judge the input's steps."""
        levels = [side.level_sec if side.settled else None for side in (self._input, self._output)]
        if told := self._arrivals.feed(position, came_sec, *levels):
            self._input.amend(told.moved_sec, abs(told.moved_sec) if told.denies else 0.0)
            self._levels.amend(told.position, told.moved_sec)
            self._steps.insert(told.position, -told.moved_sec)
            if self.basis in _STAMPS and told.position < self._held_at:
                self._base_sec, self._unsure_sec = self._weighed()

    def _hold(self) -> float:
        """Choose what to go by; the round trip without its steps."""
        self._held_at, self._slope_ppm, self._unknown_held = self._last, 0.0, 0
        measured_sec = self._measured_sec
        if len(self._levels) and (self._sensible or (measured_sec is None and self._was_possible)):
            self.basis = "stamps" if self._extra_sec is None else "checked"
            self._slope_ppm = (self._drift_ppm or 0.0) if self._tell_drift() else 0.0
            self._unknown_held = self._unknown
            trip, self._unsure_sec = self._weighed()
            return trip
        self.basis = "reported" if measured_sec is None else "measured"
        return (self._reported_sec or 0.0) if measured_sec is None else measured_sec

    @property
    def _was_possible(self) -> bool:
        return self._possible(self._weighed()[0] - (self._extra_sec or 0.0) + self._steps.total_sec)

    def _weighed(self) -> tuple[float, float]:
        """By stamps: the round trip without its steps where it was held, and how unsure that is."""
        trip, unsure = self._levels.weighed(self._last, self._steps.last, self._slope_ppm, self._held_at)
        trip += self._extra_sec or 0.0
        return trip + self._output.moved_sec - self._input.moved_sec - self._steps.total_sec, unsure

    def _tell_drift(self) -> bool:
        """Take the drift anew where it can be told; whether it is clear."""
        if (told := self._levels.drift(self._steps.last)) is None:
            return False
        self._drift_ppm, clear = told
        return clear
