"""The sound check with a microphone: noise, round trip, level; what was found, and how sure that is.

It tells what the player is to do and what was found as events; a terminal prints them, a screen may draw
them. It runs on the thread that takes the sound (`listener.taking`), and waits for nothing else.

The round trip is measured by quiet sweeps that come back from the loudspeaker, or from an earpiece held
against the microphone: so quiet at first that they may be buried in the noise, louder where none is found.
Where none comes back, the player plays along with a click, which is told with what that is worth: nobody
strikes with a click to better than some 20 ms. What is stored is how much longer the way is than the system's
stamps say: that much stays when the system's own part changes from one opening of a stream to the next.

Conventions: positions are frames of the stream, which plays and records on one count.
"""

from __future__ import annotations

from collections.abc import Callable, Generator, Iterator
from typing import TYPE_CHECKING, Protocol

import numpy as np

from feedback.checking_events import (
    CheckEvent,
    Ended,
    LevelFound,
    Meter,
    NoiseFound,
    NothingTold,
    PlayAlong,
    PlayAway,
    Still,
    Sweeping,
    TripFound,
)
from feedback.sound.click import sound as stroke_sound
from feedback.trips import Trip, by_playing, by_stamps, by_sweeps
from listener.chirp import SENT, Arrival, ChirpSettings, chirp, combined, found
from listener.clock import StreamClock
from listener.conditions import conditions
from listener.ear import Ear
from listener.errors import DeviceTrouble
from listener.keeper import Back, Lost
from listener.notes import standing
from listener.played_along import PATTERN_SEC, offset_of
from listener.pressing import came_back_db
from listener.ring import Block

if TYPE_CHECKING:
    from listener.stream import Stream

SWEEPS_DB = (-42.0, -34.0, -26.0)
"""Levels of the sweeps, one after the other until they come back."""

LONGEST_SEC = 1.2
"""No longer round trip is looked for."""

FAINT_SEC = 0.001
"""Sweeps that agree no better are buried: the straight way may be hidden by a wall's answer."""

STILL_SEC = 3.0
"""So long the player keeps still."""

READY_SEC = 3.0
"""So long the player has to get ready to play."""

PLAY_SEC = 8.0
"""So long the player plays as loud as it gets."""

CLICK_DB = -24.0
"""Level of the click to be played along with."""

_LEAD_SEC = 0.3
_METER_SEC = 1.0
_LOOK_SEC = 0.02
_SILENT_SEC = 3.0
_SURE = 0.8


class Source(Protocol):
    """A microphone that is taken as it is; see `listener.taking.Taking`."""

    @property
    def rate(self) -> int: ...
    @property
    def stream(self) -> Stream: ...
    def play(self, sound: np.ndarray, position: int) -> None: ...
    def take(self, wait_sec: float) -> list[Block | Lost | Back]: ...


