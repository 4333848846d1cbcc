"""A microphone as it is: the blocks of a stream in order, with news of where the sound went and came back.

For what needs no ear: the tuner, the sound check. Threads: PortAudio's and the keeper's, as in
`listener.live`; whoever calls `take` empties the ring, so that is to be one thread. Nothing here waits for
the sound card, but for `start`.
"""

from __future__ import annotations

import time
from collections import deque
from collections.abc import Callable
from typing import TYPE_CHECKING

import numpy as np

from listener.keeper import Back, Keeper, Lost
from listener.ring import Block

if TYPE_CHECKING:
    from listener.stream import Stream

_LOOK_SEC = 0.005


class Taking:
    """A microphone whose sound is taken as it comes.

    Parameters
    ----------
    open_stream : callable
        Opens and starts a stream; see `listener.device.open_stream`.
    renew : callable
        Starts the sound library anew.
    """

    def __init__(self, open_stream: Callable[[], Stream], renew: Callable[[], None]) -> None:
        self._news: deque[Lost | Back] = deque(maxlen=64)
        self._keeper = Keeper(open_stream, renew, self._news.append)
        self._stream: Stream | None = None

    def start(self) -> None:
        """Open the stream.

        Raises
        ------
        OSError
            As `listener.keeper.Keeper.start`.
        """
        self._stream = self._keeper.start()

    def stop(self) -> None:
        """End it; waits a moment at most."""
        self._keeper.stop()

    @property
    def hung(self) -> bool:
        """Whether a stream hangs in the sound library, so that leaving the program may hang, too."""
        return self._keeper.hung > 0

    @property
    def stream(self) -> Stream:
        """The stream whose blocks are handed on; another one after `Back`, which begins at position 0."""
        assert self._stream is not None, "start() comes first"
        return self._stream

    @property
    def rate(self) -> int:
        """Samples a second."""
        return self.stream.rate

    def play(self, sound: np.ndarray, position: int) -> None:
        """Lay a mono sound at a position of the stream that runs now."""
        self.stream.playout.add(sound, position, now=self.stream.position)

    def take(self, wait_sec: float) -> list[Block | Lost | Back]:
        """What has come since, in order; waits for the first item at most so long."""
        until = time.monotonic() + wait_sec
        while True:
            found = self._come()
            if found or time.monotonic() >= until:
                return found
            time.sleep(_LOOK_SEC)

    def _come(self) -> list[Block | Lost | Back]:
        stream, found = self.stream, list[Block | Lost | Back]()
        while (block := stream.ring.read()) is not None:
            zeros = 0 if block.samples.any() else stream.zero_frames + len(block.samples)
            stream.zero_frames = zeros
            found.append(block)
        now = self._keeper.stream
        if now is not None and now is not stream:
            self._stream = now
        while self._news:
            found.append(self._news.popleft())
        return found
