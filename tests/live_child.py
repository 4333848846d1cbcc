"""The live path with a picture's worth of work on the main thread: a program of its own for the live tests.

    python tests/live_child.py LICK TEMPO PASSES LOG WORK_MS KEPT

Practises one turn with the microphone as `play --from mic --json` does. Between two looks at what was heard
the main thread works for so many milliseconds of each sixtieth of a second, as drawing a lane does: arrays
filled and blended, text laid out, the lock of the interpreter held. KEPT is a folder for the take.
"""

from __future__ import annotations

import os
import sys
import time
from pathlib import Path

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import numpy as np

from feedback import settings
from feedback.errors import own_standard_error
from feedback.playing_live import LivePlay
from feedback.practice_request import PracticeRequest
from feedback.soundcard import asked_stream, microphone
from listener.live import Live
from routines.library import load

FRAME_SEC = 1 / 60


def drawing(live: Live, work_sec: float) -> None:
    """Make a microphone's `take` do a frame's work first, and wait for the rest of the frame."""
    plain = live.take
    canvas = np.zeros((360, 640, 3), np.uint8)
    due = [time.perf_counter()]

    def take(wait_sec: float) -> list:
        begun = time.perf_counter()
        frame = 0
        while time.perf_counter() - begun < work_sec:
            canvas[frame % 360 :: 7] = canvas[frame % 360 :: 7] // 2 + 40
            sum(len(f"{k}:{frame}") for k in range(60))  # plain interpreted work, as layout is
            frame += 1
        due[0] = max(due[0] + FRAME_SEC, begun)
        time.sleep(max(0.0, due[0] - time.perf_counter()))
        return plain(0.0)

    live.take = take  # type: ignore[method-assign]


def main(lick: str, tempo: str, passes: str, log: str, work_ms: str, kept: str) -> int:
    """Practise, print the JSON."""
    import logging

    logging.basicConfig(filename=log, level=logging.INFO)
    own_standard_error()
    values = settings.load(["latency=0.05"])
    request = PracticeRequest(
        lick=load(lick),
        tempo_half_bpm=float(tempo),
        passes=int(passes),
        turns=1,
        rest_sec=0.0,
        keep=True,
    )
    live = microphone(asked_stream("live", values), values, keep=True)
    drawing(live, float(work_ms) / 1e3)
    playing = LivePlay(request, live, lambda line: None, Path(kept))
    playing.run()
    print(playing.json())
    return 0


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
