"""`play --from mic` in the terminal: from what happens to lines, JSON and files."""

from __future__ import annotations

import logging
from collections.abc import Callable, Iterator
from contextlib import closing
from dataclasses import replace
from datetime import datetime
from itertools import islice
from pathlib import Path

from feedback.company import Company
from feedback.drifting import Drifted
from feedback.errors import one_line, tell
from feedback.keeping import store
from feedback.onethread import quick_turns
from feedback.practice import Practice
from feedback.practice_events import (
    CountIn,
    Event,
    Kept,
    NobodyPlays,
    Opened,
    Passed,
    Remarked,
    SoundBack,
    SoundLost,
    StringOff,
    Trouble,
    TurnOver,
)
from feedback.practice_json import practice_json
from feedback.practice_report import (
    bleed_line,
    condition_line,
    event_lines,
    losses_line,
    opening,
    report_lines,
    turn_sentence,
)
from feedback.practice_request import PracticeRequest
from feedback.wishes import Wishes
from listener.live import Live
from listener.tape import MOST_SEC

_LOG = logging.getLogger("sevenfall.play")


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
    wishes : Wishes, optional
        What the player wishes of it meanwhile.
    company : Company, optional
        Who goes along with it.
    waits : bool
        Whether it waits for such a wish instead of ending.
    """

    def __init__(
        self,
        request: PracticeRequest,
        live: Live,
        say: Callable[[str], None],
        folder: Path | None,
        *,
        wishes: Wishes | None = None,
        company: Company | None = None,
        waits: bool = False,
    ) -> None:
        self._request, self._live, self._say, self._folder = request, live, say, folder
        self._company = company or Company()
        self._practice = Practice(request, live, wishes=wishes, waits=waits)
        self._watch: Callable[[Event], None] = _unwatched
        self._begun = datetime.now()
        self._faults: list[str] = []
        self._takes: list[str] = []
        self._drifted: list[Drifted] = []
        self._offered: set[str] = set()
        self._opened = False
        self._fell = self._remark = ""
        self._told = 0
        self.ended = "sound lost"
        """Why it ended; as in `feedback.practice_report.practice_json`."""
        self.unstored = 0
        """Takes and passes that could not be stored."""

    def run(self, watch: Callable[[Event], None] | None = None) -> None:
        """Play turns to the end, or until the player interrupts it, then report.

        Parameters
        ----------
        watch : callable, optional
            Is handed every event as it comes.

        Raises
        ------
        OSError
            If the sound cannot be opened, or stays away. In the latter case, and after an interruption, too,
            what was played is reported first.
        """
        quick_turns()
        self._watch = watch or _unwatched
        self._live.start()
        self._opened = True
        try:
            self._play()
            self.ended = self.ended if self.ended == "nobody plays" else "turns played"
        except KeyboardInterrupt:
            self.ended = "interrupted"
        finally:
            self._store(self._practice.unstored)
            self._live.stop()
            self._leave()
            for line in self._report():
                self._say(line)

    def part_sec(self) -> float | None:
        """Which second of the running part sounds now; from any thread."""
        return self._practice.part_sec()

    @property
    def lean_unsure_ms(self) -> float | None:
        """A lean within this is not told from none; None before the sound is there."""
        return 1e3 * self._live.condition.unsure_sec if self._opened else None

    @property
    def devices(self) -> str:
        """Microphone, output and round trip in a line; empty before the sound is there."""
        return condition_line(self._live.condition) if self._opened else ""

    @property
    def hung(self) -> bool:
        """Whether a stream hangs, so that leaving the program may hang, too."""
        return self._live.hung

    @property
    def played(self) -> bool:
        """Whether there is anything to report."""
        return bool(self._practice.turns)

    def json(self) -> str:
        """All of it as one JSON object."""
        return practice_json(
            self._as_sure(),
            self._practice.turns,
            self._live.condition if self._opened else None,
            ended=self.ended,
            asked=self._practice.asked,
            remark=self._remark,
            takes=self._takes,
            faults=self._faults,
            drifted=self._drifted,
        )

    def _play(self) -> None:
        with closing(self._practice.events()) as events:
            for event in events:
                besides = list(self._company.heed(event, self._practice.request))
                for one in (event, *besides):
                    self._tell(one)

    def _tell(self, event: Event) -> None:
        """Hand an event on, and say what there is to say of it."""
        self._watch(event)
        if isinstance(event, CountIn):
            trip_sec = self._live.condition.round_trip_sec
            words = "count-in of turn %d at %.4f by the monotonic clock, round trip %.4f s"
            _LOG.info(words, event.turn, event.begins_sec, trip_sec)
        elif isinstance(event, Opened):
            for line in opening(self._request, self._live.condition):
                self._say(line)
        elif isinstance(event, Kept):
            self._store(event)
        elif isinstance(event, (SoundLost, SoundBack)):
            self._fault(event)
            return
        elif isinstance(event, Remarked):
            self._remark = event.line
        elif isinstance(event, Trouble):
            self.unstored += event.lost
            if event.line:
                self._wrong(event.line)
        elif isinstance(event, TurnOver):
            self._told = event.turn
        elif isinstance(event, StringOff):
            self._drifted.append(event.drifted)
        elif isinstance(event, NobodyPlays):
            self.ended = "nobody plays"
        for line in self._lines(event):
            if not (isinstance(event, Passed) and line == self._fell):  # said already
                self._say(line)
            self._fell = line

    def _leave(self) -> None:
        """The practice is over: passes that were cut short of being told are heeded, and the company goes."""
        turns = self._practice.turns
        for over in turns[-1] if turns else ():
            passed = Passed(turn=len(turns), over=over)
            for event in self._company.heed(passed, self._practice.asked[-1]):
                self._tell(event)
        for event in self._company.close():
            self._tell(event)

    def _lines(self, event: Event) -> Iterator[str]:
        """What is said of an event; what was offered once is not offered again."""
        lines = event_lines(self._as_sure(), event)
        if not isinstance(event, TurnOver):
            yield from lines
            return
        yield from islice(lines, 1)
        for offered in lines:
            if offered not in self._offered:
                self._offered.add(offered)
                yield offered

    def _fault(self, event: SoundLost | SoundBack) -> None:
        for line in event_lines(self._request, event):
            self._wrong(line.strip())

    def _wrong(self, line: str) -> None:
        """Faults are told on standard error, so that JSON stays alone."""
        self._faults.append(line)
        tell(line)

    def _store(self, kept: Kept | None) -> None:
        if kept is None or self._folder is None or not len(kept.sound):
            return
        try:
            self._takes.append(str(store(self._folder, kept, self._as_sure(), self._begun)))
        except OSError as error:  # the playing goes on
            self.unstored += 1
            self._wrong(one_line(error))
            return
        if kept.full:
            self._wrong(f"{self._takes[-1]}: a take holds {MOST_SEC:.0f} s; what came after is not in it")

    def _as_sure(self) -> PracticeRequest:
        """The request with a lean told only beyond what the round trip is known to."""
        limits = self._practice.request.limits
        unsure_ms = max(limits.lean_unsure_ms, 1e3 * self._live.condition.unsure_sec)
        return replace(self._practice.request, limits=replace(limits, lean_unsure_ms=unsure_ms))

    def _report(self) -> list[str]:
        if not self._practice.turns:
            return []
        turns, request = self._practice.turns, self._as_sure()
        lines = list(report_lines(request, turns, self._practice.asked))
        if turns[-1] and self._told < len(turns):  # its sentence was not said yet
            lines = [turn_sentence(request, turns[-1]), *lines]
        condition = self._live.condition
        known = [line for line in (losses_line(condition), bleed_line(request, condition)) if line]
        kept = [f"Kept: {name}" for name in self._takes]
        return [*lines, *([""] if known else []), *known, *kept]


def _unwatched(event: Event) -> None:
    """Nobody looks."""
