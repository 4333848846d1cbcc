"""Listening to a microphone while something is played: one stream, one clock, what was heard in order.

Threads and who may block:

- PortAudio's (listener/device.py): copies and returns.
- the keeper's (listener/keeper.py): opens, watches, gets the stream back; may hang in the sound library.
- the analysis thread, here: empties the ring every few milliseconds, lays the sound on the output's
  clock, feeds the ear, hands on what it said. It never waits for anybody: a full queue drops the item,
  counts it, and the next item says that the stretch is deaf.
- the session's: whoever calls `take`, `play`, `expect`. None of these waits for the sound card.

What crosses threads: the ring and the playout (see there), the keeper's news (a bounded deque), the queue
of items, the expectations (a deque of one), the wish to settle, what is known of the round trip, and what
sounds now (each one store of one frozen object); the clock itself is the analysis thread's alone.

Times are seconds of the stream's own count of frames, as they sounded: a note played with the click has
the click's time. Each new stream begins at 0 with a new ear; the tuning that the ear had found goes on.
"""

from __future__ import annotations

import logging
import queue
import threading
import time
from collections import deque
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

import numpy as np

from listener.ear import EarSettings
from listener.expecting import Expectation
from listener.instrument import Profile
from listener.keeper import Back, Keeper, Lost
from listener.playhead import other_clocks
from listener.run import SAYS_SEC, Condition, Heard, MeasuredTrip, Run
from listener.tape import Tape

if TYPE_CHECKING:
    from listener.stream import Stream

ITEMS = 4096
"""So many items wait at most for the session."""

GROWN_SEC = 0.03
"""A round trip that is longer by so much than it was at first is worth another stream."""

LOOK_SEC = 0.002
"""So long the analysis thread sleeps when the ring is empty."""

TUNED_NOTES = 20
"""After so many notes an ear's tuning is good enough to begin another one with."""


_LOG = logging.getLogger("sevenfall.live")


