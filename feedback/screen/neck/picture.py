"""Neck and chord as a picture: where a chord's tones lie, and where its seven and third fall and rise.

Functions are shapes (`feedback.screen.neck.shapes`), ways are arrows (`feedback.screen.neck.arrows`), the
neck is as it is spaced (`feedback.screen.neck.board`). Under a capo the names are those of the shape; what
sounds stands in the heading. A left-handed neck has its nut on the right.
"""

from __future__ import annotations

from dataclasses import replace

from feedback.screen.furniture import MARGIN
from feedback.screen.marks import Anchor, Box, Line, Mark, Picture, Ring, Shape, Sheet, Text
from feedback.screen.neck.arrows import arrow
from feedback.screen.neck.board import NUMBERS_HIGH, Board, bare
from feedback.screen.neck.shapes import Size, drawn
from feedback.screen.neck.state import NeckState, paths, tones
from feedback.screen.neck.words import HEAD_HIGH, head, legend

__all__ = ["NeckState", "fitting_sheet", "neck_picture"]

_ROW = (44.0, 96.0)
_COLUMN = 58.0
_WIDER = 80.0
_TURNED: dict[Anchor, Anchor] = {"left": "right", "center": "center", "right": "left"}


def neck_picture(state: NeckState, sheet: Sheet, *, foot: float = 0.0) -> Picture:
    """The neck with a chord on it.

    Parameters
    ----------
    state : NeckState
    sheet : Sheet
    foot : float
        Height at the foot of the sheet that is left free, in units.
    """
    below, said = legend(state, sheet, sheet.high - foot - 16)
    room = below - HEAD_HIGH - NUMBERS_HIGH - 20
    row = min(max(room / 5, _ROW[0]), _ROW[1])
    board = _board(state, sheet.wide, HEAD_HIGH + (room - 5 * row) / 2 + row / 2, row)
    marks = bare(board) + _chord(board)
    if state.left_handed:
        marks = [_mirrored(mark, sheet.wide) for mark in marks]
    return Picture(sheet, (*head(state, sheet), *marks, *said))


def fitting_sheet(state: NeckState) -> Sheet:
    """A sheet of 16:9 for a picture by itself, wider where many frets are shown."""
    wide = Sheet().wide
    while _board(state, wide, 0.0, 1.0).narrowest < _COLUMN:
        wide += _WIDER
    return Sheet(wide=wide, scale=1.5)


def _board(state: NeckState, wide: float, top: float, row: float) -> Board:
    return Board(state=state, left=MARGIN - 16, right=wide - MARGIN - 12, top=top, row=row)


def _chord(board: Board) -> list[Mark]:
    wide = max(min(1.12 * board.row, 82.0, 2 * (board.narrowest - 26)), 54.0)
    size = Size(wide, min(0.9 * board.row, 0.7 * wide + 12, 66.0))
    marks: list[Mark] = []
    for path in paths(board.state):
        marks += arrow(board, path, size)
    for placed in tones(board.state):
        x, y = board.at(placed.place)
        marks += drawn(placed.function, x, y, size, str(placed.tone), reached=placed.reached)
    return marks


def _mirrored(mark: Mark, wide: float) -> Mark:
    """A mark as it is on a neck turned round; texts are moved, not turned."""
    match mark:
        case Text():
            return replace(mark, x=wide - mark.x, anchor=_TURNED[mark.anchor])
        case Box():
            return replace(mark, x=wide - mark.x - mark.wide)
        case Ring():
            return replace(mark, x=wide - mark.x)
        case Line() | Shape():
            return replace(mark, points=tuple((wide - x, y) for x, y in mark.points))
