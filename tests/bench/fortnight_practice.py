"""One practice of the invented player: the program's own company goes along, only the sound is left out.

The events come in the order and at the times in which `feedback.practice` tells them; each pass is played by
the simulated hand and judged on what was played. Time is the player's clock, which goes on by what a rest, a
count-in and a pass take.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import TYPE_CHECKING
from unittest.mock import patch

from feedback import accompanying
from feedback.accompanying import accompanied
from feedback.clicking import CLICKS
from feedback.judges.timing import Deviation
from feedback.laying import LEAD_SEC, told_of_bounce
from feedback.nexttempo import eased, pushed
from feedback.performance import Performance
from feedback.practice_events import Begins, Event, LadderTold, Opened, Passed, Trouble, TurnOver
from feedback.session import COUNT_IN_BARS, SETTLES_SEC, PassOver
from feedback.steering import Steering
from feedback.wishes import End, Tempo, Wishes
from routines.excerpt import Span
from routines.lick import quarter_sec
from tests.bench.fortnight_player import LOOP_EASIER, Invented, Known, Truth

if TYPE_CHECKING:
    from feedback.judges.whole import Judged
    from feedback.performing import Asked
    from feedback.practice_request import PracticeRequest
    from feedback.remembered import Remembered

CHOOSES_SHARE = 0.03
"""Of the turns: after it the player chooses the tempo, a step down or up."""


class Clock:
    """The clock on the player's wall.

    Parameters
    ----------
    at : datetime
        Aware.
    """

    def __init__(self, at: datetime) -> None:
        self.at = self._began = at

    def now(self) -> datetime:
        """The moment."""
        return self.at

    def seconds(self) -> float:
        """Seconds since it was set."""
        return (self.at - self._began).total_seconds()

    def goes_on(self, seconds: float) -> None:
        """Let time pass."""
        self.at += timedelta(seconds=seconds)


@dataclass(frozen=True, slots=True, kw_only=True)
class Done:
    """A pass that was played, with what was true of it.

    Attributes
    ----------
    day : str
    request : PracticeRequest
        What was asked.
    over : PassOver
    played : Performance
    truth : Truth
    earlier : tuple of Deviation
        What passes before it near its tempo had told of the player's bounce.
    """

    day: str
    request: PracticeRequest
    over: PassOver
    played: Performance
    truth: Truth
    earlier: tuple[Deviation, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Practised:
    """One practice that is over.

    Attributes
    ----------
    day : str
    known : Known or None
        None for a warm-up.
    minutes : float
    edge_half_bpm : float
        True on that day, once the hands are warm.
    done : tuple of Done
    told : tuple of Event
        What the company told besides.
    """

    day: str
    known: Known | None
    minutes: float
    edge_half_bpm: float
    done: tuple[Done, ...]
    told: tuple[Event, ...]

    @property
    def ladder(self) -> list[LadderTold]:
        """What the ladder told, in order."""
        return [event for event in self.told if isinstance(event, LadderTold)]


@dataclass(frozen=True, slots=True, kw_only=True)
class Doing:
    """What a player does now.

    Attributes
    ----------
    asked : Asked
    about : Remembered
    clock : Clock
    player : Invented
    known : Known or None
    planned_half_bpm : float
        True edge by the plan.
    sat_sec : callable
        How long the sitting has lasted.
    most_sec : float
        After so long the player has had enough of it.
    """

    asked: Asked
    about: Remembered
    clock: Clock
    player: Invented
    known: Known | None
    planned_half_bpm: float
    sat_sec: Callable[[], float]
    most_sec: float


def practise(doing: Doing) -> Practised:
    """Practise until the program or the player ends it."""
    return _Practice(doing).practised()


class _Practice:
    def __init__(self, doing: Doing) -> None:
        self._doing, self._clock = doing, doing.clock
        self._wishes = Wishes()
        with patch.object(accompanying, "remembered_of", lambda *_: doing.about):
            request, self._company = accompanied(doing.asked, self._wishes, clock=doing.clock.seconds)
        self._whole = request.span
        self._steering = Steering(request, self._wishes)
        self._told: list[Event] = []
        self._done: list[Done] = []
        self._judged: list[Judged] = []

    def practised(self) -> Practised:
        doing, clock = self._doing, self._clock
        begun = clock.seconds()
        self._hear(Opened())
        turn = 0
        while not self._steering.ended:
            clock.goes_on(self._steering.request.rest_sec)
            self._look()
            if clock.seconds() - begun >= doing.most_sec:
                self._wishes.add(End())
                self._look()
            if self._steering.ended:
                break
            turn += 1
            self._turn(turn)
        self._told += list(self._company.close())
        return Practised(
            day=clock.now().date().isoformat(),
            known=doing.known,
            minutes=(clock.seconds() - begun) / 60.0,
            edge_half_bpm=doing.player.edge_half_bpm(doing.planned_half_bpm),
            done=tuple(self._done),
            told=tuple(self._told),
        )

    def _hear(self, event: Event) -> None:
        self._told += self._company.heed(event, self._steering.request)

    def _look(self) -> None:
        for event in self._steering.look():
            self._hear(event)

    def _turn(self, turn: int) -> None:
        request, steering = self._steering.request, self._steering
        steering.playing = True
        self._hear(Begins(turn=turn))
        bar_sec = request.lick.quarters_a_bar * quarter_sec(request.tempo_half_bpm)
        self._clock.goes_on(LEAD_SEC + COUNT_IN_BARS * bar_sec)
        passes = []
        for number in range(1, request.passes + 1):
            self._clock.goes_on((request.lick.bars + (request.rest_bars if number > 1 else 0)) * bar_sec)
            over = self._plays(request, turn, number)
            passes.append(over)
            self._hear(Passed(turn=turn, over=over))
        self._clock.goes_on(SETTLES_SEC)
        steering.playing = False
        self._hear(TurnOver(turn=turn, passes=tuple(passes)))
        self._chooses()

    def _plays(self, request: PracticeRequest, turn: int, number: int) -> PassOver:
        doing = self._doing
        of_change = request.span != self._whole and request.span == Span()
        earlier = tuple(told_of_bounce(self._judged, request.tempo_half_bpm))
        judged, played, truth = doing.player.plays(
            request.lick,
            request.tempo_half_bpm,
            edge_half_bpm=doing.player.edge_half_bpm(doing.planned_half_bpm, doing.sat_sec()),
            easier=LOOP_EASIER if of_change else 0.0,
            habit=doing.known.habit if doing.known is not None else "",
            earlier=earlier,
            click_off=CLICKS[request.click].thinned,
        )
        self._judged.append(judged)
        over = PassOver(number=number, judged=judged)
        day = self._clock.now().date().isoformat()
        self._done.append(
            Done(day=day, request=request, over=over, played=played, truth=truth, earlier=earlier)
        )
        return over

    def _chooses(self) -> None:
        """Now and then the player knows better than the ladder."""
        rng, tempo = self._doing.player.rng, self._steering.request.tempo_half_bpm
        if self._doing.known is not None and rng.random() < CHOOSES_SHARE:
            self._wishes.add(Tempo(rng.choice((eased, pushed))(tempo)))


def troubles(practices: list[Practised]) -> Iterator[str]:
    """What went wrong beside, of all practices."""
    for one in practices:
        yield from (event.line for event in one.told if isinstance(event, Trouble))
