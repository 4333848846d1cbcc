"""A program that measures its round trip as the sound check does, and the truth beside it; for test_live.

The truth is bursts of noise laid at positions of the same stream: nothing but the burst itself is like it.
"""

from __future__ import annotations

import json
import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import numpy as np

from feedback import checking as checking_module
from feedback import settings
from feedback.checking import Checking
from feedback.errors import own_standard_error
from feedback.soundcard import asked_stream, taking

WAIT_SEC = 0.4
checking_module.LONGEST_SEC = 0.3  # so long a way there is not here


def main() -> None:
    own_standard_error()
    source = taking(asked_stream("live", settings.load(["latency=0.05"])))
    source.start()
    checking = Checking(source, along=False)
    before = burst_ms(checking)
    list(checking._round_trip())
    after = burst_ms(checking)
    trip = checking.trip
    assert trip is not None
    source.stop()
    print(
        json.dumps(
            {
                "how": trip.how,
                "trip_ms": 1e3 * trip.trip_sec,
                "unsure_ms": 1e3 * trip.unsure_sec,
                "stamps_ms": None if trip.stamps_sec is None else 1e3 * trip.stamps_sec,
                "bursts_ms": [before, after],
            }
        )
    )


def burst_ms(checking: Checking) -> float:
    """The round trip by a burst of noise, to the sample."""
    source = checking._source
    burst = (0.1 * np.random.default_rng(8).standard_normal(4096)).astype(np.float32)
    checking._forget()
    at = checking._end + source.rate // 2
    source.play(burst, at)
    while checking._end < at + len(burst) + WAIT_SEC * source.rate:
        list(checking._until(checking._end + 4096))
    taken = checking.recorded[at - checking._begin :]
    size = 1 << 17
    likeness = np.fft.irfft(np.fft.rfft(taken, size) * np.fft.rfft(burst, size).conj(), size)
    return 1e3 * int(likeness[: len(taken) - len(burst)].argmax()) / source.rate


if __name__ == "__main__":
    main()
