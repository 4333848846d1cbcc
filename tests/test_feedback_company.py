"""Who goes along with a practice: told in order, heard in order, and left when it ends."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from feedback.accompanying import accompanied
from feedback.climbing import Climb
from feedback.company import Company
from feedback.memory import Memory
from feedback.performing import Asked
from feedback.playing_live import LivePlay
from feedback.playing_simulated import SimulatedPlay
from feedback.practice_events import Event, Opened, Passed, Remarked, Trouble, TurnOver
from feedback.practice_request import PracticeRequest
from feedback.settings import load as settings
from feedback.simulated_in_terminal import OwnTime
from feedback.warming import Warming
from feedback.wishes import Hold, Tempo, Wish, Wishes
from routines.library import load
from routines.warmups.table import warm_up
from tests.rooms import Room

LICK = load("slab-wood-supper")


class Beside:
    """A companion that keeps what it is told."""

    def __init__(self, *more: Wish | Event) -> None:
        self.heard: list[Event] = []
        self.more, self.closed = more, 0

    def told(self, event: Event, request: PracticeRequest) -> Iterator[Wish | Event]:
        self.heard.append(event)
        if isinstance(event, TurnOver):
            yield from self.more

    def close(self) -> Iterator[Event]:
        self.closed += 1
        yield Remarked(line="left")


def test_wishes_go_to_the_practice_and_events_to_whoever_watches() -> None:
    wishes, first, second = (
        Wishes(),
        Beside(Tempo(90.0), Trouble(line="a")),
        Beside(Hold(), Trouble(line="b")),
    )
    company = Company([first, second], wishes)
    request = PracticeRequest(lick=LICK, tempo_half_bpm=80.0)
    assert list(company.heed(Opened(), request)) == []
    over = TurnOver(turn=1, passes=())
    assert list(company.heed(over, request)) == [Trouble(line="a"), Trouble(line="b")]
    assert [wishes.next(), wishes.next(), wishes.next()] == [Tempo(90.0), Hold(), None]
    assert list(company.close()) == [Remarked(line="left")] * 2
    assert list(Company([first]).heed(over, request)) == [Trouble(line="a")]  # nobody takes the wish


def _asked(**more: object) -> Asked:
    return Asked(whole=LICK, values=settings([]), **more)  # type: ignore[arg-type]


def test_who_that_is(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SEVENFALL_HOME", str(tmp_path))

    def kinds(asked: Asked) -> list[type]:
        return [type(one) for one in accompanied(asked, Wishes())[1]._companions]

    assert kinds(_asked()) == [Memory, Climb]  # what is stored comes before what is said of it
    assert kinds(_asked(tempo_half_bpm=80.0)) == [Memory]
    assert kinds(_asked(source="sim")) == []
    assert kinds(_asked(source="sim", player="Bo")) == [Memory, Climb]
    quiet = settings(["journal=off"])
    assert kinds(replace(_asked(), values=quiet)) == [Climb]
    assert kinds(replace(_asked(), values=settings(["ladder=off"]))) == [Memory]
    first = warm_up("pinches").steps(0)[0].lick
    assert kinds(replace(_asked(warm_up="pinches"), whole=first)) == [Memory, Warming]


def test_a_journal_that_cannot_be_read_keeps_nobody_from_playing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("SEVENFALL_HOME", str(tmp_path))
    (tmp_path / "journal.sqlite").mkdir()
    request, company = accompanied(_asked(), Wishes())
    assert request.tempo_half_bpm == 80.0
    assert [type(one) for one in company._companions] == [Memory, Climb]


def test_the_simulated_players_company_is_told_all_and_left() -> None:
    beside, own = Beside(), OwnTime()
    asked = _asked(source="sim", loop="change", tempo_half_bpm=200.0, passes=1, turns=1)
    seen: list[Event] = []
    play = SimulatedPlay(
        asked, None, lambda line: None, company=Company([beside]), clock=own.clock, wait=own.wait
    )
    play.run(seen.append)
    assert beside.closed == 1
    assert [event for event in seen if event != Remarked(line="left")] == beside.heard
    assert any(isinstance(event, Passed) for event in beside.heard)


class Microphone(Room):
    """A room that starts and stops, and interrupts the player's practice at a moment."""

    hung = False

    def __init__(self, interrupt_at: float | None) -> None:
        super().__init__(lambda part: ((), ()))
        self.interrupt_at = interrupt_at

    def start(self) -> None:
        """Nothing is to be opened."""

    def stop(self) -> None:
        """Nothing is to be closed."""

    def take(self, wait_sec: float) -> list:
        if self.interrupt_at is not None and self.now_sec >= self.interrupt_at:
            raise KeyboardInterrupt
        return super().take(wait_sec)


@pytest.mark.parametrize("interrupt_at", [None, 7.6])
def test_at_the_microphone_every_pass_that_was_finished_is_told_also_when_it_is_cut_short(
    interrupt_at: float | None,
) -> None:
    beside, room = Beside(), Microphone(interrupt_at)
    request = PracticeRequest(lick=LICK, tempo_half_bpm=120.0, passes=2, turns=1, rest_sec=0.0)
    play = LivePlay(request, room, lambda line: None, None, company=Company([beside]))  # type: ignore[arg-type]
    play.run()
    passes = {
        (event.over.part, event.over.number): event.over
        for event in beside.heard
        if isinstance(event, Passed)
    }
    assert list(passes.values()) == play._practice.turns[0]
    assert beside.closed == 1