class Checking:
    """One sound check.

    Parameters
    ----------
    source : Source
        Started already.
    along : bool
        Whether the player is asked to play along where no sweep comes back.
    click_db : float
        Level of the click then.
    """

    def __init__(self, source: Source, *, along: bool = True, click_db: float = CLICK_DB) -> None:
        self._source, self._along, self._click_db = source, along, click_db
        self._rate = source.rate
        self._clock = StreamClock(self._rate, reported_sec=source.stream.latency_sec)
        self._parts: list[np.ndarray] = []
        self._begin = self._end = 0
        self.noise_db: float | None = None
        self.trip: Trip | None = None

    def events(self) -> Generator[CheckEvent, None, None]:
        """Check; each event as it comes.

        Yields
        ------
        CheckEvent

        Raises
        ------
        DeviceTrouble
            If the sound goes away meanwhile, or the microphone gives nothing but zeros.
        """
        yield Still(sec=STILL_SEC)
        yield from self._noise()
        yield from self._round_trip()
        yield PlayAway(sec=PLAY_SEC)
        yield from self._level()
        yield Ended()

    def record(self, done: Callable[[np.ndarray], bool]) -> Iterator[Meter]:
        """Record until it is said to be enough; `recorded` has the sound then.

        Parameters
        ----------
        done : callable
            Given the sound so far, mono float32, once a second.
        """
        self._forget()
        while not done(self.recorded):
            yield from self._until(self._end + round(_METER_SEC * self._rate))

    @property
    def recorded(self) -> np.ndarray:
        """What was taken in since the last step began: float32, shape (n,)."""
        return np.concatenate(self._parts) if self._parts else np.zeros(0, np.float32)

    def _noise(self) -> Iterator[CheckEvent]:
        self._forget()
        for _ in self._until(self._end + round(STILL_SEC * self._rate)):
            pass
        quiet = self.recorded[round(0.5 * self._rate) :]  # what a stream begins with is not the room
        self._heard_anything()
        self.noise_db = conditions(quiet, self._rate).noise_db
        yield NoiseFound(noise_db=self.noise_db)

    def _heard_anything(self) -> None:
        """Tell of a microphone that has given nothing but zeros: that is no quiet room."""
        if self._parts and not self.recorded.any():
            raise DeviceTrouble(
                f"{self._source.stream.source}: nothing but zeros comes from it; is it muted, does it shut "
                "off quiet sounds, or may this program not use the microphone? Choose another one: --device"
            )

    def _round_trip(self) -> Iterator[CheckEvent]:
        self._clock.hold()
        trip: Trip | None = None
        for level_db in SWEEPS_DB:
            yield Sweeping(level_db=level_db)
            trip = self._swept(level_db) or trip
            if trip is not None and trip.unsure_sec <= FAINT_SEC:
                break
        if trip is None and self._along:
            yield PlayAlong(clicks=len(PATTERN_SEC), sec=PATTERN_SEC[-1], begins_sec=READY_SEC)
            trip = self._played()
            if trip is None:
                yield NothingTold()
        self.trip = trip if trip is not None else by_stamps(self._clock, self._end)
        yield TripFound(trip=self.trip)

    def _swept(self, level_db: float) -> Trip | None:
        """By sweeps of a level; None where they do not come back."""
        sent = chirp(self._rate, ChirpSettings(level_db=level_db))
        came: list[Arrival | None] = []
        back_db: list[float] = []
        while len(came) < SENT:
            at = self._end + round(_LEAD_SEC * self._rate)
            self._forget()
            self._source.play(sent, at)
            for _ in self._until(at + len(sent) + round(LONGEST_SEC * self._rate)):
                pass
            taken = self.recorded[at - self._begin :]
            arrival = found(taken, sent, self._rate, longest_sec=LONGEST_SEC)
            came.append(arrival)
            if arrival is None and not any(came):
                return None
            if arrival is not None:
                back_db.append(came_back_db(taken, sent, self._rate, arrival.delay_sec))
        measured = combined(came)
        if measured is None:
            return None
        self._clock.hold()
        return by_sweeps(measured, self._clock, self._end, bleed_db=float(np.median(back_db)))

    def _played(self) -> Trip | None:
        """By what is played along with a click; None where that tells nothing."""
        at = self._end + round(READY_SEC * self._rate)
        self._forget()
        stroke = 10.0 ** (self._click_db / 20.0) * stroke_sound("beat", self._rate)
        clicks = [at / self._rate + sec for sec in PATTERN_SEC]
        for sec in clicks:
            self._source.play(stroke, round(sec * self._rate))
        for _ in self._until(round((clicks[-1] + LONGEST_SEC) * self._rate)):
            pass
        onsets = [self._begin / self._rate + note.onset_sec for note in self._notes()]
        played = offset_of(onsets, clicks)
        self._clock.hold()
        return None if played is None else by_playing(played, self._clock, self._end)

    def _level(self) -> Iterator[CheckEvent]:
        self._forget()
        for _ in self._until(self._end + round(READY_SEC * self._rate)):
            pass
        self._forget()
        yield from self._until(self._end + round(PLAY_SEC * self._rate))
        state = conditions(self.recorded, self._rate)
        levels = [note.level_db for note in self._notes() if note.confidence >= _SURE]
        yield LevelFound(
            peak_db=state.peak_db,
            clipped=state.clipped,
            notes=len(levels),
            note_db=float(np.median(levels)) if levels else None,
            noise_db=self.noise_db,
        )

    def _notes(self) -> list:
        """What an ear hears in what was recorded."""
        ear = Ear(self._rate)
        return standing([*ear.feed(self.recorded), *ear.flush()])[0]

    def _forget(self) -> None:
        self._parts, self._begin = [], self._end

    def _until(self, position: int) -> Iterator[Meter]:
        """Take sound up to a position; once a second say how loud it is."""
        said, peak = self._end, 0.0
        while self._end < position:
            for item in self._source.take(_LOOK_SEC):
                if isinstance(item, Lost):
                    self._heard_anything()
                    raise DeviceTrouble(f"the sound went away during the check: {item.line}")
                if isinstance(item, Block):
                    self._take(item)
                    peak = max(peak, float(np.abs(item.samples).max(initial=0.0)))
            if self._end - said >= _METER_SEC * self._rate:
                yield Meter(peak_db=20.0 * float(np.log10(max(1e-6, peak))), full=peak >= 1.0)
                said, peak = self._end, 0.0

    def _take(self, block: Block) -> None:
        if block.position > self._end:  # lost on the way
            self._parts.append(np.zeros(block.position - self._end, np.float32))
        self._clock.feed(
            block.position, block.adc_sec, block.dac_sec, flags=block.flags, came_sec=block.came_sec
        )
        self._parts.append(block.samples)
        self._end = block.position + len(block.samples)
