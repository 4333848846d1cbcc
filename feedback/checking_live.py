"""`soundcheck` with a microphone in the terminal: check, store the pair of devices, get to know the banjo."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import closing
from dataclasses import dataclass, field
from datetime import date
from typing import TYPE_CHECKING, Any

import numpy as np

from feedback import instruments, pairs
from feedback.checked import as_json, told
from feedback.checking import CLICK_DB, Checking, Source
from feedback.checking_events import CheckEvent, LevelFound, Meter, NoiseFound, TripFound
from feedback.checking_report import check_json, check_lines
from feedback.soundcheck import LONGEST_SEC, Checked, asked_notes, check_sound, to_play
from routines.neck import Neck

if TYPE_CHECKING:
    from feedback.trips import Trip
    from listener.devices import Asked

QUIET_SEC = 6.0
"""The list is over when nothing was played for so long."""

WAITS_SEC = 30.0
"""So long the first of its notes may take."""

_OVER_NOISE_DB = 15.0
_LOOK_SEC = 1.0


@dataclass(kw_only=True)
class LiveCheck:
    """A sound check in the terminal.

    Attributes
    ----------
    source : Source
        Started already.
    asked : Asked
        As the stream was asked for.
    neck : Neck
    instrument : str or None
        The name under which what is learnt of the banjo is kept.
    say : callable
        Prints a line.
    click_db : float
        Level of the click that is played along with.
    watch : callable
        Is given each event once it was dealt with: for a screen, which needs more than lines.
    stored : str
        What was stored, in words; empty before.
    """

    source: Source
    asked: Asked
    neck: Neck
    instrument: str | None
    say: Callable[[str], None]
    click_db: float = CLICK_DB
    watch: Callable[[CheckEvent], None] = lambda event: None
    stored: str = ""
    found: dict[str, Any] = field(default_factory=dict)
    """The same for programs, as far as it has come."""

    def run(self) -> None:
        """Check, tell, store.

        Raises
        ------
        OSError
            If the sound goes away, or what was found cannot be stored.
        """
        checking = Checking(self.source, click_db=self.click_db)
        with closing(checking.events()) as events:
            for event in events:
                for line in check_lines(event):
                    self.say(line)
                if isinstance(event, NoiseFound | TripFound | LevelFound):
                    self._note(checking, event)
                if isinstance(event, TripFound):  # at once: who has seen it may leave
                    self._store(event.trip, checking.noise_db)
                self.watch(event)
        if self.instrument is not None:
            self._acquaint(checking, self.instrument)

    def _note(self, checking: Checking, event: CheckEvent) -> None:
        """What is known by now, for programs."""
        stream = self.source.stream
        level = event if isinstance(event, LevelFound) else None
        names = stream.source, stream.sink
        self.found |= check_json(names, stream.rate, checking.trip, checking.noise_db, level)
        self.found.setdefault("stored", None)

    def _store(self, trip: Trip, noise_db: float | None) -> None:
        """Keep what was found for this pair of devices; what was measured before is not lost for nothing."""
        pair, what = self._pair(trip, noise_db), "the round trip"
        earlier = pairs.find(*pair.key)
        if not trip.measured:
            what = "no round trip"
            if earlier is not None and earlier.trip_sec is not None:
                pair, what = earlier, f"as it was: the round trip that was measured on {earlier.checked}"
        stored = pairs.save(pair)
        self.found["stored"], self.stored = str(stored), what
        self.say(f"  stored      {what}, for these two devices, which are used from now on: {stored}")

    def _pair(self, trip: Trip, noise_db: float | None) -> pairs.PairCheck:
        stream = self.source.stream
        return pairs.PairCheck(
            source=stream.source,
            sink=stream.sink,
            rate=stream.rate,
            block=stream.block,
            latency=self.asked.latency,
            extra_sec=trip.extra_sec if trip.measured else None,
            trip_sec=trip.trip_sec if trip.measured else None,
            unsure_sec=trip.unsure_sec,
            how=trip.how,
            checked=date.today().isoformat(),
            noise_db=noise_db,
            bleed_db=trip.bleed_db,
        )

    def _acquaint(self, checking: Checking, name: str) -> None:
        """Have the list played, and learn from it."""
        for line in to_play(self.neck)[:-1]:
            self.say(line)
        self.say(f"It is over when you pause for {QUIET_SEC:.0f} seconds.")
        enough = _Enough(self.source.rate, checking.noise_db, len(asked_notes(self.neck)))
        for event in checking.record(enough):
            if isinstance(event, Meter) and event.full:
                self.say("    too loud: turn the input down")
        sound = checking.recorded
        checked: Checked = check_sound(sound, self.source.rate, self.neck, file="microphone")
        profile, stored, trouble = checked.acquaintance.profile, None, None
        if profile is not None:
            try:
                stored = str(instruments.save(name, profile))
            except OSError as error:
                trouble = error  # what was found is told all the same
        for line in told(checked, name, stored):
            self.say(line)
        self.found["notes"] = as_json(checked, name, stored)
        if trouble is not None:
            raise trouble


class _Enough:
    """Whether the list has been played: nothing came for a while, after something had."""

    def __init__(self, rate: int, noise_db: float | None, notes: int) -> None:
        self._rate, self._notes = rate, notes
        self._loud = 10.0 ** (((noise_db if noise_db is not None else -70.0) + _OVER_NOISE_DB) / 10.0)

    def __call__(self, sound: np.ndarray) -> bool:
        sec = len(sound) / self._rate
        if sec >= LONGEST_SEC:
            return True
        size = round(_LOOK_SEC * self._rate)
        powers = [float(np.var(sound[at : at + size])) for at in range(0, len(sound) - size + 1, size)]
        loud = [at for at, power in enumerate(powers) if power > self._loud]
        if not loud:
            return sec >= WAITS_SEC
        return len(powers) - 1 - loud[-1] >= QUIET_SEC / _LOOK_SEC
