"""One stream with all that listens to it: its clock, its ear, what was said and not handed on yet."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from listener.aligning import AROUND_SEC, Aligner, shifted
from listener.bleed import Bleed
from listener.clock import StreamClock
from listener.ear import Ear, EarSettings
from listener.expecting import Expected
from listener.given import Given
from listener.notes import Report
from listener.playhead import Playhead
from listener.ring import OUTPUT_GAP
from listener.tape import Tape

if TYPE_CHECKING:
    from listener.ring import Block
    from listener.stream import Stream

NOTHING_SEC = 0.05
"""Exact zeros for so long are no silence in a room: nothing was taken in."""

KNOWN_SEC = 0.25
"""So often it is noted what is known of the round trip."""

DRIFT_SEC = 5.0
"""So often the drift is looked for."""

SAYS_SEC = 0.02
"""At least so often an item is handed on though nothing was said."""


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasuredTrip:
    """What a sound check found of a pair of devices.

    Attributes
    ----------
    trip_sec : float or None
        The whole round trip, for where a system's stamps make no sense; None where that is not known.
    extra_sec : float or None
        By how much it is longer than the stamps say; None where they made no sense.
    unsure_sec : float
        How far either may be off.
    """

    trip_sec: float | None
    extra_sec: float | None = None
    unsure_sec: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Heard:
    """What the ear said of a stretch of sound.

    Attributes
    ----------
    now_sec : float
        Up to which time it has listened.
    reports : tuple of Report
    deaf : tuple of (float, float)
        Stretches that could not be listened to, known by now.
    round_trip_sec : float
        As it is taken off now.
    untold : int
        Times so far that sound was lost and nothing told how much: the round trip may have moved unseen.
    adc_sec : float
        When the last block of it began to be taken in, by the sound card's own clock, if that makes sense.
    came_sec, taken_sec, said_sec : float
        When that block came from the sound card, was taken up, and had been listened to, by the monotonic
        clock.
    bleed_db : float or None
        How loud what is played comes back in the microphone, against what is played; None while that is not
        known.
    """

    now_sec: float
    reports: tuple[Report, ...]
    deaf: tuple[tuple[float, float], ...]
    round_trip_sec: float
    untold: int
    adc_sec: float
    came_sec: float
    taken_sec: float
    said_sec: float
    bleed_db: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Known:
    """What is known of a stream's round trip: `listener.clock.StreamClock` at one moment."""

    ready: bool = False
    round_trip_sec: float = 0.0
    first_trip_sec: float = 0.0
    unsure_sec: float = 0.0
    basis: str = "reported"
    drift_ppm: float | None = None
    bleed_db: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Condition:
    """How the sound is, for showing.

    Attributes
    ----------
    source, sink : str
        Microphone and output.
    rate, block : int
    round_trip_sec, unsure_sec : float
    basis : str
        What the round trip goes by: "stamps", "checked" (stamps and a sound check), "measured", "reported".
    drift_ppm : float or None
        How far the clocks of input and output run apart.
    overflows, underflows : int
        Times that the system lost sound of the microphone, or had none to play.
    dropped : int
        Blocks that the ring, and items that the queue had no room for.
    bleed_db : float or None
        As in `Heard`.
    """

    source: str
    sink: str
    rate: int
    block: int
    round_trip_sec: float
    unsure_sec: float
    basis: str
    drift_ppm: float | None
    overflows: int
    underflows: int
    dropped: int
    bleed_db: float | None = None


