"""Where each seven went, pass by pass."""

from __future__ import annotations

from feedback.judges.whole import Circumstances
from feedback.session import PassOver
from feedback.whereabouts import SevenRow, Went, most_telling, whereabouts
from routines.library import load
from routines.lick import Lick
from tests.in_turn import in_turn
from tests.scores import A, B, judged


def _rows(of: Lick, *slips: str, about: Circumstances | None = None) -> tuple[SevenRow, ...]:
    passes = [PassOver(number=k, judged=judged(of, one, about=about)) for k, one in enumerate(slips, start=1)]
    return whereabouts(of, passes)


def _last(slips: str) -> Went:
    return _rows(A, slips)[-1].went[0]


WENT = {
    "": ("landed", "resolved", ""),
    "b1e8 out": ("not heard", "none", "not heard"),
    "b1e8 -9dB": ("swallowed", "resolved", "swallowed"),
    "b2e1 =1/0": ("landed", "hanging", "left hanging"),
    "b2e1 =71": ("landed", "octave", "in another octave"),
    "b2e1 +1e": ("landed", "late", "late"),
    "b2e1 -0.8e": ("landed", "ahead", ""),
    "b1e8 +30ms": ("off its place", "resolved", "off its place"),
    "b1e8 sure 0.1": ("unclear", "unclear", ""),
    "b1e8 -9dB; b2e1 =1/0": ("swallowed", "hanging", "swallowed"),
}


@in_turn("slips", list(WENT))
def test_what_became_of_the_last_seven(slips: str) -> None:
    went = _last(slips)
    assert (went.sounding, went.resolution, went.fault) == WENT[slips]


def test_words() -> None:
    assert _last("").words == "resolved"
    assert _last("b2e1 -0.8e").words == "ahead"
    assert _last("b1e8 sure 0.1").words == "unclear"
    assert _last("b2e1 =1/0").words == "left hanging"


def test_rows_are_named_and_say_where_to_go() -> None:
    rows = _rows(A, "", "b2e1 =1/0")
    assert [(row.name, row.to, row.last) for row in rows] == [
        ("C over D7", "B", False),
        ("C over D7", "B", False),
        ("C over D7", "B", True),
    ]
    assert [row.index for row in rows] == [ask.note for ask in A.sevenths]
    assert [one.number for one in rows[-1].went] == [1, 2]
    assert [row.faults for row in rows] == [0, 0, 1]
    assert rows[0].words == "landed"
    assert rows[-1].words == "left hanging"
    assert (rows[0].how_often, rows[-1].how_often) == ("", "1 of 2")


def test_a_fall_that_is_asked_for_late_is_no_fault() -> None:
    assert _rows(B, "")[-1].faults == 0
    asked_late = Went(number=1, sounding="landed", resolution="late", due=True, as_asked=True)
    assert (asked_late.fault, asked_late.words) == ("", "late")


def test_under_a_capo_the_shape_is_named() -> None:
    capo = load("cant-hook-shuffle")
    assert [(row.name, row.to) for row in whereabouts(capo, [])] == [("C over D7", "B")]


def test_passes_that_were_not_heard_to_their_end_are_left_out() -> None:
    over = judged(A)
    passes = [
        PassOver(number=1, judged=over),
        PassOver(number=2, judged=over, complete=False),
        PassOver(number=3, judged=over, heard=False),
    ]
    assert [one.number for one in whereabouts(A, passes)[-1].went] == [1]


def test_every_fault_is_said_the_most_frequent_first() -> None:
    row = _rows(A, "b2e1 =1/0", "b1e8 out", "b2e1 =1/0", "")[-1]
    assert (row.words, row.how_often) == ("left hanging, not heard", "3 of 4")
    assert _rows(A, "b2e1 =1/0", "b1e8 out")[-1].words == "not heard, left hanging"


def test_where_most_went_wrong_comes_first_then_the_last_of_a_chord() -> None:
    rows = _rows(A, "", "b1e2 out")
    assert most_telling(rows, 1) == [rows[0]]
    assert most_telling(rows, 2) == [rows[0], rows[2]]
    assert most_telling(rows, 9) == list(rows)
