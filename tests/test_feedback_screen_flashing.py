"""Nothing flashes: WCAG 2.2, 2.3.1 (three flashes or below threshold), on a lane that is played through.

A flash is a pair of opposing changes of relative luminance by a tenth or more, where the darker one is below
0.8, of more than a quarter of any 341 by 256 pixels of a screen of 1024 by 768.
"""

from __future__ import annotations

import numpy as np
import pygame
import pytest

from feedback.screen.lane.picture import lane_picture
from feedback.screen.marks import Sheet
from feedback.screen.paint import Painter
from routines.library import load
from tests.lanes import plan_of, state_at

SIZE = (1024, 768)
CELL = 32
"""Changes are looked at in cells; a region is 10 by 8 of them."""

FRAMES_A_SEC = 20
FEWEST, BY, DARKER = 0.25 * 10 * 8, 0.1, 0.8


def luminance(surface: pygame.Surface) -> np.ndarray:
    """Relative luminance of each cell, shape (columns, rows)."""
    small = pygame.transform.smoothscale(surface, (SIZE[0] // CELL, SIZE[1] // CELL))
    linear = (pygame.surfarray.array3d(small).astype(float) / 255.0) ** 2.2
    return linear @ np.array([0.2126, 0.7152, 0.0722])


def flashes_a_sec(course: np.ndarray) -> float:
    """The most flashes in any second of any region; course has the shape (frames, columns, rows).

    A region goes up or down in a frame in which a quarter of it does; a flash is one up and one down.
    """
    low = high = course[0]
    way = np.zeros(course.shape[1:], int)
    ways = []
    for now in course[1:]:
        low, high = np.minimum(low, now), np.maximum(high, now)
        up = (now - low >= BY) & (low < DARKER) & (way <= 0)
        down = (high - now >= BY) & (now < DARKER) & (way >= 0)
        way = np.where(up, 1, np.where(down, -1, way))
        low, high = np.where(up | down, now, low), np.where(up | down, now, high)
        ways.append(_regions(up) - _regions(down))
    most = 0
    for region in np.moveaxis(np.array(ways), 0, -1).reshape(-1, len(ways)):
        frames = np.flatnonzero(region)
        turns = frames[np.flatnonzero(np.diff(region[frames], prepend=0))]
        for first in turns:
            most = max(most, int(np.sum((turns >= first) & (turns < first + FRAMES_A_SEC))))
    return most / 2.0


def _regions(cells: np.ndarray) -> np.ndarray:
    """In which regions, each 10 by 8 cells, at least a quarter of the cells do so: 1 or 0."""
    windows = np.lib.stride_tricks.sliding_window_view(cells, (10, 8))
    return (windows.sum(axis=(2, 3)) >= FEWEST).astype(int)


@pytest.mark.parametrize("motion", ["flowing", "stepped"])
@pytest.mark.parametrize("look", ["paper", "night"])
def test_a_fast_lane_does_not_flash(look: str, motion: str) -> None:
    plan = plan_of(load("half-an-inch-of-kerf"), 200.0, passes=2, rest_bars=0)
    painter, surface, sheet = Painter(look), pygame.Surface(SIZE), Sheet.of(*SIZE)
    begin = plan.first_start_sec - 0.5
    course = []
    for frame in range(3 * FRAMES_A_SEC):
        now = begin + frame / FRAMES_A_SEC
        state = state_at(plan, now, (), ("left-hanging",))
        painter.paint(surface, lane_picture(state, now, sheet, motion=motion))
        course.append(luminance(surface))
    assert flashes_a_sec(np.array(course)) <= 3.0


def test_what_does_flash_is_seen() -> None:
    course = np.zeros((40, SIZE[0] // CELL, SIZE[1] // CELL))
    course[::4, 3:15, 2:12] = course[1::4, 3:15, 2:12] = 0.9
    assert flashes_a_sec(course) == pytest.approx(5.0, abs=0.6)
    course[:, 5:] = 0.0  # too small a region
    assert flashes_a_sec(course) == 0.0
