"""States of a practice for tests of the lane: the simulated hand plays, the real judges judge."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from functools import lru_cache

from feedback.judges.limits import Limits
from feedback.judges.whole import Judged, judge_pass
from feedback.performance import perform
from feedback.played import as_heard
from feedback.playstate import PlayState, RunningPass
from feedback.practice_request import PracticeRequest
from feedback.screen.lettering import width
from feedback.screen.marks import Line, Picture, Sheet, Text
from feedback.session import PassOver, TurnPlan, after_count_in
from routines.lick import Lick, quarter_sec
from tests.pictures import reaching

LIMITS = Limits()
LAG_SEC = 0.08
SHEETS = (Sheet(960, 720), Sheet(1280, 720), Sheet(1680, 720), Sheet(960, 900))


def plan_of(lick: Lick, tempo: float, *, passes: int = 4, rest_bars: int = 1) -> TurnPlan:
    return after_count_in(lick, tempo, passes=passes, rest_bars=rest_bars)


def sec_at(plan: TurnPlan, number: int, quarters: float) -> float:
    """When a place of a pass, counted from 0, is due."""
    return plan.starts_sec[number] + quarters * quarter_sec(plan.tempo_half_bpm)


@lru_cache(maxsize=256)
def _judged(plan: TurnPlan, number: int, mistakes: tuple[str, ...], to_sec: float) -> Judged:
    grid = plan.grids(LIMITS)[number]
    played = perform(
        plan.lick,
        tempo_half_bpm=plan.tempo_half_bpm,
        mistakes=mistakes,
        seed=3 + number,
        start_sec=grid.start_sec,
    )
    return judge_pass(grid, [event for event in as_heard(played) if event.onset_sec < to_sec])


def state_at(plan: TurnPlan, now_sec: float, *mistakes: Sequence[str], news: str = "") -> PlayState:
    """What is known at a moment, where pass after pass is played with the mistakes given, round and round."""
    running = []
    lick = plan.lick
    for number, start in enumerate(plan.starts_sec):
        begin, end = (
            start + quarters * quarter_sec(plan.tempo_half_bpm)
            for quarters in (-lick.pickup_quarters, lick.end_quarters)
        )
        heard_to = now_sec - LAG_SEC
        if begin > heard_to:
            break
        over = heard_to >= end + 0.5
        slips = tuple(mistakes[number % len(mistakes)]) if mistakes else ()
        judged = _judged(plan, number, slips, math.inf if over else heard_to)
        running.append(
            RunningPass(
                number=number + 1,
                outcome=judged.outcome,
                heard_to_sec=heard_to,
                over=PassOver(number=number + 1, judged=judged) if over else None,
            )
        )
    request = PracticeRequest(
        lick=lick, tempo_half_bpm=plan.tempo_half_bpm, passes=plan.passes, rest_bars=plan.rest_bars
    )
    return PlayState(request=request, phase="playing", turn=1, plan=plan, running=tuple(running), news=news)


def now_x(picture: Picture) -> float:
    """Where the doubled now-line stands: the two tallest lines."""
    tall = [
        mark
        for mark in picture.marks
        if isinstance(mark, Line) and mark.points[0][0] == mark.points[1][0] and _high(mark) > 400.0
    ]
    assert len(tall) == 2
    return (tall[0].points[0][0] + tall[1].points[0][0]) / 2


def _high(mark: Line) -> float:
    return abs(mark.points[1][1] - mark.points[0][1])


def texts(picture: Picture) -> list[Text]:
    return [mark for mark in picture.marks if isinstance(mark, Text)]


def box(mark: Text) -> tuple[float, float, float, float]:
    """Left, top, right and bottom of a text's letters."""
    wide = width(mark.text, mark.size, mark.bold)
    left = mark.x - {"left": 0.0, "center": 0.5, "right": 1.0}[mark.anchor] * wide
    deep = 0.22 if set(mark.text) & set("gjpqy,") else 0.0
    return left, mark.y - 0.73 * mark.size, left + wide, mark.y + deep * mark.size


def overlapping(picture: Picture) -> Iterator[tuple[str, str]]:
    """Texts that lie over one another."""
    found = texts(picture)
    for one, two in reaching([box(text) for text in found], 0.5):
        yield found[one].text, found[two].text


def outside(picture: Picture) -> list[str]:
    """Texts that leave the sheet."""
    wide, high = picture.sheet.wide, picture.sheet.high
    found = []
    for mark in texts(picture):
        left, top, right, bottom = box(mark)
        if left < 0.0 or top < 0.0 or right > wide or bottom > high:
            found.append(mark.text)
    return found
