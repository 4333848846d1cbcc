"""Pictures of what stands over weeks: progress, warm-ups, the tempo ladder after a turn."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace

from feedback.ladder_seen import LadderSeen
from feedback.playstate import PlayState, after_event
from feedback.practice_events import LadderTold
from feedback.practice_request import PracticeRequest
from feedback.screen.after.picture import after_picture
from feedback.screen.marks import Picture, Sheet
from feedback.screen.views.progress import Kind, ProgressState, progress_picture
from feedback.screen.views.warm_up import WarmUpRow, WarmUpsState, warm_ups_picture
from feedback.screen.views.warm_up_between import warm_up_between
from feedback.warm_up_seen import WarmUpSeen
from routines.library import load
from routines.progress.types import Progress
from routines.warmups.table import WARM_UPS, warm_up
from tests.passed import turn_of
from tests.progressed import EMPTY, FEW, YEARS

LADDER = LadderSeen(
    tempo_half_bpm=84.0,
    home_half_bpm=76.0,
    edge_half_bpm=86.0,
    reach_half_bpm=90.0,
    row=0,
    said="three clean in a row: up to 84",
    minutes_left=6.5,
)


def _progress(progress: Progress, kind: Kind = "licks") -> Callable[[Sheet], Picture]:
    return lambda sheet: progress_picture(ProgressState(progress=progress, kind=kind), sheet, "next")


def _list(sheet: Sheet) -> Picture:
    rows = []
    for number, name in enumerate(WARM_UPS):
        found = warm_up(name)
        lasts = found.lasts_sec(found.first_half_bpm) / 60.0
        last = ("today", "yesterday", "3 days ago")[number] if number < 3 else "not yet"
        rows.append(WarmUpRow(name=name, title=found.title, about=found.about, minutes=lasts, last=last))
    return warm_ups_picture(WarmUpsState(rows=tuple(rows)), sheet, "warm-up held-sevens")


def _between(remark: str = "") -> Callable[[Sheet], Picture]:
    whole = warm_up("held-sevens")
    steps = whole.steps(1)
    seen = WarmUpSeen(
        title=whole.title,
        says=steps[1].says,
        lick=steps[1].lick,
        round=2,
        rounds=whole.rounds,
        step=2,
        steps=len(steps),
        tempo_half_bpm=64.0,
    )
    return lambda sheet: warm_up_between(replace(seen, remark=remark), sheet, "once more" if remark else "")


def _climbing(sheet: Sheet) -> Picture:
    lick = load("the-edgers-nod")
    state = PlayState(request=PracticeRequest(lick=lick, tempo_half_bpm=80.0))
    _, over = turn_of(lick, 80.0, [("seven-late",), (), (), ()])
    for event in (over, LadderTold(seen=LADDER)):
        state = after_event(state, event)
    return after_picture(replace(state, goes_on_sec=3.0), 0.0, sheet, "once more")


WEEKS: Mapping[str, Callable[[Sheet], Picture]] = {
    "warm-up": _list,
    "warm-up-between": _between(),
    "warm-up-over": _between(
        "Over G7 F was swallowed in 3 of 8: strike string 4 at fret 3 harder than the notes around it."
    ),
    "after-a-turn-climbing": _climbing,
    "progress": _progress(FEW),
    "progress-chords": _progress(FEW, "chords"),
    "progress-keys": _progress(FEW, "keys"),
    "progress-years": _progress(YEARS),
    "progress-empty": _progress(EMPTY),
}
"""Name of a picture to what draws it."""
