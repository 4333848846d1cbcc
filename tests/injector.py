"""A banjo player in software: sound that goes into a software sound card's microphone without a break, and
takes that are laid into it at times of the monotonic clock.

What paplay plays begins when the sound server gets to it, some 50 to 300 ms late. Here one pacat runs all the
time, and its memory is kept full, so what lies between a write and the microphone is the same for all that is
written: `LATENCY_SEC` is a rough figure, its constancy is what counts. It is long enough that a busy machine
makes no gap, which would shift all that follows: with 70 ms there were four in a minute, of 5 to 82 ms.
"""

from __future__ import annotations

import subprocess
import threading
import time

import numpy as np

from tests.soundcard import SoundCard

LATENCY_SEC = 0.255
_CHUNK_SEC = 0.01
_PIPE_BYTES = 16384
_PACAT_MS = 200
_HUM_DB = -70.0


class Injector:
    """Plays soft noise into the card's microphone, and takes on top of it; a context manager.

    Threads: its own writes to pacat and blocks there; `lay` stores one tuple that the writer reads.

    Parameters
    ----------
    card : SoundCard

    Attributes
    ----------
    gaps : int
        Times that it had nothing to play, which shifts all that follows.
    """

    def __init__(self, card: SoundCard) -> None:
        import fcntl  # where there is a card, there is this

        self.rate = card.rate
        words = [
            "pacat",
            "--playback",
            f"--latency-msec={_PACAT_MS}",
            "--device=inj",
            "--raw",
            "--format=s16le",
            "--channels=1",
        ]
        self._pacat = subprocess.Popen(
            [*words, f"--rate={card.rate}"],
            env={**card.env, "LC_ALL": "C"},
            stdin=subprocess.PIPE,
            stderr=subprocess.PIPE,
        )
        self.gaps = 0
        threading.Thread(target=self._read, name="injector's words", daemon=True).start()
        assert self._pacat.stdin is not None
        fcntl.fcntl(self._pacat.stdin, fcntl.F_SETPIPE_SZ, _PIPE_BYTES)
        self._takes: tuple[tuple[int, np.ndarray], ...] = ()
        self._written = 0
        self._wrote_sec = time.monotonic()
        self._over = False
        self._thread = threading.Thread(target=self._write, name="injector", daemon=True)
        self._thread.start()

    def __enter__(self) -> Injector:
        return self

    def __exit__(self, *_: object) -> None:
        self.stop()

    def lay(self, sound: np.ndarray, at_sec: float) -> None:
        """Have a mono take begin at a time of the monotonic clock, roughly; what is too late is left out."""
        here, now = self._written, time.monotonic()
        begin = here + round((at_sec - LATENCY_SEC - now) * self.rate)
        self._takes = (*self._takes, (begin, np.asarray(sound, np.float64)))

    def stop(self) -> None:
        """End it."""
        self._over = True
        self._pacat.terminate()
        self._thread.join(2.0)
        self._pacat.wait(2.0)

    def _read(self) -> None:
        assert self._pacat.stderr is not None
        for line in self._pacat.stderr:
            self.gaps += b"underrun" in line

    def _write(self) -> None:
        assert self._pacat.stdin is not None
        rng = np.random.default_rng(7)
        size = round(_CHUNK_SEC * self.rate)
        while not self._over:
            chunk = 10.0 ** (_HUM_DB / 20.0) * rng.standard_normal(size)
            end = self._written + size
            for begin, sound in self._takes:
                first, last = max(begin, self._written), min(begin + len(sound), end)
                if first < last:
                    chunk[first - self._written : last - self._written] += sound[first - begin : last - begin]
            try:
                self._pacat.stdin.write((np.clip(chunk, -1.0, 1.0) * 32767.0).astype("<i2").tobytes())
                self._pacat.stdin.flush()
            except OSError:  # the server has died, or it was stopped
                return
            self._written = end
