"""What every picture of a view must keep, in which windows, and how two painted pictures are compared."""

from __future__ import annotations

import itertools
import math
import os
from pathlib import Path

os.environ.setdefault("SDL_VIDEODRIVER", "dummy")
os.environ.setdefault("PYGAME_HIDE_SUPPORT_PROMPT", "1")

import numpy as np
import pygame
import pygame.surfarray

from feedback.screen.inks import READ_ON
from feedback.screen.lettering import width
from feedback.screen.marks import READABLE, Box, Line, Mark, Picture, Ring, Shape, Sheet, Spot, Text

SHEETS = (Sheet(960, 720), Sheet(), Sheet(1680, 720), Sheet(960, 900))
"""Windows that a view is looked at in: 4:3, wide, very wide, upright."""

TOUCH = 1.5
"""Units by which two texts may reach into one another's boxes: the letters themselves are narrower."""

_UP, _LOW, _DOWN = 0.76, 0.56, 0.24  # of the em: tall letters, small letters, what hangs under the line
_SMALL, _HANGING = set("acegmnopqrsuvwxyz·.,-– "), set("gjpqyQ,;()[]{}|_")
_SHIFT = {"left": 0.0, "center": 0.5, "right": 1.0}

Bounds = tuple[float, float, float, float]


def text_bounds(text: Text) -> Bounds:
    """Left, top, right and bottom of what is written, in units."""
    wide = width(text.text, text.size, text.bold)
    left = text.x - _SHIFT[text.anchor] * wide
    letters = set(text.text)
    up = _LOW if letters <= _SMALL else _UP
    return left, text.y - up * text.size, left + wide, text.y + bool(letters & _HANGING) * _DOWN * text.size


def check_picture(picture: Picture) -> None:
    """Assert what every picture must keep; the message names the mark.

    Texts: on an ink that they can be read on, which is the one that lies under their middle; large enough, or
    minor; inside the sheet; over no other text; hidden by nothing. Spots: inside the sheet, over no other,
    each with a name of its own. Coordinates: finite.
    """
    for mark in picture.marks:
        assert all(map(math.isfinite, _numbers(mark))), f"not finite: {mark}"
    texts = [mark for mark in picture.marks if isinstance(mark, Text) and mark.text.strip()]
    for text in texts:
        assert (text.ink, text.on) in READ_ON, f"{text.ink} on {text.on} cannot be read: {text}"
        assert text.minor or text.size >= READABLE, f"too small: {text}"
        assert _inside(picture, text_bounds(text)), f"leaves the sheet: {text_bounds(text)} {text}"
    for one, other in itertools.combinations(texts, 2):
        assert not _over(text_bounds(one), text_bounds(other)), f"{one.text!r} and {other.text!r} overlap"
    _check_layers(picture)
    _check_spots(picture)


def _check_spots(picture: Picture) -> None:
    for spot in picture.spots:
        assert all(map(math.isfinite, _place(spot))), f"not finite: {spot}"
        assert _inside(picture, _place(spot)), f"leaves the sheet: {spot}"
        assert min(spot.wide, spot.high) > 0, f"no place to choose: {spot}"
    for one, other in itertools.combinations(picture.spots, 2):
        assert not _over(_place(one), _place(other)), f"spots {one.does!r} and {other.does!r} overlap"
    names = [spot.does for spot in picture.spots]
    assert all(names), "a spot without a name"
    assert len(set(names)) == len(names), f"spots of one name: {names}"


def under(picture: Picture, text: Text) -> str:
    """The ink that lies under the middle of a text."""
    found = picture.paper
    for mark in picture.marks:
        if mark is text:
            break
        if _covers(mark, *_middle(text)):
            found = mark.fill  # type: ignore[union-attr]  # what covers has one
    return found


def alike(
    one: pygame.Surface | str | Path,
    other: pygame.Surface | str | Path,
    *,
    mean: float = 1.0,
    most: float = 24.0,
    smaller: int = 8,
) -> bool:
    """Whether two pictures, surfaces or PNG files, show the same.

    Both are scaled down first, so that an edge that lies half a pixel aside counts little.

    Parameters
    ----------
    one, other : pygame.Surface or path
    mean, most : float
        How far, of 255, red, green and blue may differ on average, and anywhere.
    smaller : int
        How many times they are scaled down.
    """
    a, b = _pixels(one, smaller), _pixels(other, smaller)
    if a.shape != b.shape:
        return False
    far = np.abs(a - b)
    return bool(far.mean() <= mean and far.max() <= most)


def _pixels(picture: pygame.Surface | str | Path, smaller: int) -> np.ndarray:
    surface = picture if isinstance(picture, pygame.Surface) else pygame.image.load(str(picture))
    flat = pygame.Surface(surface.get_size(), depth=32)
    flat.blit(surface, (0, 0))
    size = (max(1, flat.get_width() // smaller), max(1, flat.get_height() // smaller))
    return pygame.surfarray.array3d(pygame.transform.smoothscale(flat, size)).astype(float)


def _check_layers(picture: Picture) -> None:
    for at, text in enumerate(picture.marks):
        if not isinstance(text, Text) or not text.text.strip():
            continue
        assert text.on == under(picture, text), f"lies on {under(picture, text)}: {text}"
        for later in picture.marks[at + 1 :]:
            assert not _covers(later, *_middle(text)), f"{text.text!r} is hidden by {later}"


def _numbers(mark: Mark) -> tuple[float, ...]:
    if isinstance(mark, Line | Shape):
        return (*itertools.chain.from_iterable(mark.points), mark.thick)
    if isinstance(mark, Text):
        return mark.x, mark.y, mark.size
    if isinstance(mark, Ring):
        return mark.x, mark.y, mark.radius, mark.thick
    return mark.x, mark.y, mark.wide, mark.high, mark.thick, mark.round


def _middle(text: Text) -> tuple[float, float]:
    left, top, right, _ = text_bounds(text)
    return (left + right) / 2, (top + text.y) / 2


def _place(spot: Spot) -> Bounds:
    return spot.x, spot.y, spot.x + spot.wide, spot.y + spot.high


def _inside(picture: Picture, bounds: Bounds) -> bool:
    left, top, right, bottom = bounds
    hair = 0.01
    return (
        left >= -hair
        and top >= -hair
        and right <= picture.sheet.wide + hair
        and bottom <= picture.sheet.high + hair
    )


def _over(one: Bounds, other: Bounds) -> bool:
    return all(min(one[axis + 2], other[axis + 2]) - max(one[axis], other[axis]) > TOUCH for axis in (0, 1))


def _covers(mark: Mark, x: float, y: float) -> bool:
    """Whether something that is filled lies at a place."""
    if isinstance(mark, Text | Line) or not mark.fill:
        return False
    if isinstance(mark, Box):
        return mark.x <= x <= mark.x + mark.wide and mark.y <= y <= mark.y + mark.high
    if isinstance(mark, Ring):
        return math.hypot(x - mark.x, y - mark.y) <= mark.radius
    crossed = 0
    for (x1, y1), (x2, y2) in zip(mark.points, (*mark.points[1:], mark.points[0]), strict=True):
        if (y1 > y) != (y2 > y) and x < x1 + (y - y1) * (x2 - x1) / (y2 - y1):
            crossed += 1
    return crossed % 2 == 1
