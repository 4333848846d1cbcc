"""`play --from mic`: from the command line to a stream, and from what happens to lines, JSON and files."""

from __future__ import annotations

import logging
from collections.abc import Callable, Mapping
from contextlib import closing
from datetime import datetime
from functools import partial
from pathlib import Path

from feedback.errors import one_line, tell
from feedback.keeping import store
from feedback.practice import Practice
from feedback.practice_events import CountIn, Kept, Passed, PracticeRequest, SoundBack, SoundLost
from feedback.practice_report import event_lines, losses_line, opening, practice_json, report_lines
from listener.device import open_stream, renew_library
from listener.devices import Asked
from listener.ear import EarSettings
from listener.live import Live

_LOG = logging.getLogger("sevenfall.play")


def asked_stream(device: str | None, values: Mapping[str, str | float]) -> Asked:
    """The stream that the flag and the settings ask for."""
    rate = values["rate"]
    latency = values["latency"]
    return Asked(
        device=device,
        rate=None if rate == "device" else int(rate),
        block=int(values["block"]),
        latency=latency,
        channel=int(values["channel"]),
    )


def microphone(
    asked: Asked, values: Mapping[str, str | float], *, ear: EarSettings | None = None, keep: bool = False
) -> Live:
    """A microphone to be listened to, not started yet."""
    measured = values["round_trip_ms"]
    return Live(
        partial(open_stream, asked),
        renew_library,
        settings=ear,
        measured_sec=None if measured == "unknown" else float(measured) / 1e3,
        keep=keep,
    )


class LivePlay:
    """Practises with a microphone in the terminal.

    Parameters
    ----------
    request : PracticeRequest
    live : Live
    say : callable
        Prints a line for the player; nothing is said where JSON is asked for.
    folder : pathlib.Path or None
        Where takes are kept.
    """

    def __init__(
        self, request: PracticeRequest, live: Live, say: Callable[[str], None], folder: Path | None
    ) -> None:
        self._request, self._live, self._say, self._folder = request, live, say, folder
        self._practice = Practice(request, live)
        self._begun = datetime.now()
        self._faults: list[str] = []
        self._takes: list[str] = []
        self._fell = ""

    def run(self) -> bool:
        """Play turns to the end, then report.

        Returns
        -------
        bool
            False if the player interrupted it; all that was played is reported all the same.

        Raises
        ------
        OSError
            If the sound cannot be opened, or stays away.
        """
        self._live.start()
        finished = True
        try:
            self._play()
        except KeyboardInterrupt:
            finished = False
            self._store(self._practice.unstored)
        finally:
            self._live.stop()
        for line in self._report():
            self._say(line)
        return finished

    def json(self) -> str:
        """All of it as one JSON object."""
        return practice_json(
            self._request, self._practice.turns, self._live.condition, self._takes, self._faults
        )

    def _play(self) -> None:
        told = False
        with closing(self._practice.events()) as events:
            for event in events:
                if isinstance(event, CountIn):
                    trip_sec = self._live.condition.round_trip_sec
                    words = "count-in of turn %d at %.4f by the monotonic clock, round trip %.4f s"
                    _LOG.info(words, event.turn, event.begins_sec, trip_sec)
                    if not told:
                        told = True
                        for line in opening(self._request, self._live.condition):
                            self._say(line)
                elif isinstance(event, Kept):
                    self._store(event)
                elif isinstance(event, (SoundLost, SoundBack)):
                    self._fault(event)
                    continue
                for line in event_lines(self._request, event):
                    if not (isinstance(event, Passed) and line == self._fell):  # said already
                        self._say(line)
                    self._fell = line

    def _fault(self, event: SoundLost | SoundBack) -> None:
        """Faults are told on standard error, so that JSON stays alone."""
        for line in event_lines(self._request, event):
            self._faults.append(line.strip())
            tell(line.strip())

    def _store(self, kept: Kept | None) -> None:
        if kept is None or self._folder is None or not len(kept.sound):
            return
        try:
            self._takes.append(str(store(self._folder, kept, self._request, self._begun)))
        except OSError as error:  # the playing goes on
            self._faults.append(one_line(error))
            tell(one_line(error))

    def _report(self) -> list[str]:
        lines = list(report_lines(self._request, self._practice.turns))
        lost = losses_line(self._live.condition)
        kept = [f"Kept: {name}" for name in self._takes]
        return [*lines, *([f"\n{lost}"] if lost else []), *kept]