class Run:
    """One stream with all that listens to it; for the analysis thread.

    Parameters
    ----------
    stream : Stream
    settings : EarSettings or None
    measured : MeasuredTrip or None
        What is known of its round trip beforehand.
    bleed_out : bool
        Whether what is played is taken out of the microphone.
    """

    def __init__(
        self,
        stream: Stream,
        settings: EarSettings | None,
        measured: MeasuredTrip | None,
        *,
        bleed_out: bool = True,
    ) -> None:
        self.stream = stream
        self.clock = StreamClock(
            stream.rate,
            measured_sec=measured.trip_sec if measured else None,
            reported_sec=stream.latency_sec,
            extra_sec=measured.extra_sec if measured else None,
            extra_unsure_sec=measured.unsure_sec if measured else 0.0,
        )
        self.aligner = Aligner(stream.rate, self.clock)
        self.playhead = Playhead(stream.rate, stream.latency_sec)
        self.expected = Expected()
        self.ear = Ear(stream.rate, settings=settings, expectations=self.expected)
        self.given = Given(stream.rate, stream.playout)
        self.bleed = Bleed(stream.rate)
        self._bleed_out = bleed_out
        self.tape = Tape(stream.rate)
        self.notes = 0
        self.told_sec = 0.0
        self.said: list[Report] = []
        self.known = Known()
        self.leaving = False
        """Whether another stream was asked for in its place."""
        self._looked = self._drift_looked = -(10**9)
        self._drift_ppm: float | None = None
        self._first_trip_sec: float | None = None
        self._deaf: list[tuple[float, float]] = []

    @property
    def now_sec(self) -> float:
        """Time up to which was listened."""
        return self.aligner.now_sec

    def listen(self, block: Block, *, keep: bool, clocks: Sequence[float] = ()) -> None:
        """Listen to a block.

        Parameters
        ----------
        block : Block
        keep : bool
            Whether its sound is kept on the tape, too.
        clocks : sequence of float
            By how much clocks that the sound card may use are ahead of the monotonic one.
        """
        gap = bool(block.flags & OUTPUT_GAP)
        self.playhead.feed(
            block.position, block.dac_sec, block.came_sec, len(block.samples), gap=gap, others=clocks
        )
        zeros = 0 if block.samples.any() else self.stream.zero_frames + len(block.samples)
        self.stream.zero_frames = zeros
        before_sec = self.now_sec
        self.given.note(block.position, block.given)
        for taken in self.aligner.feed(block):
            samples = self._without_bleed(taken)
            if keep:
                self.tape.write(self.aligner.fed - len(samples), samples)
            for report in self.ear.feed(samples):
                self.notes += report.kind == "heard"
                self.said.append(shifted(report, self.aligner.shift_sec))
        self._deaf += self.aligner.new_deaf()
        if self.clock.ready and (
            not self.known.ready or block.position - self._looked > KNOWN_SEC * self.stream.rate
        ):
            self.look(block.position)
        zeros_sec = zeros / self.stream.rate
        if zeros_sec >= NOTHING_SEC:
            first = zeros_sec - len(block.samples) / self.stream.rate < NOTHING_SEC
            begin = self.now_sec - zeros_sec if first else before_sec
            self._deaf.append((begin - AROUND_SEC, self.now_sec))

    def _without_bleed(self, taken: np.ndarray) -> np.ndarray:
        """What was handed on last, without what is heard in it of what is played."""
        if not self._bleed_out:
            return taken
        begin = self.aligner.fed - len(taken) + self.bleed.ahead_samples
        return self.bleed.feed(taken, self.given.between(begin, begin + len(taken)))

    def look(self, position: int) -> None:
        """Note what is known of the round trip by now, for whoever wants to show it."""
        self._looked = position
        trip_sec = self.clock.round_trip_sec(position)
        if self._first_trip_sec is None:
            self._first_trip_sec = trip_sec
        self.playhead.trip_sec = trip_sec
        self.known = Known(
            ready=True,
            round_trip_sec=trip_sec,
            first_trip_sec=self._first_trip_sec,
            unsure_sec=self.clock.unsure_sec,
            basis=self.clock.basis,
            drift_ppm=self._drift(position),
            bleed_db=self.bleed.heard_db,
        )

    def _drift(self, position: int) -> float | None:
        """The drift, which takes some milliseconds to find and changes slowly."""
        if position - self._drift_looked > DRIFT_SEC * self.stream.rate:
            self._drift_looked, self._drift_ppm = position, self.clock.drift_ppm
        return self._drift_ppm

    def item(self, block: Block, taken_sec: float, said_sec: float) -> Heard:
        """What is to be handed on of all that was listened to since the last one."""
        found = Heard(
            now_sec=self.now_sec,
            reports=tuple(self.said),
            deaf=tuple(self._deaf),
            round_trip_sec=self.clock.round_trip_sec(self.stream.position) if self.clock.ready else 0.0,
            untold=self.clock.untold,
            adc_sec=block.adc_sec,
            came_sec=block.came_sec,
            taken_sec=taken_sec,
            said_sec=said_sec,
            bleed_db=self.bleed.heard_db,
        )
        self.told_sec = found.now_sec
        self.said, self._deaf = [], []
        return found

    def unheard(self, item: Heard) -> None:
        """The session did not get an item: what was said in it is deaf for it."""
        told = [report.note.onset_sec for report in item.reports]
        begin = min([item.now_sec - SAYS_SEC, *told]) - AROUND_SEC
        self._deaf += [*item.deaf, (begin, item.now_sec)]
