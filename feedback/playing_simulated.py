"""The simulated player's practice with its lines: each comes when it is true of what was heard."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from typing import TYPE_CHECKING, Any

from feedback.aloud import Aloud
from feedback.company import Company
from feedback.errors import tell
from feedback.marks import seven_marks
from feedback.onethread import quick_turns
from feedback.performing import Asked, simulated
from feedback.playing import TurnRequest, turn_lines
from feedback.practice_events import CountIn, Event, Opened, Passed, PieceSet, Remarked, Trouble, TurnOver
from feedback.practice_json import practice_json
from feedback.practice_report import LOUDNESS, event_lines, piece_lines
from feedback.practice_request import PracticeRequest
from feedback.wishes import Wishes

if TYPE_CHECKING:
    from feedback.backstage import Watch
    from feedback.session import PassOver

Say = Callable[[str], None]


class SimulatedPlay:
    """The simulated player's practice; as `feedback.backstage.Work`.

    Parameters
    ----------
    asked : Asked
    wishes : Wishes or None
    say : callable
        Prints a line.
    heard : Aloud, optional
        What it is heard by; is opened and closed here.
    request : PracticeRequest, optional
        What is practised, where that is not all said by `asked`.
    company : Company, optional
        Who goes along with it.
    **clockwork : callable
        May bring another `clock` and `wait`.
    """

    lean_unsure_ms = None
    devices = ""

    def __init__(
        self,
        asked: Asked,
        wishes: Wishes | None,
        say: Say,
        heard: Aloud | None = None,
        *,
        request: PracticeRequest | None = None,
        company: Company | None = None,
        **clockwork: Callable[..., Any],
    ) -> None:
        self._asked, self._say, self._heard = asked, say, heard
        self._practice = simulated(asked, wishes, heard, request, **clockwork)
        self._company = company or Company()
        self._cautioned, self._remark = False, ""
        self.unstored = 0
        """Passes that could not be stored."""

    @property
    def hung(self) -> bool:
        """Whether the output hangs in the sound library."""
        return self._heard is not None and self._heard.hung

    def part_sec(self) -> float | None:
        """Which second of the turn sounds now; None before the first one. From any thread."""
        return self._practice.part_sec()

    def run(self, watch: Watch) -> None:
        """Play to the end; every event is handed to `watch` as it comes.

        Raises
        ------
        routines.errors.BadRoutine
            If a mistake is unknown, or the lick has no place for it.
        """
        if self._heard is None:
            self._play(watch)
            return
        quick_turns()
        self._heard.start()
        try:
            self._play(watch)
        finally:
            self._heard.close()

    def json(self) -> str:
        """All turns as one JSON object."""
        practice = self._practice
        return practice_json(
            practice.request,
            practice.turns,
            None,
            ended="turns played",
            asked=practice.asked,
            remark=self._remark,
        )

    def _play(self, watch: Watch) -> None:
        events = self._events(watch)
        try:
            for event in events:
                if isinstance(event, PieceSet) or (isinstance(event, Opened) and self._routine):
                    for line in ("", *piece_lines(self._practice.request)):
                        self._say(line)
                elif isinstance(event, CountIn):
                    request = turn_request(self._asked, self._practice.request)
                    told = marks_only if self._routine else turn_lines
                    for line in told(request, _passes(events)):
                        self._say(line)
                        self._caution()
        finally:
            for event in self._company.close():
                self._besides(event, watch)

    @property
    def _routine(self) -> bool:
        """Whether this is a warm-up."""
        return bool(self._practice.request.routine)

    def _events(self, watch: Watch) -> Iterator[Event]:
        """What happens; its company has heeded it, and whoever watches has seen it."""
        for event in self._practice.events():
            besides = list(self._company.heed(event, self._practice.request))
            watch(event)
            yield event
            for one in besides:
                self._besides(one, watch)

    def _besides(self, event: Event, watch: Watch) -> None:
        """What the company has to tell."""
        watch(event)
        if isinstance(event, Remarked):
            self._remark = event.line
        elif isinstance(event, Trouble):
            self.unstored += event.lost
            if event.line:
                tell(event.line)
        for line in event_lines(self._practice.request, event):
            self._say(line)

    def _caution(self) -> None:
        """Once, under the first line of a turn that is heard."""
        if not self._cautioned and self._heard is not None and self._heard.heard:
            self._cautioned = True
            self._say(f"  {LOUDNESS}")


def turn_request(asked: Asked, now: PracticeRequest) -> TurnRequest:
    """The turn that is played now, as its lines need it."""
    return TurnRequest(
        lick=now.lick,
        tempo_half_bpm=now.tempo_half_bpm,
        mistakes=asked.mistakes or ((),) * now.passes,
        seed=asked.seed,
        limits=now.limits,
        rest_bars=now.rest_bars,
    )


def marks_only(request: TurnRequest, passes: Iterable[PassOver]) -> Iterator[str]:
    """Of a turn of a warm-up no more than the marks of its sevens: one thing is said of all of it."""
    for over in passes:
        yield f"  pass {over.number}: {seven_marks(request.lick, over.judged.outcome)}"


def _passes(events: Iterator[Event]) -> Iterator[PassOver]:
    """The passes of the turn that runs."""
    for event in events:
        if isinstance(event, Passed):
            yield event.over
        elif isinstance(event, TurnOver):
            return
