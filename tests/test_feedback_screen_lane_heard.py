"""What the lane shows of what was heard: shapes tell it, not ink alone; nothing is blamed too soon; words."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import combinations

import pytest

from feedback.playstate import PlayState, RunningPass
from feedback.screen.lane.fall import INKED, ribbons, taken
from feedback.screen.lane.heard import HeardPass
from feedback.screen.lane.numbers import added_marks, number_marks
from feedback.screen.lane.page import RIBBON, Page, page_of
from feedback.screen.lane.pegs import peg_marks
from feedback.screen.lane.picture import lane_picture
from feedback.screen.lane.words import Said, last_seven
from feedback.screen.marks import Box, Line, Mark, Shape, Sheet, Text
from routines.library import load
from routines.outcome import Extra, NoteVerdict, SeventhVerdict
from tests.in_turn import in_turn
from tests.lanes import LAG_SEC, now_x, plan_of, sec_at, state_at, texts

VERDICTS = ("landed", "early", "late", "wrong", "missed", "unclear")
NOD = load("the-edgers-nod")
SEVEN = NOD.sevenths[-1]


def page() -> Page:
    return page_of(plan_of(NOD, 96.0), Sheet(), "flowing")


def verdict(said: str, index: int = SEVEN.note) -> NoteVerdict:
    note = NOD.notes[index]
    rest = {"landed": 4.0, "early": -50.0, "late": 50.0, "wrong": 3.0}.get(said)
    return NoteVerdict(
        index=index,
        onset_sec=1.0,
        midi=note.midi,
        string=note.string,
        fret=note.fret,
        role=note.role,
        core=note.core,
        verdict=said,  # type: ignore[arg-type]
        heard_midi=None if rest is None else note.midi + (said == "wrong"),
        deviation_ms=rest,
        rest_ms=rest,
    )


def seventh(resolution: str, ms: float | None = 0.0, *, as_asked: bool = False) -> SeventhVerdict:
    return SeventhVerdict(
        index=SEVEN.note,
        chord=SEVEN.chord,
        next_chord=SEVEN.next_chord,
        midi=NOD.notes[SEVEN.note].midi,
        sounded=True,
        landed=True,
        swallowed=False,
        due=True,
        due_midi=SEVEN.due_midi,
        resolution=resolution,  # type: ignore[arg-type]
        resolved_midi=None,
        resolution_ms=ms,
        as_asked=as_asked,
    )


def without_ink(marks: list[Mark]) -> list[Mark]:
    """The same in one ink; a shape stays open or filled."""
    found: list[Mark] = []
    for mark in marks:
        if isinstance(mark, Text | Line):
            found.append(replace(mark, ink="ink"))
        elif isinstance(mark, Shape):
            found.append(replace(mark, fill="band" if mark.fill == "band" else "ink", edge=""))
        elif isinstance(mark, Box):
            found.append(replace(mark, fill="paper" if mark.fill == "paper" else "ink"))
    return found


def bare(laid: tuple[tuple[float, float, Mark], ...]) -> list[Mark]:
    return without_ink([mark for _, _, mark in laid])


def test_numbers_tell_each_verdict_by_shape() -> None:
    drawn = {said: bare(number_marks(page(), SEVEN.note, verdict(said))) for said in VERDICTS}
    drawn["open"] = bare(number_marks(page(), SEVEN.note, None))
    for one, two in combinations(drawn, 2):
        assert drawn[one] != drawn[two], (one, two)


def test_pegs_tell_each_verdict_by_shape() -> None:
    peg = next(peg for peg in page().picture.pegs if peg.note == SEVEN.note)
    drawn = {said: bare(peg_marks(page(), peg, verdict(said), False)) for said in VERDICTS}
    drawn["swallowed"] = bare(peg_marks(page(), peg, verdict("landed"), True))
    drawn["open"] = bare(peg_marks(page(), peg, None, False))
    for one, two in combinations(drawn, 2):
        assert drawn[one] != drawn[two], (one, two)


def test_falls_tell_each_resolution_by_shape() -> None:
    rows = {"resolved": 0.0, "ahead": -150.0, "late": 310.0, "octave": 0.0, "hanging": None}
    drawn = {said: bare(taken(page(), SEVEN, seventh(said, ms), True)) for said, ms in rows.items()}
    for one, two in combinations(drawn, 2):
        assert drawn[one] != drawn[two], (one, two)
    assert all(drawn.values())


def test_nick_stands_at_its_true_place() -> None:
    at = page()
    for said, ms in (("landed", 4.0), ("early", -50.0), ("late", 50.0)):
        laid = number_marks(at, SEVEN.note, verdict(said))
        nick = next(m for _, _, m in laid if isinstance(m, Line) and m.thick == 6.0)
        assert nick.points[0][0] == nick.points[1][0]
        expected = ms / 1e3 * 96.0 / 30.0 * at.room.quarter
        assert nick.points[0][0] - at.x_of(SEVEN.note) == pytest.approx(expected)


def test_flag_points_to_the_side_it_is_off() -> None:
    for said, way in (("early", -1), ("late", 1)):
        laid = number_marks(page(), SEVEN.note, verdict(said))
        flag = next(m for _, _, m in laid if isinstance(m, Shape))
        (at, _), (tip, _), _ = flag.points
        assert math.copysign(1, tip - at) == way


def test_other_note_is_named_under_the_struck_number() -> None:
    said = [m.text for _, _, m in number_marks(page(), 3, verdict("wrong", 3)) if isinstance(m, Text)]
    assert said == ["5", "F"]


def test_resolved_fall_is_inked_from_the_seven_over_the_slope_to_its_tone() -> None:
    at = page()
    marks = [m for _, _, m in taken(at, SEVEN, seventh("resolved"), True)]
    slant = next(m for m in marks if isinstance(m, Shape))
    (begin, high), (_, low), *_ = slant.points
    assert low - high == pytest.approx(at.half_step)
    assert slant.fill == "landed"
    boxes = [m for m in marks if isinstance(m, Box)]
    assert min(b.x for b in boxes) == pytest.approx(at.x_of(SEVEN.note))
    assert max(b.x + b.wide for b in boxes) == pytest.approx(at.x(SEVEN.place_quarters or 0.0))
    assert INKED > RIBBON
    assert any(m.points[0] == pytest.approx((begin, high + 3.0)) for _, _, m in ribbons(at)
               if isinstance(m, Shape))  # fmt: skip


def test_late_fall_steps_down_where_it_came() -> None:
    at = page()
    marks = [m for _, _, m in taken(at, SEVEN, seventh("late", 310.0), True)]
    step = next(m for m in marks if isinstance(m, Box) and m.high > INKED + 1.0)
    came = at.x(SEVEN.place_quarters or 0.0) + at.x_of_ms(310.0)
    assert step.x + step.wide / 2 == pytest.approx(came)


def test_hanging_seven_goes_on_broken_and_level() -> None:
    marks = [m for _, _, m in taken(page(), SEVEN, seventh("hanging", None), True)]
    assert all(isinstance(m, Line) and m.dashed and m.points[0][1] == m.points[1][1] for m in marks)
    assert len(marks) == 2


def test_third_is_drawn_thinner_and_left_open_where_it_hangs() -> None:
    at, third = page(), NOD.thirds[-1]
    risen = [m for _, _, m in taken(at, third, replace(seventh("resolved"), index=third.note), False)]
    assert max(m.high for m in risen if isinstance(m, Box)) == RIBBON / 2
    assert taken(at, third, replace(seventh("hanging"), index=third.note), False) == ()


def test_foreign_added_note_is_struck_through() -> None:
    own, foreign = (
        added_marks(page(), Extra(onset_sec=1.0, midi=62, foreign=f), 1.25) for f in (False, True)
    )
    assert len(foreign) == len(own) + 1 == 3


def heard(to_quarters: float, *mistakes: str) -> HeardPass:
    plan = plan_of(NOD, 96.0)
    state = state_at(plan, sec_at(plan, 0, to_quarters) + 0.08, mistakes)
    return HeardPass(lick=NOD, number=0, outcome=state.running[0].outcome, heard_to_quarters=to_quarters)


def test_silence_is_not_blamed_while_the_note_may_still_come() -> None:
    at = NOD.notes[SEVEN.note].onset_quarters
    assert heard(at + 0.3, "seven-missing").verdict(SEVEN.note) is None
    due = NOD.notes[SEVEN.due_note or 0].onset_quarters
    assert heard(due + 0.4, "seven-missing").verdict(SEVEN.note) is None
    gone = heard(due + 0.6, "seven-missing").verdict(SEVEN.note)
    assert gone is not None
    assert gone.verdict == "missed"


@pytest.mark.parametrize("name", ["first-log-up", "the-edgers-nod", "trimmers-choice"])
def test_a_seven_that_comes_far_too_late_is_never_said_to_be_missing(name: str) -> None:
    lick = load(name)
    plan = plan_of(lick, 110.0, passes=1)
    seven, said = lick.sevenths[-1].note, []
    for tenth in range(1, 60):
        quarters = 0.1 * tenth
        state = state_at(plan, sec_at(plan, 0, quarters) + LAG_SEC, ("seven-late-full",))
        (running,) = state.running
        found = HeardPass(lick=lick, number=0, outcome=running.outcome, heard_to_quarters=quarters).verdict(
            seven
        )
        said += [found.verdict] if found else []
    assert set(said) == {"late"}


def test_a_seven_that_need_not_fall_may_come_until_just_after_its_change() -> None:
    lick = load("sawdust-in-the-coffee")
    ask = lick.sevenths[-1]
    assert (ask.due_note, ask.change_quarters) == (None, 4.0)
    plan = plan_of(lick, 96.0)
    outcome = state_at(plan, sec_at(plan, 0, 4.0)).running[0].outcome
    notes = list(outcome.notes)
    notes[ask.note] = replace(notes[ask.note], verdict="missed", heard_midi=None)
    timing = replace(outcome.timing, lean_ms=None)
    outcome = replace(outcome, notes=tuple(notes), timing=timing)
    told = [
        HeardPass(lick=lick, number=0, outcome=outcome, heard_to_quarters=quarters).verdict(ask.note)
        for quarters in (3.9, 4.1, 4.3)
    ]
    assert told == [None, None, notes[ask.note]]


def test_answered_note_is_shown_at_once() -> None:
    at = NOD.notes[SEVEN.note].onset_quarters
    found = heard(at + 0.1).verdict(SEVEN.note)
    assert found is not None
    assert found.verdict == "landed"


def test_nothing_that_lies_ahead_has_marks() -> None:
    for quarters in (0.4, 2.2, 5.1):
        plan = plan_of(NOD, 96.0)
        sec = sec_at(plan, 0, quarters)
        picture = lane_picture(state_at(plan, sec), sec, Sheet())
        inks = {t.ink for t in texts(picture) if t.size == 44.0 and t.x > now_x(picture) + 1.0}
        assert inks == {"ink"}


def test_hanging_fall_is_drawn_before_it_is_said() -> None:
    ask, place = SEVEN, SEVEN.place_quarters or 0.0
    verdicts = seventh("hanging", None)
    early, open_, settled = (heard(place + more) for more in (0.4, 0.6, 4.6))
    assert [h.falls(ask, verdicts) for h in (early, open_, settled)] == [False, True, True]
    assert [h.settled(ask, verdicts) for h in (early, open_, settled)] == [False, False, True]


def words_at(number: int, quarters: float, *mistakes: tuple[str, ...]) -> list[str]:
    plan = plan_of(NOD, 96.0)
    sec = sec_at(plan, number, quarters)
    picture = lane_picture(state_at(plan, sec, *mistakes), sec, Sheet())
    return [t.text for t in texts(picture) if t.y > 690.0]


@in_turn(
    ("mistakes", "number", "quarters", "said"),
    [
        ((), 0, -1.0, ["G falls to F♯ at the bar", "enter stops, escape leaves"]),
        ((), 0, 2.0, ["G falls to F♯ at the bar"]),
        ((), 0, 3.8, ["♭7 G landed", "G falls to F♯ at the bar"]),
        ((), 0, 4.6, ["♭7 G landed, resolved", "then rest"]),
        ((), 1, -0.5, ["pass 1: clean pass", "pass 2 of 4 next"]),
        (("left-hanging",), 0, 6.0, ["♭7 G landed", "then rest"]),
        ((), 1, 1.0, ["pass 1: clean pass", "G falls to F♯ at the bar"]),
        (("left-hanging",), 1, -0.5, ["pass 1: ♭7 G landed, left hanging", "pass 2 of 4 next"]),
        (("seven-missing",), 1, -0.5, ["pass 1: ♭7 G not heard", "pass 2 of 4 next"]),
        (("seven-swallowed",), 0, 5.0, ["♭7 G swallowed, resolved", "then rest"]),
        ((), 3, 5.0, ["♭7 G landed, resolved", "last pass"]),
    ],
)
def test_words(mistakes: tuple[str, ...], number: int, quarters: float, said: list[str]) -> None:
    assert words_at(number, quarters, mistakes) == said


def test_words_on_a_late_place_colour_and_a_chain() -> None:
    found = {}
    for name, quarters in (
        ("pond-mans-lean", 1.0),
        ("sawdust-in-the-coffee", 1.0),
        ("guide-tone-pinches", 9.0),
    ):
        plan = plan_of(load(name), 80.0)
        sec = sec_at(plan, 0, quarters)
        found[name] = lane_picture(state_at(plan, 0.0), sec, Sheet()).texts[-1]
    assert found == {
        "pond-mans-lean": "G falls to F♯ on eighth 3 of bar 2",
        "sawdust-in-the-coffee": "B♭ is colour: it need not fall",
        "guide-tone-pinches": "C falls to B at the bar",
    }


def test_words_on_a_fall_stay_until_the_next_chords_sevens_are_all_known() -> None:
    plan = plan_of(load("guide-tone-pinches"), 60.0)
    found = []
    for quarters in (12.9, 14.9, 15.6):
        sec = sec_at(plan, 0, quarters)
        found.append(
            next(t.text for t in texts(lane_picture(state_at(plan, sec), sec, Sheet())) if t.y > 690)
        )
    assert found == ["♭7 C landed, resolved", "♭7 C landed, resolved", "♭7 F landed"]


def test_news_goes_first() -> None:
    plan = plan_of(NOD, 96.0)
    sec = sec_at(plan, 0, 5.0)
    state = state_at(plan, sec, news="the B string is 12 cents flat")
    said = lane_picture(state, sec, Sheet()).texts
    assert "the B string is 12 cents flat" in said
    assert not any(text.startswith("♭7") and "landed" in text for text in said)


def test_passes_are_told_in_their_order_however_they_come() -> None:
    plan = plan_of(NOD, 96.0)
    sec = sec_at(plan, 1, 4.8)
    state = state_at(plan, sec, ("seven-missing",), ())
    turned = replace(state, running=tuple(reversed(state.running)))
    assert lane_picture(state, sec, Sheet()) == lane_picture(turned, sec, Sheet())


def test_outcome_of_another_lick_is_left_out() -> None:
    plan = plan_of(NOD, 96.0)
    sec = sec_at(plan, 0, 5.0)
    other = plan_of(load("tally-stick"), 96.0)
    running: tuple[RunningPass, ...] = state_at(other, sec).running
    state: PlayState = replace(state_at(plan, sec), running=running)
    assert {t.ink for t in texts(lane_picture(state, sec, Sheet())) if t.size == 44.0} == {"ink"}


def test_nothing_heard_says_nothing() -> None:
    assert last_seven((), 0, 1, "pass") == Said("")
