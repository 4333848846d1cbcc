"""The list of licks: filters, a place for typed text, and as many rows as are read well.

Conventions: in the order of the focus, which is a ring, filters come first, then the page, then the rows: so
one way around narrows the list, turns its page and reaches a row. Whoever comes in has the first filter; what
loses the focus later gives it to the first row.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from feedback.screen.furniture import HEADING, MARGIN, choice, heading, hint, paragraph
from feedback.screen.lettering import width
from feedback.screen.marks import READABLE, Line, Mark, Picture, Sheet, Spot, Text
from feedback.screen.views.lick_rows import GAP, columns, heading_of, rows, titles_end
from feedback.screen.views.search import FILTERS, Search, words_of
from routines.lick import Lick

FURTHER = "further"
"""What turns to the next page."""

_ROW = 46.0
_ABREAST = 3
_FILTER_HIGH, _FILTER_GAP = 48.0, 8.0
_PAGE_Y = HEADING + (_FILTER_HIGH + _FILTER_GAP) * -(-len(FILTERS) // _ABREAST)
_NAMES_Y = _PAGE_Y + 34.0
_ROWS_Y = _PAGE_Y + 56.0
_BACK_HIGH, _BACK_WIDE, _FOOT = 54.0, 180.0, 14.0
_BELOW = _BACK_HIGH + _FOOT + 10.0
_FIND = 420.0


@dataclass(frozen=True, slots=True, kw_only=True)
class ListState:
    """What the list shows.

    Attributes
    ----------
    search : Search
    page : int
        From 0; the last one is shown where there are not so many.
    first : str
        Id of the lick on that page from which the order of the focus begins; empty for the first one.
    """

    search: Search = field(default_factory=Search)
    page: int = 0
    first: str = ""


def rows_on(sheet: Sheet) -> int:
    """How many licks stand on a page."""
    return int((sheet.high - _BELOW - _ROWS_Y + GAP) // (_ROW + GAP))


def pages_of(search: Search, sheet: Sheet) -> int:
    """How many pages the licks that fit take; at least 1."""
    return max(1, -(-len(search.found()) // rows_on(sheet)))


def page_of(lick_id: str, search: Search, sheet: Sheet) -> int:
    """On which page a lick stands; 0 where it is not among those that fit."""
    at = next((k for k, lick in enumerate(search.found()) if lick.id == lick_id), 0)
    return at // rows_on(sheet)


def licks_picture(state: ListState, sheet: Sheet, focus: str) -> Picture:
    """The list.

    Parameters
    ----------
    state : ListState
    sheet : Sheet
    focus : str
        What has the focus: "open ID", "find all", `FURTHER`, "back", or "filter NAME"; empty where nothing
        had it yet.
    """
    found, pages = state.search.found(), pages_of(state.search, sheet)
    page = min(max(state.page, 0), pages - 1)
    marks: list[Mark] = list(heading(sheet, _how_many(len(found))))
    marks += _find_place(sheet, state.search.typed)
    drawn, filters = _filters(sheet, state.search, focus)
    marks += drawn
    shown = found[page * rows_on(sheet) :][: rows_on(sheet)]
    if shown:
        drawn, page_spots = _page(sheet, page, pages, shown, focus)
        pitch = (sheet.high - _BELOW - _ROWS_Y + GAP) / rows_on(sheet)
        more, spots = rows(sheet, shown, _ROWS_Y, pitch, state.search.change, focus)
        marks += [*drawn, *more]
    else:
        more, spots = _nothing(sheet, state.search, focus)
        marks, page_spots = [*marks, *more], []
    below, back = _below(sheet, focus)
    ring = [*filters, *page_spots, *spots, back]
    first = spots[0].does if focus or state.first else ring[0].does
    names = [spot.does for spot in ring]
    at = names.index(f"open {state.first}" if f"open {state.first}" in names else first)
    return Picture(sheet, (*marks, *below), (*ring[at:], *ring[:at]))


def _find_place(sheet: Sheet, typed: str) -> list[Mark]:
    left, right = sheet.wide - MARGIN - _FIND, sheet.wide - MARGIN
    said = f"find: {typed}" if typed else "find: type a word"
    while width(said, READABLE) > _FIND - 20.0:  # what was typed last is what must be seen
        said = f"find: …{said[8:]}"
    caret = left + width(said, READABLE) + 4.0
    marks: list[Mark] = [
        Text(x=left, y=60.0, text=said, ink="ink" if typed else "faint"),
        Line(points=((left, 72.0), (right, 72.0)), ink="rule"),
    ]
    if typed:
        marks.append(Line(points=((caret, 36.0), (caret, 66.0)), thick=3.0))
    return marks


def _filters(sheet: Sheet, search: Search, focus: str) -> tuple[list[Mark], list[Spot]]:
    wide = (sheet.wide - 2 * MARGIN - _FILTER_GAP * (_ABREAST - 1)) / _ABREAST
    marks: list[Mark] = []
    spots = []
    for number, name in enumerate(FILTERS):
        down, across = divmod(number, _ABREAST)
        x, y = MARGIN + across * (wide + _FILTER_GAP), HEADING + down * (_FILTER_HIGH + _FILTER_GAP)
        value = getattr(search, name)
        drawn, spot = choice(
            x, y, wide, words_of(name, value), f"filter {name}", focus, high=_FILTER_HIGH, size=READABLE
        )
        marks += drawn
        if value and focus != spot.does:  # a filter that filters is underlined
            low = y + _FILTER_HIGH - 7
            marks.append(Line(points=((x + 24, low), (x + wide - 24, low)), thick=3.0))
        spots.append(spot)
    return marks, spots


def _page(
    sheet: Sheet, page: int, pages: int, shown: Sequence[Lick], focus: str
) -> tuple[list[Mark], list[Spot]]:
    """Which page is seen, where there are more, beside the headings of the columns."""
    marks: list[Mark] = []
    for column in columns(sheet):
        said = heading_of(column.name, sheet, shown)
        marks.append(Text(x=column.x, y=_NAMES_Y, text=said, ink="faint", anchor=column.anchor))
    if pages == 1:
        return marks, []
    wide = titles_end(sheet) - MARGIN
    said = f"page {page + 1} of {pages}"
    drawn, spot = choice(MARGIN, _PAGE_Y, wide, said, FURTHER, focus, high=_FILTER_HIGH, size=READABLE)
    return [*marks, *drawn], [spot]


def _how_many(number: int) -> str:
    return {0: "No licks", 1: "1 lick"}.get(number, f"{number} licks")


def _nothing(sheet: Sheet, search: Search, focus: str) -> tuple[list[Mark], list[Spot]]:
    wide = sheet.wide - 2 * MARGIN
    marks, y = paragraph(MARGIN, _ROWS_Y + 30.0, wide, "No lick fits.", size=36.0, bold=True)
    more, y = paragraph(MARGIN, y + 10.0, wide, search.instead(), size=32.0)
    drawn, spot = choice(MARGIN, y - 10.0, 280.0, "find all", "find all", focus)
    return [*marks, *more, *drawn], [spot]


def _below(sheet: Sheet, focus: str) -> tuple[list[Mark], Spot]:
    x, y = sheet.wide - MARGIN - _BACK_WIDE, sheet.high - _FOOT - _BACK_HIGH
    drawn, spot = choice(x, y, _BACK_WIDE, "back", "back", focus, high=_BACK_HIGH, size=READABLE)
    said = "letters narrow, left and right turn; top: half notes a minute"
    return [*drawn, hint(sheet, said)], spot
