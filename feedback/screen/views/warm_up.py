"""The warm-ups to choose from: a row each, and of the one that has the focus what it is good for.

Conventions: a row says how long the warm-up takes and when it was played last, in plain words. What a row
does is "warm-up NAME". Where there are more than have room they stand on pages.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from feedback.screen.furniture import HEADING, MARGIN, choice, heading, paragraph
from feedback.screen.lettering import fitted, signed, width
from feedback.screen.marks import READABLE, Box, Mark, Picture, Sheet, Spot, Text
from feedback.screen.views.progress_words import breakable
from feedback.words import counted

FURTHER = "further"
"""What turns to the next page."""

BEGINS = "warm-up "
"""What each row's `does` begins with; the warm-up's name follows."""

_PITCH, _LEAST_PITCH = 52.0, 48.0
_TITLE = 32.0
_ABOUT_LINES = 3
_LEAD = 1.3
_FOOT = 18.0
_SIDE = 16.0  # from the edge of a row to its words
_BUTTON_HIGH, _BUTTON_WIDE, _GAP = 54.0, 180.0, 14.0
_BETWEEN = 32.0


@dataclass(frozen=True, slots=True, kw_only=True)
class WarmUpRow:
    """One warm-up.

    Attributes
    ----------
    name : str
        A row of `routines.warmups.table.WARM_UPS`.
    title, about : str
        `about` is one sentence.
    minutes : float
        How long it takes.
    last : str
        When it was played last, in plain words.
    """

    name: str
    title: str
    about: str
    minutes: float
    last: str


@dataclass(frozen=True, slots=True, kw_only=True)
class WarmUpsState:
    """What the list shows.

    Attributes
    ----------
    rows : tuple of WarmUpRow
    page : int
        From 0; the last one is shown where there are not so many.
    first : str
        Name of the warm-up on that page from which the order of the focus begins; empty for the first one.
    trouble : str
        Why it is not known when they were played, in a line; empty where it is.
    """

    rows: tuple[WarmUpRow, ...]
    page: int = 0
    first: str = ""
    trouble: str = ""


def rows_on(sheet: Sheet) -> int:
    """How many warm-ups stand on a page."""
    return max(1, int((_about_y(sheet) - HEADING) // _LEAST_PITCH))


def pages_of(state: WarmUpsState, sheet: Sheet) -> int:
    """How many pages they take; at least 1."""
    return max(1, -(-len(state.rows) // rows_on(sheet)))


def warm_ups_picture(state: WarmUpsState, sheet: Sheet, focus: str) -> Picture:
    """The list.

    Parameters
    ----------
    state : WarmUpsState
    sheet : Sheet
    focus : str
        What has the focus: "warm-up NAME", `FURTHER`, or "back".
    """
    pages = pages_of(state, sheet)
    page = min(max(state.page, 0), pages - 1)
    shown = state.rows[page * rows_on(sheet) :][: rows_on(sheet)]
    marks: list[Mark] = list(heading(sheet, "warm-up", f"page {page + 1} of {pages}" if pages > 1 else ""))
    pitch = min(_PITCH, (_about_y(sheet) - HEADING) / max(1, len(shown)))
    columns = _columns(shown, sheet)
    spots: list[Spot] = []
    for number, row in enumerate(shown):
        spot = Spot(
            x=MARGIN - _SIDE,
            y=HEADING + number * pitch,
            wide=sheet.wide - 2 * (MARGIN - _SIDE),
            high=pitch - 4.0,
            does=BEGINS + row.name,
            says=f"{row.title}, {_minutes(row)}",
        )
        marks += _row(row, spot, columns, on=spot.does == focus)
        spots.append(spot)
    below, more = _below(sheet, focus, pages)
    chosen = next((row for row in shown if BEGINS + row.name == focus), None)
    wide = more[0].x - MARGIN - _BETWEEN
    said = breakable(state.trouble, READABLE, wide) if chosen is None else chosen.about
    about, _ = paragraph(
        MARGIN,
        _about_y(sheet) + 36.0,
        wide,
        said,
        ink="astray" if chosen is None else "ink",
        most=_ABOUT_LINES,
    )
    at = next((k for k, row in enumerate(shown) if row.name == state.first), 0)
    ring = [*spots, *more]
    return Picture(sheet, (*marks, *about, *below), (*ring[at:], *ring[:at]))


def _minutes(row: WarmUpRow) -> str:
    return counted(max(1, round(row.minutes)), "minute")


@dataclass(frozen=True, slots=True)
class _Columns:
    """Where the words of every row stand: the size and room of titles, and the right ends of the others."""

    size: float
    room: float
    takes: float
    last: float


def _columns(rows: Sequence[WarmUpRow], sheet: Sheet) -> _Columns:
    last = sheet.wide - MARGIN
    takes = last - max((width(row.last, READABLE) for row in rows), default=0.0) - _BETWEEN
    room = takes - max((width(_minutes(row), READABLE) for row in rows), default=0.0) - _BETWEEN - MARGIN
    widest = max((width(signed(row.title), _TITLE, True) for row in rows), default=room)
    return _Columns(max(READABLE, min(_TITLE, _TITLE * room / widest)), room, takes, last)


def _row(row: WarmUpRow, spot: Spot, columns: _Columns, *, on: bool) -> list[Mark]:
    ink, ground, quiet = ("paper", "chosen", "paper") if on else ("ink", "paper", "faint")
    base = spot.y + spot.high / 2 + 0.36 * READABLE
    marks: list[Mark] = []
    if on:
        x, y, wide, high = spot.x, spot.y, spot.wide, spot.high
        marks += [
            Box(x=x, y=y, wide=wide, high=high, fill="chosen", round=6.0),
            Box(x=x + 4, y=y + 4, wide=wide - 8, high=high - 8, fill="", edge="paper", round=4.0),
        ]
    title = fitted(signed(row.title), columns.size, columns.room, bold=True)
    return [
        *marks,
        Text(x=MARGIN, y=base, text=title, size=columns.size, ink=ink, on=ground, bold=True),
        Text(x=columns.takes, y=base, text=_minutes(row), ink=ink, on=ground, anchor="right"),
        Text(x=columns.last, y=base, text=row.last, ink=quiet, on=ground, anchor="right"),
    ]


def _below(sheet: Sheet, focus: str, pages: int) -> tuple[list[Mark], list[Spot]]:
    """The next page, where there is one, and the way back, at the right of the foot."""
    words = [("back", "back")] if pages == 1 else [("further", FURTHER), ("back", "back")]
    x = sheet.wide - MARGIN - len(words) * _BUTTON_WIDE - (len(words) - 1) * _GAP
    y = sheet.high - _FOOT - _BUTTON_HIGH
    marks: list[Mark] = []
    spots: list[Spot] = []
    for said, does in words:
        drawn, spot = choice(x, y, _BUTTON_WIDE, said, does, focus, high=_BUTTON_HIGH, size=READABLE)
        marks += drawn
        spots.append(spot)
        x += _BUTTON_WIDE + _GAP
    return marks, spots


def _about_y(sheet: Sheet) -> float:
    """Where the rows end."""
    return sheet.high - _FOOT - _ABOUT_LINES * _LEAD * READABLE - 4.0
