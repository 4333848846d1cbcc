"""What may have come, too thinly to be called heard: silence is unclear there, and nothing else changes."""

from __future__ import annotations

from dataclasses import replace

import pytest

from feedback.judges.whole import Circumstances
from tests.scores import A, grid_of, judged, lick, play, target_at


def _verdict(where: str, slips: str, *, late_sec: float = 0.0, midi: int | None = None) -> str:
    index = target_at(A, where)
    at_sec = grid_of(A).due_sec(A.notes[index].onset_quarters) + late_sec
    event = replace(play(A)[index], onset_sec=at_sec, midi=midi or A.notes[index].midi)
    return judged(A, slips, about=Circumstances(doubtful=(event,))).outcome.notes[index].verdict


@pytest.mark.parametrize(
    ("late_sec", "verdict"),
    [(0.0, "unclear"), (0.099, "unclear"), (-0.099, "unclear"), (0.101, "missed"), (-0.101, "missed")],
)
def test_within_an_eighth_it_is_unclear_and_beyond_it_is_missed(late_sec: float, verdict: str) -> None:
    assert _verdict("b1e5", "b1e5 out", late_sec=late_sec) == verdict


@pytest.mark.parametrize(("late_sec", "verdict"), [(0.113, "unclear"), (-0.087, "missed")])
def test_the_lean_is_taken_off_first(late_sec: float, verdict: str) -> None:
    assert _verdict("b1e5", "all +15ms; b1e5 out", late_sec=late_sec) == verdict


@pytest.mark.parametrize("half_steps", [-12, -1, 1, 2, 7, 12])
def test_another_pitch_excuses_nothing(half_steps: int) -> None:
    midi = A.notes[target_at(A, "b1e5")].midi + half_steps
    assert _verdict("b1e5", "b1e5 out", midi=midi) == "missed"


@pytest.mark.parametrize(
    ("late_sec", "verdict"), [(0.099, "unclear"), (0.1215, "unclear"), (0.123, "missed"), (-0.101, "missed")]
)
def test_a_last_seven_may_be_as_late_as_it_may_be_heard(late_sec: float, verdict: str) -> None:
    assert _verdict("b1e8", "b1e8 out", late_sec=late_sec) == verdict


@pytest.mark.parametrize(
    ("slips", "late_sec", "verdicts"),
    [
        ("b1e4 out; b1e5 out", 0.010, ("unclear", "missed")),
        ("b1e4 out; b1e5 out", 0.090, ("missed", "unclear")),
        ("b1e5 out", 0.010, ("landed", "missed")),
        ("b1e5 out", 0.060, ("landed", "unclear")),
    ],
)
def test_one_doubt_excuses_one_target(slips: str, late_sec: float, verdicts: tuple[str, str]) -> None:
    of = lick("3/2 2/1 1/0 5/0 5/0 1/4 3/2 2/1 | 2/0 1/0 5/0 3/0 1/0 5/0 3/0", "D7 G")
    first, second = target_at(of, "b1e4"), target_at(of, "b1e5")
    event = replace(play(of)[first], onset_sec=grid_of(of).due_sec(of.notes[first].onset_quarters) + late_sec)
    notes = judged(of, slips, about=Circumstances(doubtful=(event,))).outcome.notes
    assert (notes[first].verdict, notes[second].verdict) == verdicts


@pytest.mark.parametrize(
    ("slips", "verdict"), [("", "landed"), ("b1e5 =61", "wrong"), ("b1e5 +40ms", "late")]
)
def test_what_was_answered_is_judged_by_its_answer(slips: str, verdict: str) -> None:
    assert _verdict("b1e5", slips) == verdict


def test_a_doubtful_seven_counts_neither_way() -> None:
    thin = play(A)[target_at(A, "b1e8")]
    silent, doubtful = (
        judged(A, "b1e8 out", about=Circumstances(doubtful=heard)).outcome.sevenths[-1]
        for heard in ((), (thin,))
    )
    assert (silent.sounded, silent.landed) == (False, False)
    assert (doubtful.sounded, doubtful.landed, doubtful.swallowed, doubtful.due) == (None,) * 4


def test_a_doubtful_fall_is_not_left_hanging() -> None:
    thin = play(A)[target_at(A, "b2e1")]
    slips = "b2e1 out; b2e4 out"
    silent, doubtful = (
        judged(A, slips, about=Circumstances(doubtful=heard)).outcome.sevenths[-1] for heard in ((), (thin,))
    )
    assert (silent.resolution, doubtful.resolution) == ("hanging", "unclear")


@pytest.mark.parametrize(("midi", "verdict"), [(59, "unclear"), (60, "unclear"), (61, "missed")])
def test_a_choke_may_be_where_it_begins_or_where_it_goes(midi: int, verdict: str) -> None:
    of = lick("3/2 1/0 5/0 3/2 1/0 5/0 1/4 3/4c5 | 3/4 1/0 5/0 3/0 1/0 5/0 3/0", "D7 G")
    index = target_at(of, "b1e8")
    thin = replace(play(of)[index], midi=midi, path=())
    found = judged(of, "b1e8 out", about=Circumstances(doubtful=(thin,)))
    assert found.outcome.notes[index].verdict == verdict
