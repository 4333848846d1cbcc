"""Chord functions as shapes: root a square, third a triangle, fifth a bar, flat seven an upturned triangle.

The chord's own tones are filled, the flat seven strongest; a place that one of them falls or rises to is
open, in the shape of what it is in the next chord. A flat seven and the third that it falls to, side by side,
leave room between their slants for the arrow.
"""

from __future__ import annotations

from dataclasses import dataclass

from feedback.screen.lettering import signed
from feedback.screen.marks import READABLE, Mark, Point, Shape, Text


@dataclass(frozen=True, slots=True)
class Size:
    """Of the shapes of a picture: the box that a triangle fills, in units."""

    wide: float
    high: float


def half_wide(function: str, size: Size) -> float:
    """From the middle of a shape to its side at the height of its string."""
    return _HALVES.get(function, 0.4) * size.wide


def outline(function: str, x: float, y: float, size: Size) -> tuple[Point, ...]:
    """The corners of a function's shape around a point."""
    wide, high = size.wide / 2, size.high / 2
    if function == "third":
        return (x, y - high), (x + wide, y + high), (x - wide, y + high)
    if function == "seven":
        return (x - wide, y - high), (x + wide, y - high), (x, y + high)
    if function in ("root", "fifth"):
        across = half_wide(function, size)
        up = min(across, 0.45 * size.high) if function == "root" else 0.66 * min(across, 0.45 * size.high)
        return (x - across, y - up), (x + across, y - up), (x + across, y + up), (x - across, y + up)
    wide = half_wide(function, size)
    return (x, y - high), (x + wide, y), (x, y + high), (x - wide, y)


_HALVES = {"root": 0.33, "fifth": 0.4, "third": 0.25, "seven": 0.25}
_FILLS = {"seven": "seven", "third": "third"}


def drawn(function: str, x: float, y: float, size: Size, name: str, *, reached: bool) -> list[Mark]:
    """A tone: its shape around a point, and in it its name, if it is given one."""
    leads = reached or function in _FILLS
    fill = "paper" if reached else _FILLS.get(function, "band")
    thick = (5.5 if function == "seven" and not reached else 3.5) if leads else 2.5
    ink = "ink" if leads else "faint"
    marks: list[Mark] = [Shape(points=outline(function, x, y, size), fill=fill, edge=ink, thick=thick)]
    if name:
        letters = READABLE + 4 if size.wide >= 70 and size.high >= 60 else READABLE
        base = y + 0.36 * letters
        if function == "third":
            base = y + 0.5 * size.high - 6
        elif function == "seven":
            base = y - 0.5 * size.high + 6 + 0.73 * letters
        marks.append(
            Text(x=x, y=base, text=signed(name), size=letters, ink=ink, on=fill, bold=leads, anchor="center")
        )
    return marks
