"""Marks that are laid out once and shown moved: what moves together keeps its distances."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence

from feedback.screen.lettering import width
from feedback.screen.marks import Box, Line, Mark, Point, Ring, Shape, Text

Laid = tuple[float, float, Mark]
"""A mark with how far it reaches to the left and to the right."""

_ANCHORS = {"left": 0.0, "center": 0.5, "right": 1.0}
_PIECES = 8


def laid(marks: Iterable[Mark]) -> tuple[Laid, ...]:
    """Marks with their reach."""
    return tuple((*reach(mark), mark) for mark in marks)


def reach(mark: Mark) -> tuple[float, float]:
    """How far a mark reaches to the left and to the right."""
    if isinstance(mark, Text):
        wide = width(mark.text, mark.size, mark.bold)
        left = mark.x - _ANCHORS[mark.anchor] * wide
        return left, left + wide
    if isinstance(mark, Box):
        return mark.x, mark.x + mark.wide
    if isinstance(mark, Ring):
        return mark.x - mark.radius, mark.x + mark.radius
    across = [x for x, _ in mark.points]
    return min(across), max(across)


def moved(mark: Mark, by: float) -> Mark:
    """A mark moved to the right."""
    if isinstance(mark, Text):
        return Text(
            x=mark.x + by,
            y=mark.y,
            text=mark.text,
            size=mark.size,
            ink=mark.ink,
            on=mark.on,
            bold=mark.bold,
            anchor=mark.anchor,
            minor=mark.minor,
        )
    if isinstance(mark, Box):
        return Box(
            x=mark.x + by,
            y=mark.y,
            wide=mark.wide,
            high=mark.high,
            fill=mark.fill,
            edge=mark.edge,
            thick=mark.thick,
            round=mark.round,
        )
    if isinstance(mark, Line):
        return Line(points=_along(mark.points, by), thick=mark.thick, ink=mark.ink, dashed=mark.dashed)
    if isinstance(mark, Shape):
        return Shape(points=_along(mark.points, by), fill=mark.fill, edge=mark.edge, thick=mark.thick)
    return Ring(x=mark.x + by, y=mark.y, radius=mark.radius, fill=mark.fill, edge=mark.edge, thick=mark.thick)


def _along(points: tuple[Point, ...], by: float) -> tuple[Point, ...]:
    return tuple([(x + by, y) for x, y in points])


def shown(marks: Iterable[Laid], by: float, left: float, right: float) -> Iterator[Mark]:
    """Those that are to be seen between two edges, moved; of texts only what is there as a whole."""
    for begin, end, mark in marks:
        if begin + by >= right or end + by <= left:
            continue
        if isinstance(mark, Text) and (begin + by < left or end + by > right):
            continue
        yield moved(mark, by)


def whole(marks: Sequence[Laid], by: float, left: float, right: float) -> Iterator[Mark]:
    """All of them, moved, where none of their texts reaches over an edge; else none."""
    for begin, end, mark in marks:
        if isinstance(mark, Text) and (begin + by < left or end + by > right):
            return
    for _, _, mark in marks:
        yield moved(mark, by)


def arc(begin: float, end: float, y: float, high: float, thick: float, ink: str) -> Shape:
    """A curve from one place to another, `high` over `y` in its middle, thickest there."""
    steps = [k / _PIECES for k in range(_PIECES + 1)]
    over = [(begin + k * (end - begin), y - high * math.sin(math.pi * k)) for k in steps]
    under = [(x, y - (y - top) * (1.0 - thick / high)) for x, top in over[-2:0:-1]]
    return Shape(points=(*over, *under), fill=ink)


def dashed_box(x: float, y: float, wide: float, high: float, ink: str, thick: float = 3.0) -> Line:
    """A broken frame about a middle."""
    left, right, top, bottom = x - wide / 2, x + wide / 2, y - high / 2, y + high / 2
    corners = ((left, top), (right, top), (right, bottom), (left, bottom), (left, top))
    return Line(points=corners, thick=thick, ink=ink, dashed=True)


class Same:
    """A thing as a key: alike only to itself, so that nothing large is ever hashed or compared."""

    __slots__ = ("it",)

    def __init__(self, it: object) -> None:
        self.it = it

    def __hash__(self) -> int:
        return id(self.it)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Same) and self.it is other.it
