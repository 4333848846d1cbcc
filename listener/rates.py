"""From any sample rate to one that an ear hears at, in fixed steps so that nothing depends on block sizes.

44.1 and 48 kHz pass as they are. Every other rate goes through soxr's streaming resampler in steps of one
length, whatever blocks the file is read in. Its short filter ("LQ") keeps everything below a third of the
sample rate, far more than is listened to, and holds sound back by about 10 ms; the better ones by 20. What
comes out is in time with what went in.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import numpy as np

from listener.ear import RATES
from listener.framing import Hops
from listener.notes import NoteEvent, Report

_STEP_SEC = 0.0029  # about a hop of the ear
_QUALITY = "LQ"
_TRIAL_SEC = 2.0


class Resampler:
    """Brings mono sound to a rate that an ear hears at.

    Parameters
    ----------
    rate : int
        Samples a second of what comes in, 1 or more.

    Attributes
    ----------
    rate_out : int
        One of the ear's rates: the one whose ratio to `rate` is simplest.
    latency_sec : float
        A sample of sound has come out at the latest when so much more has gone in; 0 where the rate stays.
    """

    def __init__(self, rate: int) -> None:
        self._rate = rate
        self.rate_out = min(RATES, key=lambda goal: goal // np.gcd(goal, rate))
        self.latency_sec = 0.0
        self._given = 0
        self._stream: Any = None
        if rate != self.rate_out:
            step = max(1, round(_STEP_SEC * rate))
            self.latency_sec = self._greatest_lag_sec(step) + step / rate
            self._hops = Hops(step)
            self._stream = self._opened()

    def feed(self, samples: np.ndarray) -> Iterator[tuple[int, np.ndarray]]:
        """Take a block of any length.

        Parameters
        ----------
        samples : ndarray of float32, shape (n,)

        Yields
        ------
        (int, ndarray of float32)
            How many samples had gone in when this came out, and what came out.
        """
        if self._stream is None:
            self._given += len(samples)
            yield self._given, samples
            return
        for step in self._hops.feed(samples):
            self._given += len(step)
            yield self._given, self._stream.resample_chunk(step)

    def finish(self) -> np.ndarray:
        """What is still held back at the end of the sound, ndarray of float32."""
        if self._stream is None:
            return np.zeros(0, np.float32)
        last: np.ndarray = self._stream.resample_chunk(self._hops.left_over(), last=True)
        return last

    def _opened(self) -> Any:
        import soxr

        return soxr.ResampleStream(self._rate, self.rate_out, 1, dtype="float32", quality=_QUALITY)

    def _greatest_lag_sec(self, step: int) -> float:
        """The greatest lag while silence runs through: it depends on rates and steps, not on the sound."""
        stream, silence = self._opened(), np.zeros(step, np.float32)
        given, taken, lag = 0, 0, 0.0
        while given < _TRIAL_SEC * self._rate:
            given += step
            taken += len(stream.resample_chunk(silence))
            lag = max(lag, given / self._rate - taken / self.rate_out)
        return lag


class FileClock:
    """Turns an ear's times of hearing into times of a file, where a resampler stands between.

    Parameters
    ----------
    rate : int
        Of the file.
    latency_sec : float
        Of the resampler.
    """

    def __init__(self, rate: int, latency_sec: float) -> None:
        self._rate, self._latency_sec = rate, latency_sec
        self._heard_sec: dict[int, float] = {}

    def of_file(self, reports: list[Report], read: int, *, at_end: bool = False) -> list[Report]:
        """The same reports in times of the file.

        Parameters
        ----------
        reports : list of Report
        read : int
            Frames of the file that had been read when the ear gave them.
        at_end : bool
            Whether these are all, so that nothing can settle later than that.
        """
        if not self._latency_sec:
            return reports
        sec = read / self._rate
        return [Report(said.kind, said.number, self._note(said, sec, at_end)) for said in reports]

    def _note(self, said: Report, read_sec: float, at_end: bool) -> NoteEvent:
        settled_sec = said.note.settled_sec + self._latency_sec
        return replace(
            said.note,
            heard_sec=self._heard_sec.setdefault(said.number, read_sec),
            settled_sec=min(settled_sec, read_sec) if at_end else settled_sec,
        )
