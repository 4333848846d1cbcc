"""A turn on one clock: where its passes lie, when each is over, and that live and offline agree."""

from __future__ import annotations

from itertools import pairwise

import pytest

from feedback.following import follow_turn
from feedback.grid import Grid
from feedback.judges.limits import Limits
from feedback.judges.whole import Circumstances, judge_pass
from feedback.performance import perform
from feedback.played import as_heard
from feedback.session import COUNT_IN_BARS, Listened, after_count_in
from feedback.sources import simulated_turn
from listener.notes import NoteEvent, Report
from routines.library import load

LICK = load("slab-wood-supper")
TEMPO = 60.0  # a quarter lasts half a second, a bar two


def _source(notes: list[NoteEvent], until_sec: float) -> list[Listened]:
    said: list[tuple[float, list[Report]]] = [(k / 10, []) for k in range(1, round(10 * until_sec) + 1)]
    for number, note in enumerate(notes):
        step = next(k for k, (sec, _) in enumerate(said) if sec >= note.settled_sec)
        said[step][1].append(Report("settled", number, note))
    return [Listened(now_sec=sec, reports=reports) for sec, reports in said]


def test_passes_follow_the_count_in_a_rest_bar_apart() -> None:
    plan = after_count_in(LICK, TEMPO, passes=3)
    assert plan.bar_sec == 2.0
    assert plan.starts_sec[0] == COUNT_IN_BARS * 2.0
    assert plan.starts_sec == (4.0, 10.0, 16.0)
    assert plan.end_sec > 16.0 + 2 * 2.0


def test_each_pass_is_judged_as_soon_as_it_is_over_and_as_offline() -> None:
    plan = after_count_in(LICK, TEMPO, passes=2)
    mistakes = ((), ("left-hanging",))
    notes = as_heard(simulated_turn(plan, mistakes=mistakes, seed=5))
    told_at = []
    source = _source(notes, plan.end_sec)
    clock = iter(source)

    def watched():
        for step in clock:
            told_at.append(step.now_sec)
            yield step

    passes = []
    for over in follow_turn(plan, watched(), Limits()):
        passes.append((told_at[-1], over))
    assert [over.number for _, over in passes] == [1, 2]
    for (sec, over), start in zip(passes, plan.starts_sec, strict=True):
        assert start + 4.0 <= sec <= start + 4.0 + 0.7
        grid = Grid(lick=LICK, tempo_half_bpm=TEMPO, start_sec=start, limits=Limits())
        before = tuple(d for _, other in passes if other.number < over.number for d in other.judged.played)
        offline = judge_pass(grid, notes, Circumstances(earlier=before)).outcome
        assert over.judged.outcome.notes == offline.notes
        assert over.judged.outcome.sevenths == offline.sevenths
    resolutions = [[s.resolution for s in over.judged.outcome.sevenths] for _, over in passes]
    assert resolutions == [["resolved"], ["hanging"]]


def test_a_source_that_ends_early_leaves_out_the_passes_it_does_not_reach() -> None:
    plan = after_count_in(LICK, TEMPO, passes=3)
    notes = as_heard(simulated_turn(plan, mistakes=((), (), ()), seed=5))
    source = [step for step in _source(notes, plan.end_sec) if step.now_sec <= plan.starts_sec[1] + 3.0]
    assert [over.number for over in follow_turn(plan, source, Limits())] == [1, 2]
    assert [over.number for over in follow_turn(plan, [], Limits())] == []


def test_the_strings_of_a_turn_stop_where_the_next_pass_strikes_them() -> None:
    plan = after_count_in(LICK, 120.0, passes=3, rest_bars=0)
    played = simulated_turn(plan, mistakes=((), (), ()), seed=2)
    assert len(played.notes) == 3 * len(LICK.notes)
    for string in range(1, 6):
        line = [note for note in played.notes if note.string == string]
        for note, after in pairwise(line):
            assert note.onset_sec + note.duration_sec <= after.onset_sec + 1e-9


def test_a_turn_is_the_passes_it_is_made_of() -> None:
    plan = after_count_in(LICK, TEMPO, passes=1)
    alone = perform(LICK, tempo_half_bpm=TEMPO, seed=9, start_sec=plan.starts_sec[0])
    turn = simulated_turn(plan, mistakes=((),), seed=9)
    assert [n.onset_sec for n in turn.notes] == pytest.approx([n.onset_sec for n in alone.notes])
