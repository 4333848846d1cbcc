"""Arrows on a neck: where a guide tone falls to, heavy; where one rises to, light.

An arrow stays on its string where the next tone lies there. Else it leaves its string between two strings,
goes along to the wire beside its goal, and along the wire to the goal's string: so it crosses no name.
"""

from __future__ import annotations

import math
from itertools import pairwise

from feedback.screen.lettering import signed
from feedback.screen.marks import Line, Mark, Point, Ring, Shape, Text
from feedback.screen.neck.board import Board
from feedback.screen.neck.shapes import Size, half_wide
from feedback.screen.neck.state import Path

_CLEAR = 4.0
_OUT = 16.0


def arrow(board: Board, path: Path, size: Size) -> list[Mark]:
    """The marks of one way."""
    falls = path.move.half_steps < 0
    (x, y), (goal_x, goal_y) = board.at(path.here), board.at(path.there)
    leaves = half_wide(path.move.function, size) + _CLEAR
    stops = half_wide(path.move.to_function, size) + _CLEAR
    if not _side_by_side(board, path):
        if not board.state.shows(path.there):
            return []
        return _drawn(_around(board, path, (x, y), (goal_x, goal_y), stops, size), falls)
    way = math.copysign(1.0, goal_x - x)
    if board.state.shows(path.there):
        end, beyond = goal_x - way * stops, []
    else:
        end = board.nut - _OUT if way < 0 else board.right + _OUT / 2
        name = signed(str(path.move.to_tone))
        beyond = [Text(x=end + way * 26, y=y + 10, text=name, bold=True, anchor="center")]
    lifted = 0.0 if falls else 0.2 * size.high
    return [*_drawn([(x + way * leaves, y - lifted), (end, y - lifted)], falls), *beyond]


def _side_by_side(board: Board, path: Path) -> bool:
    """Whether an arrow along the string leads there; none does to the fifth one's nut from below it."""
    ahead = board.column(path.there) < board.column(path.here)
    return path.here.string == path.there.string and ahead == (path.move.half_steps < 0)


def _around(board: Board, path: Path, begin: Point, goal: Point, stops: float, size: Size) -> list[Point]:
    down = math.copysign(1.0, goal[1] - begin[1])
    lane = begin[1] + down * board.row / 2
    column = board.column(path.there)
    from_left = begin[0] < goal[0]
    beside = board.wire(column - 1 if from_left else column) if column > 0 else board.nut
    return [
        (begin[0], begin[1] + down * (0.5 * size.high + 2)),
        (begin[0], lane),
        (beside, lane),
        (beside, goal[1]),
        (goal[0] - math.copysign(stops, goal[0] - begin[0]), goal[1]),
    ]


def _drawn(points: list[Point], falls: bool) -> list[Mark]:
    (x1, y1), (x2, y2) = points[-2:]
    far = math.hypot(x2 - x1, y2 - y1)
    dx, dy = (x2 - x1) / far, (y2 - y1) / far
    long = min(20.0 if falls else 14.0, 0.8 * far)
    wide = 13.0 if falls else 10.0
    neck = (x2 - dx * long, y2 - dy * long)
    sides = ((neck[0] - dy * wide, neck[1] + dx * wide), (neck[0] + dy * wide, neck[1] - dx * wide))
    if not falls:
        return [
            *_stem([*points[:-1], (x2, y2)], 3.0),
            Line(points=(sides[0], (x2, y2)), thick=3.0),
            Line(points=(sides[1], (x2, y2)), thick=3.0),
        ]
    thick = 8.0 if len(points) == 2 else 5.0
    return [*_stem([*points[:-1], neck], thick), Shape(points=((x2, y2), *sides))]


def _stem(points: list[Point], thick: float) -> list[Mark]:
    marks: list[Mark] = [Line(points=pair, thick=thick) for pair in pairwise(points)]
    return marks + [Ring(x=x, y=y, radius=thick / 2, fill="ink", edge="") for x, y in points[1:-1]]
