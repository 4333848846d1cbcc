"""The roll print: every answered note on its eighth, and which finger leans."""

from __future__ import annotations

from dataclasses import replace

import pytest

from feedback.rollprint import Column, FingerTime, RollPrint, roll_print, roll_print_lines
from feedback.session import PassOver
from routines.lick import Lick
from tests.scores import A, judged, lick

TIMED = lick("3/2 2/1 1/0 5/0 2/1 1/4 3/2 2/1 | 2/0 1/0 5/0 3/0 1/0 5/0 3/0 1/0", "D7 G")
WALTZ = lick("3/2 . 1/0 2/1 . 1/0 | 3/0 . 1/0 2/0 . .", "D7 G", meter="3/4")
SLURRED = lick("2/1h2/3 1/0 3/2 1/0 2/1 p2/0 3/2 2/1 | 2/0 1/0 5/0 3/0 1/0 5/0 3/0 1/0", "D7 G")
PICKUP = lick("3/2 2/1 | 2/0 1/0 5/0 3/0 1/0 5/0 3/0 1/0", "G", pickup_eighths=2)


def _fingered(of: Lick, fingers: str) -> Lick:
    """The lick with its picked notes played by these fingers, round and round."""
    notes = tuple(
        replace(note, finger=fingers[k % len(fingers)] if note.finger else "")
        for k, note in enumerate(of.notes)
    )
    return replace(of, notes=notes)


def _passes(of: Lick, *slips: str, **more: bool) -> list[PassOver]:
    return [PassOver(number=k, judged=judged(of, one), **more) for k, one in enumerate(slips, start=1)]


def _printed(of: Lick, *slips: str) -> RollPrint:
    found = roll_print(of, _passes(of, *slips))
    assert found is not None
    return found


def _finger(found: RollPrint, letter: str) -> FingerTime:
    return next(one for one in found.fingers if one.finger == letter)


def _column(found: RollPrint, eighth: int) -> Column:
    return found.columns[eighth - 1]


def test_each_eighth_piles_up_its_notes_of_all_bars_and_passes() -> None:
    found = _printed(TIMED, "b1e3 +10ms", "")
    assert [column.eighth for column in found.columns] == list(range(1, 9))
    third = _column(found, 3).nicks
    assert [(nick.number, nick.bar, round(nick.rest_ms)) for nick in third] == [
        (1, 1, 10),
        (1, 2, 0),
        (2, 1, 0),
        (2, 2, 0),
    ]
    assert [nick.index for nick in third] == [2, 10, 2, 10]
    assert found.passes == 2
    assert found.window_ms == pytest.approx(22.0)


def test_what_has_no_time_of_its_own_is_left_out() -> None:
    found = _printed(TIMED, "b1e3 out; b1e5 =61; b1e6 +30ms; b1e2 -30ms; b2e2 sure 0.1")
    assert [nick.bar for nick in _column(found, 3).nicks] == [2]
    assert [nick.bar for nick in _column(found, 5).nicks] == [2]
    assert [nick.verdict for nick in _column(found, 6).nicks] == ["late", "landed"]
    assert [nick.verdict for nick in _column(found, 2).nicks] == ["early"]


def test_the_median_is_that_of_the_pile() -> None:
    found = _printed(TIMED, "b1e4 +9ms", "b1e4 +3ms; b2e4 +3ms")
    assert _column(found, 4).median_ms == pytest.approx(3.0)


def test_a_waltz_has_six_columns_and_empty_ones_stay() -> None:
    found = _printed(WALTZ, "")
    assert [len(column.nicks) for column in found.columns] == [2, 0, 2, 2, 0, 1]
    assert _column(found, 2).median_ms is None
    assert (_column(found, 2).finger, _column(found, 1).finger) == ("", "I")


def test_a_pickup_stands_on_the_eighths_that_it_has_in_its_bar() -> None:
    found = _printed(PICKUP, "")
    assert [nick.bar for nick in _column(found, 7).nicks] == [0, 1]
    assert [nick.bar for nick in _column(found, 8).nicks] == [0, 1]
    assert [nick.bar for nick in _column(found, 1).nicks] == [1]