class Live:
    """A microphone that is listened to.

    Parameters
    ----------
    open_stream : callable
        Opens and starts a stream; see `listener.device.open_stream`.
    renew : callable
        Starts the sound library anew.
    settings : EarSettings, optional
        How the ear is built: one that knows the instrument, say.
    measured : callable, optional
        Given a stream that was opened, what is known of its round trip beforehand, or None.
    keep : bool
        Whether `tape` is written.
    bleed_out : bool
        Whether what is played is taken out of the microphone.
    """

    def __init__(
        self,
        open_stream: Callable[[], Stream],
        renew: Callable[[], None],
        *,
        settings: EarSettings | None = None,
        measured: Callable[[Stream], MeasuredTrip | None] | None = None,
        keep: bool = False,
        bleed_out: bool = True,
    ) -> None:
        self._settings, self._measured, self._keep = settings, measured, keep
        self._bleed_out = bleed_out
        self._news: deque[Lost | Back] = deque(maxlen=64)
        self._keeper = Keeper(open_stream, renew, self._news.append)
        self._items: queue.Queue[Heard | Lost | Back] = queue.Queue()
        self._stopping = threading.Event()
        self._thread = threading.Thread(target=self._run, name="analysis", daemon=True)
        self._wanted: deque[Sequence[Expectation]] = deque(maxlen=1)
        self._settle = self._relearn = False
        self._run_of: Run | None = None
        self._before = (0, 0, 0)
        self._dropped = 0
        self._fault: BaseException | None = None

    def start(self) -> None:
        """Open the stream and begin to listen.

        Raises
        ------
        OSError
            As `Keeper.start`.
        """
        self._switch(self._keeper.start())
        self._thread.start()

    def stop(self) -> None:
        """End it; waits a moment at most."""
        self._keeper.stop()
        self._stopping.set()
        if self._thread.ident is not None:
            self._thread.join(1.0)

    @property
    def hung(self) -> bool:
        """Whether a stream hangs in the sound library, so that leaving the program may hang, too."""
        return self._keeper.hung > 0

    @property
    def rate(self) -> int:
        """Samples a second of the stream that runs now."""
        return self._now.stream.rate

    @property
    def now_sec(self) -> float:
        """Time of the frame that was handed to the sound card last."""
        return self._now.stream.position / self._now.stream.rate

    def sounding_sec(self, monotonic_sec: float | None = None) -> float:
        """Which second of the stream that runs now leaves the loudspeaker; from any thread.

        Parameters
        ----------
        monotonic_sec : float, optional
            When, by the monotonic clock; now, if it is left out.

        Returns
        -------
        float
            In times of `now_sec`, and mostly a little behind it; never goes back while one stream runs. As
            `now_sec` before the first block.
        """
        run = self._now
        if not run.playhead.known:
            return run.stream.position / run.stream.rate
        return run.playhead.at(time.monotonic() if monotonic_sec is None else monotonic_sec)

    @property
    def ready(self) -> bool:
        """Whether a round trip is known, so that what is heard has its time."""
        return self._now.known.ready and not self._now.leaving

    @property
    def tape(self) -> Tape:
        """Where the sound goes that is to be kept; its samples are those that the ear was fed."""
        return self._now.tape

    @property
    def condition(self) -> Condition:
        """How the sound was a moment ago."""
        stream, known = self._now.stream, self._now.known
        overflows, underflows, dropped = self._counts(self._now)
        return Condition(
            source=stream.source,
            sink=stream.sink,
            rate=stream.rate,
            block=stream.block,
            round_trip_sec=known.round_trip_sec,
            unsure_sec=known.unsure_sec,
            basis=known.basis,
            drift_ppm=known.drift_ppm,
            overflows=overflows,
            underflows=underflows,
            dropped=dropped + self._dropped,
            bleed_db=known.bleed_db,
        )

    def play(self, sound: np.ndarray, at_sec: float) -> None:
        """Lay a mono sound at a time of the stream that runs now."""
        stream = self._now.stream
        stream.playout.add(sound, round(at_sec * stream.rate), now=stream.position)

    @property
    def grown(self) -> bool:
        """Whether the round trip is so much longer than it was that the stream should be opened anew."""
        known = self._now.known
        return known.ready and known.round_trip_sec > known.first_trip_sec + GROWN_SEC

    def freshen(self) -> None:
        """Have another stream opened, for when nobody plays; `ready` is false until it is there and known.

        Where a system had nothing to play, the round trip may have grown for good.
        """
        self._now.leaving = True
        self._keeper.freshen()

    def hush(self) -> None:
        """Play nothing any more."""
        self._now.stream.playout.clear()

    def expect(self, expectations: Sequence[Expectation]) -> None:
        """Tell the ear what to expect from now on, in times of the stream that runs now."""
        self._wanted.append(tuple(expectations))

    def relearn(self) -> None:
        """A turn begins: what is played may come back to the microphone another way by now."""
        self._relearn = True

    def settle(self) -> None:
        """Nobody plays now: take the best that is known of the round trip for what comes."""
        self._settle = True

    def take(self, wait_sec: float) -> list[Heard | Lost | Back]:
        """What has come since, in order; waits for the first item at most so long.

        Raises
        ------
        RuntimeError
            If the analysis thread came to an end by a fault of its own.
        """
        found: list[Heard | Lost | Back] = []
        try:
            found.append(self._items.get(timeout=wait_sec))
            while True:
                found.append(self._items.get_nowait())
        except queue.Empty:
            pass
        if self._fault is not None and not found:
            raise RuntimeError("the analysis thread ended") from self._fault
        return found

    @property
    def _now(self) -> Run:
        assert self._run_of is not None, "start() comes first"
        return self._run_of

    def _counts(self, run: Run) -> tuple[int, int, int]:
        stream = run.stream
        now = stream.input_overflows, stream.output_underflows, stream.ring.dropped_blocks
        return tuple(a + b for a, b in zip(self._before, now, strict=True))  # type: ignore[return-value]

    def _switch(self, stream: Stream) -> None:
        settings = self._settings
        if self._run_of is not None:
            self._before = self._counts(self._run_of)
            if settings is None and self._run_of.notes >= TUNED_NOTES:
                settings = Profile(tuning_cents=self._run_of.ear.tuning_cents).settings()
        measured = self._measured(stream) if self._measured else None
        self._run_of = Run(stream, settings, measured, bleed_out=self._bleed_out)

    def _run(self) -> None:
        try:
            while not self._stopping.is_set():
                stream = self._keeper.stream
                if stream is not None and stream is not self._now.stream:
                    self._switch(stream)
                busy = self._listen(self._now)
                while self._news:
                    self._hand_on(self._news.popleft())
                if not busy:
                    time.sleep(LOOK_SEC)
        except BaseException as error:  # told by `take`, in the thread that can tell it
            _LOG.exception("the analysis thread ended")
            self._fault = error

    def _listen(self, run: Run) -> bool:
        """Take up one block, if there is one."""
        block = run.stream.ring.read()
        if block is None:
            return False
        taken_sec = time.monotonic()
        while self._wanted:
            run.expected.renew(self._wanted.popleft())
        if self._relearn:
            self._relearn = False
            run.bleed.renew()
        if self._settle:
            self._settle = False
            run.aligner.settle()
        run.listen(block, keep=self._keep, clocks=other_clocks())
        said_sec = time.monotonic()
        if run.said or run.now_sec - run.told_sec >= SAYS_SEC:
            item = run.item(block, taken_sec, said_sec)
            if not self._hand_on(item):
                run.unheard(item)
        return True

    def _hand_on(self, item: Heard | Lost | Back) -> bool:
        """Put an item into the queue; news of the keeper, which are few, even where it is full."""
        if isinstance(item, Heard) and self._items.qsize() >= ITEMS:
            self._dropped += 1
            return False
        self._items.put_nowait(item)
        return True
