"""The live face: marks while a pass goes on, and at its end the very verdicts that a file would get."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from feedback.follow import Follower
from feedback.following import follow_turn
from feedback.judges.limits import Limits
from feedback.judges.whole import Circumstances, judge_pass
from feedback.session import Listened, TurnPlan
from listener.notes import NoteEvent, Report
from tests.scores import START_SEC, A, B, grid_of, judged, play, target_at

SLIPS = st.lists(
    st.sampled_from(
        [
            "all -9ms",
            "even +18ms",
            "b1e6 -51ms",
            "b1e3 =2/0",
            "b1e5 out",
            "b1e8 out",
            "b1e8 -9dB",
            "b2e1 =1/0",
            "b2e1 +0.6e",
            "add 2/0 b1e7.5",
            "b2e2 sure 0.1",
        ]
    ),
    max_size=4,
    unique_by=lambda slip: slip.split()[0] + slip.split()[-1] * slip.startswith("add"),
)


def _heard_then_settled(events: Iterable[NoteEvent]) -> list[Report]:
    """Two reports a note, as an ear gives them: early with a level still growing, then final."""
    reports = []
    for number, event in enumerate(events):
        early = replace(event, level_db=event.level_db - 15.0)
        reports.append((event.heard_sec, Report("heard", number, early)))
        reports.append((event.settled_sec, Report("settled", number, event)))
    return [report for _, report in sorted(reports, key=lambda said: said[0])]


def _follower(reports: Sequence[Report] = (), about: Circumstances | None = None) -> Follower:
    follower = Follower(grid_of(A), about)
    for report in reports:
        follower.feed(report)
    return follower


@settings(max_examples=60, deadline=None)
@given(SLIPS)
def test_closed_it_says_what_a_file_would_get(slips: list[str]) -> None:
    events = play(A, "; ".join(slips))
    follower = _follower(_heard_then_settled(events))
    assert follower.close() == judge_pass(grid_of(A), events)
    assert follower.marks(math.inf) == follower.close().outcome.notes


@settings(max_examples=40, deadline=None)
@given(SLIPS, st.randoms(use_true_random=False))
def test_the_order_of_reports_about_different_notes_does_not_matter(slips: list[str], random: object) -> None:
    events = play(A, "; ".join(slips))
    reports = [Report("settled", number, event) for number, event in enumerate(events)]
    random.shuffle(reports)  # type: ignore[attr-defined]
    assert _follower(reports).close() == judge_pass(grid_of(A), events)


def test_a_later_report_replaces_an_earlier_one() -> None:
    index = target_at(A, "b1e8")
    events = play(A)
    wrong = replace(events[index], midi=61)
    follower = _follower([Report("settled", k, e) for k, e in enumerate(events)])
    follower.feed(Report("heard", index, wrong))
    assert follower.close().outcome.notes[index].verdict == "wrong"
    follower.feed(Report("settled", index, events[index]))
    assert follower.close().outcome == judged(A).outcome


def test_a_level_that_grew_is_the_one_that_counts() -> None:
    index = target_at(A, "b1e8")
    follower = _follower(_heard_then_settled(play(A)))
    assert follower.close().outcome.sevenths[-1].swallowed is False
    soft = play(A, "b1e8 -9dB")[index]
    follower.feed(Report("settled", index, soft))
    assert follower.close().outcome.sevenths[-1].swallowed is True


def test_a_withdrawn_note_was_none() -> None:
    events = play(A, "add 2/0 b1e7.5")
    (ghost,) = [k for k, e in enumerate(events) if e.midi == 59 and e.onset_sec < START_SEC + 0.75]
    reports = [Report("settled", k, e) for k, e in enumerate(events)]
    assert len(_follower(reports).close().outcome.extras) == 1
    follower = _follower([*reports, Report("withdrawn", ghost, events[ghost])])
    assert follower.close().outcome == judged(A).outcome


class TestMarks:
    """What is shown while playing."""

    def test_nothing_before_it_begins(self) -> None:
        assert _follower().marks(0.0) == ()
        assert _follower().marks(START_SEC) == ()

    def test_a_note_is_marked_as_soon_as_it_is_heard(self) -> None:
        events = play(A)
        follower = _follower([Report("heard", 0, events[0])])
        (mark,) = follower.marks(START_SEC + 0.03)
        assert (mark.index, mark.verdict) == (0, "landed")

    def test_a_silent_one_when_its_time_has_passed_by_an_eighth(self) -> None:
        follower = _follower([Report("settled", k, e) for k, e in enumerate(play(A)[:2])])
        assert [m.index for m in follower.marks(START_SEC + 0.29)] == [0, 1]
        marks = follower.marks(START_SEC + 0.31)
        assert [(m.index, m.verdict) for m in marks] == [(0, "landed"), (1, "landed"), (2, "missed")]

    def test_marks_are_provisional_until_the_lean_is_known(self) -> None:
        events = play(A, "all +30ms; b1e1 -55ms")
        follower = _follower([Report("settled", 0, events[0])])
        (first,) = follower.marks(START_SEC + 0.1)
        assert (first.verdict, first.rest_ms) == ("landed", pytest.approx(0))
        for number, event in enumerate(events):
            follower.feed(Report("settled", number, event))
        closed = follower.close().outcome.notes[0]
        assert (closed.verdict, closed.rest_ms) == ("early", pytest.approx(-55))

    def test_marks_of_a_whole_pass_grow_and_end_as_the_verdicts(self) -> None:
        reports = _heard_then_settled(play(A, "b1e5 out; b2e1 =1/0"))
        follower, seen = _follower(), 0
        for report in reports:
            follower.feed(report)
            marks = follower.marks(report.note.heard_sec)
            assert len(marks) >= seen
            seen = len(marks)
        assert follower.marks(START_SEC + 10) == follower.close().outcome.notes


def test_circumstances_are_those_of_a_file() -> None:
    first = judged(B, "even +24ms")
    about = Circumstances(click_off=True, deaf=((1.1, 1.2),), earlier=first.played)
    events = play(A, "even +24ms; b1e3 out")
    follower = _follower(_heard_then_settled(events), about)
    assert follower.close() == judge_pass(grid_of(A), events, about)
    assert follower.close() != judge_pass(grid_of(A), events)


def _thin(where: str) -> NoteEvent:
    """Something that may have been a note of A."""
    return replace(play(A)[target_at(A, where)], confidence=0.3)


class TestDoubtful:
    """What may have come stands nowhere, yet nobody is blamed there."""

    def test_silence_there_is_unclear_and_no_note_is_added(self) -> None:
        events = play(A, "b1e5 out")
        reports = [*_heard_then_settled(events), Report("doubtful", 90, _thin("b1e5"))]
        closed = _follower(reports).close()
        assert closed.outcome.notes[target_at(A, "b1e5")].verdict == "unclear"
        assert [note.verdict for note in closed.outcome.notes].count("landed") == len(A.notes) - 1
        assert closed.outcome.extras == ()
        assert closed.heard_notes == len(events)
        assert closed == judge_pass(grid_of(A), events, Circumstances(doubtful=(_thin("b1e5"),)))
        missed = _follower(_heard_then_settled(events)).close().outcome
        assert missed.notes[target_at(A, "b1e5")].verdict == "missed"

    def test_it_is_marked_when_its_time_has_passed_and_heard_by_nobody(self) -> None:
        follower = _follower([Report("doubtful", 0, _thin("b1e1"))])
        assert follower.marks(START_SEC + 0.06) == ()
        (mark,) = follower.marks(START_SEC + 0.11)
        assert (mark.index, mark.verdict, mark.heard_midi) == (0, "unclear", None)

    def test_a_note_that_was_withdrawn_and_is_doubtful_since_is_unclear(self) -> None:
        events, index = play(A), target_at(A, "b1e5")
        reports = [Report("settled", number, event) for number, event in enumerate(events)]
        reports.append(Report("withdrawn", index, events[index]))
        assert _follower(reports).close().outcome.notes[index].verdict == "missed"
        reports.append(Report("doubtful", len(events), _thin("b1e5")))
        assert _follower(reports).close().outcome.notes[index].verdict == "unclear"

    def test_a_turn_takes_it_into_its_own_pass_only(self) -> None:
        plan = TurnPlan(lick=A, tempo_half_bpm=150.0, first_start_sec=START_SEC, passes=2)
        passes = [play(A, "b1e5 out", start_sec=start) for start in plan.starts_sec]
        settled = [event for events in passes for event in events]
        said = [Report("settled", number, event) for number, event in enumerate(settled)]
        said.append(Report("doubtful", len(settled), _thin("b1e5")))
        over = list(follow_turn(plan, [Listened(now_sec=plan.end_sec, reports=said)], Limits()))
        index = target_at(A, "b1e5")
        assert [one.judged.outcome.notes[index].verdict for one in over] == ["unclear", "missed"]
