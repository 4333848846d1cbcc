"""The list of licks: four filters, a place for typed text, and as many rows as are read well.

Conventions: a row names the change as the hand shapes it under the lick's capo, and the key that sounds. Rows
come first in the order of the focus, so that after typing the first lick that fits has it.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from feedback.screen.furniture import HEADING, MARGIN, choice, choices, hint, paragraph
from feedback.screen.lettering import fitted, signed, width
from feedback.screen.marks import READABLE, Anchor, Box, Line, Mark, Picture, Sheet, Spot, Text
from feedback.screen.views.search import FILTERS, Search, words_of
from routines.library import shape_changes_of
from routines.lick import Lick

_ROW, _GAP = 54.0, 8.0
_FILTERS_HIGH = 54.0
_NAMES_Y = HEADING + _FILTERS_HIGH + 38.0
_ROWS_Y = _NAMES_Y + 12.0
_BELOW = 64.0 + 16.0 + 44.0  # choices, and the line of hints
_INSET = 16.0
_FACTS = (("change", 133.0), ("key", 133.0), ("hand", 92.0), ("top", 62.0))
_APART = 20.0
_FIND = 420.0
_ROOMY = 1200.0


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
    return int((sheet.high - _BELOW - _ROWS_Y + _GAP) // (_ROW + _GAP))


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
        What has the focus: "open ID", "find all", "earlier", "further", "back", or "filter NAME".
    """
    found, pages = state.search.found(), pages_of(state.search, sheet)
    page = min(max(state.page, 0), pages - 1)
    marks: list[Mark] = [Text(x=MARGIN, y=64.0, text="Licks", size=46.0, bold=True)]
    marks += _find_place(sheet, state.search.typed)
    drawn, filter_spots = _filters(sheet, state.search, focus)
    marks += drawn
    shown = found[page * rows_on(sheet) :][: rows_on(sheet)]
    rows, spots = _rows(sheet, shown, focus) if shown else _nothing(sheet, state.search, focus)
    below, more = _below(sheet, page, pages, len(found), focus)
    marks += [*rows, *below]
    order = [*spots, *more, *filter_spots]
    at = next((k for k, spot in enumerate(order) if spot.does == f"open {state.first}"), 0)
    return Picture(sheet, tuple(marks), (*order[at:], *order[:at]))


def key_words(lick: Lick) -> str:
    """The key that sounds, with its capo: "B, capo 4"."""
    return f"{lick.key}, capo {lick.neck.capo}" if lick.neck.capo else lick.key


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
    gap = 8.0  # the longest word must fit at 4:3, also where it is bold
    wide = (sheet.wide - 2 * MARGIN - gap * (len(FILTERS) - 1)) / len(FILTERS)
    marks: list[Mark] = []
    spots = []
    for number, name in enumerate(FILTERS):
        value = getattr(search, name)
        x = MARGIN + number * (wide + gap)
        drawn, spot = choice(
            x,
            HEADING,
            wide,
            words_of(name, value),
            f"filter {name}",
            focus,
            high=_FILTERS_HIGH,
            size=READABLE,
        )
        marks += drawn
        if value and focus != spot.does:  # a filter that filters is underlined
            marks.append(
                Line(
                    points=(
                        (x + 24, HEADING + _FILTERS_HIGH - 9),
                        (x + wide - 24, HEADING + _FILTERS_HIGH - 9),
                    ),
                    thick=3.0,
                )
            )
        spots.append(spot)
    return marks, spots


def _size(sheet: Sheet) -> float:
    """Of what stands in the rows: larger where there is room for it."""
    return READABLE if sheet.wide < _ROOMY else 32.0


def _columns(sheet: Sheet) -> list[tuple[str, float, float]]:
    """Name, left edge and width of each column of facts."""
    wider = 1.0 + 0.6 * (sheet.wide - 960.0) / 960.0
    right = sheet.wide - MARGIN - _INSET
    found = []
    for name, least in reversed(_FACTS):
        wide = least * wider
        found.append((name, right - wide, wide))
        right -= wide + _APART
    return found[::-1]


