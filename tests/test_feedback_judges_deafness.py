"""Deaf stretches: joined, touched, and what of a pass is left out or unclear for them."""

from __future__ import annotations

import math

import pytest

from feedback.judges.deafness import inside, joined, touches
from feedback.judges.whole import Circumstances, judge_pass
from routines.lick import Lick
from tests.in_turn import in_turn
from tests.scores import START_SEC, A, B, grid_of, judged, lick, place, play, target_at

GAP = lick("3/2 2/1 1/0 5/0 2/1 1/4 2/1 . | 2/0 1/0 5/0 3/0 1/0 5/0 3/0", "D7 G")
PINCHED = lick("3/2 2/1 1/0 5/0 2/1 1/4 3/2 2/1 | 2/0+1/0 5/0 3/0 . 1/0 5/0 3/0", "D7 G")
NEAR_SEC = 1e-4

Stretches = list[tuple[float, float]]


@in_turn(
    ("stretches", "one"),
    [
        ([], []),
        ([(1.0, 2.0)], [(1.0, 2.0)]),
        ([(3.0, 4.0), (1.0, 2.0)], [(1.0, 2.0), (3.0, 4.0)]),
        ([(1.0, 2.0), (2.0, 3.0)], [(1.0, 3.0)]),
        ([(1.0, 2.0), (2.1, 3.0)], [(1.0, 2.0), (2.1, 3.0)]),
        ([(1.0, 2.5), (2.0, 3.0)], [(1.0, 3.0)]),
        ([(1.0, 4.0), (2.0, 3.0)], [(1.0, 4.0)]),
        ([(1.0, 4.0), (2.0, 3.0), (3.5, 5.0)], [(1.0, 5.0)]),
        ([(2.0, 3.0), (1.0, 4.0), (1.0, 2.0)], [(1.0, 4.0)]),
        ([(6.0, math.inf), (5.0, 6.0), (-math.inf, 0.0)], [(-math.inf, 0.0), (5.0, math.inf)]),
    ],
)
def test_joined_in_order_and_where_they_touch(stretches: Stretches, one: Stretches) -> None:
    given = list(stretches)
    assert joined(stretches) == one
    assert stretches == given


@pytest.mark.parametrize(
    ("begin_sec", "end_sec", "touched"),
    [
        (0.0, 0.9, False),
        (0.0, 1.0, True),
        (1.2, 1.3, True),
        (0.0, 9.0, True),
        (2.0, 3.0, True),
        (2.1, 3.0, False),
    ],
)
def test_ends_touch(begin_sec: float, end_sec: float, touched: bool) -> None:
    assert touches([(1.0, 2.0)], begin_sec, end_sec) is touched
    assert not touches([], begin_sec, end_sec)


def test_the_outside_of_a_take_is_not_inside() -> None:
    assert inside([(-math.inf, 0.0), (1.0, 2.0), (9.0, math.inf)]) == [(1.0, 2.0)]


def _told(of: Lick, slips: str, deaf: Stretches) -> list[float]:
    """Places in quarters of the notes on which timing is measured."""
    return [deviation.quarters for deviation in judged(of, slips, about=Circumstances(deaf=deaf)).played]


@in_turn("late_ms", [0, 20, -20, 60])
@in_turn("struck", [False, True])
def test_a_note_due_or_struck_in_a_stretch_tells_of_no_habit(late_ms: int, struck: bool) -> None:
    slips, due_sec = f"b1e3 {late_ms:+d}ms", START_SEC + 0.2
    (event,) = [e for e in play(A, slips) if e.midi == A.notes[2].midi and abs(e.onset_sec - due_sec) < 0.07]
    at_sec = event.onset_sec if struck else due_sec
    whole = _told(A, slips, [])
    others = [quarters for quarters in whole if quarters != place(A, "b1e3")]
    assert len(others) == len(whole) - 1
    for stretch in [(at_sec - 0.005, at_sec), (at_sec, at_sec + 0.005), (at_sec, at_sec)]:
        assert _told(A, slips, [stretch]) == others
    before, after = at_sec - NEAR_SEC, at_sec + NEAR_SEC
    assert _told(A, slips, [(before - 0.005, before), (after, after + 0.005)]) == whole


