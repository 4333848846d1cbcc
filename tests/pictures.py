"""What every picture of a view must keep, in which windows, and how two painted pictures are compared."""

from __future__ import annotations

import itertools
import math
import os
from collections.abc import Sequence
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
    bounds = [text_bounds(text) for text in texts]
    for text, place in zip(texts, bounds, strict=True):
        assert (text.ink, text.on) in READ_ON, f"{text.ink} on {text.on} cannot be read: {text}"
        assert text.minor or text.size >= READABLE, f"too small: {text}"
        assert _inside(picture, place), f"leaves the sheet: {place} {text}"
    for one, other in reaching(bounds, TOUCH):
        raise AssertionError(f"{texts[one].text!r} and {texts[other].text!r} overlap")
    _check_layers(picture)
    _check_spots(picture)


def _check_spots(picture: Picture) -> None:
    for spot in picture.spots:
        assert all(map(math.isfinite, _place(spot))), f"not finite: {spot}"
        assert _inside(picture, _place(spot)), f"leaves the sheet: {spot}"
        assert min(spot.wide, spot.high) > 0, f"no place to choose: {spot}"
    for one, other in reaching([_place(spot) for spot in picture.spots], TOUCH):
        first, second = picture.spots[one].does, picture.spots[other].does
        raise AssertionError(f"spots {first!r} and {second!r} overlap")
    names = [spot.does for spot in picture.spots]
    assert all(names), "a spot without a name"
    assert len(set(names)) == len(names), f"spots of one name: {names}"


def reaching(places: Sequence[Bounds], by: float) -> list[list[int]]:
    """Which places reach into one another by more than so much both ways, as pairs of their numbers."""
    left, top, right, bottom = np.array(places, float).reshape(-1, 4).T
    aside = np.minimum.outer(right, right) - np.maximum.outer(left, left)
    along = np.minimum.outer(bottom, bottom) - np.maximum.outer(top, top)
    return np.argwhere(np.triu((aside > by) & (along > by), 1)).tolist()


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
    texts, filled = [], []
    for at, mark in enumerate(picture.marks):
        if isinstance(mark, Text):
            if mark.text.strip():
                texts.append((at, mark))
        elif not isinstance(mark, Line) and mark.fill:
            filled.append((at, mark))
    middles = [_middle(text) for _, text in texts]
    left, top, right, bottom = np.array([_around(mark) for _, mark in filled], float).reshape(-1, 4).T
    x, y = np.array(middles, float).reshape(-1, 2).T[..., None]
    near = (left <= x) & (x <= right) & (top <= y) & (y <= bottom)
    for (at, text), middle, there in zip(texts, middles, near, strict=True):
        lies_on = picture.paper
        for its, mark in (filled[number] for number in np.flatnonzero(there)):
            if _covers(mark, *middle):
                assert its < at, f"{text.text!r} is hidden by {mark}"
                lies_on = mark.fill
        assert text.on == lies_on, f"lies on {lies_on}: {text}"


def _around(mark: Box | Ring | Shape) -> Bounds:
    """The rectangle that a mark fills, or lies in."""
    if isinstance(mark, Box):
        return mark.x, mark.y, mark.x + mark.wide, mark.y + mark.high
    if isinstance(mark, Ring):
        return mark.x - mark.radius, mark.y - mark.radius, mark.x + mark.radius, mark.y + mark.radius
    xs, ys = zip(*mark.points, strict=True)
    return min(xs), min(ys), max(xs), max(ys)


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
