"""Where the sevens went: a row for each, a sign for each pass, and a word.

A seven is an inverted triangle: inked where it landed, with a hollow rim where it came off its place, inked
to half its height where the roll swallowed it, open and crossed where it was not heard. From it a slope goes
to where it fell: solid and with an inked foot where it came home, with a late or an early bend where the foot
came late or ahead, to a ring where it went to another octave, dashed and without a foot where it was left
hanging. What the listener could not tell is a question mark.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from feedback.screen.lettering import fitted, signed, width, wrapped
from feedback.screen.marks import READABLE, Line, Mark, Point, Ring, Shape, Text
from feedback.whereabouts import SevenRow, Went, most_telling

ROW_HIGH = 80.0
"""The least height of a row."""

STACKED_HIGH = 124.0
"""The same where the words stand below the signs."""

MOST_SIGNS = 6
"""So many passes at most have a sign; the last ones."""

_LARGEST = 1.6  # times the least height
_SIGN_WIDE = 68.0
_WORDS_WIDE = 196.0
_WORTH = 1.15  # so much larger must it become by that
_BELOW = 285.0  # what "in another octave" needs
_GAP = 10.0
_NAME = 30.0


def sevens_wide(rows: Sequence[SevenRow], *, beside: bool = True) -> float:
    """The least width that the rows need, their words beside the signs or below them."""
    passes = min(MOST_SIGNS, max((len(row.went) for row in rows), default=0))
    names = max((width(signed(_name(row)), _NAME, True) for row in rows), default=0.0)
    return max(
        names, passes * _SIGN_WIDE + _GAP + _WORDS_WIDE if beside else max(passes * _SIGN_WIDE, _BELOW)
    )


def sevens_marks(
    rows: Sequence[SevenRow], x: float, y: float, wide: float, high: float, most: int
) -> list[Mark]:
    """Draw as many rows as have room, those where most went wrong before others, as large as has room.

    Parameters
    ----------
    rows : sequence of SevenRow
    x, y, wide, high : float
        The room.
    most : int
        So many rows at most.
    """
    shown = most_telling(rows, max(1, min(most, int(high / ROW_HIGH))))
    each = high / max(1, len(shown))
    beside = min(each / ROW_HIGH, wide / sevens_wide(rows))
    under = min(each / STACKED_HIGH, wide / sevens_wide(rows, beside=False))
    stacked = under >= 1.0 and min(_LARGEST, under) > _WORTH * min(_LARGEST, beside)
    scale = min(_LARGEST, under) if stacked else max(1.0, min(_LARGEST, beside))
    row_high = scale * (STACKED_HIGH if stacked else ROW_HIGH)
    marks: list[Mark] = []
    for number, row in enumerate(shown):
        at = y + number * row_high
        marks += _signs(row, x, at, wide, scale)
        went = min(MOST_SIGNS, len(row.went))
        left = 0.0 if stacked else (went * _SIGN_WIDE + _GAP) * scale
        marks += _words(row, x + left, at, wide - left, scale, stacked)
    return marks


def _name(row: SevenRow) -> str:
    return f"{row.name} to {row.to}" if row.to else row.name


def _signs(row: SevenRow, x: float, y: float, wide: float, scale: float) -> list[Mark]:
    size = _NAME * scale
    name = fitted(signed(_name(row)), size, wide, bold=True)
    marks: list[Mark] = [Text(x=x, y=y + 26.0 * scale, text=name, size=size, bold=True)]
    for number, one in enumerate(row.went[-MOST_SIGNS:]):
        marks += sign(one, x + number * _SIGN_WIDE * scale, y + 38.0 * scale, scale)
    return marks


def _words(row: SevenRow, x: float, y: float, wide: float, scale: float, stacked: bool) -> list[Mark]:
    """What it comes to and how often, beside the signs in two lines at most, or below them in one."""
    astray = row.faults > 0
    lines, size = _lines(row, READABLE * scale, wide, 1 if stacked else 2)
    beside = width(lines[0], size, astray) + 0.5 * size  # where a count may stand in the same line
    counted = row.how_often if len(lines) == 1 else ""
    if stacked and width(counted, READABLE) > wide - beside:
        counted = ""
    first = 110.0 if stacked else 64.0 if len(lines) == 1 and not counted else 49.0
    ink = "astray" if astray else "landed"
    marks: list[Mark] = [
        Text(x=x, y=y + first * scale + size * number, text=line, size=size, ink=ink, bold=astray)
        for number, line in enumerate(lines)
    ]
    if counted and stacked:
        marks.append(Text(x=x + beside, y=y + first * scale, text=counted, ink=ink))
    elif counted:
        marks.append(Text(x=x, y=y + first * scale + size, text=counted, size=size, ink=ink))
    return marks


def _lines(row: SevenRow, size: float, wide: float, most: int) -> tuple[list[str], float]:
    """All that went wrong in so many lines, and their size; else the first of it, and how much more."""
    bold = row.faults > 0
    ways = [row.words]
    if len(row.astray) > 1:
        ways += [f"{row.astray[0]}, and {len(row.astray) - 1} more", f"{row.astray[0]} …"]
    for way in ways:
        for tried in (size, READABLE):
            lines = wrapped(way, tried, wide, bold=bold)
            if len(lines) <= most and all(width(line, tried, bold) <= wide for line in lines):
                return lines, tried
    return wrapped(ways[-1], size, wide, bold=bold)[:most], size


def sign(went: Went, x: float, y: float, scale: float = 1.0) -> list[Mark]:
    """What became of a seven in one pass, as a sign.

    Parameters
    ----------
    went : Went
    x, y : float
        Its upper left corner.
    scale : float
        Of 1 it is 62 wide and 38 high.
    """
    if went.sounding == "unclear":
        marks: list[Mark] = [Text(x=4.0, y=30.0, text="?", size=36.0, ink="faint", bold=True)]
    else:
        marks = [*_fall(went), *_seven(went)]
    return [_placed(mark, x, y, scale) for mark in marks]


def _placed(mark: Mark, x: float, y: float, scale: float) -> Mark:
    match mark:
        case Text():
            return replace(mark, x=x + scale * mark.x, y=y + scale * mark.y, size=scale * mark.size)
        case Ring():
            return replace(
                mark,
                x=x + scale * mark.x,
                y=y + scale * mark.y,
                radius=scale * mark.radius,
                thick=scale * mark.thick,
            )
        case Line() | Shape():
            points = tuple((x + scale * across, y + scale * down) for across, down in mark.points)
            return replace(mark, points=points, thick=scale * mark.thick)
        case _:
            return mark


def _triangle(inner: float = 0.0) -> tuple[Point, ...]:
    return ((1.75 * inner, inner), (30 - 1.75 * inner, inner), (15, 27 - 2.1 * inner))


def _seven(went: Went) -> list[Mark]:
    ink = "landed" if went.sounding == "landed" else "astray"
    whole = _triangle()
    if went.sounding == "landed":
        return [Shape(points=whole, fill=ink, edge=ink)]
    open_one = Shape(points=whole, fill="paper", edge=ink, thick=3.0)
    if went.sounding == "off its place":
        return [open_one, Shape(points=_triangle(5.0), fill=ink)]
    if went.sounding == "swallowed":
        half = ((7.5, 13.5), (22.5, 13.5), (15, 27))
        return [open_one, Shape(points=half, fill=ink)]
    crossed = (((0, -3), (30, 30)), ((30, -3), (0, 30)))
    return [open_one, *(Line(points=points, thick=4.0, ink=ink) for points in crossed)]


def _fall(went: Went) -> list[Mark]:
    astray = went.as_asked is False and went.resolution != "ahead"
    ink = "astray" if astray else "landed"
    low = 34.0
    foot = Line(points=((38, low), (60, low)), thick=7.0, ink=ink)
    start = (22.0, 8.0)
    match went.resolution:
        case "resolved":
            return [Line(points=(start, (44, low)), thick=5.0, ink=ink), foot]
        case "ahead":
            points = (start, (34, low), (40, low))
            return [Line(points=points, thick=5.0, ink=ink), foot]
        case "late":
            points = (start, (46, 8), (52, low))
            return [
                Line(points=points, thick=5.0, ink=ink),
                Line(points=((46, low), (62, low)), thick=7.0, ink=ink),
            ]
        case "octave":
            return [
                Line(points=(start, (44, low - 8)), thick=5.0, ink=ink),
                Ring(x=50, y=low - 2, radius=8.0, edge=ink, thick=4.0),
            ]
        case "hanging":
            ink = "astray" if astray else "faint"
            return [Line(points=(start, (50, low)), thick=4.0, ink=ink, dashed=True)]
        case "unclear":
            return [
                Line(points=(start, (40, low - 6)), thick=3.0, ink="faint", dashed=True),
                Text(x=44, y=low + 2, text="?", ink="faint", bold=True),
            ]
        case "none":
            return []