def test_slurred_notes_are_marked_and_have_no_finger() -> None:
    found = _printed(SLURRED, "")
    assert [nick.finger for nick in _column(found, 1).nicks] == ["I", "", "I"]
    assert [nick.finger for nick in _column(found, 6).nicks] == ["", "I"]
    assert [column.slurred for column in found.columns] == [
        True,
        False,
        False,
        False,
        False,
        True,
        False,
        False,
    ]
    assert _finger(found, "I").count == 15


def test_the_finger_of_a_column_is_the_one_that_plays_there_most_often() -> None:
    of = _fingered(TIMED, "TIMTIMTM")
    notes = list(of.notes)
    notes[8] = replace(notes[8], finger="M")
    notes[0] = replace(notes[0], finger="M")
    found = _printed(replace(of, notes=tuple(notes)), "")
    assert "".join(column.finger for column in found.columns) == "MIMTIMTM"


def _each(of: Lick, letter: str, late_ms: float) -> str:
    return "each " + " ".join(str(late_ms if note.finger == letter else 0.0) for note in of.notes)


@pytest.mark.parametrize("letter", "TIM")
@pytest.mark.parametrize("late_ms", [-14.0, 14.0])
def test_the_finger_that_leans_is_named_with_its_side(letter: str, late_ms: float) -> None:
    of = _fingered(TIMED, "TIM")
    slips = _each(of, letter, late_ms)
    found = _printed(of, slips, slips, slips)
    assert found.leaning is not None
    assert found.leaning.finger == letter
    assert found.leaning.apart_ms is not None
    assert found.leaning.apart_ms == pytest.approx(late_ms, abs=4.0)
    word = {"T": "thumb", "I": "index", "M": "middle"}[letter]
    assert found.text.startswith(f"{word} leans ")
    assert ("ahead of" in found.text) == (late_ms < 0)


def test_no_finger_leans_where_all_do_or_none() -> None:
    of = _fingered(TIMED, "TIMTIMTM")
    for slips in ("", "all -22ms"):
        found = _printed(of, slips, slips)
        assert found.leaning is None
        assert found.text == "no finger leans"


def test_a_wide_scatter_is_no_lean() -> None:
    of = _fingered(TIMED, "TIM")
    about = [-19.0, -8.0, 0.0, 8.0, 19.0, 0.0]
    late = [9.0 if note.finger == "M" else 0.0 for note in of.notes]
    steady = "each " + " ".join(str(ms) for ms in late)
    wild = "each " + " ".join(str(ms + about[k // 3]) for k, ms in enumerate(late))
    assert _printed(of, steady, steady).leaning is not None
    assert _printed(of, wild, wild).leaning is None


def test_with_few_notes_no_finger_is_told() -> None:
    of = _fingered(TIMED, "TIMIIIII")
    found = _printed(of, _each(of, "M", 20.0))
    middle = _finger(found, "M")
    assert (middle.count, middle.median_ms, middle.leans) == (2, None, False)
    only = _printed(_fingered(TIMED, "I"), "")
    assert only.text == "too few notes to tell the fingers apart"


def test_only_passes_that_were_heard_to_their_end_count() -> None:
    good = _passes(A, "")
    more = [*good, *_passes(A, "all +9ms", complete=False), *_passes(A, "all +9ms", heard=False)]
    assert roll_print(A, more) == roll_print(A, good)
    assert roll_print(A, _passes(A, "all out")) is None
    assert roll_print(A, []) is None


def test_the_lines_hold_every_nick() -> None:
    of = _fingered(SLURRED, "TIM")
    found = _printed(of, "b1e2 +30ms", "b1e3 -7ms")
    first, *columns, last = roll_print_lines(found)
    assert "2 passes" in first
    assert "within 22 landed" in first
    assert len(columns) == 8
    assert columns[1].split(":")[1].split() == ["+0", "+0", "+0", "+30", "late"]
    assert columns[0].count("slurred") == 2
    assert columns[2].split()[:4] == ["eighth", "3", _column(found, 3).finger, "+0:"]
    assert last.strip().startswith("thumb ")
    assert last.endswith(found.text)


def test_an_empty_eighth_has_no_line() -> None:
    lines = roll_print_lines(_printed(WALTZ, ""))
    assert [line.split()[1] for line in lines[1:-1]] == ["1", "3", "4", "6"]