def _rows(sheet: Sheet, licks: tuple[Lick, ...], focus: str) -> tuple[list[Mark], list[Spot]]:
    columns = _columns(sheet)
    marks: list[Mark] = [
        Text(x=x + wide if name == "top" else x, y=_NAMES_Y, text=name, ink="faint", anchor=_anchor(name))
        for name, x, wide in columns
    ]
    spots = []
    pitch = (sheet.high - _BELOW - _ROWS_Y + _GAP) / rows_on(sheet)
    for number, lick in enumerate(licks):
        spot = Spot(
            x=MARGIN,
            y=_ROWS_Y + number * pitch,
            wide=sheet.wide - 2 * MARGIN,
            high=pitch - _GAP,
            does=f"open {lick.id}",
            says=lick.title,
        )
        marks += _row(spot, lick, columns, _size(sheet), spot.does == focus)
        spots.append(spot)
    return marks, spots


def _row(
    spot: Spot, lick: Lick, columns: list[tuple[str, float, float]], size: float, on: bool
) -> list[Mark]:
    ink, under = ("paper", "chosen") if on else ("ink", "paper")
    foot = spot.y + spot.high + _GAP / 2
    marks: list[Mark] = [Line(points=((spot.x, foot), (spot.x + spot.wide, foot)), ink="rule")]
    if on:
        marks.append(Box(x=spot.x, y=spot.y, wide=spot.wide, high=spot.high, fill="chosen", round=6.0))
        marks.append(
            Box(
                x=spot.x + 5,
                y=spot.y + 5,
                wide=spot.wide - 10,
                high=spot.high - 10,
                fill="",
                edge="paper",
                round=4.0,
            )
        )
    y = spot.y + spot.high / 2 + 0.36 * size
    title = fitted(lick.title, size, columns[0][1] - spot.x - _INSET - 12.0)
    marks.append(Text(x=spot.x + _INSET, y=y, text=title, size=size, ink=ink, on=under))
    facts = {
        "change": _change(lick),
        "key": key_words(lick),
        "hand": lick.hand,
        "top": f"{lick.top_tempo_half_bpm:g}",
    }
    for name, x, wide in columns:
        at = x + wide if name == "top" else x
        said = fitted(signed(facts[name]), size, wide + _APART - 4.0)
        marks.append(Text(x=at, y=y, text=said, size=size, ink=ink, on=under, anchor=_anchor(name)))
    return marks


def _anchor(name: str) -> Anchor:
    return "right" if name == "top" else "left"


def _change(lick: Lick) -> str:
    first, *more = shape_changes_of(lick) or ("",)
    return f"{first} +{len(more)}" if more else first


def _nothing(sheet: Sheet, search: Search, focus: str) -> tuple[list[Mark], list[Spot]]:
    wide = sheet.wide - 2 * MARGIN
    marks, y = paragraph(MARGIN, _NAMES_Y + 50.0, wide, "No lick fits.", size=36.0, bold=True)
    more, y = paragraph(MARGIN, y + 10.0, wide, search.instead(), size=32.0)
    drawn, spot = choice(MARGIN, y - 10.0, 280.0, "find all", "find all", focus)
    return [*marks, *more, *drawn], [spot]


def _below(sheet: Sheet, page: int, pages: int, number: int, focus: str) -> tuple[list[Mark], list[Spot]]:
    y = sheet.high - 44.0 - 64.0
    rows = [("back", "back")]
    if pages > 1:
        rows = [("earlier", "earlier"), ("further", "further"), *rows]
    marks, spots = choices(sheet, y, rows, focus)
    words = f"{number} licks" if number != 1 else "1 lick"
    said = f"page {page + 1} of {pages}, {words}; top: half notes a minute; letters narrow the list"
    return [*marks, hint(sheet, said)], spots
