"""Which finger picks what: the rolls as they are taught, pinches, repeated strings, given fingers."""

from __future__ import annotations

import itertools

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from routines.errors import BadRoutine
from routines.fingers import FINGERS, Stroke, assign_fingers
from routines.library import load
from tests.in_turn import in_turn


def eighths(strings: list[int]) -> list[Stroke]:
    return [Stroke(onset_quarters=n / 2, strings=(s,), accented=n % 4 == 0) for n, s in enumerate(strings)]


ROLLS = {
    "forward-roll": ([3, 2, 1, 5, 2, 1, 5, 1], "TIMTIMTM"),
    "backward-roll": ([1, 2, 5, 1, 2, 5, 1, 2], "MITMITMI"),
    "alternating-thumb-roll": ([3, 2, 5, 1, 4, 2, 5, 1], "TITMTITM"),
    "forward-reverse-roll": ([3, 2, 1, 5, 1, 2, 3, 1], "TIMTMITM"),
    "index-led-roll": ([2, 1, 5, 2, 1, 5, 2, 1], "IMTIMTIM"),
}


@in_turn("name", ROLLS)
@in_turn("times", [1, 2, 4])
def test_the_five_rolls_are_fingered_as_they_are_taught(name: str, times: int) -> None:
    strings, fingers = ROLLS[name]
    assert "".join(assign_fingers(eighths(strings * times))) == fingers * times


@pytest.mark.parametrize("name", ROLLS)
def test_the_rolls_of_the_library_are_these(name: str) -> None:
    strings, fingers = ROLLS[name]
    lick = load(name)
    assert lick.kind == "roll"
    assert [note.string for note in lick.notes] == strings * lick.bars
    assert "".join(note.finger for note in lick.notes) == fingers * lick.bars


def test_nothing_to_pick() -> None:
    assert assign_fingers([]) == ()


@pytest.mark.parametrize(("string", "finger"), [(5, "T"), (4, "T"), (3, "T"), (2, "I"), (1, "M")])
def test_a_lone_string_goes_to_the_nearest_finger(string: int, finger: str) -> None:
    assert assign_fingers([Stroke(onset_quarters=0.5, strings=(string,))]) == (finger,)


@pytest.mark.parametrize(
    ("strings", "fingers"),
    [((5, 1), "TM"), ((3, 1), "TM"), ((4, 2), "TI"), ((2, 1), "IM"), ((5, 2, 1), "TIM"), ((4, 3, 1), "TIM")],
)
def test_a_pinch_has_its_fingers_in_the_order_of_the_strings(strings: tuple[int, ...], fingers: str) -> None:
    assert assign_fingers([Stroke(onset_quarters=0.0, strings=strings)]) == (fingers,)


def test_a_pinch_of_the_thumbs_strings_just_after_the_thumb_does_not_cross() -> None:
    thumb = Stroke(onset_quarters=0.0, strings=(5,), fixed="T")
    strokes = [thumb, Stroke(onset_quarters=0.5, strings=(5, 4))]
    assert assign_fingers(strokes) == ("T", "IM")


def test_one_string_in_eighths_needs_two_fingers() -> None:
    found = assign_fingers(eighths([1, 1, 1, 1]))
    assert all(a != b for a, b in itertools.pairwise(found))


def test_of_two_fingers_on_one_string_the_thumb_has_the_accent() -> None:
    first, second = eighths([3, 3])
    assert assign_fingers([first, second]) == ("T", "I")
    off_beat = [Stroke(onset_quarters=-0.5, strings=(3,)), first]
    assert assign_fingers(off_beat) == ("I", "T")


def test_one_string_in_quarters_needs_one() -> None:
    strokes = [Stroke(onset_quarters=float(n), strings=(1,)) for n in range(4)]
    assert assign_fingers(strokes) == ("M",) * 4


def test_a_slur_between_lets_the_finger_come_back() -> None:
    strokes = [
        Stroke(onset_quarters=0.0, strings=(5,)),
        Stroke(onset_quarters=0.5, strings=(4,), slur_before=True),
    ]
    assert assign_fingers(strokes) == ("T", "T")
    assert assign_fingers([strokes[0], Stroke(onset_quarters=0.5, strings=(4,))]) == ("T", "I")


def test_fingers_that_are_given_win_and_the_others_fit_them() -> None:
    strokes = eighths([3, 2, 1])
    given_first = [Stroke(onset_quarters=0.0, strings=(3,), fixed="I"), *strokes[1:]]
    assert assign_fingers(strokes) == ("T", "I", "M")
    assert assign_fingers(given_first) == ("I", "T", "M")


@pytest.mark.parametrize(
    ("strings", "fixed"), [((), ""), ((4, 3, 2, 1), ""), ((3,), "TI"), ((3, 2), "TT"), ((3,), "P")]
)
def test_what_no_hand_can_pick_is_refused(strings: tuple[int, ...], fixed: str) -> None:
    with pytest.raises(BadRoutine, match="accepted are"):
        assign_fingers([Stroke(onset_quarters=0.0, strings=strings, fixed=fixed)])


STROKES = st.lists(
    st.tuples(
        st.sampled_from([0.5, 1.0]),
        st.lists(st.integers(1, 5), min_size=1, max_size=3, unique=True).map(
            lambda s: tuple(sorted(s)[::-1])
        ),
        st.booleans(),
    ),
    max_size=24,
)


@given(STROKES)
@settings(max_examples=150, deadline=None)
def test_every_string_has_its_own_finger_and_single_strings_never_repeat_one_too_soon(
    steps: list[tuple[float, tuple[int, ...], bool]],
) -> None:
    onset, strokes = 0.0, []
    for gap, strings, accented in steps:
        onset += gap
        strokes.append(Stroke(onset_quarters=onset, strings=strings, accented=accented))
    found = assign_fingers(strokes)
    assert [len(set(fingers)) for fingers in found] == [len(stroke.strings) for stroke in strokes]
    assert set("".join(found)) <= set(FINGERS)
    assert [sorted(fingers, key=FINGERS.index) for fingers in found] == [list(fingers) for fingers in found]
    for (a, b), (before, after) in zip(itertools.pairwise(strokes), itertools.pairwise(found), strict=True):
        # Two strokes of at most three strings together can always be picked by different fingers.
        if b.onset_quarters - a.onset_quarters < 1 and len(a.strings) == len(b.strings) == 1:
            neighbours = [s for s in strokes if abs(s.onset_quarters - b.onset_quarters) <= 1.5]
            if all(len(s.strings) == 1 for s in neighbours):
                assert before != after
