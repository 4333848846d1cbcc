"""The tempo ladder on the screen: its line, its drawing, and its place on the page after a turn."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from feedback.ladder_seen import LadderSeen
from feedback.playstate import PlayState
from feedback.practice_report import turn_sentence
from feedback.practice_request import PracticeRequest
from feedback.screen.after.choices import next_choices, tempo_next
from feedback.screen.after.picture import after_picture
from feedback.screen.marks import READABLE, Line, Mark, Picture, Sheet, Text
from feedback.screen.views.ladder import LEAST_HIGH, LEAST_WIDE, ladder_marks
from feedback.screen.views.ladder_words import ladder_line, ladder_step
from feedback.session import PassOver
from tests.pictures import SHEETS, check_picture, text_bounds
from tests.scores import A, judged

SEEN = LadderSeen(tempo_half_bpm=80.0, home_half_bpm=76.0, edge_half_bpm=84.0, reach_half_bpm=87.0, row=2)
ROOM = (100.0, 50.0, LEAST_WIDE, LEAST_HIGH)


def _texts(marks: list[Mark]) -> list[Text]:
    return [mark for mark in marks if isinstance(mark, Text)]


def _level(marks: list[Mark], text: str) -> float:
    """Height of the rung that a text names: the level line that is nearest to its middle."""
    named = next(one for one in _texts(marks) if one.text == text)
    middle = named.y - 0.365 * named.size
    levels = [m.points[0][1] for m in marks if isinstance(m, Line) and m.points[0][1] == m.points[1][1]]
    return min(levels, key=lambda y: abs(y - middle))


def _ends(marks: list[Mark], tempo: float) -> tuple[float, float]:
    """The ends of the rung that "home" or "edge" with a tempo names."""
    name = next(one.text for one in _texts(marks) if one.text.endswith(f" {tempo:.0f}"))
    y = _level(marks, name)
    (rung,) = [m.points for m in marks if isinstance(m, Line) and m.points[0][1] == m.points[1][1] == y]
    return rung[0][0], rung[1][0]


def _drawn(seen: LadderSeen) -> list[Mark]:
    return ladder_marks(seen, *ROOM)


# the line


def test_the_line_says_where_it_stands_and_what_takes_it_up() -> None:
    assert ladder_line(SEEN) == "home 76, edge 84; at 80: two clean, one more and it rises"
    assert ladder_line(replace(SEEN, row=0)) == "home 76, edge 84; at 80: three clean in a row and it rises"
    assert ladder_step(replace(SEEN, row=1)) == "at 80: one clean, two more and it rises"
    assert ladder_step(replace(SEEN, row=0, needed=12)) == "at 80: 12 clean in a row and it rises"


def test_why_it_has_moved_goes_before_what_would_move_it() -> None:
    seen = replace(SEEN, said="three clean in a row: up to 84")
    assert ladder_line(seen) == "home 76, edge 84; three clean in a row: up to 84"
    assert ladder_line(replace(seen, phase="over")) == "home 76, edge 84; three clean in a row: up to 84"


def test_what_is_not_known_is_left_out() -> None:
    assert ladder_line(LadderSeen(tempo_half_bpm=70.5)) == "at 70.5: three clean in a row and it rises"
    assert ladder_line(replace(SEEN, edge_half_bpm=None)).startswith("home 76; at 80")


def test_the_change_alone_and_the_end_have_words_of_their_own() -> None:
    assert ladder_step(replace(SEEN, unit="change")) == (
        "the change alone at 80: two clean, one more and all of it again"
    )
    closing = replace(SEEN, phase="closing", tempo_half_bpm=76.0)
    assert ladder_step(closing) == "the last one at home tempo, 76"
    assert ladder_step(replace(SEEN, phase="over")) == "this one has had its time today"


# the drawing


def test_faster_rungs_are_higher_and_the_number_sits_in_its_own() -> None:
    marks = _drawn(SEEN)
    assert {one.text for one in _texts(marks)} == {"80", "home 76", "edge 84"}
    assert _level(marks, "edge 84") < _level(marks, "80") < _level(marks, "home 76")
    a_half = (_level(marks, "home 76") - _level(marks, "80")) / 4.0
    assert _level(marks, "80") - _level(marks, "edge 84") == pytest.approx(4.0 * a_half)


def test_edge_stands_left_of_its_rung_and_home_right() -> None:
    for tempo in (70.0, 80.0, 92.0):
        marks = _drawn(replace(SEEN, tempo_half_bpm=tempo))
        bounds = {text.text: text_bounds(text) for text in _texts(marks)}
        _, right = _ends(marks, 76.0)
        left, _ = _ends(marks, 84.0)
        assert right < bounds["home 76"][0] < right + 20.0
        assert left - 20.0 < bounds["edge 84"][2] < left


def test_every_rung_reaches_from_rail_to_rail() -> None:
    marks = [m.points for m in _drawn(SEEN) if isinstance(m, Line)]
    one, other = (points for points in marks if points[0][1] != points[1][1])
    rungs = [points for points in marks if points[0][1] == points[1][1]]
    assert len(rungs) >= 4
    for ends in rungs:
        for (x, y), ((foot_x, foot_y), (top_x, top_y)) in zip(ends, (one, other), strict=True):
            share = (foot_y - y) / (foot_y - top_y)
            assert x == pytest.approx(foot_x + share * (top_x - foot_x))


def test_where_it_stands_at_home_or_at_the_edge_the_number_is_said_once() -> None:
    assert {t.text for t in _texts(_drawn(replace(SEEN, tempo_half_bpm=76.0)))} == {"76", "home", "edge 84"}
    assert {t.text for t in _texts(_drawn(replace(SEEN, tempo_half_bpm=84.0)))} == {"84", "home 76", "edge"}


def test_reach_is_a_dashed_rung_above_the_edge() -> None:
    (reach,) = [m for m in _drawn(SEEN) if isinstance(m, Line) and m.dashed]
    assert reach.points[0][1] < _level(_drawn(SEEN), "edge 84")
    assert not [m for m in _drawn(replace(SEEN, tempo_half_bpm=87.0)) if isinstance(m, Line) and m.dashed]
    assert not [m for m in _drawn(replace(SEEN, reach_half_bpm=None)) if isinstance(m, Line) and m.dashed]


def test_its_rails_lean() -> None:
    rails = [m.points for m in _drawn(SEEN) if isinstance(m, Line) and m.points[0][1] != m.points[1][1]]
    assert len(rails) == 2
    assert all(top[1] < foot[1] and top[0] > foot[0] for foot, top in rails)


_TEMPOS = st.integers(60, 360).map(lambda halves: halves / 2)


@given(
    tempo=_TEMPOS,
    home=st.none() | _TEMPOS,
    over=st.none() | st.integers(0, 40),
    wide=st.integers(0, 5).map(lambda more: LEAST_WIDE + 40.0 * more),
    high=st.integers(0, 5).map(lambda more: LEAST_HIGH + 40.0 * more),
)
def test_whatever_is_known_it_stays_in_its_room_and_nothing_overlaps(
    tempo: float, home: float | None, over: float | None, wide: float, high: float
) -> None:
    edge = None if home is None or over is None else home + over
    reach = None if edge is None else 1.03 * edge
    seen = LadderSeen(tempo_half_bpm=tempo, home_half_bpm=home, edge_half_bpm=edge, reach_half_bpm=reach)
    marks = ladder_marks(seen, 100.0, 50.0, wide, high)
    check_picture(Picture(Sheet(), tuple(marks)))
    for mark in marks:
        points = [] if not isinstance(mark, Line) else list(mark.points)
        if isinstance(mark, Text):
            left, top, right, bottom = text_bounds(mark)
            points = [(left, top), (right, bottom)]
        for x, y in points:
            assert 99.0 <= x <= 101.0 + wide, mark
            assert 45.0 <= y <= 57.0 + high, mark


def test_every_text_reads_from_two_metres() -> None:
    assert all(text.size >= READABLE and not text.minor for text in _texts(_drawn(SEEN)))


# after a turn


def _after(ladder: LadderSeen | None, **more: object) -> PlayState:
    passes = tuple(PassOver(number=k, judged=judged(A, "")) for k in (1, 2, 3, 4))
    return PlayState(
        request=PracticeRequest(lick=A, tempo_half_bpm=150.0),
        phase="resting",
        turn=1,
        done=passes,
        sentence="All four were clean, and every seven came home.",
        ladder=ladder,
        **more,  # type: ignore[arg-type]
    )


@pytest.mark.parametrize("sheet", SHEETS)
def test_after_a_turn_its_line_stands_under_the_sentence_and_it_is_drawn(sheet: Sheet) -> None:
    for seen in (
        SEEN,
        replace(SEEN, said="spread is wider than at home: no rise yet"),
        LadderSeen(tempo_half_bpm=99.5),
    ):
        picture = after_picture(_after(seen), 0.0, sheet, "once more")
        check_picture(picture)
        texts = _texts(list(picture.marks))
        said = " ".join(text.text for text in texts)
        assert ladder_step(seen) in said
        assert f"{seen.tempo_half_bpm:g}" in [text.text for text in texts]
        sentence = next(text for text in texts if text.text.startswith("All four"))
        line = next(text for text in texts if text.text.split(";")[0].split(":")[0] in ladder_line(seen))
        assert sentence.size > line.size
        assert sentence.y < line.y


def test_without_a_ladder_nothing_of_it_is_seen() -> None:
    picture = after_picture(_after(None), 0.0, Sheet(), "once more")
    assert not [text for text in picture.texts if "home 7" in text or "edge" in text or "rises" in text]
    assert tempo_next(_after(None)) == 150.0


def test_once_more_is_at_the_tempo_that_the_ladder_says() -> None:
    rows = {does: gives for _, gives, does in next_choices(_after(SEEN))}
    assert (rows["once more"], rows["ease"], rows["push"]) == ("at 80", "to 74", "to 83")
    assert tempo_next(_after(SEEN)) == 80.0
    alone = {does: gives for _, gives, does in next_choices(_after(replace(SEEN, unit="change")))}
    assert alone["once more"] == "the change, 80"


def test_another_rung_is_another_picture_for_the_same_passes() -> None:
    state = _after(SEEN)
    first = after_picture(state, 0.0, Sheet(), "once more")
    higher = after_picture(
        replace(state, ladder=replace(SEEN, tempo_half_bpm=82.0)), 0.0, Sheet(), "once more"
    )
    assert "82" in higher.texts
    assert after_picture(state, 0.0, Sheet(), "once more") == first


def test_on_a_narrow_sheet_the_sentences_tab_goes_before_the_drawing() -> None:
    state = _after(SEEN)
    slips = ("b2e1 =1/0",) * 4
    done = tuple(PassOver(number=k, judged=judged(A, one)) for k, one in enumerate(slips, start=1))
    hanging = replace(state, done=done, sentence=turn_sentence(state.request, done))
    narrow = after_picture(hanging, 0.0, Sheet(960, 720), "once more")
    check_picture(narrow)
    assert "g" in narrow.texts
    assert "80" not in narrow.texts
    assert any(ladder_step(SEEN) in text for text in narrow.texts)
    assert {"g", "80"} <= set(after_picture(hanging, 0.0, Sheet(960, 900), "once more").texts)
    assert math.isclose(tempo_next(hanging), 80.0)
