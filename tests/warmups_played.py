"""Warm-ups played with slips, for the tests of what is said at their ends."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from feedback.clicking import CLICKS
from feedback.judges.whole import Circumstances, judge_pass
from feedback.session import PassOver
from feedback.warmup_remarks import remark
from routines.warmups.steps import Step, WarmUp
from routines.warmups.table import warm_up
from tests.scores import grid_of, judged, play

TEMPO = 60.0

Play = Callable[[int, Step], str]
"""From a round and a step to the slips of its passes, as `tests.scores` writes them."""


def flawless(number: int, step: Step) -> str:
    return ""


def over(step: Step, slips: str, number: int = 1, tempo_half_bpm: float = TEMPO) -> PassOver:
    """A pass that was asked for at TEMPO and played at another; thinned clicks let it drift."""
    if tempo_half_bpm == TEMPO and step.click == "halves":
        return PassOver(number=number, judged=judged(step.lick, slips, tempo_half_bpm=TEMPO))
    events = play(step.lick, slips, tempo_half_bpm=tempo_half_bpm)
    about = Circumstances(click_off=CLICKS[step.click].thinned)
    return PassOver(number=number, judged=judge_pass(grid_of(step.lick, tempo_half_bpm=TEMPO), events, about))


def said(
    name: str, slips: Play = flawless, tempos: Mapping[str, float] | None = None, of: WarmUp | None = None
) -> str:
    found = of or warm_up(name)
    played = [
        (
            step,
            [
                over(step, slips(number, step), k + 1, (tempos or {}).get(step.click, TEMPO))
                for k in range(step.passes)
            ],
        )
        for number in range(found.rounds)
        for step in found.steps(number)
    ]
    return remark(found, played)


def place(step: Step, index: int) -> str:
    """A note's place, as slips name it."""
    note = step.lick.notes[index]
    bar, within = divmod(note.onset_quarters, step.lick.quarters_a_bar)
    return f"b{int(bar) + 1}e{within / 0.5 + 1:g}@{note.string}"


def sevens(step: Step, slip: str) -> str:
    """The slip on each seven."""
    return "; ".join(f"{place(step, ask.note)} {slip}" for ask in step.lick.sevenths)


def falls(step: Step, slip: str) -> str:
    """The slip on each note that a seven is to fall to."""
    return "; ".join(
        f"{place(step, ask.due_note)} {slip}" for ask in step.lick.sevenths if ask.due_note is not None
    )
