"""Following a turn: what is said while a pass goes on, and of one that was not heard in full."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import replace
from itertools import pairwise

import pytest

from feedback.following import TurnFollower, follow_turn
from feedback.grid import Grid
from feedback.judges.limits import Limits
from feedback.judges.whole import Judged
from feedback.played import as_heard
from feedback.provisional import LEAST_SEC, SAYS_SEC, TELLS_SEC
from feedback.session import (
    MOVED_MS,
    SETTLES_SEC,
    Listened,
    PassGoesOn,
    PassOver,
    SevenFell,
    TurnPlan,
    after_count_in,
)
from feedback.sources import simulated_turn
from listener.notes import NoteEvent, Report
from routines.excerpt import span_of
from routines.library import load

LICK = load("slab-wood-supper")
TEMPO = 60.0  # a bar lasts two seconds, a pass four
GLIDE_SEC = 0.25  # a note settles so long after it began


def _notes(*mistakes: Sequence[str]) -> list[NoteEvent]:
    plan = after_count_in(LICK, TEMPO, passes=len(mistakes))
    return as_heard(simulated_turn(plan, mistakes=mistakes, seed=5))


def _steps(notes: Iterable[NoteEvent], until_sec: float, step_sec: float = 0.02) -> list[Listened]:
    """As an ear says it: each note heard after 30 ms with a level that is too high, then settled."""
    said: list[tuple[float, Report]] = []
    for number, note in enumerate(notes):
        first = replace(note, level_db=note.level_db + 20.0)
        said.append((note.onset_sec + 0.03, Report("heard", number, first)))
        said.append((note.onset_sec + GLIDE_SEC, Report("settled", number, note)))
    steps = []
    for k in range(1, math.ceil(until_sec / step_sec) + 1):
        begin, end = (k - 1) * step_sec, k * step_sec
        steps.append(Listened(now_sec=end, reports=[report for sec, report in said if begin < sec <= end]))
    return steps


def _follow(steps: Iterable[Listened], passes: int) -> tuple[list[tuple[float, object]], TurnFollower]:
    """What is said for good, and the follower."""
    follower = TurnFollower(after_count_in(LICK, TEMPO, passes=passes), Limits())
    said = [(step.now_sec, found) for step in steps for found in follower.feed(step)]
    return [(sec, found) for sec, found in said if not isinstance(found, PassGoesOn)], follower


def _goes_on(
    steps: Iterable[Listened], plan: TurnPlan
) -> tuple[list[tuple[float, PassGoesOn]], list[PassOver]]:
    """What is told of passes that go on, with when it is told, and those that are over."""
    follower = TurnFollower(plan, Limits())
    said = [(step.now_sec, found) for step in steps for found in follower.feed(step)]
    going = [(sec, found) for sec, found in said if isinstance(found, PassGoesOn)]
    return going, [found for _, found in said if isinstance(found, PassOver)]


def _last_pass(said: Sequence[tuple[float, object]]) -> PassOver:
    (_, over) = said[-1]
    assert isinstance(over, PassOver)
    return over


def test_a_fall_is_told_soon_after_it_was_struck() -> None:
    notes = _notes(())
    said, follower = _follow(_steps(notes, 20.0), 1)
    assert [type(found) for _, found in said] == [SevenFell, PassOver]
    told_sec, fell = said[0]
    assert isinstance(fell, SevenFell)
    (seven,) = fell.outcome.sevenths
    assert (seven.landed, seven.resolution) == (True, "resolved")
    fall = next(
        note.onset_sec + note.deviation_ms / 1e3
        for note in fell.outcome.notes
        if note.midi == seven.due_midi and note.index > seven.index
    )
    assert fall + 0.07 <= told_sec <= fall + 0.12
    assert follower.over


def test_it_waits_for_the_level_of_the_seven() -> None:
    notes = _notes(("seven-swallowed",))
    said, _ = _follow(_steps(notes, 20.0), 1)
    fell = next(found for _, found in said if isinstance(found, SevenFell))
    assert [seven.swallowed for seven in fell.outcome.sevenths] == [True]  # not by its first, loud word


@pytest.mark.parametrize("mistake", ["left-hanging", "all-sevens-missing", "resolution-octave"])
def test_what_may_still_come_is_not_told_while_the_pass_goes_on(mistake: str) -> None:
    said, _ = _follow(_steps(_notes((mistake,)), 20.0), 1)
    assert [type(found) for _, found in said] == [PassOver]


def test_each_pass_is_told_by_itself() -> None:
    said, _ = _follow(_steps(_notes((), ("left-hanging",), ()), 40.0), 3)
    told = [(type(found).__name__, found.number) for _, found in said]  # type: ignore[attr-defined]
    assert told == [("SevenFell", 1), ("PassOver", 1), ("PassOver", 2), ("SevenFell", 3), ("PassOver", 3)]


def test_a_pass_is_over_when_its_notes_have_settled() -> None:
    said, _ = _follow(_steps(_notes(()), 20.0), 1)
    over_sec = next(sec for sec, found in said if isinstance(found, PassOver))
    assert over_sec == pytest.approx(4.0 + 4.0 + SETTLES_SEC, abs=0.021)


@pytest.mark.parametrize(
    ("until_sec", "least", "told"),
    [
        (3.9, 0.0, []),  # in the count-in
        (4.4, 0.0, [1]),
        (4.4, 0.5, []),
        (6.1, 0.5, [1]),
        (9.0, 0.0, [1]),  # in the rest bar
        (10.5, 0.0, [1, 2]),
    ],
)
def test_what_was_not_heard_to_its_end(until_sec: float, least: float, told: list[int]) -> None:
    notes = [note for note in _notes((), (), ()) if note.onset_sec + GLIDE_SEC < until_sec]
    said, follower = _follow(_steps(notes, until_sec), 3)
    whole = [found for _, found in said if isinstance(found, PassOver)]
    broken = list(follower.end(least=least))
    assert [over.number for over in [*whole, *broken]] == told
    assert all(over.complete for over in whole)
    assert not any(over.complete for over in broken)
    for over in broken:
        late = [n.verdict for n in over.judged.outcome.notes if (n.onset_sec or 0.0) > until_sec]
        assert set(late) <= {"unclear"}
    assert follower.over


def test_nothing_heard_is_not_everything_missed() -> None:
    notes = [note for note in _notes((), ()) if note.onset_sec < 9.0]
    said, _ = _follow(_steps(notes, 30.0), 2)
    assert [found.heard for _, found in said if isinstance(found, PassOver)] == [True, False]


def test_a_note_in_the_rest_bar_is_in_no_pass() -> None:
    notes = [note for note in _notes(()) if note.onset_sec < 4.1][:1]
    alone = [replace(notes[0], onset_sec=9.0, heard_sec=9.03, settled_sec=9.2)]
    said, _ = _follow(_steps(alone, 30.0), 2)
    assert [found.heard for _, found in said if isinstance(found, PassOver)] == [False, False]


@pytest.mark.parametrize(("confidence", "heard"), [(0.5, False), (0.74, False), (0.75, True)])
def test_a_note_that_nobody_is_blamed_for_does_not_say_that_somebody_plays(
    confidence: float, heard: bool
) -> None:
    alone = [replace(_notes(())[0], confidence=confidence)]
    said, _ = _follow(_steps(alone, 20.0), 1)
    assert [found.heard for _, found in said if isinstance(found, PassOver)] == [heard]


@pytest.mark.parametrize(
    ("course", "moved"),
    [
        ([(0.0, 20.0)], [0.0, 0.0]),
        ([(0.0, 20.0), (5.0, 26.0)], [6.0, 0.0]),
        ([(0.0, 20.0), (5.0, 26.0), (6.0, 20.0)], [6.0, 0.0]),
        ([(0.0, 20.0), (9.0, 26.0)], [0.0, 0.0]),  # in the rest bar
        ([(0.0, 20.0), (12.0, 16.0)], [0.0, 4.0]),
    ],
)
def test_how_far_the_round_trip_moved(course: list[tuple[float, float]], moved: list[float]) -> None:
    steps = [
        replace(step, round_trip_sec=[ms for sec, ms in course if sec <= step.now_sec][-1] / 1e3)
        for step in _steps(_notes((), ()), 20.0)
    ]
    said, _ = _follow(steps, 2)
    found = [over for _, over in said if isinstance(over, PassOver)]
    assert [over.moved_ms for over in found] == pytest.approx(moved)
    assert [over.shaken for over in found] == [ms > MOVED_MS for ms in moved]


def test_deaf_stretches_are_nobodys_fault() -> None:
    notes = [note for note in _notes(()) if not 5.0 < note.onset_sec < 6.5]
    steps = _steps(notes, 20.0)
    plain, _ = _follow(steps, 1)
    steps[200] = replace(steps[200], deaf=[(4.9, 6.6)])
    told, _ = _follow(steps, 1)
    verdicts = [
        {note.verdict for note in found[-1][1].judged.outcome.notes}  # type: ignore[attr-defined]
        for found in (plain, told)
    ]
    assert "missed" in verdicts[0]
    assert verdicts[1] == {"landed", "unclear"}


def test_deaf_stretches_told_one_after_the_other_all_count() -> None:
    stretches = [(4.9, 5.4), (6.1, 6.6)]
    notes = [note for note in _notes(()) if not any(a < note.onset_sec < b for a, b in stretches)]
    steps = _steps(notes, 20.0)
    for k, stretch in zip((300, 340), stretches, strict=True):
        alone = [*steps]
        alone[k] = replace(steps[k], deaf=[stretch])
        said, _ = _follow(alone, 1)
        assert "missed" in {note.verdict for note in _last_pass(said).judged.outcome.notes}
    for k, stretch in zip((300, 340), stretches, strict=True):
        steps[k] = replace(steps[k], deaf=[stretch])
    said, _ = _follow(steps, 1)
    assert {note.verdict for note in _last_pass(said).judged.outcome.notes} == {"landed", "unclear"}


def test_later_passes_learn_nothing_from_a_deaf_stretch() -> None:
    steps = _steps(_notes((), ()), 40.0)
    _, plain = _follow(steps, 2)
    steps[400] = replace(steps[400], deaf=[(4.9, 6.6)])
    _, told = _follow(steps, 2)
    kept = [deviation for deviation in plain.earlier if not 4.9 <= deviation.due_sec <= 6.6]
    assert 0 < len(kept) < len(plain.earlier)
    assert [d.due_sec for d in told.earlier] == [d.due_sec for d in kept]


def test_numbers_and_habits_go_on_where_a_turn_is_taken_up_again() -> None:
    plan = after_count_in(LICK, TEMPO, passes=1)
    first = TurnFollower(plan, Limits())
    for step in _steps(_notes(("bounced",)), 20.0):
        list(first.feed(step))
    again = TurnFollower(plan, Limits(), first_number=3, earlier=first.earlier)
    said = [found for step in _steps(_notes(("bounced",)), 20.0) for found in again.feed(step)]
    over = said[-1]
    assert isinstance(over, PassOver)
    assert over.number == 3
    assert len(again.earlier) > len(first.earlier)


def test_each_note_stands_in_a_mark_soon_after_it_was_struck() -> None:
    notes = _notes(())
    going, (over,) = _goes_on(_steps(notes, 20.0), after_count_in(LICK, TEMPO, passes=1))
    assert {found.number for _, found in going} == {1}
    for final in over.judged.outcome.notes:
        struck = (final.onset_sec or 0.0) + (final.deviation_ms or 0.0) / 1e3
        first = next(sec for sec, found in going if found.outcome.notes[final.index].heard_midi is not None)
        assert struck + 0.03 - 1e-9 <= first <= struck + 0.03 + LEAST_SEC + 0.021
    _, last = going[-1]
    assert [note.verdict for note in last.outcome.notes] == [n.verdict for n in over.judged.outcome.notes]


def test_what_was_due_well_before_all_was_told_stays_missed() -> None:
    notes = [note for k, note in enumerate(_notes(())) if k not in (2, 5)]
    plan = after_count_in(LICK, TEMPO, passes=1)
    going, (over,) = _goes_on(_steps(notes, 20.0), plan)
    final = {note.index: note.verdict for note in over.judged.outcome.notes}
    (grid,) = plan.grids(Limits())
    sevens, told = {ask.note for ask in LICK.sevenths}, set()
    for sec, found in going:
        assert found.heard_to_sec <= sec - SAYS_SEC
        for note in found.outcome.notes:
            assert note.onset_sec is not None
            late = note.index not in sevens and note.onset_sec + grid.eighth_sec + 0.05 < found.heard_to_sec
            if late and note.verdict == "missed":
                told.add(note.index)
                assert final[note.index] == "missed"
    assert told == {index for index, verdict in final.items() if verdict == "missed"} - sevens


def test_nothing_is_told_for_good_beyond_a_note_that_still_grows() -> None:
    steps = _steps(_notes(()), 20.0)
    going, _ = _goes_on(steps, after_count_in(LICK, TEMPO, passes=1))
    growing: dict[int, float] = {}
    by_time = {step.now_sec: step.reports for step in steps}
    to_sec = {sec: found.heard_to_sec for sec, found in going}
    for sec in sorted(by_time):
        for report in by_time[sec]:
            growing[report.number] = report.note.onset_sec if report.kind == "heard" else math.inf
        if sec in to_sec:
            assert to_sec[sec] <= min(growing.values(), default=math.inf)
    assert all(a <= b for a, b in pairwise(to_sec.values()))


def test_where_nothing_comes_time_goes_on_and_nothing_is_judged_again(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    judged: list[float] = []
    plain = TurnFollower._judged

    def counted(self: TurnFollower, grid: Grid) -> Judged:
        judged.append(self.heard_to_sec)
        return plain(self, grid)

    monkeypatch.setattr(TurnFollower, "_judged", counted)
    plan = after_count_in(LICK, TEMPO, passes=1)
    going, _ = _goes_on(_steps([], 20.0), plan)
    begins = plan.first_start_sec - LICK.pickup_quarters * 0.5 - 0.5
    assert judged == pytest.approx([begins, plan.end_sec], abs=0.03)
    heard_to = [found.heard_to_sec for _, found in going]
    assert max(b - a for a, b in pairwise(heard_to)) <= TELLS_SEC + 0.021
    assert heard_to[-1] == pytest.approx(plan.end_sec - SAYS_SEC, abs=TELLS_SEC + 0.021)


def test_a_pass_is_not_judged_with_every_word(monkeypatch: pytest.MonkeyPatch) -> None:
    judged: list[float] = []
    plain = TurnFollower._judged

    def counted(self: TurnFollower, grid: Grid) -> Judged:
        judged.append(self.heard_to_sec)
        return plain(self, grid)

    monkeypatch.setattr(TurnFollower, "_judged", counted)
    steps = _steps(_notes(()), 20.0, step_sec=0.005)
    chatter = Report("doubtful", 999, replace(_notes(())[0], onset_sec=5.0))
    steps = [replace(step, reports=[*step.reports, chatter]) for step in steps]
    _goes_on(steps, after_count_in(LICK, TEMPO, passes=1))
    apart = sorted(b - a for a, b in pairwise(judged))
    assert apart[len(apart) // 2] == pytest.approx(LEAST_SEC, abs=0.006)
    assert sum(one < LEAST_SEC - 1e-9 for one in apart) <= 2  # that the seven fell, and that the pass is over


def test_a_loop_tells_of_the_next_pass_while_the_last_one_settles() -> None:
    plan = after_count_in(LICK, 120.0, passes=2, rest_bars=0)
    notes = as_heard(simulated_turn(plan, mistakes=((), ()), seed=5))
    going, _ = _goes_on(_steps(notes, 12.0), plan)
    second = plan.starts_sec[1]
    first = next(sec for sec, found in going if found.number == 2 and found.outcome.notes[1].heard_midi)
    assert first < second + SETTLES_SEC - 0.1
    assert any(found.number == 1 and sec > second for sec, found in going)


def test_in_a_loop_a_fall_is_not_told_before_the_pass_before_is_over() -> None:
    lick = span_of("change", LICK).of(LICK)
    plan = after_count_in(lick, 180.0, passes=2, rest_bars=0)
    notes = as_heard(simulated_turn(plan, mistakes=((), ()), seed=5))
    follower = TurnFollower(plan, Limits())
    said = [found for step in _steps(notes, 12.0) for found in follower.feed(step)]
    told = [(type(one).__name__, one.number) for one in said if not isinstance(one, PassGoesOn)]
    assert told == [("SevenFell", 1), ("PassOver", 1), ("SevenFell", 2), ("PassOver", 2)]


def test_a_note_that_never_settles_does_not_hold_up_what_is_told() -> None:
    steps = _steps(_notes(()), 20.0)
    stuck = Report("heard", 999, replace(_notes(())[0], onset_sec=4.0))
    steps[205] = replace(steps[205], reports=[stuck])
    going, _ = _goes_on(steps, after_count_in(LICK, TEMPO, passes=1))
    for sec, found in going:
        if sec > 4.6:
            assert sec - SETTLES_SEC - 1e-9 <= found.heard_to_sec <= sec - SAYS_SEC


def test_a_deaf_stretch_is_seen_in_the_marks_at_once() -> None:
    notes = [note for note in _notes(()) if not 5.0 < note.onset_sec < 6.5]
    steps = _steps(notes, 20.0)
    at = next(k for k, step in enumerate(steps) if step.now_sec > 6.4)
    assert not steps[at].reports
    steps[at] = replace(steps[at], deaf=[(4.9, 6.4)])
    going, _ = _goes_on(steps, after_count_in(LICK, TEMPO, passes=1))
    after = next(found for sec, found in going if sec >= steps[at].now_sec)
    lost = [n.verdict for n in after.outcome.notes if n.onset_sec is not None and 5.1 < n.onset_sec < 6.2]
    assert lost
    assert set(lost) == {"unclear"}


def test_nothing_provisional_is_told_where_that_is_not_asked_for() -> None:
    steps = _steps(_notes(()), 20.0)
    follower = TurnFollower(after_count_in(LICK, TEMPO, passes=1), Limits(), provisional=False)
    said = [found for step in steps for found in follower.feed(step)]
    assert [type(found) for found in said] == [PassOver]
    plan = after_count_in(LICK, TEMPO, passes=1)
    assert [type(found) for found in follow_turn(plan, steps, Limits())] == [PassOver]
