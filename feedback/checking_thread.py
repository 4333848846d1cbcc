"""The sound check while a window looks on: what there is to see, as one immutable state, and its work.

Threads: as in `feedback.offstage`; everything in here but `CheckingThread`'s own methods runs on the work's
thread. Time in a step is that of the sound that was taken, so a test needs no clock.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal

from feedback.offstage import Attended, Microphone, Offstage, Staged

if TYPE_CHECKING:
    from feedback.checking_events import CheckEvent, LevelFound
    from feedback.trips import Trip
    from listener.devices import Asked
    from listener.keeper import Back, Lost
    from listener.ring import Block

FLOOR_DB = -90.0
"""Nothing is shown as softer."""

Step = Literal["opening", "still", "sweeps", "play along", "get ready", "play", "done", "failed"]

_FALLS_DB_A_SEC = 24.0
_FULL_SEC = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckState:
    """A sound check at a moment.

    Attributes
    ----------
    step : Step
        What the player is asked for.
    at_sec, step_sec : float
        So much of the step is over, of so much; 0 where that is not known beforehand.
    begins_sec : float
        Where it is played along: until the first click.
    level_db : float
        How loud it is just now, in dB of full scale: the greatest sample, falling off slowly.
    loudest_db : float
        The greatest sample of the step.
    full : bool
        Whether a moment ago that was all there is.
    devices : str
        Microphone and output in a line.
    noise_db : float or None
    trip : Trip or None
    level : LevelFound or None
        What was found so far.
    along : {"", "asked", "told nothing"}
        Whether it had to be played along, and whether that told nothing.
    stored : str
        What was stored for these two devices, in words.
    news : str
        What was wrong; empty where all is well.
    """

    step: Step = "opening"
    at_sec: float = 0.0
    step_sec: float = 0.0
    begins_sec: float = 0.0
    level_db: float = FLOOR_DB
    loudest_db: float = FLOOR_DB
    full: bool = False
    devices: str = ""
    noise_db: float | None = None
    trip: Trip | None = None
    level: LevelFound | None = None
    along: Literal["", "asked", "told nothing"] = ""
    stored: str = ""
    news: str = ""

    @property
    def left_sec(self) -> float:
        """So much of the step is left."""
        return max(0.0, self.step_sec - self.at_sec)


class CheckingThread(Staged[CheckState]):
    """Checks sound on its own thread; `state` is what there is to see.

    Parameters
    ----------
    asked : Asked
        As the stream is asked for.
    make : callable
        Makes the microphone, not started yet.
    click_db : float
        Level of the click that is played along with.
    say : callable, optional
        Is given, on the work's thread, the lines that a terminal has.
    """

    def __init__(
        self,
        asked: Asked,
        make: Callable[[], Microphone],
        *,
        click_db: float,
        say: Callable[[str], None] = lambda line: None,
    ) -> None:
        self._asked, self._make, self._click_db, self._say = asked, make, click_db, say
        super().__init__()

    def again(self) -> None:
        """Check once more, from the beginning."""
        self._renew()

    def _begun(self) -> Offstage[CheckState]:
        return Offstage(CheckState(), make=self._prepared, work=self._check, failed=_failed)

    def _prepared(self) -> Microphone:
        from feedback import pairs

        pairs.prepare()
        return self._make()

    def _check(self, source: Attended, show: Callable[[CheckState], None]) -> None:
        from feedback.checking_live import LiveCheck
        from feedback.checking_report import taken_line
        from routines.neck import Neck

        follower, stream = _Follower(source, show), source.stream
        self._say(taken_line(stream.source, stream.sink, stream.rate))
        live = LiveCheck(
            source=source,
            asked=self._asked,
            neck=Neck(),
            instrument=None,
            say=self._say,
            click_db=self._click_db,
            watch=lambda event: follower.happened(event, live.stored),
        )
        live.run()


class _Follower:
    """Folds what is told and what is taken into states; on the work's thread."""

    def __init__(self, source: Attended, show: Callable[[CheckState], None]) -> None:
        self._source, self._show = source, show
        self._full_sec = 0.0
        stream = source.stream
        self._state = CheckState(devices=f"microphone {stream.source}, output {stream.sink}")
        source.watch = self.took

    def happened(self, event: CheckEvent, stored: str) -> None:
        """Something was asked for, or found."""
        self._state = replace(after(self._state, event), stored=stored)
        self._show(self._state)

    def took(self, items: Sequence[Block | Lost | Back]) -> None:
        """Sound was taken."""
        from listener.ring import Block

        for item in items:
            if isinstance(item, Block):
                self._heard(item)
        self._show(self._state)

    def _heard(self, block: Block) -> None:
        import numpy as np

        sec = len(block.samples) / self._source.rate
        peak = float(np.abs(block.samples).max(initial=0.0))
        self._full_sec = _FULL_SEC if peak >= 1.0 else max(0.0, self._full_sec - sec)
        self._state = later(self._state, sec, level_of(peak), full=self._full_sec > 0.0)


def level_of(peak: float) -> float:
    """A greatest sample in dB of full scale, `FLOOR_DB` at least."""
    return max(FLOOR_DB, 20.0 * math.log10(max(peak, 1e-6)))


def later(state: CheckState, sec: float, peak_db: float, *, full: bool) -> CheckState:
    """The state after so much sound, its greatest sample at so many dB of full scale."""
    from feedback import checking

    state = replace(
        state,
        at_sec=state.at_sec + sec,
        level_db=max(peak_db, state.level_db - _FALLS_DB_A_SEC * sec),
        loudest_db=max(peak_db, state.loudest_db),
        full=full,
    )
    if state.step == "get ready" and state.left_sec <= 0.0:
        return replace(
            state, step="play", at_sec=0.0, step_sec=checking.PLAY_SEC, loudest_db=FLOOR_DB, full=False
        )
    return state


def after(state: CheckState, event: CheckEvent) -> CheckState:
    """The state after something was asked for or found."""
    from feedback import checking
    from feedback import checking_events as events

    begun = replace(state, at_sec=0.0, step_sec=0.0, loudest_db=FLOOR_DB)
    match event:
        case events.Still(sec=sec):
            return replace(begun, step="still", step_sec=sec)
        case events.NoiseFound(noise_db=noise_db):
            return replace(state, noise_db=noise_db)
        case events.Sweeping():
            return state if state.step == "sweeps" else replace(begun, step="sweeps")
        case events.PlayAlong(sec=sec, begins_sec=begins_sec):
            whole = begins_sec + sec
            return replace(begun, step="play along", along="asked", step_sec=whole, begins_sec=begins_sec)
        case events.NothingTold():
            return replace(state, along="told nothing")
        case events.TripFound(trip=trip):
            return replace(state, trip=trip)
        case events.PlayAway():
            return replace(begun, step="get ready", step_sec=checking.READY_SEC)
        case events.LevelFound():
            return replace(state, level=event)
        case events.Ended():
            return replace(begun, step="done")
        case _:
            return state


def _failed(state: CheckState, line: str) -> CheckState:
    return replace(state, step="failed", news=line)