def test_a_pinch_is_struck_where_its_first_voice_is() -> None:
    whole = _told(PINCHED, "b2e1@1 +20ms", [])
    others = [quarters for quarters in whole if quarters != place(PINCHED, "b2e1")]
    assert len(others) == len(whole) - 2
    assert _told(PINCHED, "b2e1@1 +20ms", [(1.815, 1.825)]) == whole
    assert _told(PINCHED, "b2e1@1 +20ms", [(1.795, 1.805)]) == others


def test_the_outside_of_a_take_takes_no_note_away() -> None:
    events = play(A, "each 5 -3 4")
    plain = judge_pass(grid_of(A), events)
    assert judge_pass(grid_of(A), events, Circumstances(deaf=((-math.inf, 1.0), (2.4, math.inf)))) == plain


def test_later_passes_learn_no_bounce_from_a_stretch() -> None:
    outside = ((0.9, 1.25),)
    first = judged(B, "even +20ms")
    partly = judged(B, "even +20ms", about=Circumstances(deaf=outside))
    assert [d.due_sec for d in partly.played] == [d.due_sec for d in first.played if d.due_sec > 1.25]
    with_all = judged(A, "even +20ms; b1e2 out; b1e4 out", about=Circumstances(earlier=first.played))
    assert with_all.outcome.timing.bounce == pytest.approx(0.6)
    lost = judged(B, "even +20ms", about=Circumstances(deaf=((0.9, 2.2),)))
    assert lost.played == ()
    with_none = judged(A, "even +20ms; b1e2 out; b1e4 out", about=Circumstances(earlier=lost.played))
    assert with_none.outcome.timing.bounce is None


@pytest.mark.parametrize(
    ("of", "where", "slips", "latest_ms"),
    [
        (A, "b1e3", "", 100),
        (A, "b1e3", "all +15ms", 115),  # the player's lean is taken off
        (A, "b1e3", "all -15ms", 85),
        (A, "b1e2", "", 100),  # a seven, but not the last
        (A, "b1e8", "", 122),  # the last seven: up to the change, and W
        (A, "b1e8", "all +15ms", 137),
        (GAP, "b1e7", "", 222),
    ],
)
def test_silence_is_unclear_as_late_as_the_note_may_be(
    of: Lick, where: str, slips: str, latest_ms: float
) -> None:
    index, silent = target_at(of, where), f"{slips}; {where} out"
    due_sec = grid_of(of).due_sec(of.notes[index].onset_quarters)
    latest_sec = due_sec + latest_ms / 1e3

    def verdict(begin_sec: float, end_sec: float) -> str:
        about = Circumstances(deaf=((begin_sec, end_sec),))
        return judged(of, silent, about=about).outcome.notes[index].verdict

    assert verdict(latest_sec - NEAR_SEC, latest_sec + 0.005) == "unclear"
    assert verdict(latest_sec + NEAR_SEC, latest_sec + 0.005) == "missed"


@pytest.mark.parametrize(("slips", "earliest_ms"), [("", -50), ("all -15ms", -65), ("all +15ms", -50)])
def test_silence_is_unclear_half_an_eighth_before_the_place_too(slips: str, earliest_ms: float) -> None:
    index = target_at(A, "b1e3")
    for off_sec, verdict in [(NEAR_SEC, "unclear"), (-NEAR_SEC, "missed")]:
        end_sec = 1.2 + earliest_ms / 1e3 + off_sec
        about = Circumstances(deaf=((end_sec - 0.002, end_sec),))
        assert judged(A, f"{slips}; b1e3 out", about=about).outcome.notes[index].verdict == verdict


def test_a_stretch_changes_no_tempo() -> None:
    of = lick("3/0 2/0 1/0 5/0 2/0 1/0 5/0 1/0 | " * 4, "G . . .")
    begin, end = 2.19, 2.53  # the last four notes of the second bar, ever later
    slips = "b2e5 +10ms; b2e6 +20ms; b2e7 +25ms; b2e8 +28ms"
    plain = judged(of, "", about=Circumstances(click_off=True)).outcome.timing
    lost = judged(of, slips, about=Circumstances(click_off=True, deaf=((begin, end),))).outcome.timing
    assert [tempo for _, tempo in lost.tempo_course] == pytest.approx(
        [tempo for _, tempo in plain.tempo_course]
    )
    assert lost.drift_percent == pytest.approx(plain.drift_percent, abs=1e-6)
