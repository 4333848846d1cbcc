"""Whether a stream is well: it is called, it was not ended, it gives more than zeros, nobody slept.

A sound server that dies leaves a stream that says it is active and is never called again; a cable that
goes leaves one that is called and gets zeros; a system that slept goes on as if nothing had been. So the
only signs to go by are those here. Pure: facts and times in, trouble out.

Zeros are looked at with care. A microphone that is not permitted gives nothing else. One that gates its
noise gives them in every rest: if a stream comes back by itself before anything was done about it, it is
taken for such a one, and zeros worry nobody for longer. A soft click is sent by no microphone: real ones
are never exactly 0 for so long.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

STALLED_SEC = 0.5
"""A stream that was not called for so long stands still (bursts of 20 ms and some are usual)."""

ZEROS_SEC = 0.8
"""A microphone that gives exact zeros for so long gives nothing."""

GATED_SEC = 20.0
"""The same where it is known to come back by itself."""

REOPEN_SEC = 2.0
"""A stream of zeros is left alone for so long, then opened anew; each further time waits twice as long."""

REOPEN_MOST_SEC = 16.0
SLEPT_SEC = 1.0
"""Where a clock that runs on in sleep gains so much on one that does not, the system slept."""

PERMISSION = (
    "the microphone gives only zeros: play a note; if this stays, it is muted, unplugged or not permitted "
    "(macOS: System Settings, Privacy & Security, Microphone; Windows: Settings, Privacy & security, "
    "Microphone; Linux: the volume control's input, or the desktop's privacy settings)"
)


class Beating(Protocol):
    """What is looked at in a stream; see `listener.stream.Stream`."""

    rate: int
    beat_sec: float
    ended: bool
    zero_frames: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Trouble:
    """What is wrong.

    Attributes
    ----------
    line : str
        In one line for the player.
    reopen : bool
        Whether the stream must be opened anew now.
    """

    line: str
    reopen: bool


class Heartbeat:
    """Looks at one stream after another."""

    def __init__(self) -> None:
        self._offset: float | None = None
        self._zeros_before = False
        self._gated = False
        self._patience_sec = REOPEN_SEC

    @property
    def gated(self) -> bool:
        """Whether the microphone is known to give zeros in rests."""
        return self._gated

    def begin(self) -> None:
        """Another stream has taken the place of the one before; what is known of the microphone is kept."""
        self._offset = None
        self._zeros_before = False

    def look(self, stream: Beating, now_sec: float, awake_and_asleep_sec: float) -> Trouble | None:
        """Say what is wrong now.

        Parameters
        ----------
        stream : Beating
        now_sec : float
            By the monotonic clock, as `stream.beat_sec`; on most systems it stands still in sleep.
        awake_and_asleep_sec : float
            By a clock that runs on; the same one where there is no other.

        Returns
        -------
        Trouble or None
        """
        offset = awake_and_asleep_sec - now_sec
        slept = self._offset is not None and offset - self._offset > SLEPT_SEC
        self._offset = offset
        if slept:
            return Trouble(line="the system slept: the sound starts anew", reopen=True)
        if stream.ended:
            return Trouble(line="the sound device was unplugged, or its stream was ended", reopen=True)
        if now_sec - stream.beat_sec > STALLED_SEC:
            return Trouble(line="the sound system no longer answers", reopen=True)
        return self._zeros(stream.zero_frames / stream.rate)

    def _zeros(self, zeros_sec: float) -> Trouble | None:
        if zeros_sec < (GATED_SEC if self._gated else ZEROS_SEC):
            if self._zeros_before and zeros_sec < ZEROS_SEC:
                self._gated = True
            self._zeros_before = False
            if zeros_sec == 0.0:
                self._patience_sec = REOPEN_SEC
            return None
        reopen = zeros_sec >= self._patience_sec
        self._zeros_before = not reopen
        if reopen:
            self._patience_sec = min(2.0 * self._patience_sec, REOPEN_MOST_SEC)
        return Trouble(line=PERMISSION, reopen=reopen)
