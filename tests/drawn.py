"""What every picture of a view must keep, whatever it shows."""

from __future__ import annotations

import itertools

from feedback.screen.inks import READ_ON
from feedback.screen.lettering import width
from feedback.screen.marks import READABLE, Box, Mark, Picture, Shape, Sheet, Text

SHEETS = (Sheet(960, 720), Sheet(), Sheet(1680, 720), Sheet(960, 900))
"""Windows that a view is looked at in: 4:3, wide, very wide, upright."""

_UP, _LOW, _DOWN = 0.76, 0.56, 0.24  # of the em: tall letters, small letters, what hangs under the line
_SMALL, _HANGING = set("acegmnopqrsuvwxyz·.,-– "), set("gjpqyQ,;()[]{}|_")
_SHIFT = {"left": 0.0, "center": 0.5, "right": 1.0}
_TOUCH = 1.5  # units by which boxes of texts may meet: the letters are narrower

Bounds = tuple[float, float, float, float]


def bounds_of(text: Text) -> Bounds:
    """Left, top, right and bottom of what is written, in units."""
    wide = width(text.text, text.size, text.bold)
    left = text.x - _SHIFT[text.anchor] * wide
    letters = set(text.text)
    up = _LOW if letters <= _SMALL else _UP
    return left, text.y - up * text.size, left + wide, text.y + bool(letters & _HANGING) * _DOWN * text.size


def check_drawn(picture: Picture) -> None:
    """Assert it, naming the mark.

    Texts are on an ink that they can be read on, which is the one that lies under them; large enough, or
    minor; inside the sheet; over no other text. Spots are inside the sheet and over no other; each has a name
    of its own.
    """
    texts = [mark for mark in picture.marks if isinstance(mark, Text) and mark.text.strip()]
    for text in texts:
        assert (text.ink, text.on) in READ_ON, f"{text.ink} on {text.on} cannot be read: {text}"
        assert text.minor or text.size >= READABLE, f"too small: {text}"
        assert _inside(picture, bounds_of(text)), f"leaves the sheet: {bounds_of(text)} {text}"
        assert text.on == _under(picture, text), f"lies on {_under(picture, text)}: {text}"
    for one, other in itertools.combinations(texts, 2):
        assert not _over(bounds_of(one), bounds_of(other)), f"{one.text!r} and {other.text!r} overlap"
    places = [(spot.x, spot.y, spot.x + spot.wide, spot.y + spot.high) for spot in picture.spots]
    assert all(_inside(picture, place) for place in places), "a spot leaves the sheet"
    assert not any(_over(one, other) for one, other in itertools.combinations(places, 2)), "spots overlap"
    names = [spot.does for spot in picture.spots]
    assert all(names), "a spot without a name"
    assert len(set(names)) == len(names), f"spots of one name: {names}"


def _under(picture: Picture, text: Text) -> str:
    """The ink that lies under the middle of a text."""
    left, top, right, _ = bounds_of(text)
    found = picture.paper
    for mark in itertools.takewhile(lambda mark: mark is not text, picture.marks):
        if (ink := _fill(mark)) and _covers(mark, (left + right) / 2, (top + text.y) / 2):
            found = ink
    return found


def _fill(mark: Mark) -> str:
    return mark.fill if isinstance(mark, Box | Shape) else ""


def _covers(mark: Mark, x: float, y: float) -> bool:
    if isinstance(mark, Box):
        return mark.x <= x <= mark.x + mark.wide and mark.y <= y <= mark.y + mark.high
    assert isinstance(mark, Shape)
    crossed = 0
    for (x1, y1), (x2, y2) in zip(mark.points, (*mark.points[1:], mark.points[0]), strict=True):
        if (y1 > y) != (y2 > y) and x < x1 + (y - y1) * (x2 - x1) / (y2 - y1):
            crossed += 1
    return crossed % 2 == 1


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
    return all(min(one[axis + 2], other[axis + 2]) - max(one[axis], other[axis]) > _TOUCH for axis in (0, 1))
