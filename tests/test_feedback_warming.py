"""A warm-up beside a practice: step after step, the tempo that rises with clean rounds, one remark."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime
from pathlib import Path

from feedback.company import Company
from feedback.memory import Memory
from feedback.performing import Asked
from feedback.practice_events import Event, NobodyPlays, Opened, Remarked, WarmUpTold
from feedback.remembered import Remembered
from feedback.settings import load as settings
from feedback.steering import Steering
from feedback.warming import LEAST_HALF_BPM, Warming
from feedback.warmup_choice import choice_for, last_days, next_warm_up
from feedback.what_hands_do import Hands, hands_of
from feedback.wishes import End, Hold, Tempo, Wishes
from routines.journal.journal import Journal
from routines.warmups.table import WARM_UPS, warm_up
from tests.passed import turn_of

NAME = "held-sevens"
WARM_UP = warm_up(NAME)
NO_HANDS = Hands()
TODAY = datetime(2026, 11, 29, 8, tzinfo=UTC)


class Practice:
    """A practice as far as a warm-up sees one."""

    def __init__(self, hands: Hands = NO_HANDS, *, waits: bool = False, **more: object) -> None:
        first = WARM_UP.steps(0)[0]
        asked = Asked(whole=first.lick, values=settings([]), warm_up=NAME, waits=waits, **more)  # type: ignore[arg-type]
        self.warming = Warming(asked, hands, lambda: 0.0)
        self.wishes = Wishes()
        self.company = Company([self.warming], self.wishes)
        self.steering = Steering(self.warming.request, self.wishes)
        self.told: list[Event] = list(self.company.heed(Opened(), self.steering.request))

    def turn(self, mistakes: Sequence[tuple[str, ...]] | None = None) -> None:
        asked = self.steering.request
        passed, over = turn_of(
            asked.lick, asked.tempo_half_bpm, [()] * asked.passes if mistakes is None else mistakes
        )
        for event in (*passed, over):
            self.told += self.company.heed(event, asked)
        list(self.steering.look())

    @property
    def remarks(self) -> list[str]:
        return [event.line for event in self.told if isinstance(event, Remarked)]


def test_all_steps_of_all_rounds_come_in_order_and_the_tempo_rises() -> None:
    practice = Practice()
    tempos = []
    for number in range(WARM_UP.rounds):
        steps = WARM_UP.steps(number)
        for at, step in enumerate(steps):
            asked = practice.steering.request
            assert (asked.lick, asked.passes, asked.click) == (step.lick, step.passes, step.click)
            assert (asked.says, asked.routine, asked.rest_bars) == (step.says, NAME, step.rest_bars)
            last = [event.seen for event in practice.told if isinstance(event, WarmUpTold)][-1]
            assert (last.round, last.rounds) == (number + 1, WARM_UP.rounds)
            assert (last.step, last.steps, last.lick) == (at + 1, len(steps), step.lick)
            tempos.append(asked.tempo_half_bpm)
            assert practice.remarks == []
            practice.turn()
    assert tempos[0] == WARM_UP.first_half_bpm
    assert len(set(tempos)) == WARM_UP.rounds
    assert tempos == sorted(tempos)
    assert len(practice.remarks) == 1
    assert practice.steering.ended
    assert list(practice.company.close()) == []  # one remark, not two


def test_a_round_that_is_not_clean_does_not_rise() -> None:
    practice = Practice()
    steps = WARM_UP.steps(0)
    for step in steps:
        practice.turn([("left-hanging",)] * step.passes)
    assert practice.steering.request.tempo_half_bpm <= WARM_UP.first_half_bpm


def test_a_step_that_was_broken_off_comes_again() -> None:
    practice = Practice()
    step = practice.steering.request.lick
    practice.turn([])
    assert practice.steering.request.lick == step
    practice.turn()
    practice.told += practice.company.heed(NobodyPlays(), practice.steering.request)
    assert len(practice.remarks) == 1  # of what was played
    assert list(practice.company.close()) == []


def test_where_nothing_was_played_nothing_is_remarked() -> None:
    practice = Practice()
    practice.told += practice.company.close()
    assert practice.remarks == []


def test_in_the_window_it_waits_for_the_player() -> None:
    practice = Practice(waits=True)
    wished: list[object] = []
    for number in range(WARM_UP.rounds):
        for _ in WARM_UP.steps(number):
            if number == WARM_UP.rounds - 1:
                practice.wishes.add = wished.append  # type: ignore[method-assign]
            practice.turn()
    assert any(isinstance(one, Hold) for one in wished)
    assert not any(isinstance(one, End) for one in wished)


def test_its_tempo_may_be_asked_for() -> None:
    assert Practice(tempo_half_bpm=52.0).steering.request.tempo_half_bpm == 52.0
    slow = Hands(home_half_bpm=60.0, edge_half_bpm=66.0)
    assert Practice(slow, tempo_half_bpm=90.0).steering.request.tempo_half_bpm == 90.0


def test_it_begins_from_what_the_hands_do_on_licks() -> None:
    for home, edge, begins in ((90.0, 100.0, 60.0), (66.0, 70.0, LEAST_HALF_BPM), (40.0, 44.0, 40.0)):
        practice = Practice(Hands(home_half_bpm=home, edge_half_bpm=edge))
        assert practice.steering.request.tempo_half_bpm == begins
        tempos = []
        for number in range(WARM_UP.rounds):
            for _ in WARM_UP.steps(number):
                tempos.append(practice.steering.request.tempo_half_bpm)
                practice.turn()
        assert max(tempos) <= home  # never beyond what is home to them


def test_day_after_day_it_begins_at_no_slower_a_tempo(tmp_path: Path) -> None:
    begins = []
    for day in (26, 27, 28, 29):
        now = TODAY.replace(day=day)
        about = Remembered(folder=tmp_path, player="me", source="mic", now=lambda now=now: now)
        assert choice_for(about, now) == "open-strings"
        practice, memory = Practice(hands_of(about)), Memory(about)
        begins.append(practice.steering.request.tempo_half_bpm)
        for turn in range(1, 5):
            asked = practice.steering.request
            passed, over = turn_of(asked.lick, asked.tempo_half_bpm, [()] * 2, turn)
            for one in passed:
                assert list(memory.told(one, asked)) == []
            list(practice.company.heed(over, asked))
            list(practice.steering.look())
        list(memory.close())
    assert begins == [WARM_UP.first_half_bpm] * 4
    with Journal.open(tmp_path, now=lambda: TODAY, writes=False) as journal:
        days = journal.tempo_days("me", lick_begins="warm-up/")
        assert {one.item.lick.split("/")[1] for one in days} == {NAME}
        assert {one.routine for one in journal.passes()} == {NAME}
        assert last_days(journal, "me") == {NAME: "2026-11-29"}


def test_which_comes_next() -> None:
    first, second, *_, last = WARM_UPS
    assert next_warm_up({}, "2026-11-29") == first
    assert next_warm_up({first: "2026-11-28"}, "2026-11-29") == first
    assert next_warm_up({first: "2026-11-29"}, "2026-11-29") == second
    played = {name: f"2026-11-{10 + k}" for k, name in enumerate(WARM_UPS)} | {first: "2026-11-29"}
    assert next_warm_up(played, "2026-11-29") == second
    del played[last]
    assert next_warm_up(played, "2026-11-29") == last


def test_a_tempo_that_the_player_chooses_holds_for_the_steps_that_follow() -> None:
    practice = Practice()
    practice.turn()
    practice.wishes.add(Tempo(52.0))
    for event in practice.steering.look():
        practice.told += practice.company.heed(event, practice.steering.request)
    practice.turn()
    assert practice.steering.request.tempo_half_bpm == 52.0
