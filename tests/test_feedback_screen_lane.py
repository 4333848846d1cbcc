"""The lane as data: what sounds stands at the now-line, what comes is in sight, nothing touches."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

import pytest

from feedback.playstate import PlayState
from feedback.practice_request import PracticeRequest
from feedback.screen.inks import READ_ON
from feedback.screen.lane.picture import lane_picture
from feedback.screen.lane.room import NUMBER, SIGHT_SEC, least_eighth, numbers, room_of
from feedback.screen.marks import READABLE, Box, Line, Picture, Sheet, Text
from feedback.session import TurnPlan
from routines.excerpt import change
from routines.library import all_licks, load
from routines.lick import Lick
from tests.few import few_licks
from tests.in_turn import in_turn
from tests.lanes import SHEETS, now_x, outside, overlapping, plan_of, sec_at, state_at, texts
from tests.pictures import check_picture

MOTIONS = ("flowing", "stepped")
LICKS = ("first-log-up", "log-deck-waltz", "trimmers-choice", "guide-tone-pinches", "pond-mans-lean")


def numbered(picture: Picture) -> set[tuple[str, float, float]]:
    """The numbers of the tab, each with its place."""
    return {(t.text, t.x, t.y) for t in texts(picture) if t.size == NUMBER and t.bold}


def has_number(picture: Picture, text: str, x: float, y: float) -> bool:
    return any(
        said == text and abs(at - x) < 0.6 and abs(base - y - 0.365 * NUMBER) < 0.01
        for said, at, base in numbered(picture)
    )


@pytest.mark.parametrize("name", LICKS)
def test_number_at_the_now_line_is_the_one_that_sounds(name: str) -> None:
    plan = plan_of(load(name), 88.0)
    for sheet in (Sheet(1280, 720), Sheet(960, 900, 1.5)):
        room = room_of(sheet, plan.lick, 88.0, "flowing")
        for note in plan.lick.notes:
            sec = sec_at(plan, 1, note.onset_quarters)
            picture = lane_picture(state_at(plan, sec), sec, sheet)
            assert has_number(picture, numbers(note)[0][1], now_x(picture), room.string_y(note.string))


def test_stepped_now_line_stands_at_the_number_that_sounds() -> None:
    plan = plan_of(load("the-edgers-nod"), 88.0)
    room = room_of(Sheet(), plan.lick, 88.0, "stepped")
    for note in plan.lick.notes:
        sec = sec_at(plan, 1, note.onset_quarters) + 0.01
        picture = lane_picture(state_at(plan, sec), sec, Sheet(), motion="stepped")
        assert has_number(picture, str(note.fret), now_x(picture), room.string_y(note.string))


def test_stepped_page_stands_still_and_turns_in_time() -> None:
    plan = plan_of(load("the-edgers-nod"), 96.0)
    places, pages = [], []
    for eighth in range(16):
        sec = sec_at(plan, 0, 0.5 * eighth) + 0.02
        picture = lane_picture(state_at(plan, 0.0), sec, Sheet(), motion="stepped")
        later = lane_picture(state_at(plan, 0.0), sec + 0.1, Sheet(), motion="stepped")
        assert numbered(picture) == numbered(later)
        assert now_x(picture) == now_x(later) <= 0.75 * 1280
        places.append(now_x(picture))
        pages.append(numbered(picture))
    turns = sum(a != b for a, b in pairwise(pages))
    back = sum(a > b for a, b in pairwise(places))
    assert turns == back <= 2


@in_turn("motion", MOTIONS)
@in_turn(("number", "lick"), tuple(enumerate(few_licks())), ids=lambda one: getattr(one, "id", None))
def test_what_comes_in_the_next_moments_is_in_sight(number: int, lick: Lick, motion: str) -> None:
    ways = ((lick.top_tempo_half_bpm, SHEETS[0]), (40.0, SHEETS[3]), (140.0, SHEETS[2]))
    for tempo, sheet in (ways[0], ways[number % 3]) if number % 3 else ways[:1]:
        plan = plan_of(lick, tempo)
        room = room_of(sheet, lick, tempo, motion)
        crowded = room.eighth <= least_eighth(lick) + 0.01
        for step in range(30):
            sec = 0.37 * step / tempo * 96.0
            picture = lane_picture(state_at(plan, 0.0), sec, sheet, motion=motion)
            seen = numbered(picture)
            shown_sec = SIGHT_SEC if not crowded else 0.9 * SIGHT_SEC
            due = [
                (numbers(note)[0][1], room.string_y(note.string))
                for round_ in range(plan.passes)
                for note in lick.notes
                if sec <= sec_at(plan, round_, note.onset_quarters) <= sec + shown_sec
            ]
            ahead = [s for s in seen if s[1] > now_x(picture) - room.eighth]
            for text, y in due:
                assert any(s == text and abs(base - y - 0.365 * NUMBER) < 0.01 for s, _, base in ahead)


def test_eighths_are_wide_enough_and_wider_when_slow() -> None:
    lick = load("tally-stick")
    wide = [room_of(Sheet(), lick, tempo, "flowing").eighth for tempo in (40.0, 60.0, 96.0, 125.0)]
    assert wide == sorted(wide, reverse=True)
    assert wide[0] > 1.3 * wide[2]
    for tempo in (150.0, 200.0, 240.0):
        room = room_of(SHEETS[0], lick, tempo, "flowing")
        assert (960 - room.now_x) / room.eighth * 15.0 / tempo >= SIGHT_SEC
    assert wide[-1] >= 60.0
    for sheet in SHEETS:
        room = room_of(sheet, lick, 96.0, "flowing")
        assert (sheet.wide - room.now_x) / room.eighth / 8 >= 1.39


def test_numbers_of_a_string_never_touch() -> None:
    for lick in all_licks():
        for tempo in (40.0, lick.top_tempo_half_bpm, 200.0):
            assert room_of(SHEETS[0], lick, tempo, "flowing").eighth >= least_eighth(lick) - 0.5


def test_a_pickup_that_begins_where_the_last_note_of_a_round_stands_asks_for_no_room() -> None:
    lick = load("rivets-in-a-lard-pail")
    rows = [[n.onset_quarters for n in lick.notes if n.string == string] for string in range(1, 6)]
    assert any(row and row[0] + lick.end_quarters == row[-1] for row in rows)
    assert 34.0 <= least_eighth(lick) < 45.0


def test_distances_never_shimmer() -> None:
    plan = plan_of(load("trimmers-choice"), 117.0)
    for sheet in (Sheet(1280, 720), Sheet(1280, 720, 1.37)):
        frames = []
        for frame in range(12):
            sec = sec_at(plan, 1, 0.0) + frame * 0.0167
            frames.append(numbered(lane_picture(state_at(plan, 0.0), sec, sheet)))
        moved = 0
        for one, two in pairwise(frames):
            by = min(
                (b[1] - a[1] for a in one for b in two if a[0] == b[0] and a[2] == b[2]),
                key=abs,
            )
            pixels = by * sheet.scale
            moved += by < 0
            assert abs(pixels - round(pixels)) < 1e-6
            there = {(t, round(x, 6), y) for t, x, y in two}
            inner = [(t, x, y) for t, x, y in one if x + by > 200]
            assert all((t, round(x + by, 6), y) in there for t, x, y in inner)
        assert moved >= 10


def moments(plan: TurnPlan, count: int) -> list[float]:
    return [k * plan.end_sec / count for k in range(count)]


SLIPS = (
    ("seven-missing", "filler-added"),
    ("left-hanging", "uneven"),
    ("core-wrong", "filler-wrong"),
    ("seven-swallowed", "chord-tone-added"),
)


@pytest.mark.parametrize("motion", MOTIONS)
@pytest.mark.parametrize("name", ["trimmers-choice", "kiln-door-ajar", "first-log-up", "off-the-green-chain"])
def test_texts_lie_inside_apart_and_readable(name: str, motion: str) -> None:
    lick = load(name)
    for loop in (False, True):
        part = change(lick) if loop else lick
        plan = plan_of(part, lick.top_tempo_half_bpm, passes=2, rest_bars=0 if loop else 1)
        for sec in moments(plan, 11):
            for sheet in SHEETS:
                state = state_at(plan, sec, *(SLIPS[:2] if not loop else ((), ("seven-missing",))))
                picture = lane_picture(state, sec, sheet, motion=motion)
                check_picture(picture)
                assert list(overlapping(picture)) == []
                assert outside(picture) == []
                assert all(t.size >= READABLE or t.minor for t in texts(picture))
                assert {(t.ink, t.on) for t in texts(picture)} <= set(READ_ON)


def test_chord_of_the_moment_is_the_largest_and_shaped_under_a_capo() -> None:
    plan = plan_of(load("trimmers-choice"), 100.0)
    for quarters, chord in ((0.5, "D7"), (4.5, "G")):
        sec = sec_at(plan, 0, quarters)
        largest = max(texts(lane_picture(state_at(plan, sec), sec, Sheet())), key=lambda t: t.size)
        assert (largest.text, largest.size) == (chord, 110.0)
    said = lane_picture(state_at(plan, sec), sec, Sheet()).texts
    assert "key of B · capo 4, G shape" in said
    assert "100 half notes · pass 1 of 4" in said


def test_next_chord_is_counted_down_in_the_last_bar() -> None:
    plan = plan_of(load("log-deck-waltz"), 70.0)
    found = []
    for quarters in (1.5, 3.1, 4.1, 5.9):
        sec = sec_at(plan, 0, quarters)
        large = [t.text for t in texts(lane_picture(state_at(plan, 0.0), sec, Sheet())) if t.y < 112]
        found.append(large[1 : large.index("Log Deck Waltz")])
    assert found == [["then", "A"], *(["then", "A", "in", count] for count in "321")]


def counted_at(plan: TurnPlan, number: int, quarters: float) -> tuple[list[str], list[str]]:
    """What the heading says beside the chord, and the numbers at the now-line in the band."""
    sec = sec_at(plan, number, quarters)
    picture = lane_picture(state_at(plan, 0.0), sec, Sheet())
    head = [t.text for t in texts(picture) if t.y < 112][1:3]
    at = [t.text for t in texts(picture) if t.size == 84.0 and abs(t.x - now_x(picture)) < 1.0]
    return head, at


def test_count_in_is_counted_in_the_heading_and_at_the_now_line() -> None:
    plan = plan_of(load("the-edgers-nod"), 96.0)
    rows = [(-8.0, "1"), (-6.0, "2"), (-4.0, "1"), (-3.0, "2"), (-2.0, "3"), (-1.0, "4")]
    assert [counted_at(plan, 0, at) for at, _ in rows] == [(["count-in", n], [n]) for _, n in rows]
    assert counted_at(plan, 2, -3.0) == (["rest", "2"], ["2"])


def test_count_leaves_the_pickup_alone() -> None:
    plan = plan_of(load("first-log-up"), 96.0)
    picture = lane_picture(state_at(plan, 0.0), sec_at(plan, 0, -2.0), Sheet())
    beyond = [t.text for t in texts(picture) if t.size == 84.0 and t.x > now_x(picture) + 1.0]
    assert beyond == []


def test_without_a_plan_the_first_bars_stand_still() -> None:
    lick = load("first-log-up")
    state = PlayState(request=PracticeRequest(lick=lick, tempo_half_bpm=92.0))
    one, two = (lane_picture(state, sec, Sheet()) for sec in (0.0, 3.7))
    assert one == two
    assert "get ready" in one.texts
    assert {t for t, _, _ in numbered(one)} == {"0", "1", "2", "3"}
    assert now_x(one) < min(x for _, x, _ in numbered(one))


def test_round_begins_with_a_double_bar_and_nothing_is_drawn_twice() -> None:
    plan = plan_of(change(load("the-edgers-nod")), 96.0, passes=6, rest_bars=0)
    sec = sec_at(plan, 2, 0.1)
    picture = lane_picture(state_at(plan, sec), sec, Sheet(1680, 720))
    dots = [m for m in picture.marks if isinstance(m, Box) and m.round == 4.0 and m.wide == 8.0]
    assert len(dots) == 2 * len({m.x for m in dots}) >= 4
    assert "96 half notes · round 3 of 6" in picture.texts
    drawn = [(t.text, round(t.x, 2), t.y) for t in texts(picture)]
    assert len(drawn) == len(set(drawn))


def test_lane_goes_nowhere_after_its_last_pass() -> None:
    plan = plan_of(load("tally-stick"), 96.0, passes=1)
    state = state_at(plan, plan.end_sec + 1.0)
    one, two = (lane_picture(state, plan.end_sec + more, Sheet()) for more in (0.0, 5.0))
    assert one == two
    assert "clean pass" in one.texts


def test_pass_that_the_turn_has_had_already_counts() -> None:
    plan = plan_of(load("tally-stick"), 96.0, passes=2)
    sec = sec_at(plan, 0, 1.0)
    state = replace(state_at(plan, 0.0), first_number=3)
    assert "96 half notes · pass 3 of 4" in lane_picture(state, sec, Sheet()).texts


def test_now_line_is_doubled_and_lies_under_the_number() -> None:
    plan = plan_of(load("tally-stick"), 96.0)
    sec = sec_at(plan, 0, 1.0)
    marks = lane_picture(state_at(plan, sec), sec, Sheet()).marks
    lines = [k for k, m in enumerate(marks) if isinstance(m, Line) and math.dist(*m.points[:2]) > 400
             and m.points[0][0] == m.points[1][0]]  # fmt: skip
    number = next(k for k, m in enumerate(marks) if isinstance(m, Text) and m.size == NUMBER
                  and abs(m.x - now_x(lane_picture(state_at(plan, sec), sec, Sheet()))) < 0.6)  # fmt: skip
    ground = marks[number - 1]
    assert len(lines) == 2
    assert max(lines) < number
    assert isinstance(ground, Box)
    assert ground.x < min(marks[k].points[0][0] for k in lines) < ground.x + ground.wide
