"""The drawn things of a standing tab that are more than letters: arcs of slurs, curves of chokes, rings."""

from __future__ import annotations

from feedback.screen.marks import Box, Line, Text
from feedback.screen.still.fit import LEFT_HIGH, left_wide

_PIECES = 8
_APART = 5.0


def arc(begin: float, end: float, y: float, size: float) -> Line:
    """An arc from one number to another over their heads; `y` is that of their string."""
    half = (end - begin) / 2
    steps = [2 * k / _PIECES - 1 for k in range(_PIECES + 1)]
    points = tuple((begin + half * (1 + k), y - size * (0.52 + 0.25 * (1 - k * k))) for k in steps)
    return Line(points=points, thick=2.5)


def rise(x: float, y: float, size: float) -> Line:
    """The curve of a choke: from beside its number upwards."""
    steps = [k / _PIECES for k in range(_PIECES + 1)]
    points = tuple((x + 0.5 * size * k, y - size * (0.2 + 0.6 * k * k)) for k in steps)
    return Line(points=points, thick=2.5)


def ring(x: float, y: float, wide: float, high: float) -> list[Box]:
    """A doubled ring about a number whose middle is (x, y)."""
    return [
        Box(
            x=x - wide / 2 + inner,
            y=y - high / 2 + inner,
            wide=wide - 2 * inner,
            high=high - 2 * inner,
            fill="",
            edge="astray",
            thick=2.5,
            round=high / 2 - inner,
        )
        for inner in (0.0, _APART)
    ]


def enclosed(x: float, top: float, digits: str, size: float, on: str) -> list[Box | Text]:
    """Fingers of the left hand, enclosed, so that they are neither frets nor letters of the right hand."""
    wide, high = left_wide(digits, size), LEFT_HIGH * size
    place = Box(x=x - wide / 2, y=top, wide=wide, high=high, fill=on, edge="faint", thick=2.0, round=high / 2)
    return [place, Text(x=x, y=top + high / 2 + 0.365 * size, text=digits, size=size, on=on, anchor="center")]
