"""The tempo ladder beside a practice: what it wishes of the next count-in."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

import pytest

from feedback.begun import Begun, begun_of, spent_on
from feedback.climbing import Climb
from feedback.company import Company
from feedback.items import item_of
from feedback.memory import Memory
from feedback.nexttempo import EASED
from feedback.practice_events import Event, LadderTold, Opened, TempoSet
from feedback.practice_request import PracticeRequest
from feedback.remembered import Remembered
from feedback.steering import Steering
from feedback.wishes import End, Hold, Tempo, Wishes
from routines.excerpt import Span
from routines.journal.marks import PassMark
from routines.journal.records import Item
from routines.ladder.ladder import LONGEST_GAP_SEC
from routines.ladder.rules import LADDER
from routines.ladder.standing import Standing
from routines.library import load
from tests.passed import over_of, turn_of

LICK = load("slab-wood-supper")
FIRST = float(round(EASED * LICK.top_tempo_half_bpm))
REQUEST = PracticeRequest(lick=LICK, tempo_half_bpm=FIRST)
WARM = Begun(standing=Standing(), sitting_sec=LADDER.still_sec)
CLEAN, HANGING = (), ("left-hanging",)


class Practice:
    """A practice as far as the ladder sees one: turns, wishes, and a clock."""

    def __init__(
        self, begun: Begun = WARM, *, waits: bool = False, request: PracticeRequest = REQUEST
    ) -> None:
        self.sec = 0.0
        self.climb = Climb(request, begun, lambda: self.sec, waits=waits)
        self.wishes = Wishes()
        self.company = Company([self.climb], self.wishes)
        self.steering = Steering(self.climb.request, self.wishes)
        self.told: list[Event] = []
        self._hear(Opened())

    @property
    def asked(self) -> PracticeRequest:
        return self.steering.request

    @property
    def said(self) -> str:
        return next(event.seen.said for event in reversed(self.told) if isinstance(event, LadderTold))

    def _hear(self, event: Event) -> None:
        self.told += self.company.heed(event, self.asked)

    def look(self) -> None:
        """Take what is wished, as a practice does in a rest."""
        for event in self.steering.look():
            self._hear(event)

    def turn(self, mistakes: Sequence[tuple[str, ...]], sec: float = 25.0) -> None:
        passed, over = turn_of(self.asked.lick, self.asked.tempo_half_bpm, mistakes)
        for one in passed:
            self.sec += sec / len(passed)
            self._hear(one)
        self._hear(over)
        self.look()


def test_it_begins_where_it_is_told_and_rises_when_it_is_earned() -> None:
    practice = Practice()
    assert practice.asked.tempo_half_bpm == FIRST
    practice.turn([CLEAN] * 4)
    assert practice.asked.tempo_half_bpm == FIRST + 3  # 4 %, in whole half notes
    assert (practice.asked.lick, practice.asked.span) == (LICK, None)
    assert "three clean in a row" in practice.said
    practice.turn([CLEAN, HANGING, CLEAN, CLEAN])
    assert practice.asked.tempo_half_bpm == FIRST + 3


def test_two_that_fail_ease_it_and_at_the_second_fall_the_change_is_played_alone() -> None:
    practice = Practice()
    practice.turn([HANGING, HANGING])
    eased = practice.asked.tempo_half_bpm
    assert eased == pytest.approx(FIRST * 0.92, abs=1.0)
    practice.turn([HANGING, HANGING])
    alone = practice.asked
    assert (alone.span, alone.whole, alone.rest_bars) == (Span(), LICK, 0)
    assert alone.lick == Span().of(LICK)
    assert alone.tempo_half_bpm == eased
    practice.turn([CLEAN] * 4)
    assert practice.asked.span is None
    assert practice.asked.lick == LICK
    assert practice.asked.rest_bars == REQUEST.rest_bars


def test_a_tempo_that_the_player_chooses_is_where_it_goes_on() -> None:
    practice = Practice()
    practice.wishes.add(Tempo(91.0))
    practice.look()
    assert practice.climb.seen.tempo_half_bpm == 91.0
    practice.turn([CLEAN] * 4)
    assert practice.asked.tempo_half_bpm == 95.0  # 4 %, in whole half notes


def test_after_ten_minutes_the_last_pass_is_at_home_and_then_it_is_over() -> None:
    for waits, last in ((False, End), (True, Hold)):
        practice = Practice(
            Begun(standing=Standing(), sitting_sec=300.0, spent_sec=LADDER.item_sec - 20.0), waits=waits
        )
        practice.turn([CLEAN] * 4)
        assert practice.asked.passes == 1
        assert practice.asked.tempo_half_bpm <= FIRST
        wished: list[object] = []
        practice.wishes.add = wished.append  # type: ignore[method-assign]
        practice.turn([CLEAN])
        assert [type(one) for one in wished][-1] is last
        assert practice.climb.seen.phase == "over"


def test_what_was_not_played_to_its_end_or_not_heard_is_nothing_to_it() -> None:
    practice = Practice()
    passed, _ = turn_of(LICK, FIRST, [HANGING, HANGING])
    for one in passed:
        for more in ({"complete": False}, {"heard": False}):
            other = replace(one, over=replace(one.over, **more))  # type: ignore[arg-type]
            assert list(practice.company.heed(other, practice.asked)) == []
    assert practice.climb.seen.row == 0
    assert practice.climb.seen.tempo_half_bpm == FIRST


def test_a_loop_that_is_asked_for_is_climbed_as_it_is() -> None:
    span = Span()
    request = replace(REQUEST, lick=span.of(LICK), whole=LICK, span=span, rest_bars=0)
    practice = Practice(request=request)
    for _ in range(3):
        practice.turn([HANGING, HANGING])
        assert practice.asked.span == span
    assert practice.asked.tempo_half_bpm < FIRST * 0.9


def test_yesterday_is_where_today_begins(tmp_path: Path) -> None:
    morning = datetime(2026, 11, 28, 9, 0, tzinfo=timezone(timedelta(hours=1)))
    about = Remembered(folder=tmp_path, player="Ada", source="mic", now=lambda: morning)
    assert begun_of(item_of(REQUEST), about) == Begun(standing=Standing())
    memory = Memory(about)
    for turn, (tempo, names) in enumerate([(70.0, CLEAN)] * 6 + [(90.0, CLEAN), (90.0, HANGING)] * 3, 1):
        list(memory.passed(turn, over_of(LICK, tempo, names), replace(REQUEST, tempo_half_bpm=tempo)))
    list(memory.close())
    later = replace(about, now=lambda: morning + timedelta(minutes=9))
    begun = begun_of(item_of(REQUEST), later)
    assert begun.sitting_sec == 9 * 60.0
    assert begun.spent_sec == pytest.approx((6 / 70 + 6 / 90) * 120.0 * (LICK.bars + 1))
    tomorrow = begun_of(item_of(REQUEST), replace(about, now=lambda: morning + timedelta(days=1)))
    assert (tomorrow.sitting_sec, tomorrow.spent_sec) == (0.0, 0.0)
    levels = tomorrow.standing.levels
    assert levels is not None
    assert 70.0 < levels.edge_half_bpm < 95.0
    assert Climb(REQUEST, tomorrow).request.tempo_half_bpm == round(0.85 * levels.edge_half_bpm)


def test_its_own_wishes_are_not_taken_for_the_players() -> None:
    practice = Practice()
    practice.turn([CLEAN] * 4)
    seen = practice.climb.seen
    assert list(practice.company.heed(TempoSet(tempo_half_bpm=seen.tempo_half_bpm), practice.asked)) == []
    assert practice.climb.seen == seen


def test_time_on_an_item_has_its_count_ins_and_short_rests_and_its_change_alone() -> None:
    begun = datetime(2026, 11, 28, 9, 0, tzinfo=UTC)
    item = item_of(REQUEST)

    def record(item: Item, sec: float) -> PassMark:
        at = begun + timedelta(seconds=sec)
        return PassMark(id=f"{sec}", sitting="s", item=item, ended_at=at, lasted_sec=4.0, heard=True)

    other, change = Item("tally-stick", "D"), replace(item, unit="change")
    passes = [record(item, 0.0), record(item, 4.0), record(item, 14.0), record(item, 200.0)]
    assert spent_on(item, passes) == 4.0 + 4.0 + 10.0 + (4.0 + LONGEST_GAP_SEC)
    mixed = [record(item, 0.0), record(other, 100.0), record(item, 110.0), record(change, 118.0)]
    assert spent_on(item, mixed) == 4.0 + 4.0 + 8.0
    assert spent_on(other, mixed) == 4.0
    assert spent_on(change, mixed) == 4.0
    assert spent_on(item, []) == 0.0


def test_a_sitting_over_midnight_is_one_day(tmp_path: Path) -> None:
    evening = datetime(2026, 11, 28, 23, 50, tzinfo=UTC)
    about = Remembered(folder=tmp_path, player="Ada", source="mic", now=lambda: evening)
    for number, (minutes, tempo) in enumerate([(0, 70.0), (3, 74.0), (8, 76.0), (12, 80.0)]):
        memory = Memory(replace(about, now=lambda minutes=minutes: evening + timedelta(minutes=minutes)))
        for turn in range(1, 5):
            request = replace(REQUEST, tempo_half_bpm=tempo)
            assert list(memory.passed(10 * number + turn, over_of(LICK, tempo), request)) == []
        list(memory.close())
    late = replace(about, now=lambda: evening + timedelta(minutes=15))
    begun = begun_of(item_of(REQUEST), late)
    assert begun.sitting_sec == 900.0
    assert begun.standing.week_best_half_bpm is None  # all of it is today's
    assert {one.days_ago for one in begun.standing.tried} == {0}
    assert {one.tempo_half_bpm for one in begun.standing.tried} == {70.0, 74.0, 76.0, 80.0}
    assert (
        begun_of(item_of(REQUEST), replace(about, now=lambda: evening + timedelta(hours=9))).sitting_sec
        == 0.0
    )


def test_a_pass_of_the_future_breaks_no_sitting(tmp_path: Path) -> None:
    now = datetime(2026, 11, 28, 12, 0, tzinfo=UTC)
    about = Remembered(folder=tmp_path, player="Ada", source="mic", now=lambda: now)
    for moment in (now + timedelta(days=300), now, now + timedelta(minutes=5)):
        memory = Memory(replace(about, now=lambda moment=moment: moment))
        list(memory.passed(1, over_of(LICK, 80.0), REQUEST))
        list(memory.close())
    assert (
        begun_of(item_of(REQUEST), replace(about, now=lambda: now + timedelta(minutes=9))).sitting_sec
        == 540.0
    )


def test_it_asks_for_no_more_passes_than_the_player() -> None:
    practice = Practice(request=replace(REQUEST, passes=2))
    for _ in range(3):
        practice.turn([CLEAN] * practice.asked.passes)
        assert practice.asked.passes <= 2
