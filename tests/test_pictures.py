"""What every picture must keep is found out where it is not kept, and unlike pictures are told apart."""

from __future__ import annotations

import math
from dataclasses import replace

import pygame
import pytest

from feedback.screen.marks import Box, Line, Mark, Picture, Ring, Shape, Sheet, Spot, Text
from tests.in_turn import in_turn
from tests.pictures import alike, check_picture, text_bounds, under

GOOD = Text(x=100, y=100, text="landed", ink="landed")


def spot(x: float, y: float, wide: float, high: float, does: str) -> Spot:
    return Spot(x=x, y=y, wide=wide, high=high, does=does)


def picture(*marks: Mark, spots: tuple[Spot, ...] = ()) -> Picture:
    return Picture(Sheet(), marks, spots)


def test_a_good_picture_passes():
    check_picture(
        picture(
            GOOD,
            replace(GOOD, y=130.0, text="late"),
            Text(x=1270, y=700, text="enter chooses", size=20, minor=True, ink="faint", anchor="right"),
            Box(x=300, y=60, wide=200, high=60, fill="seven"),
            Text(x=400, y=100, text="G", on="seven", anchor="center"),
            Line(points=((0, 90), (1280, 90))),
            Line(points=((-50, 0), (9, 9))),
            Text(x=-50, y=-50, text=" "),
            spots=(spot(0, 0, 1280, 600, "most"), spot(5, 599, 5, 5, "corner")),
        )
    )


@in_turn(
    ("bad", "why"),
    [
        ((replace(GOOD, ink="rule"),), "cannot be read"),
        ((replace(GOOD, size=27.0),), "too small"),
        ((replace(GOOD, x=1200.0),), "leaves the sheet"),
        ((replace(GOOD, x=50.0, anchor="right"),), "leaves the sheet"),
        ((replace(GOOD, y=15.0),), "leaves the sheet"),
        ((replace(GOOD, y=719.0, text="early"),), "leaves the sheet"),
        ((GOOD, replace(GOOD, x=120.0, text="late")), "overlap"),
        ((GOOD, replace(GOOD, y=112.0)), "overlap"),
        ((replace(GOOD, on="band"),), "lies on paper"),
        ((Box(x=0, y=0, wide=999, high=300, fill="band"), GOOD), "lies on band"),
        ((GOOD, Box(x=90, y=60, wide=200, high=60)), "hidden"),
        ((GOOD, Ring(x=140, y=90, radius=30, fill="ink")), "hidden"),
        ((GOOD, Shape(points=((90, 60), (300, 60), (300, 120), (90, 120)))), "hidden"),
        ((replace(GOOD, x=math.nan),), "not finite"),
        ((Line(points=((0, 0), (math.inf, 0))),), "not finite"),
        ((Box(x=0, y=0, wide=math.inf, high=1),), "not finite"),
    ],
)
def test_what_is_wrong_is_said(bad, why):
    with pytest.raises(AssertionError, match=why):
        check_picture(picture(*bad))


@pytest.mark.parametrize(
    ("spots", "why"),
    [
        ((spot(1200, 0, 100, 50, "a"),), "leaves the sheet"),
        ((spot(0, 0, 10, 0, "a"),), "no place"),
        ((spot(0, 0, 10, math.nan, "a"),), "not finite"),
        ((spot(0, 0, 9, 9, ""),), "without a name"),
        ((spot(0, 0, 9, 9, "a"), spot(9, 0, 9, 9, "a")), "one name"),
        ((spot(0, 0, 9, 9, "a"), spot(7, 7, 9, 9, "b")), "'a' and 'b' overlap"),
    ],
)
def test_what_is_wrong_with_spots_is_said(spots, why):
    with pytest.raises(AssertionError, match=why):
        check_picture(picture(spots=spots))


def test_bounds_follow_anchor_and_letters():
    left, top, right, bottom = text_bounds(GOOD)
    assert (left, bottom) == (100, 100)
    assert top == pytest.approx(100 - 0.76 * 28)
    assert text_bounds(replace(GOOD, anchor="right"))[2] == 100
    assert text_bounds(replace(GOOD, anchor="center"))[0] == pytest.approx(100 - (right - left) / 2)
    assert text_bounds(replace(GOOD, text="early"))[3] > 100
    assert text_bounds(replace(GOOD, text="as"))[1] > top


def test_what_lies_under_a_text_is_the_last_that_is_filled():
    boxes = [Box(x=0, y=0, wide=999, high=300, fill=ink) for ink in ("band", "seven", "")]
    assert under(picture(*boxes, GOOD, boxes[0]), GOOD) == "seven"
    assert under(picture(GOOD), GOOD) == "paper"


def test_unlike_pictures_are_told_apart_and_a_hair_is_not():
    def drawn(x: int, size: tuple[int, int] = (320, 200)) -> pygame.Surface:
        surface = pygame.Surface(size, depth=32)
        surface.fill((240, 240, 240))
        surface.fill((20, 20, 20), (x, 80, 40, 40))
        return surface

    assert alike(drawn(100), drawn(100), mean=0.0, most=0.0)
    assert alike(drawn(100), drawn(101), most=40.0)
    assert not alike(drawn(100), drawn(108))
    assert not alike(drawn(100), drawn(100, (640, 400)))
